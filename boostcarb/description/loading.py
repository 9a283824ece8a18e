"""Reading families and jobs from files, checked so far as one file can be checked alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from boostcarb.description.family import Family
from boostcarb.description.job import Job
from boostcarb.description.repetition import spread_groups
from boostcarb.description.source import Document, read_document, validate
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
class ReadJob(Read):
    """A job and its file."""

    job: Job


@dataclass(frozen=True, slots=True)
class ReadFamily(Read):
    """A family and its file."""

    family: Family


def read_job(path: Path) -> ReadJob:
    """Read a job file. Raises BadDescription with file, line and field."""
    document = read_document(path)
    return ReadJob(document, validate(Job, document))


@cache
def shipped_families() -> tuple[str, ...]:
    """Names of the families that travel with the package, sorted."""
    names = (entry.name.removesuffix(".yaml") for entry in files(__package__).joinpath("families").iterdir())
    return tuple(sorted(name for name in names if not name.endswith(".json") and name != SURROUNDINGS))


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


def read_family(path: Path) -> ReadFamily:
    """Read a family file, groups spread out, and check every name in it against the surroundings.

    Raises:
        BadDescription: with file, line and field.
    """
    document = spread_groups(read_document(path))
    read = ReadFamily(document, validate(Family, document))
    problems = list(_unknown_names(read))
    if problems:
        raise BadDescription(problems)
    return read


def _unknown_names(read: ReadFamily) -> Iterator[Problem]:
    family = read.family
    around = None if family.family == SURROUNDINGS else shipped_family(SURROUNDINGS).family
    spaces = {**(around.spaces if around else {}), **family.spaces}
    parts = {**(around.parts if around else {}), **family.parts}
    castings = {**(around.castings if around else {}), **family.castings}
    stages: Mapping[str, Any] = family.stages or dict.fromkeys([FIRST_STAGE])

    def check(path: tuple[str | int, ...], what: str, name: str, known: Mapping[str, Any]) -> Iterator[Problem]:
        if name not in known:
            yield read.problem(path, f"unknown {what} {name!r}; {suggest(name, known)}")

    for section in ("spaces", "passages", "parts", "lines"):
        for name, entry in getattr(family, section).items():
            yield from check((section, name, "casting"), "casting", entry.casting, castings)
            if section != "spaces":
                yield from check((section, name, "stage"), "stage", entry.stage, stages)
            for item, forms in getattr(entry, "when", {}).items():
                yield from check((section, name, "when"), "part", item, parts)
                for form in forms if item in parts else ():
                    yield from check((section, name, "when", item), f"form of {item}", form, parts[item].options)
    for name, passage in family.passages.items():
        for index, end in enumerate(passage.joins):
            yield from check(("passages", name, "joins", index), "space", end, spaces)
        if passage.guard is not None:
            yield from check(("passages", name, "guard"), "part", passage.guard, parts)
    for name, part in family.parts.items():
        yield from check(("parts", name, "as_built"), f"form of {name}", part.as_built, part.options)
    for name, line in family.lines.items():
        yield from check(("lines", name, "of"), "space", line.of, spaces)
        yield from check(("lines", name, "as_built"), f"tap of {name}", line.as_built, line.taps)
        for form, tap in line.taps.items():
            ends = [tap.to] if tap.to else []
            ends += [tap.switched.senses, tap.switched.below, tap.switched.above] if tap.switched else []
            for end in ends:
                yield from check(("lines", name, "taps", form), "space", end, spaces)
    for name, diaphragm in family.diaphragms.items():
        for index, end in enumerate(diaphragm.between):
            yield from check(("diaphragms", name, "between", index), "space", end, spaces)
        if diaphragm.part is not None:
            yield from check(("diaphragms", name, "part"), "part", diaphragm.part, parts)
        for passage_name in diaphragm.works_through:
            yield from check(("diaphragms", name, "works_through"), "passage", passage_name, family.passages)
    for name, stage in family.stages.items():
        for before in stage.after:
            yield from check(("stages", name, "after"), "stage", before, family.stages)


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
