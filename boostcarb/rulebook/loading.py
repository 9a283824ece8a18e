"""Reading the rulebook: one rule a file, checked against every family before any of it is used."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from boostcarb.description.loading import SURROUNDINGS, Read, shipped_families, shipped_family
from boostcarb.description.source import read_document, validate
from boostcarb.errors import BadDescription, Problem
from boostcarb.network.model import INLINE
from boostcarb.network.tracing import matching
from boostcarb.rulebook.schema import Rule
from boostcarb.states.catalogue import STATES
from boostcarb.suggest import suggest


@dataclass(frozen=True, slots=True)
class ReadRule(Read):
    """A rule and its file."""

    rule: Rule


def shipped_rules_folder() -> Path:
    """Where the rulebook is: inside the installed package, or at the top of a checkout."""
    inside = Path(__file__).parents[1] / "rules"
    return inside if inside.is_dir() else Path(__file__).parents[2] / "rules"


@cache
def shipped_rules() -> tuple[Rule, ...]:
    """The rulebook that travels with the package, by id."""
    return tuple(read.rule for read in read_rules(shipped_rules_folder()))


def read_rules(folder: Path) -> tuple[ReadRule, ...]:
    """Read every rule of a folder.

    Raises:
        BadDescription: a file that is no rule or is not named as its id, a name no family has, an empty folder.
    """
    files = sorted(folder.glob("*.yaml"))
    if not files:
        raise BadDescription(Problem("no rules here: expected files named *.yaml", file=folder))
    rules = [read_rule(path) for path in files]
    problems = [problem for read in rules for problem in _wrong_names(read)]
    if problems:
        raise BadDescription(problems)
    return tuple(sorted(rules, key=lambda read: read.rule.id))


def read_rule(path: Path) -> ReadRule:
    """Read one rule file. Raises BadDescription with file, line and field."""
    document = read_document(path)
    read = ReadRule(document, validate(Rule, document))
    if read.rule.id != path.stem:
        raise BadDescription(read.problem(("id",), f"found {read.rule.id!r}, but the file is named {path.name}"))
    if read.rule.basis.kind == "standard" and not read.rule.basis.reference:
        raise BadDescription(read.problem(("basis",), "a rule based on a standard needs its `reference`"))
    return read


@dataclass(frozen=True, slots=True)
class _Names:
    spaces: frozenset[str]
    diaphragms: frozenset[str]
    items: dict[str, frozenset[str]]


@cache
def _known_names() -> _Names:
    families = [shipped_family(name).family for name in (*shipped_families(), SURROUNDINGS)]
    items: dict[str, frozenset[str]] = {}
    for family in families:
        items.update(dict.fromkeys(family.passages, frozenset({"open", "plugged", "absent"})))
        items.update({name: frozenset(part.options) for name, part in family.parts.items()})
        for name, line in family.lines.items():
            items[name] = frozenset(line.taps)
            items[name + INLINE] = frozenset({"none", "one_way_valve"})
    return _Names(
        frozenset(name for family in families for name in family.spaces),
        frozenset(name for family in families for name in family.diaphragms),
        items,
    )


def _wrong_names(read: ReadRule) -> Iterator[Problem]:
    yield from _wrong_places(read)
    yield from _wrong_forms(read)
    rule, families = read.rule, shipped_families()
    states = {state.id for state in STATES}
    for state in getattr(rule.requirement, "states", ()):
        if state not in states:
            yield read.problem(("requirement", "states"), f"no such state {state!r}; {suggest(state, states)}")
    for family in () if rule.families == "any" else rule.families:
        if family not in families:
            yield read.problem(("families",), f"no such family {family!r}; {suggest(family, families)}")


def _wrong_places(read: ReadRule) -> Iterator[Problem]:
    names, requirement = _known_names(), read.rule.requirement
    for field, known in (
        ("from_", names.spaces),
        ("to", names.spaces),
        ("space", names.spaces),
        ("diaphragm", names.diaphragms),
        ("if_valve_on", names.diaphragms),
        ("if_diaphragm", names.diaphragms),
        ("item", frozenset(names.items)),
    ):
        pattern = getattr(requirement, field, None)
        if pattern is None or (requirement.kind == "guarded" and field == "to"):
            continue
        if not matching(pattern, known):
            place = ("requirement", field.rstrip("_"))
            yield read.problem(place, f"{pattern!r} names nothing in any family; {suggest(pattern, known)}")


def _wrong_forms(read: ReadRule) -> Iterator[Problem]:
    names, requirement = _known_names(), read.rule.requirement
    if requirement.kind == "form":
        covered = [names.items[name] for name in matching(requirement.item, names.items)]
        for form in (*(requirement.one_of or ()), *(requirement.none_of or ())):
            if covered and not any(form in forms for forms in covered):
                choices = sorted(set().union(*covered))
                message = f"{form!r} is no form of {requirement.item}; {suggest(form, choices)}"
                yield read.problem(("requirement",), message)
    for item, forms in read.rule.when.items():
        if item not in names.items:
            yield read.problem(("when", item), f"no such passage, part or line; {suggest(item, names.items)}")
            continue
        for form in forms:
            if form not in names.items[item]:
                message = f"{form!r} is no form of {item}; {suggest(form, names.items[item])}"
                yield read.problem(("when", item), message)
