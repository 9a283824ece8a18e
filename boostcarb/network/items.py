"""Everything that can be in one of a few forms, from its description and what was found."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from boostcarb.description import family as described
from boostcarb.description.material import Material, verdict
from boostcarb.network.described import Described
from boostcarb.network.model import (
    ABSENT,
    INLINE,
    MATERIAL,
    NONE,
    ONE_WAY_VALVE,
    OPEN,
    PLUGGED,
    Conditions,
    Form,
    Item,
    Labor,
)

Materials = Callable[[str], Material]
"""A material by its name."""

TIGHT = ("joint", "clearance", "gasket_window")
"""Kinds of passage that nobody drilled: open means leaking, plugged means sound."""

ON_ALL = {2: "both", 3: "all three", 4: "all four"}

INLINE_TITLES = {NONE: "nothing in the line", ONE_WAY_VALVE: "a one-way valve that holds the lowest pressure"}


def items_of(said: Described, materials: Materials) -> dict[str, Item]:
    """All items of a description, by name."""
    items = [
        *_passages(said),
        *(item for name in said.parts for item in _part(said, name, materials)),
        *(item for name in said.lines for item in _line(said, name)),
    ]
    return {item.name: item for item in sorted(items, key=lambda item: item.name)}


def conditions(when: Mapping[str, Sequence[str]]) -> Conditions:
    """What a description requires of other items, in a fixed order."""
    return tuple((item, frozenset(forms)) for item, forms in sorted(when.items()))


def _labor(said: Described, item: str, work: described.Work | None, stage: str) -> Labor | None:
    """What a change takes; of a part of the carburetor, on all carburetors together."""
    if work is None or (work.only_in is not None and said.mode not in work.only_in):
        return None
    times = said.carburetors if item in said.own else 1
    how = work.how if times == 1 else f"{work.how}, on {ON_ALL.get(times, f'all {times}')} carburetors"
    return Labor(how, times * work.minutes, times * work.parts, work.irreversible, work.stage or stage)


def _passages(said: Described) -> Iterator[Item]:
    for name, passage in said.passages.items():
        found, confirmed = said.form_found(name, passage.as_built)
        stage = passage.stage
        made_tight = passage.kind in TIGHT and passage.as_built == PLUGGED
        is_open, is_shut = ("leaking", "sound") if made_tight else ("open", "plugged")
        if found == OPEN:
            forms = {OPEN: Form(is_open), PLUGGED: Form(is_shut, _labor(said, name, passage.close, stage))}
        elif found == PLUGGED:
            forms = {PLUGGED: Form(is_shut), OPEN: Form(is_open, _labor(said, name, passage.reopen, stage))}
        else:
            forms = {ABSENT: Form("absent"), OPEN: Form("open", _labor(said, name, passage.drill, stage))}
        yield Item(
            name=name,
            title=passage.title,
            kind="passage",
            casting=passage.casting,
            stage=stage,
            forms=forms,
            found=found,
            confirmed=confirmed,
            conditions=conditions(passage.when),
            look=passage.look,
        )


def _part(said: Described, name: str, materials: Materials) -> Iterator[Item]:
    part = said.parts[name]
    if part.sizes_of and not _sizes_known(said, part.sizes_of):
        return
    found, confirmed = said.form_found(name, part.as_built)
    yield Item(
        name=name,
        title=part.title,
        kind="part",
        casting=part.casting,
        stage=part.stage,
        forms={
            form: Form(
                option.title,
                _labor(said, name, option.work, part.stage),
                option.mixture_for,
                conditions(option.not_with),
                fails=option.fails,
                floods=option.floods,
            )
            for form, option in part.options.items()
        },
        found=found,
        confirmed=confirmed or bool(part.sizes_of),
        conditions=conditions(part.when),
        feeds=part.feeds,
        look=part.look,
        done=part.done,
    )
    if part.made_of is not None:
        yield _material(said, name, part, part.made_of, materials)


def _sizes_known(said: Described, passages: Sequence[str]) -> bool:
    """Whether somebody measured a mixture, or one of these bores."""
    states = (said.found.get(name) for name in passages)
    return bool(said.job.metering.measured) or any(state is not None and state.bore is not None for state in states)


def _material(
    said: Described, name: str, part: described.Part, made_of: described.MadeOf, materials: Materials
) -> Item:
    state, detail = said.found.get(name), said.job.fuel_detail
    found, confirmed = said.with_it_found(name, MATERIAL, state.material if state else None, made_of.as_built)
    when = {**part.when, **({name: made_of.only_with} if made_of.only_with else {})}
    ethanol = detail.ethanol if detail else None
    verdicts = {choice: verdict(materials(choice), said.job.fuel, ethanol) for choice in made_of.choices}
    # Nobody is told to fit what may not last, as long as there is something that does.
    good = [choice for choice, each in verdicts.items() if each.rating == "good"] or list(verdicts)
    forms = {
        choice: Form(
            materials(choice).title,
            _labor(said, name, made_of.work, part.stage) if choice in good else None,
            suits=suits,
        )
        for choice, suits in verdicts.items()
    }
    return Item(
        name=name + MATERIAL,
        title=f"material of the {part.title}" if made_of.what in part.title else f"{made_of.what} of the {part.title}",
        kind="material",
        casting=part.casting,
        stage=part.stage,
        forms=forms,
        found=found,
        confirmed=confirmed,
        conditions=conditions(when),
        look=made_of.look,
        done=part.done,
    )


def _line(said: Described, name: str) -> Iterator[Item]:
    line = said.lines[name]
    found, confirmed = said.form_found(name, line.as_built)
    taps = {form: tap for form, tap in line.taps.items() if tap.modes is None or said.mode in tap.modes}
    if found not in taps:
        taps[found] = line.taps[found]
    yield Item(
        name=name,
        title=line.title,
        kind="line",
        casting=line.casting,
        stage=line.stage,
        forms={form: Form(tap.title, _labor(said, name, tap.work, line.stage)) for form, tap in taps.items()},
        found=found,
        confirmed=confirmed,
        look=line.look,
    )
    state = said.found.get(name)
    inline, seen = said.with_it_found(name, INLINE, state.inline if state else None, line.inline)
    works = {NONE: line.remove_one_way_valve, ONE_WAY_VALVE: line.fit_one_way_valve}
    yield Item(
        name=name + INLINE,
        title=f"what stands in the {line.title}",
        kind="inline",
        casting=line.casting,
        stage=line.stage,
        forms={form: Form(INLINE_TITLES[form], _labor(said, name, work, line.stage)) for form, work in works.items()},
        found=inline,
        confirmed=seen or (confirmed and name + INLINE not in said.found),
    )
