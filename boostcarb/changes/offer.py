"""The changes that can be made to a network, with what they cost: the planner's problem."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.description.job import Pins
from boostcarb.errors import BadDescription, Problem
from boostcarb.network.model import Form, Item, Network
from boostcarb.planning import problem as planning
from boostcarb.rulebook.view import Reachable

FREE = planning.Cost()


def planning_problem(network: Network, reachable: Reachable, pins: Pins) -> planning.Problem:
    """Every item that can take another form, the strip-down as shared steps, and the pins.

    Raises:
        BadDescription: a pin asks for a form that cannot be had.
    """
    movable = [network.items[name] for name, forms in sorted(reachable.offered.items()) if len(forms) > 1]
    return planning.Problem(
        items=[_offered(item, reachable) for item in movable],
        steps=[
            planning.Step(stage.name, planning.Cost(minutes=stage.minutes), frozenset(stage.after))
            for stage in network.stages.values()
        ],
        exclusions=sorted(set(_exclusions(network, reachable)), key=sorted),
        pins=list(_pins(network, reachable, pins)),
    )


def _offered(item: Item, reachable: Reachable) -> planning.Item:
    options = {form: _cost(item.forms[form], form == item.found) for form in reachable.offered[item.name]}
    requires = {
        form: frozenset({labor.stage})
        for form in options
        if form != item.found and (labor := item.forms[form].labor) is not None
    }
    return planning.Item(item.name, item.found, options, requires)


def _cost(form: Form, as_found: bool) -> planning.Cost:
    if as_found or form.labor is None:
        return FREE
    labor = form.labor
    return planning.Cost(irreversible=int(labor.irreversible), minutes=labor.minutes, parts=labor.parts)


def _exclusions(network: Network, reachable: Reachable) -> Iterator[frozenset[planning.Choice]]:
    """What cannot be had together; beside an item that stays as it is, a form that cannot go with it at all."""
    movable = {name for name, forms in reachable.offered.items() if len(forms) > 1}
    for item in network.items.values():
        for form in reachable.offered[item.name]:
            for other, forms in item.forms[form].not_with:
                for other_form in forms.intersection(reachable.offered.get(other, ())):
                    both = (planning.Choice(item.name, form), planning.Choice(other, other_form))
                    if chosen := frozenset(choice for choice in both if choice.item in movable):
                        yield chosen


def _pins(network: Network, reachable: Reachable, pins: Pins) -> Iterator[planning.Pin]:
    for name in (*pins.keep, *pins.use, *pins.avoid):
        if name not in network.items:
            raise BadDescription(
                Problem(f"there is no {name} with this target", field=f"pinned.{_section(pins, name)}")
            )
    for name in pins.keep:
        yield from _pin(reachable, name, {network.items[name].found}, f"keep {name} as found", "keep")
    for name, form in pins.use.items():
        yield from _pin(reachable, name, {form}, f"use {form!r} for {name}", f"use.{name}")
    for name, forms in pins.avoid.items():
        left = set(reachable.offered[name]) - set(forms)
        yield from _pin(reachable, name, left, f"avoid {', '.join(forms)} for {name}", f"avoid.{name}")
    if not pins.irreversible_work:
        yield from _only_reversible(network, reachable)


def _section(pins: Pins, name: str) -> str:
    return "keep" if name in pins.keep else f"use.{name}" if name in pins.use else f"avoid.{name}"


def _pin(reachable: Reachable, name: str, wanted: set[str], label: str, field: str) -> Iterator[planning.Pin]:
    offered = reachable.offered[name]
    allowed = wanted.intersection(offered)
    if not allowed:
        possible = ", ".join(offered)
        message = f"cannot be had from what was found ({label}); possible for {name}: {possible}"
        raise BadDescription(Problem(message, field=f"pinned.{field}"))
    if len(allowed) < len(offered):
        yield planning.Pin(name, frozenset(allowed), label)


def _only_reversible(network: Network, reachable: Reachable) -> Iterator[planning.Pin]:
    for name, forms in reachable.offered.items():
        item = network.items[name]
        kept = frozenset(form for form in forms if form == item.found or not _irreversible(item, form))
        if len(kept) < len(forms):
            yield planning.Pin(name, kept, f"no irreversible work on {name}")


def _irreversible(item: Item, form: str) -> bool:
    labor = item.forms[form].labor
    return labor is not None and labor.irreversible
