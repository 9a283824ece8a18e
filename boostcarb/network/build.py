"""From a family, its surroundings and a job to the network."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TypeVar

from boostcarb.description import family as described
from boostcarb.description.job import NOT_LOOKED_AT, Job, State
from boostcarb.errors import BadDescription, Problem
from boostcarb.network.model import (
    ABSENT,
    INLINE,
    NONE,
    ONE_WAY_VALVE,
    OPEN,
    PLUGGED,
    Conditions,
    Diaphragm,
    Form,
    Gate,
    Item,
    Labor,
    Limit,
    Network,
    Space,
    Stage,
    Valve,
    Way,
)
from boostcarb.suggest import suggest

COOLER, FITTED = "charge_cooler", "fitted"

TIGHT = ("joint", "clearance", "gasket_window")
"""Kinds of passage that nobody drilled: open means leaking, plugged means sound."""

DISCHARGE_OF_A_HOSE = 0.7
"""Discharge coefficient of a hose with its fittings (common practice, no source)."""

SAME_WORDS = {
    "drilled": (OPEN,),
    "leaking": (OPEN,),
    "sound": (PLUGGED,),
    "missing": (ABSENT, NONE),
    "none": (ABSENT,),
    "fitted": (OPEN,),
}
"""Words of the bench for forms that some items call otherwise."""

Entry = TypeVar("Entry", described.Space, described.Passage, described.Part, described.Line, described.Diaphragm)


def build_network(family: described.Family, surroundings: described.Family, job: Job) -> Network:
    """Join a family with its surroundings for a job's target mode, as found.

    Raises:
        BadDescription: a find that names nothing known, or contradicts another.
    """
    builder = _Builder(family, surroundings, job)
    return builder.network()


class _Builder:
    def __init__(self, family: described.Family, surroundings: described.Family, job: Job) -> None:
        self.sources = (surroundings, family)
        self.job = job
        self.mode = job.target
        self.rest_confirmed = job.rest != NOT_LOOKED_AT
        self.spaces = self._collect("spaces", described.Space)
        self.passages = self._collect("passages", described.Passage)
        self.parts = self._collect("parts", described.Part)
        self.lines = self._collect("lines", described.Line)
        self.diaphragms = self._collect("diaphragms", described.Diaphragm)
        self.known = self._every_item_name()
        self.found = {name: self._in_our_words(name, state) for name, state in job.found.items()}
        if job.charge is not None and job.charge.cooler is not None:
            self.found.setdefault(COOLER, State.model_validate({"is": FITTED}))

    def _in_our_words(self, name: str, state: State) -> State:
        """A find with the bench's other words put in ours: a passage that is `drilled` is open."""
        forms = self.known.get(name, ())
        if state.is_ in forms or state.is_ == NOT_LOOKED_AT:
            return state
        same = next((form for form in SAME_WORDS.get(state.is_, ()) if form in forms), state.is_)
        return state.model_copy(update={"is_": same})

    def _collect(self, section: str, kind: type[Entry]) -> dict[str, Entry]:
        gathered: dict[str, Entry] = {}
        for source in self.sources:
            for name, entry in getattr(source, section).items():
                if entry.modes is None or self.mode in entry.modes:
                    gathered[name] = entry
        return gathered

    def network(self) -> Network:
        self._check_names()
        items = {**self._passage_items(), **self._part_items(), **self._line_items()}
        stages = {
            name: Stage(name, stage.title, stage.minutes, tuple(stage.after))
            for source in reversed(self.sources)
            for name, stage in source.stages.items()
        }
        spaces = {
            name: Space(name, space.title, space.casting, space.holds, space.volume, space.source)
            for name, space in sorted(self.spaces.items())
        }
        ways = tuple(sorted([*self._passage_ways(), *self._line_ways()], key=lambda way: way.name))
        self._check_contradictions(items)
        return Network(
            spaces=spaces,
            ways=ways,
            diaphragms={name: self._diaphragm(name, entry) for name, entry in sorted(self.diaphragms.items())},
            items=dict(sorted(items.items())),
            stages=stages,
            castings={**self.sources[0].castings, **self.sources[1].castings},
            aliases={**self.sources[0].also_called, **self.sources[1].also_called},
            ways_of={name: tuple(way for way in ways if name in (way.a, way.b)) for name in spaces},
        )

    # --- names --------------------------------------------------------------------------------------------

    def _check_names(self) -> None:
        known = self.known
        problems = []
        proposed = {name: self._in_our_words(name, state) for name, state in (self.job.proposed or {}).items()}
        for section, entries in (("found", self.found), ("proposed", proposed)):
            for name, state in entries.items():
                field = f"{section}.{name}"
                if section == "proposed" and state.is_ == NOT_LOOKED_AT:
                    problems.append(Problem("a proposal says what shall be; 'not looked at' is a find", field=field))
                    continue
                if name not in known:
                    problems.append(Problem(f"no such passage, part or line; {suggest(name, known)}", field=field))
                    continue
                forms = known[name]
                if state.is_ not in forms and state.is_ != NOT_LOOKED_AT:
                    words = (*forms, NOT_LOOKED_AT) if section == "found" else forms
                    problems.append(Problem(f"found {state.is_!r}; {suggest(state.is_, words)}", field=field))
        pins = self.job.pinned
        for section, names in (("keep", pins.keep), ("use", list(pins.use)), ("avoid", list(pins.avoid))):
            problems += [
                Problem(f"no such passage, part or line; {suggest(name, known)}", field=f"pinned.{section}.{name}")
                for name in names
                if name not in known
            ]
        wanted = [("use", name, form) for name, form in pins.use.items()]
        wanted += [("avoid", name, form) for name, forms in pins.avoid.items() for form in forms]
        problems += [
            Problem(f"found {form!r}; {suggest(form, known[name])}", field=f"pinned.{section}.{name}")
            for section, name, form in wanted
            if name in known and form not in known[name]
        ]
        if problems:
            raise BadDescription(problems)

    def _every_item_name(self) -> dict[str, tuple[str, ...]]:
        known: dict[str, tuple[str, ...]] = {}
        for source in self.sources:
            known.update(dict.fromkeys(source.passages, (OPEN, PLUGGED, ABSENT)))
            known.update({name: tuple(part.options) for name, part in source.parts.items()})
            for name, line in source.lines.items():
                known[name] = tuple(line.taps)
                known[name + INLINE] = (NONE, ONE_WAY_VALVE)
        return known

    def _state_of(self, name: str) -> State | None:
        return self.found.get(name)

    def _found(self, name: str, as_built: str) -> tuple[str, bool]:
        state = self._state_of(name)
        if state is None:
            return as_built, self.rest_confirmed
        if state.is_ == NOT_LOOKED_AT:
            return as_built, False
        return state.is_, True

    def _check_contradictions(self, items: Mapping[str, Item]) -> None:
        problems = []
        cooler = self.found.get(COOLER)
        if self.job.charge is not None and self.job.charge.cooler is not None and cooler and cooler.is_ != FITTED:
            message = f"contradicts charge.cooler: a cooler is described there, and found {cooler.is_} here"
            problems.append(Problem(message, field=f"found.{COOLER}"))
        for name, state in self.found.items():
            item = items.get(name)
            if item is None:
                continue
            field = f"found.{name}"
            if item.kind == "passage" and state.setting is not None:
                problems.append(Problem("a passage has no setting; only a valve has", field=f"{field}.setting"))
            if item.kind == "passage" and state.is_ == ABSENT and state.bore is not None:
                problems.append(Problem("absent and yet with a bore: say open or plugged", field=f"{field}.bore"))
            if item.kind != "passage" and state.bore is not None:
                problems.append(Problem("only a passage has a bore here", field=f"{field}.bore"))
            if item.kind != "line" and state.inline is not None:
                problems.append(Problem("only a line has something inline", field=f"{field}.inline"))
            if state.setting is not None and item.kind == "part":
                option = self.parts[name].options.get(state.is_)
                if option is not None and option.valve is None:
                    problems.append(Problem(f"{state.is_} has no valve, so no setting", field=f"{field}.setting"))
            for other, forms in item.conditions:
                if items[other].found not in forms and items[other].confirmed:
                    problems.append(
                        Problem(
                            f"contradicts {other}: found {items[other].found}, but {item.title} exists only with "
                            f"{' or '.join(sorted(forms))}",
                            field=field,
                        )
                    )
            for other, forms in item.forms[item.found].not_with:
                if items[other].found in forms:
                    problems.append(Problem(f"{item.found} cannot go with {other}: {items[other].found}", field=field))
        if problems:
            raise BadDescription(problems)

    # --- items --------------------------------------------------------------------------------------------

    def _labor(self, work: described.Work | None, stage: str) -> Labor | None:
        if work is None or (work.only_in is not None and self.mode not in work.only_in):
            return None
        return Labor(work.how, work.minutes, work.parts, work.irreversible, work.stage or stage)

    def _passage_items(self) -> dict[str, Item]:
        items = {}
        for name, passage in self.passages.items():
            found, confirmed = self._found(name, passage.as_built)
            stage = passage.stage
            made_tight = passage.kind in TIGHT and passage.as_built == PLUGGED
            is_open, is_shut = ("leaking", "sound") if made_tight else ("open", "plugged")
            if found == OPEN:
                forms = {OPEN: Form(is_open), PLUGGED: Form(is_shut, self._labor(passage.close, stage))}
            elif found == PLUGGED:
                forms = {PLUGGED: Form(is_shut), OPEN: Form(is_open, self._labor(passage.reopen, stage))}
            else:
                forms = {ABSENT: Form("absent"), OPEN: Form("open", self._labor(passage.drill, stage))}
            items[name] = Item(
                name,
                passage.title,
                "passage",
                passage.casting,
                stage,
                forms,
                found,
                confirmed,
                _conditions(passage.when),
            )
        return items

    def _sizes_known(self, passages: Sequence[str]) -> bool:
        """Whether somebody measured a mixture, or one of these bores."""
        states = (self._state_of(name) for name in passages)
        return bool(self.job.metering.measured) or any(state is not None and state.bore is not None for state in states)

    def _part_items(self) -> dict[str, Item]:
        items = {}
        for name, part in self.parts.items():
            if part.sizes_of and not self._sizes_known(part.sizes_of):
                continue
            found, confirmed = self._found(name, part.as_built)
            confirmed = confirmed or bool(part.sizes_of)
            forms = {
                form: Form(
                    option.title, self._labor(option.work, part.stage), option.mixture_for, _conditions(option.not_with)
                )
                for form, option in part.options.items()
            }
            items[name] = Item(
                name,
                part.title,
                "part",
                part.casting,
                part.stage,
                forms,
                found,
                confirmed,
                _conditions(part.when),
                part.feeds,
            )
        return items

    def _line_items(self) -> dict[str, Item]:
        items = {}
        for name, line in self.lines.items():
            found, confirmed = self._found(name, line.as_built)
            taps = {form: tap for form, tap in line.taps.items() if tap.modes is None or self.mode in tap.modes}
            if found not in taps:
                taps[found] = line.taps[found]
            forms = {form: Form(tap.title, self._labor(tap.work, line.stage)) for form, tap in taps.items()}
            items[name] = Item(name, line.title, "line", line.casting, line.stage, forms, found, confirmed)
            state = self._state_of(name)
            inline_state = self._state_of(name + INLINE)
            inline = inline_state.is_ if inline_state else (state.inline if state and state.inline else line.inline)
            works = {NONE: line.remove_one_way_valve, ONE_WAY_VALVE: line.fit_one_way_valve}
            items[name + INLINE] = Item(
                name + INLINE,
                f"what stands in the {line.title}",
                "inline",
                line.casting,
                line.stage,
                {form: Form(_INLINE_TITLES[form], self._labor(work, line.stage)) for form, work in works.items()},
                inline if inline != NOT_LOOKED_AT else line.inline,
                confirmed and inline != NOT_LOOKED_AT,
            )
        return items

    # --- ways ---------------------------------------------------------------------------------------------

    def _passage_ways(self) -> list[Way]:
        ways = []
        for name, passage in self.passages.items():
            a, b = passage.joins
            if not self._both_known(a, b):
                continue
            ways.append(
                Way(
                    name=name,
                    title=passage.title,
                    kind=passage.kind,
                    a=a,
                    b=b,
                    area_m2=_effective_area(passage, self._state_of(name)),
                    carries=passage.carries,
                    casting=passage.casting,
                    stage=passage.stage,
                    item=name,
                    conditions=((name, frozenset({OPEN})), *_conditions(passage.when)),
                    one_way=passage.one_way,
                    guard=passage.guard,
                    bore_m=_bore(passage, self._state_of(name)),
                    count=passage.count,
                )
            )
        return ways

    def _both_known(self, a: str, b: str) -> bool:
        return a in self.spaces and b in self.spaces

    def _line_ways(self) -> list[Way]:
        return [
            way for name, line in self.lines.items() for form in line.taps for way in self._tap_ways(name, line, form)
        ]

    def _tap_ways(self, name: str, line: described.Line, form: str) -> list[Way]:
        tap = line.taps[form]
        ends: list[tuple[str, Gate | None]] = []
        if tap.switched is not None:
            level = tap.switched.level
            gauge = level.reference == "gauge"
            for space, above in ((tap.switched.below, False), (tap.switched.above, True)):
                ends.append((space, Gate(tap.switched.senses, level.value_pa, gauge, above)))
        elif tap.to is not None:
            ends.append((tap.to, None))
        area = DISCHARGE_OF_A_HOSE * math.pi / 4 * line.bore**2
        return [
            Way(
                name=f"{name}={form}" + (f"/{space}" if gate else ""),
                title=f"{line.title} to the {self._title(space)}",
                kind="line",
                a=line.of,
                b=space,
                area_m2=area,
                carries="air",
                casting=line.casting,
                stage=line.stage,
                item=name,
                conditions=((name, frozenset({form})),),
                inline=name + INLINE,
                gate=gate,
            )
            for space, gate in ends
            if self._both_known(line.of, space)
        ]

    def _title(self, space: str) -> str:
        return self.spaces[space].title if space in self.spaces else space

    # --- diaphragms ---------------------------------------------------------------------------------------

    def _diaphragm(self, name: str, entry: described.Diaphragm) -> Diaphragm:
        valves: dict[str, Valve] = {}
        limits: dict[str, Limit] = {}
        forms: Mapping[str, described.Option | described.Diaphragm]
        forms = self.parts[entry.part].options if entry.part else {"": entry}
        for form, option in forms.items():
            if option.valve is not None:
                valves[form] = self._valve(entry.part, form, option.valve)
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
            conditions=_conditions(entry.when),
            valves=valves,
            limits=limits,
        )

    def _valve(self, part: str | None, form: str, action: described.ValveAction) -> Valve:
        setting = action.setting
        state = self._state_of(part) if part else None
        if state is not None and state.is_ == form and state.setting is not None:
            setting = math.copysign(state.setting, action.setting)
        return Valve(action.opens == "below", setting, action.spread)


_INLINE_TITLES = {NONE: "nothing in the line", ONE_WAY_VALVE: "a one-way valve that holds the lowest pressure"}


def _conditions(when: Mapping[str, list[str]]) -> Conditions:
    return tuple((item, frozenset(forms)) for item, forms in sorted(when.items()))


def _effective_area(passage: described.Passage, state: State | None) -> float:
    bore = _bore(passage, state)
    each = math.pi / 4 * bore**2 if bore is not None else (passage.area or 0.0)
    return passage.discharge * passage.count * each


def _bore(passage: described.Passage, state: State | None) -> float | None:
    return state.bore if state is not None and state.bore is not None else passage.bore
