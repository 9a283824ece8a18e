"""The changes that can be made to a network, with what they cost: the planner's problem."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

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
        exclusions=sorted(_exclusions(movable, reachable), key=sorted),
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


def _exclusions(movable: Iterable[Item], reachable: Reachable) -> Iterator[frozenset[planning.Choice]]:
    names = {item.name for item in movable}
    for item in movable:
        for form, data in item.forms.items():
            for other, forms in data.not_with:
                for other_form in forms:
                    if other in names and form in reachable.offered[item.name] and other_form in reachable.offered[other]:
                        yield frozenset({planning.Choice(item.name, form), planning.Choice(other, other_form)})


def _pins(network: Network, reachable: Reachable, pins: Pins) -> Iterator[planning.Pin]:
    for name in pins.keep:
        if name in network.items and len(reachable.offered[name]) > 1:
            yield planning.Pin(name, frozenset({network.items[name].found}), f"keep {name} as found")
    for name, form in pins.use.items():
        if name not in network.items:
            continue
        if form not in reachable.offered[name]:
            wanted = ", ".join(reachable.offered[name])
            raise BadDescription(
                Problem(f"{form!r} cannot be had from what was found; possible: {wanted}", field=f"pinned.use.{name}")
            )
        if len(reachable.offered[name]) > 1:
            yield planning.Pin(name, frozenset({form}), f"use {form} for {name}")
    for name, forms in pins.avoid.items():
        if name in network.items and len(reachable.offered[name]) > 1:
            left = frozenset(reachable.offered[name]) - set(forms)
            if not left:
                raise BadDescription(Problem("leaves nothing to choose", field=f"pinned.avoid.{name}"))
            yield planning.Pin(name, left, f"avoid {', '.join(forms)} for {name}")
    if not pins.irreversible_work:
        yield from _only_reversible(network, reachable)


def _only_reversible(network: Network, reachable: Reachable) -> Iterator[planning.Pin]:
    for name, forms in reachable.offered.items():
        item = network.items[name]
        kept = frozenset(
            form for form in forms if form == item.found or not (labor := item.forms[form].labor) or not labor.irreversible
        )
        if len(kept) < len(forms):
            yield planning.Pin(name, kept, f"no irreversible work on {name}")
