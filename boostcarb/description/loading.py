"""Reading families from files: every name in them checked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from boostcarb.description.family import Diaphragm, Family, Line, MadeOf, Part, Passage, Work
from boostcarb.description.repetition import spread_groups
from boostcarb.description.source import Document, PathKey, read_document, validate
from boostcarb.errors import BadDescription, Problem
from boostcarb.suggest import suggest

SURROUNDINGS = "surroundings"
FIRST_STAGE = "on_engine"
"""Stage that every family has; the surroundings need no other."""


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


def read_family(path: Path, around: Family | None = None) -> ReadFamily:
    """Read a family file, groups spread out, and check every name in it against the surroundings.

    `around` are the surroundings, if not those that travel with the package.

    Raises:
        BadDescription: with file, line and field.
    """
    document = spread_groups(read_document(path))
    read = ReadFamily(document, validate(Family, document))
    problems = list(_Names(read, around).problems())
    if problems:
        raise BadDescription(problems)
    return read


class _Names:
    """Checks every name that a family uses against the family and its surroundings."""

    def __init__(self, read: ReadFamily, around: Family | None) -> None:
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
        yield from self._stages_in_a_circle()
        for word, space in self.family.also_called.items():
            yield from self._known(("also_called", word), "space", space, self.spaces)
        for group in self.family.flow.venturis if self.family.flow else ():
            yield from self._known(("flow", "venturis", group), "group", group, self.family.groups)

    def _known(self, path: PathKey, what: str, name: str, known: Iterable[str]) -> Iterator[Problem]:
        choices = tuple(known)
        if name not in choices:
            yield self.read.problem(path, f"unknown {what} {name!r}; {suggest(name, choices)}")

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
