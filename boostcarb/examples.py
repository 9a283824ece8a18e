"""Worked examples of rules: carburetors that break a rule, and others that keep it.

A rule's examples stand in `examples/<id>.yaml` beside it. Each lays its sections over the base job of its target in
`examples/base/`, and says what it shows; `place` and `states` name what must be found.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

from boostcarb import pipeline
from boostcarb.bench import Bench
from boostcarb.description.job import Job
from boostcarb.description.library import Library, ReadJob, check_job
from boostcarb.description.source import Document, PathKey, Place, read_document, validate
from boostcarb.errors import BadDescription, BoostcarbError, Problem
from boostcarb.findings import Finding
from boostcarb.rulebook.loading import OwnData, ReadRule, own_data, own_rules, shipped_rules_folder
from boostcarb.rulebook.schema import Entry, Examples, Rule

FOLDER, BASE = "examples", "base"
Kind = Literal["violates", "satisfies"]


@dataclass(frozen=True, slots=True)
class Example:
    """One example, ready to be judged."""

    rule: str
    kind: Kind
    entry: Entry
    read: ReadJob
    path: PathKey

    def problem(self, message: str) -> Problem:
        """A problem with the example, with file and line."""
        place = self.read.document.places[()]
        return Problem(message, file=place.file, line=place.line, field=".".join(map(str, self.path)))


@dataclass(frozen=True, slots=True)
class Worked:
    """An example and what the rule finds in it."""

    example: Example
    bench: Bench
    findings: tuple[Finding, ...]

    @property
    def surprise(self) -> str | None:
        """How what was found is not what the example says; None where it is."""
        entry, found = self.example.entry, self.findings
        if self.example.kind == "satisfies":
            return f"should keep the rule, but it fails at {found[0].place}" if found else None
        if not found:
            return "should break the rule, but nothing was found"
        places = sorted({finding.place for finding in found})
        if entry.place is not None and places != sorted(entry.place):
            return f"should fail at {', '.join(sorted(entry.place))}; found at {', '.join(places)}"
        if entry.states is not None and [finding.states for finding in found] != [tuple(entry.states)]:
            states = "; ".join(", ".join(finding.states) for finding in found)
            return f"should fail in {', '.join(entry.states)}; found in {states}"
        return None


def folder_of(rule: str, library: Library) -> Path:
    """The folder that holds a rule and its examples: the user's own before ours."""
    own = library.rules_folder
    return own if own is not None and (own / f"{rule}.yaml").is_file() else shipped_rules_folder()


def examples_of(rule: str, library: Library) -> tuple[Example, ...]:
    """The examples of a rule; none where it has no file of them. Raises: BadDescription."""
    folder = folder_of(rule, library)
    path = folder / FOLDER / f"{rule}.yaml"
    return tuple(_read(path, rule, folder, library)) if path.is_file() else ()


def _read(path: Path, rule: str, folder: Path, library: Library) -> Iterator[Example]:
    document = read_document(path)
    examples = validate(Examples, document)
    if examples.rule != rule:
        place = document.place(("rule",))
        message = f"found {examples.rule!r}, but the file is named {path.name}"
        raise BadDescription(Problem(message, place.file, place.line, "rule"))
    for kind in ("violates", "satisfies"):
        for index, entry in enumerate(getattr(examples, kind)):
            where = (kind, index)
            laid = _laid_over(_base(entry.target, folder), document, where, entry.model_extra or {})
            read = ReadJob(laid, validate(Job, laid), library)
            check_job(read)
            yield Example(rule, kind, entry, read, where)


@cache
def _base(target: str, folder: Path) -> Document:
    own = folder / FOLDER / BASE / f"{target}.yaml"
    return read_document(own if own.is_file() else shipped_rules_folder() / FOLDER / BASE / f"{target}.yaml")


def _laid_over(base: Document, document: Document, where: PathKey, sections: dict[str, Any]) -> Document:
    """The base job with an example's sections over it; what the example says is placed in its own file."""
    data = dict(base.data)
    for key, value in sections.items():
        both = isinstance(value, dict) and isinstance(data.get(key), dict)
        data[key] = {**data[key], **value} if both else value
    places: dict[PathKey, Place] = dict(base.places)
    depth = len(where)
    own = {path[depth:]: place for path, place in document.places.items() if path[:depth] == where}
    return Document(document.path, data, {**places, **own})


def work_out(example: Example) -> Worked:
    """Judge an example by its rule. Raises: BadDescription, NotSolved."""
    bench = pipeline.set_up(example.read)
    found = bench.findings(bench.network.found())
    return Worked(example, bench, tuple(finding for finding in found if finding.rule == example.rule))


def first_of_each(rule: str, library: Library) -> list[Example]:
    """The first example that breaks a rule and the first that keeps it on the same target."""
    examples = examples_of(rule, library)
    broken = next((each for each in examples if each.kind == "violates"), None)
    if broken is None:
        return []
    kept = [each for each in examples if each.kind == "satisfies"]
    alike = [each for each in kept if each.entry.target == broken.entry.target]
    return [broken, *(alike or kept)[:1]]


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found in a folder of a user's own data."""

    own: OwnData
    examples: int
    problems: tuple[Problem, ...]


def check(folder: Path) -> Checked:
    """Read a folder as strictly as the shipped data, and work out every example of its rules.

    Raises:
        BadDescription: a file that cannot be read or used at all.
    """
    library = pipeline.library(folder)
    own = own_data(library)
    if own is None:
        raise BadDescription(Problem("no folder to check"))
    rules = own_rules(library)
    problems = tuple(problem for read in rules for problem in unproved(read, library))
    worked = sum(len(examples_of(read.rule.id, library)) for read in rules) if not problems else 0
    return Checked(own, worked, problems)


def unproved(read: ReadRule, library: Library) -> Iterator[Problem]:
    """What is missing or wrong with the examples of a rule: none, a target without one, a wrong outcome."""
    rule, examples = read.rule, examples_of(read.rule.id, library)
    if not examples:
        wanted = f"{FOLDER}/{rule.id}.yaml"
        yield read.problem(("id",), f"no examples: write {wanted} with one job that breaks it and one that keeps it")
        return
    yield from _targets_left_out(read, rule, examples)
    for example in examples:
        try:
            surprise = work_out(example).surprise
        except BadDescription as error:
            yield from error.problems
        except BoostcarbError as error:
            yield example.problem(f"gives no answer: {error}")
        else:
            if surprise is not None:
                yield example.problem(f"{example.entry.says!r} {surprise}")


def _targets_left_out(read: ReadRule, rule: Rule, examples: tuple[Example, ...]) -> Iterator[Problem]:
    kept = {example.entry.target for example in examples if example.kind == "satisfies"}
    broken = {example.entry.target for example in examples if example.kind == "violates"}
    for target in sorted(set(rule.modes) - kept):
        yield read.problem(("modes",), f"{target} has no example that keeps the rule")
    for target in sorted(broken - set(rule.modes)):
        yield read.problem(("modes",), f"{target} is none of its targets, but an example breaks it there")
