"""Reading families from files: every name in them checked."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from boostcarb.description.family import Diaphragm, Family, Line, MadeOf, Part, Passage, Stage, Work
from boostcarb.description.inheritance import read_inherited, take_out
from boostcarb.description.repetition import spread_groups
from boostcarb.description.source import Document, PathKey, read_document, validate
from boostcarb.errors import BadDescription, Problem
from boostcarb.suggest import suggest

SURROUNDINGS = "surroundings"
FIRST_STAGE = "on_engine"
"""Stage that every family has; the surroundings need no other."""
CIRCUIT_FIELDS = {
    "bowl": "space", "well": "space", "idle_well": "space", "enrichment_side": "space", "jets": "part",
    "jet_hole": "passage", "jet_sizes": "part",
}  # fmt: skip
"""What a name under `circuits` is one of."""
THROAT_CASTING = "air_path"
"""Casting of the surroundings to which the throats of every carburetor belong."""


@dataclass(frozen=True, slots=True)
class Read:
    """A validated record with the document it came from, so that later checks can still name the line."""

    document: Document

    def problem(self, path: tuple[str | int, ...], message: str) -> Problem:
        """A problem at a path of the document, with file and line."""
        place = self.document.place(path)
        return Problem(message, file=place.file, line=place.line, field=".".join(str(part) for part in path) or None)

    def located(self, problem: Problem) -> Problem:
        """A problem that knows only its field, with file and line added."""
        if problem.file is not None:
            return problem
        return self.problem(_path_of(self.document.data, problem.field or ""), problem.message)


@dataclass(frozen=True, slots=True)
class ReadFamily(Read):
    """A family and its file."""

    family: Family


@cache
def shipped_families() -> tuple[str, ...]:
    """Names of the families that travel with the package, sorted."""
    entries = files(__package__).joinpath("families").iterdir()
    names = (entry.name.removesuffix(".yaml") for entry in entries if entry.name.endswith(".yaml"))
    return tuple(sorted(name for name in names if name != SURROUNDINGS))


@cache
def shipped_family(name: str) -> ReadFamily:
    """One of the shipped families, or the surroundings.

    Raises:
        BadDescription: no such family.
    """
    if name not in (*shipped_families(), SURROUNDINGS):
        raise BadDescription(
            Problem(f"unknown family {name!r}; {suggest(name, shipped_families())}", field="carburetor")
        )
    with as_file(files(__package__).joinpath("families", f"{name}.yaml")) as path:
        return read_family(path)


def base_file(name: str, beside: Path) -> Path | None:
    """The file of the family that another is based on: beside it, else one that travels with the package."""
    own = beside.parent / f"{name}.yaml"
    if os.path.isfile(own) and own.resolve() != beside.resolve():
        return own
    shipped = files(__package__).joinpath("families", f"{name}.yaml")
    return Path(str(shipped)) if name in shipped_families() and shipped.is_file() else None


def with_throats(document: Document) -> Document:
    """The document with the throats of every barrel group: the air path gives their pressures, nobody writes them."""
    flow = document.data.get("flow")
    venturis = flow.get("venturis") if isinstance(flow, Mapping) else None
    spaces = document.data.get("spaces", {})
    if not isinstance(venturis, Mapping) or not isinstance(spaces, Mapping):
        return document
    throats = {
        f"{group}.{what}_throat": {
            "title": f"{group} {what} throats", "casting": THROAT_CASTING, "holds": "mixture", "source": True,
        }
        for group in venturis
        for what in ("venturi", "booster")
    }  # fmt: skip
    return Document(document.path, {**document.data, "spaces": {**throats, **spaces}}, document.places)


def read_variant(path: Path) -> Family:
    """Read a file that adds to the surroundings: its names are checked against both. Raises: BadDescription."""
    around = shipped_family(SURROUNDINGS).family
    document = read_document(path)
    read = ReadFamily(document, validate(Family, document))
    problems = list(_Names(read, around, whole=False).problems())
    if problems:
        raise BadDescription(problems)
    return read.family


def read_family(path: Path, around: Family | None = None, *, text: str | None = None) -> ReadFamily:
    """Read a family file, with what it is based on, groups spread out, and check every name in it.

    `around` are the surroundings, if not those that travel with the package; `text` is the file's content if it was
    read elsewhere.

    Raises:
        BadDescription: with file, line and field.
    """
    document = with_throats(take_out(spread_groups(read_inherited(path, base_file, text=text))))
    read = ReadFamily(document, validate(Family, document))
    problems = list(_Names(read, around).problems())
    if problems:
        raise BadDescription(problems)
    return read


class _Names:
    """Checks every name that a family uses against the family and its surroundings."""

    def __init__(self, read: ReadFamily, around: Family | None, *, whole: bool = True) -> None:
        self.whole = whole and read.family.family != SURROUNDINGS
        self.read = read
        self.family = read.family
        if self.family.family == SURROUNDINGS:
            around = None
        elif around is None:
            around = shipped_family(SURROUNDINGS).family
        self.spaces = {*(around.spaces if around else ()), *self.family.spaces}
        self.parts = {**(around.parts if around else {}), **self.family.parts}
        self.castings = {*(around.castings if around else ()), *self.family.castings}
        self.stages = tuple(self.family.stages) or ("on_engine",)

    def problems(self) -> Iterator[Problem]:
        """Everything that is wrong, section by section."""
        for section in ("spaces", "passages", "parts", "lines", "diaphragms"):
            for name, entry in getattr(self.family, section).items():
                yield from self._entry((section, name), entry)
        for name, passage in self.family.passages.items():
            yield from self._passage(("passages", name), passage)
        for name, part in self.family.parts.items():
            yield from self._part(("parts", name), part)
        for name, line in self.family.lines.items():
            yield from self._line(("lines", name), line)
        for name, diaphragm in self.family.diaphragms.items():
            yield from self._diaphragm(("diaphragms", name), diaphragm)
        for name, stage in self.family.stages.items():
            for before in stage.after:
                yield from self._known(("stages", name, "after"), "stage", before, self.family.stages)
            yield from self._stage(("stages", name), stage)
        yield from self._stages_in_a_circle()
        for word, space in self.family.also_called.items():
            yield from self._known(("also_called", word), "space", space, self.spaces)
        yield from self._groups()
        if self.whole:
            yield from self._is_whole()

    def _is_whole(self) -> Iterator[Problem]:
        """What no carburetor can be without."""
        example = {
            "groups": "'groups: [main]'",
            "castings": "'castings: {body: main body}'",
            "stages": "'stages: {on_engine: {title: \"on the engine, nothing off\", minutes: 0}}'",
            "flow": "'flow: {rated_flow: 300 cfm, rated_drop: 1.5 inHg, booster_gain: 2, venturis: {main: {count: 2, "
            "bore: 30 mm}}}'",
        }
        for section, line in example.items():
            if not getattr(self.family, section):
                yield self.read.problem((section,), f"is missing; a carburetor needs it, as in {line}")

    def _groups(self) -> Iterator[Problem]:
        family, flow = self.family, self.family.flow
        for group in flow.venturis if flow else ():
            yield from self._known(("flow", "venturis", group), "group", group, family.groups)
        for group in family.groups if flow else ():
            if flow is not None and group not in flow.venturis and set(flow.venturis) <= set(family.groups):
                message = f"says nothing of {group!r}; give the venturis of every group, as in "
                yield self.read.problem(("flow", "venturis"), f"{message}'{group}: {{count: 2, bore: 32 mm}}'")
        for group, opening in flow.opening.items() if flow else ():
            path: PathKey = ("flow", "opening", group)
            yield from self._known(path, "group", group, family.groups)
            if opening.part is not None:
                yield from self._condition(path, {opening.part: opening.by_vacuum})
        if flow is not None and family.groups and set(flow.opening) >= set(family.groups):
            yield self.read.problem(("flow", "opening"), "every group opens after the others; leave the first one out")
        for group in family.group_titles:
            yield from self._known(("group_titles", group), "group", group, family.groups)
        for group, names in family.circuits.items():
            yield from self._known(("circuits", group), "group", group, family.groups)
            for field, name in names.model_dump(exclude_none=True).items():
                what, known = CIRCUIT_FIELDS[field], getattr(family, CIRCUIT_FIELDS[field] + "s")
                yield from self._known(("circuits", group, field), what, name, known)

    def _stage(self, path: PathKey, stage: Stage) -> Iterator[Problem]:
        for index, casting in enumerate(stage.takes_off):
            yield from self._known((*path, "takes_off", index), "casting", casting, self.castings)
        for index, renewed in enumerate(stage.renews or ()):
            if renewed.part is not None:
                forms = {renewed.part: [*renewed.not_as, *renewed.only_as]}
                yield from self._condition((*path, "renews", index), forms)

    def _known(self, path: PathKey, what: str, name: str, known: Iterable[str]) -> Iterator[Problem]:
        choices = tuple(known)
        if name not in choices:
            yield self.read.problem(path, f"unknown {what} {name!r}; {suggest(name, choices)}{self._inherited(path)}")

    def _inherited(self, path: PathKey) -> str:
        """What to do about an entry that stands in another file than the one that is read."""
        own, based_on = self.read.document.path, self.family.based_on
        if based_on is None or self.read.document.place(path).file == own:
            return ""
        return f" (inherited: change {path[1]} in {own.name}, or take it out under `without: {{{path[0]}: [..]}}`)"

    def _entry(self, path: PathKey, entry: Any) -> Iterator[Problem]:
        if hasattr(entry, "casting"):
            yield from self._known((*path, "casting"), "casting", entry.casting, self.castings)
        if hasattr(entry, "stage"):
            yield from self._known((*path, "stage"), "stage", entry.stage, self.stages)
        if getattr(entry, "feeds", None) is not None:
            yield from self._known((*path, "feeds"), "group", entry.feeds, self.family.groups)
        yield from self._condition((*path, "when"), getattr(entry, "when", {}))

    def _condition(self, path: PathKey, condition: Mapping[str, list[str]]) -> Iterator[Problem]:
        for item, forms in condition.items():
            yield from self._known((*path, item), "part", item, self.parts)
            for form in forms if item in self.parts else ():
                yield from self._known((*path, item), f"form of {item}", form, self.parts[item].options)

    def _work(self, path: PathKey, work: Work | None) -> Iterator[Problem]:
        if work is not None and work.stage is not None:
            yield from self._known((*path, "stage"), "stage", work.stage, self.stages)

    def _passage(self, path: PathKey, passage: Passage) -> Iterator[Problem]:
        for index, end in enumerate(passage.joins):
            yield from self._known((*path, "joins", index), "space", end, self.spaces)
        if passage.joins[0] == passage.joins[1]:
            yield self.read.problem((*path, "joins"), f"found {passage.joins[0]!r} twice; name two different spaces")
        if (passage.bore is None) == (passage.area is None):
            found = "neither" if passage.bore is None else "both"
            yield self.read.problem(path, f"needs one of bore and area; found {found}")
        if passage.guard is not None:
            yield from self._known((*path, "guard"), "part", passage.guard, self.parts)
        for field in ("close", "reopen", "drill"):
            yield from self._work((*path, field), getattr(passage, field))
        for field in ("blocked_by", "only_back_by"):
            yield from self._condition((*path, field), getattr(passage, field))

        if passage.valve is not None:
            yield from self._known((*path, "valve"), "part", passage.valve, self.parts)
            if not passage.one_way:
                yield self.read.problem((*path, "valve"), "only a one-way passage has a valve; add 'one_way: true'")
        if passage.range is not None:
            yield from self._range(path, passage.bore, *passage.range)

    def _range(self, path: PathKey, bore: float | None, low: float, high: float) -> Iterator[Problem]:
        if bore is None:
            yield self.read.problem((*path, "range"), "goes with a bore; this passage has only an area")
        elif not low <= bore <= high:
            found = f"the usual bore, {bore * 1e3:g} mm, is not between {low * 1e3:g} and {high * 1e3:g} mm"
            yield self.read.problem((*path, "range"), f"{found}; write the smallest first, as in '[0.5 mm, 1.1 mm]'")

    def _part(self, path: PathKey, part: Part) -> Iterator[Problem]:
        yield from self._known((*path, "as_built"), f"form of {path[-1]}", part.as_built, part.options)
        for form, option in part.options.items():
            yield from self._work((*path, "options", form, "work"), option.work)
            yield from self._condition((*path, "options", form, "not_with"), option.not_with)
        if part.made_of is not None:
            yield from self._made_of((*path, "made_of"), part, part.made_of)
        for index, passage in enumerate(part.sizes_of):
            yield from self._known((*path, "sizes_of", index), "passage", passage, self.family.passages)

    def _made_of(self, path: PathKey, part: Part, made_of: MadeOf) -> Iterator[Problem]:
        yield from self._known((*path, "as_built"), f"choice of {path[-2]}", made_of.as_built, made_of.choices)
        yield from self._work((*path, "work"), made_of.work)
        for index, form in enumerate(made_of.only_with or ()):
            yield from self._known((*path, "only_with", index), f"form of {path[-2]}", form, part.options)

    def _line(self, path: PathKey, line: Line) -> Iterator[Problem]:
        yield from self._known((*path, "of"), "space", line.of, self.spaces)
        yield from self._known((*path, "as_built"), f"tap of {path[-1]}", line.as_built, line.taps)
        for form, tap in line.taps.items():
            place = (*path, "taps", form)
            if tap.to is not None:
                yield from self._known((*place, "to"), "space", tap.to, self.spaces)
            if tap.switched is not None:
                for field in ("senses", "below", "above"):
                    end = getattr(tap.switched, field)
                    yield from self._known((*place, "switched", field), "space", end, self.spaces)
            if tap.to is not None and tap.switched is not None:
                yield self.read.problem(place, "has both `to` and `switched`; keep one")
            yield from self._work((*place, "work"), tap.work)

    def _diaphragm(self, path: PathKey, diaphragm: Diaphragm) -> Iterator[Problem]:
        for index, end in enumerate(diaphragm.between):
            yield from self._known((*path, "between", index), "space", end, self.spaces)
        if diaphragm.part is not None:
            yield from self._known((*path, "part"), "part", diaphragm.part, self.parts)
        for passage in diaphragm.works_through:
            yield from self._known((*path, "works_through"), "passage", passage, self.family.passages)
        if diaphragm.kind == "piston":
            yield from self._piston(path, diaphragm)
        elif diaphragm.leaks_past is not None:
            yield self.read.problem((*path, "leaks_past"), "a diaphragm does not leak; say 'kind: piston'")

    def _piston(self, path: PathKey, piston: Diaphragm) -> Iterator[Problem]:
        """A piston without a clearance would hold a pressure that it cannot hold."""
        name = piston.leaks_past
        example = f"'{path[-1]}_clearance: {{kind: clearance, joins: [{', '.join(piston.between)}], area: 2 mm2, ..}}'"
        if name is None:
            message = "a piston leaks past its side: name that passage here, 'leaks_past: ..', and describe it under "
            yield self.read.problem(path, f"{message}`passages:`, as in {example}")
            return
        passage = self.family.passages.get(name)
        if passage is None:
            yield from self._known((*path, "leaks_past"), "passage", name, self.family.passages)
        elif set(passage.joins) != set(piston.between):
            found = " and ".join(passage.joins)
            message = f"{name} joins {found}; the clearance of this piston joins {' and '.join(piston.between)}"
            yield self.read.problem((*path, "leaks_past"), message)

    def _stages_in_a_circle(self) -> Iterator[Problem]:
        """Stages left over when every stage whose predecessors are done has been taken."""
        left = dict(self.family.stages)
        while ready := [name for name, stage in left.items() if not any(before in left for before in stage.after)]:
            for name in ready:
                del left[name]
        if left:
            name = next(iter(left))
            yield self.read.problem(("stages", name, "after"), f"these wait for each other: {', '.join(left)}")


def _path_of(data: Any, field: str) -> tuple[str | int, ...]:
    """Split a dotted field into keys of the data; keys may hold dots themselves."""
    path: list[str | int] = []
    words = field.split(".") if field else []
    while words and isinstance(data, Mapping):
        for length in range(len(words), 0, -1):
            key = ".".join(words[:length])
            if key in data:
                path.append(key)
                data, words = data[key], words[length:]
                break
        else:
            break
    return tuple(path)
