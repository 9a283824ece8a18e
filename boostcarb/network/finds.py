"""Finds, proposals and pins held against the description: unknown words, and finds that contradict each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from boostcarb.description.job import NOT_LOOKED_AT, State
from boostcarb.errors import BadDescription, Problem
from boostcarb.network.described import Described
from boostcarb.network.model import ABSENT, COOLER, FITTED, MATERIAL, Item
from boostcarb.suggest import suggest


def check_words(said: Described) -> None:
    """Refuse names and forms that the description does not have. Raises: BadDescription."""
    problems = [*_unknown_finds(said), *_unknown_pins(said)]
    if problems:
        raise BadDescription(problems)


def check_contradictions(said: Described, items: Mapping[str, Item]) -> None:
    """Refuse finds that cannot be true together. Raises: BadDescription."""
    problems = [*_cooler(said)]
    for name, state in said.found.items():
        if name in items:
            problems += _misplaced(said, items[name], state)
            problems += _impossible(items[name], items)
    if problems:
        raise BadDescription(problems)


def _unknown_finds(said: Described) -> Iterator[Problem]:
    known = said.known
    proposed = {name: said.in_our_words(name, state) for name, state in (said.job.proposed or {}).items()}
    for section, entries in (("found", said.found), ("proposed", proposed)):
        for name, state in entries.items():
            field = f"{section}.{name}"
            if section == "proposed" and state.is_ == NOT_LOOKED_AT:
                yield Problem("a proposal says what shall be; 'not looked at' is a find", field=field)
                continue
            if name not in known:
                yield Problem(f"no such passage, part or line; {suggest(name, known)}", field=field)
                continue
            forms = known[name]
            if state.is_ not in forms and state.is_ != NOT_LOOKED_AT:
                words = (*forms, NOT_LOOKED_AT) if section == "found" else forms
                yield Problem(f"found {state.is_!r}; {suggest(state.is_, words)}", field=field)
            stuff = known.get(name + MATERIAL, ())
            if state.material is not None and stuff and state.material not in stuff:
                yield Problem(f"found {state.material!r}; {suggest(state.material, stuff)}", field=f"{field}.material")


def _unknown_pins(said: Described) -> Iterator[Problem]:
    known, pins = said.known, said.job.pinned
    for section, names in (("keep", pins.keep), ("use", list(pins.use)), ("avoid", list(pins.avoid))):
        for name in names:
            if name not in known:
                yield Problem(
                    f"no such passage, part or line; {suggest(name, known)}", field=f"pinned.{section}.{name}"
                )
    wanted = [("use", name, form) for name, form in pins.use.items()]
    wanted += [("avoid", name, form) for name, forms in pins.avoid.items() for form in forms]
    for section, name, form in wanted:
        if name in known and form not in known[name]:
            yield Problem(f"found {form!r}; {suggest(form, known[name])}", field=f"pinned.{section}.{name}")


def _cooler(said: Described) -> Iterator[Problem]:
    cooler, charge = said.found.get(COOLER), said.job.charge
    if charge is not None and charge.cooler is not None and cooler and cooler.is_ != FITTED:
        message = f"contradicts charge.cooler: a cooler is described there, and found {cooler.is_} here"
        yield Problem(message, field=f"found.{COOLER}")


def _misplaced(said: Described, item: Item, state: State) -> Iterator[Problem]:
    """Things said of an item that only other kinds of item have."""
    field = f"found.{item.name}"
    if item.kind == "passage" and state.setting is not None:
        yield Problem("a passage has no setting; only a valve has", field=f"{field}.setting")
    if item.kind == "passage" and state.is_ == ABSENT and state.bore is not None:
        yield Problem("absent and yet with a bore: say open or plugged", field=f"{field}.bore")
    if item.kind != "passage" and state.bore is not None:
        yield Problem("only a passage has a bore here", field=f"{field}.bore")
    if item.kind != "line" and state.inline is not None:
        yield Problem("only a line has something inline", field=f"{field}.inline")
    if state.material is not None and item.name + MATERIAL not in said.known:
        yield Problem("no material is asked for here; it would change no answer", field=f"{field}.material")
    if state.setting is not None and item.kind == "part":
        option = said.parts[item.name].options.get(state.is_)
        if option is not None and option.valve is None:
            yield Problem(f"{state.is_} has no valve, so no setting", field=f"{field}.setting")


def _impossible(item: Item, items: Mapping[str, Item]) -> Iterator[Problem]:
    """What other finds rule out."""
    field = f"found.{item.name}"
    for other, forms in item.conditions:
        if items[other].found not in forms and items[other].confirmed:
            message = (
                f"contradicts {other}: found {items[other].found}, but {item.title} exists only with "
                f"{' or '.join(sorted(forms))}"
            )
            yield Problem(message, field=field)
    for other, forms in item.forms[item.found].not_with:
        if items[other].found in forms:
            yield Problem(f"{item.found} cannot go with {other}: {items[other].found}", field=field)
