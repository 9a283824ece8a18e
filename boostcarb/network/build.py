"""From a family, its surroundings and a job to the network."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from boostcarb.description import family as described
from boostcarb.description.job import Job, State
from boostcarb.network.described import Described
from boostcarb.network.finds import check_contradictions, check_words
from boostcarb.network.items import Materials, conditions, items_of
from boostcarb.network.model import (
    COOLER,
    INLINE,
    OPEN,
    WASTEGATE,
    Conditions,
    Diaphragm,
    Gate,
    GroupCircuit,
    Limit,
    Network,
    Renews,
    Space,
    Stage,
    Valve,
    Way,
)

DISCHARGE_OF_A_HOSE = 0.7
"""Discharge coefficient of a hose with its fittings (common practice, no source)."""


def build_network(
    family: described.Family,
    surroundings: described.Family,
    job: Job,
    materials: Materials,
    variants: Sequence[described.Family] = (),
) -> Network:
    """Join a family with its surroundings for a job's target mode, as found.

    `variants` add to the surroundings what comes with an enclosure, or with several carburetors.

    Raises:
        BadDescription: a find that names nothing known, or contradicts another; a material that nobody describes.
    """
    said = Described(family, surroundings, job, variants)
    check_words(said)
    items = items_of(said, materials)
    check_contradictions(said, items)
    stages = _in_order(
        {
            name: _stage(name, stage, said.carburetors if name in family.stages else 1)
            for source in reversed(said.sources)
            for name, stage in source.stages.items()
        }
    )
    spaces = {
        name: Space(name, space.title, space.casting, space.holds, space.volume, space.source, space.same_as)
        for name, space in sorted(said.spaces.items())
    }
    ways = tuple(sorted([*_passage_ways(said), *_line_ways(said)], key=lambda way: way.name))
    return Network(
        spaces=spaces,
        ways=ways,
        diaphragms={name: _diaphragm(said, name, entry) for name, entry in sorted(said.diaphragms.items())},
        items=items,
        stages=stages,
        castings={name: title for source in said.sources for name, title in source.castings.items()},
        aliases={word: space for source in said.sources for word, space in source.also_called.items()},
        ways_of={name: tuple(way for way in ways if name in (way.a, way.b)) for name in spaces},
        circuits=circuits_of_family(family),
        group_titles=family.group_titles,
        carburetors=said.carburetors,
        air_path_items=_air_path_items(family),
        boxed=frozenset(family.castings) if job.enclosure is not None else frozenset(),
    )


def _in_order(stages: Mapping[str, Stage]) -> dict[str, Stage]:
    """The stages, each after those it waits for, else as written: an inherited one may be written too early."""
    left, ordered = dict(stages), dict[str, Stage]()
    while left:
        name = next(each for each, stage in left.items() if ordered.keys() >= stages.keys() & set(stage.after))
        ordered[name] = left.pop(name)
    return ordered


def _air_path_items(family: described.Family) -> tuple[str, ...]:
    """Items whose form changes the air path: of the surroundings, and those that say how barrels open."""
    opening = family.flow.opening.values() if family.flow else ()
    return (COOLER, WASTEGATE, *dict.fromkeys(each.part for each in opening if each.part))


def _stage(name: str, stage: described.Stage, times: int) -> Stage:
    """A step of the strip-down, done on as many carburetors as there are."""
    renews = None
    if stage.renews is not None:
        renews = tuple(
            Renews(
                each.what, each.quantity, frozenset(each.covered_by), each.part, frozenset(each.not_as),
                frozenset(each.only_as),
            )
            for each in stage.renews
        )  # fmt: skip
    return Stage(
        name, stage.title, stage.minutes * times, tuple(stage.after), tuple(stage.takes_off), stage.taking_off,
        stage.putting_back, renews, tuple(stage.tools),
    )  # fmt: skip


def circuits_of_family(family: described.Family) -> dict[str, GroupCircuit]:
    """The fuel side of each barrel group, under the names it has in this family."""
    found = {}
    for group in family.groups if family.flow is not None else ():
        names = family.circuits.get(group, described.CircuitNames()).model_dump(exclude_none=True)
        venturis = family.flow.venturis.get(group) if family.flow else None
        variable = venturis is not None and venturis.depression is not None
        found[group] = replace(GroupCircuit.usual(group), **names, variable=variable)
    return found


# --- ways -------------------------------------------------------------------------------------------------


def _passage_ways(said: Described) -> Iterator[Way]:
    for name, passage in said.passages.items():
        a, b = passage.joins
        if a not in said.spaces or b not in said.spaces:
            continue
        state = said.found.get(name)
        turned = passage.only_back_by
        both = Way(
            name=name,
            title=passage.title,
            kind=passage.kind,
            a=a,
            b=b,
            area_m2=_effective_area(passage, state),
            carries=passage.carries,
            casting=passage.casting,
            stage=passage.stage,
            item=name,
            conditions=_when_open(said, name, passage, without=[passage.blocked_by, turned]),
            one_way=passage.one_way,
            guard=passage.guard,
            bore_m=_bore(passage, state),
            count=passage.count,
            bore_measured=state is not None and state.bore is not None,
            valve=passage.valve,
            ring=passage.ring,
        )
        yield both
        if turned:
            back = (*_when_open(said, name, passage, without=[passage.blocked_by]), *conditions(turned))
            yield both.turned(f"{name}/back only", back)


def _when_open(
    said: Described, name: str, passage: described.Passage, without: Sequence[Mapping[str, list[str]]]
) -> Conditions:
    """What must hold for a passage to pass: open, what it exists by, and no part in it that shuts it."""
    free = {
        part: [form for form in said.parts[part].options if not any(form in each.get(part, ()) for each in without)]
        for part in {part for each in without for part in each}
        if part in said.parts
    }
    return ((name, frozenset({OPEN})), *conditions(passage.when), *conditions(free))


def _line_ways(said: Described) -> Iterator[Way]:
    for name, line in said.lines.items():
        for form in line.taps:
            yield from _tap_ways(said, name, line, form)


def _tap_ways(said: Described, name: str, line: described.Line, form: str) -> Iterator[Way]:
    tap = line.taps[form]
    ends: list[tuple[str, Gate | None]] = []
    if tap.switched is not None:
        level = tap.switched.level
        gauge = level.reference == "gauge"
        for space, above in ((tap.switched.below, False), (tap.switched.above, True)):
            ends.append((space, Gate(tap.switched.senses, level.value_pa, gauge, above)))
    elif tap.to is not None:
        ends.append((tap.to, None))
    for space, gate in ends:
        if line.of not in said.spaces or space not in said.spaces:
            continue
        yield Way(
            name=f"{name}={form}" + (f"/{space}" if gate else ""),
            title=f"{line.title} to the {said.spaces[space].title}",
            kind="line",
            a=line.of,
            b=space,
            area_m2=DISCHARGE_OF_A_HOSE * math.pi / 4 * line.bore**2,
            carries="air",
            casting=line.casting,
            stage=line.stage,
            item=name,
            conditions=((name, frozenset({form})),),
            inline=name + INLINE,
            gate=gate,
        )


def _effective_area(passage: described.Passage, state: State | None) -> float:
    bore = _bore(passage, state)
    each = math.pi / 4 * bore**2 if bore is not None else (passage.area or 0.0)
    return passage.discharge * passage.count * each


def _bore(passage: described.Passage, state: State | None) -> float | None:
    return state.bore if state is not None and state.bore is not None else passage.bore


# --- diaphragms -------------------------------------------------------------------------------------------


def _diaphragm(said: Described, name: str, entry: described.Diaphragm) -> Diaphragm:
    valves: dict[str, Valve] = {}
    limits: dict[str, Limit] = {}
    forms: Mapping[str, described.Option | described.Diaphragm]
    forms = said.parts[entry.part].options if entry.part else {"": entry}
    for form, option in forms.items():
        if option.valve is not None:
            valves[form] = _valve(said, entry.part, form, option.valve)
        if option.limits is not None:
            limits[form] = Limit(option.limits.forward, option.limits.reverse)
    return Diaphragm(
        name=name,
        title=entry.title,
        first=entry.between[0],
        second=entry.between[1],
        role=entry.role,
        part=entry.part,
        feeds=entry.feeds,
        works_through=tuple(entry.works_through),
        conditions=conditions(entry.when),
        valves=valves,
        limits=limits,
        wets=None if entry.wets is None else entry.between[0 if entry.wets == "first" else 1],
        leak=entry.leaks_past,
    )


def _valve(said: Described, part: str | None, form: str, action: described.ValveAction) -> Valve:
    if action.setting is None:
        return Valve(True, 0.0, action.spread, "open" if action.opens == "always" else "shut")
    setting = action.setting
    state = said.found.get(part) if part else None
    if state is not None and state.is_ == form and state.setting is not None:
        setting = math.copysign(state.setting, action.setting)
    return Valve(action.opens == "below", setting, action.spread)
