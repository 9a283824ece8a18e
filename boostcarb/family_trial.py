"""A family of one's own, checked: read, looked over, and tried on an engine in every target mode."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from boostcarb import pipeline
from boostcarb.description.family import Family, Mode
from boostcarb.description.family_check import advice
from boostcarb.description.job import Job
from boostcarb.description.library import SHIPPED, Library, ReadJob, unknown_materials
from boostcarb.description.loading import ReadFamily, read_family
from boostcarb.description.source import Document, validate
from boostcarb.errors import BadDescription, Problem
from boostcarb.findings import Severity

ENGINE: Mapping[str, str] = {
    "displacement": "3 l", "idle_speed": "900 rpm", "cruise_speed": "2400 rpm", "torque_peak_speed": "3600 rpm",
    "redline_speed": "5500 rpm",
}  # fmt: skip
CHARGE: Mapping[str, str] = {"boost": "50 kPa gauge", "full_boost_speed": "3000 rpm"}
"""The engine and charge system it is tried on: any that the air path can balance would do."""


@dataclass(frozen=True, slots=True)
class Trial:
    """The family as built in one target mode: how many rules of each severity it breaks before any change."""

    mode: str
    stops: int
    fixes: int


@dataclass(frozen=True, slots=True)
class FamilyCheck:
    """A family that can be used, with what is worth a second look."""

    family: Family
    advice: tuple[Problem, ...]
    trials: tuple[Trial, ...]


def check_family(path: Path, library: Library = SHIPPED) -> FamilyCheck:
    """Read a family file, look it over and try it in every mode.

    Raises:
        BadDescription: what is wrong with it, with file and line.
        NotSolved: an air path or a pressure that does not balance.
    """
    read = read_family(path)
    problems = list(unknown_materials(read, library))
    if problems:
        raise BadDescription(problems)
    family = read.family
    known = Library(library.folder, {**library.own_families, family.family: read}, library.own_materials)
    trials = tuple(_trial(read, known, mode) for mode in get_args(Mode))
    return FamilyCheck(family, tuple(read.problem(each.path, each.message) for each in advice(family)), trials)


def _trial(read: ReadFamily, library: Library, mode: str) -> Trial:
    said: dict[str, Any] = {
        "job": f"trial of {read.family.family}", "carburetor": read.family.family, "target": mode, "rest": "as built",
        "engine": dict(ENGINE),
    }  # fmt: skip
    if mode != "naturally_aspirated":
        said["charge"] = dict(CHARGE)
    document = Document(read.document.path, said, {})
    try:
        bench = pipeline.set_up(ReadJob(document, validate(Job, document), library))
        found = bench.findings(bench.network.found())
        bench.states(bench.network.found())
    except BadDescription as error:
        problems = [
            Problem(f"tried in {mode}: {each.message}", each.file or read.document.path, each.line, each.field)
            for each in error.problems
        ]
        raise BadDescription(problems) from error
    by_severity = [finding.severity for finding in found]
    return Trial(mode, by_severity.count(Severity.stop), by_severity.count(Severity.fix))
