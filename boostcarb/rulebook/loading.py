"""Reading the rulebook: one rule a file, checked against every family before any of it is used."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from boostcarb.description.library import SHIPPED, Library
from boostcarb.description.loading import SURROUNDINGS, Read
from boostcarb.description.source import data_files, read_document, validate
from boostcarb.description.variants import VARIANTS, variant
from boostcarb.errors import BadDescription, Problem
from boostcarb.network.model import ABSENT, INLINE, MATERIAL, NONE, ONE_WAY_VALVE, OPEN, PLUGGED
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
    """The rulebook that travels with the package, by id.

    Its names are not compared with those of the families at every start: that would read all families each time.
    """
    return tuple(read.rule for read in read_rules(shipped_rules_folder(), None))


def rules_of(library: Library) -> tuple[Rule, ...]:
    """The rulebook with a user's own rules: one of a shipped rule's id takes its place. Raises: BadDescription."""
    if library.folder is None:
        return shipped_rules()
    own = {read.rule.id: read.rule for read in own_rules(library)}
    book = {rule.id: rule for rule in shipped_rules()} | own
    return tuple(book[name] for name in sorted(book))


@cache
def own_rules(library: Library) -> tuple[ReadRule, ...]:
    """The rules of a user's own folder. Raises: BadDescription."""
    folder = library.rules_folder
    return read_rules(folder, library) if folder is not None else ()


@dataclass(frozen=True, slots=True)
class OwnData:
    """What a user's own folder adds, and what of ours it replaces."""

    folder: str
    rules: tuple[str, ...]
    families: tuple[str, ...]
    materials: tuple[str, ...]
    replaced: tuple[str, ...]


def own_data(library: Library) -> OwnData | None:
    """What a user's own folder adds; None without one. Raises: BadDescription."""
    if library.folder is None:
        return None
    rules = tuple(read.rule.id for read in own_rules(library))
    shipped = {rule.id for rule in shipped_rules()}
    replaced = (*(f"rule {name}" for name in rules if name in shipped), *library.replaced)
    return OwnData(
        str(library.folder), rules, tuple(library.own_families), tuple(library.own_materials), tuple(replaced)
    )


def read_rules(folder: Path, library: Library | None = SHIPPED) -> tuple[ReadRule, ...]:
    """Read every rule of a folder; their names must be those of some family of the library, if one is given.

    Raises:
        BadDescription: a file that is no rule or is not named as its id, two of one id, a name no family has, an
            empty folder.
    """
    rules = [read_rule(path) for path in data_files(folder, "rules")]
    names = _names_of(library) if library is not None else None
    problems = [problem for read in rules for problem in _wrong_names(read, names)] if names is not None else []
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
    families: tuple[str, ...]
    spaces: frozenset[str]
    diaphragms: frozenset[str]
    items: dict[str, frozenset[str]]


def _names_of(library: Library) -> _Names:
    return _shipped_names() if library is SHIPPED else _gather(library)


@cache
def _shipped_names() -> _Names:
    return _gather(SHIPPED)


def _gather(library: Library) -> _Names:
    families = [library.family(name).family for name in (*library.families(), SURROUNDINGS)]
    families += [variant(name) for name in VARIANTS]
    items: dict[str, frozenset[str]] = {}
    for family in families:
        items.update(dict.fromkeys(family.passages, frozenset({OPEN, PLUGGED, ABSENT})))
        for name, part in family.parts.items():
            items[name] = items.get(name, frozenset()) | frozenset(part.options)
            if part.made_of is not None:
                items[name + MATERIAL] = items.get(name + MATERIAL, frozenset()) | frozenset(part.made_of.choices)
        for name, line in family.lines.items():
            items[name] = frozenset(line.taps)
            items[name + INLINE] = frozenset({NONE, ONE_WAY_VALVE})
    return _Names(
        library.families(),
        frozenset(name for family in families for name in family.spaces),
        frozenset(name for family in families for name in family.diaphragms),
        items,
    )


def _wrong_names(read: ReadRule, names: _Names) -> Iterator[Problem]:
    yield from _wrong_places(read, names)
    yield from _wrong_forms(read, names)
    rule = read.rule
    states = {state.id for state in STATES}
    for state in getattr(rule.requirement, "states", ()):
        if state not in states:
            yield read.problem(("requirement", "states"), f"no such state {state!r}; {suggest(state, states)}")
    for family in () if rule.families == "any" else rule.families:
        if family not in names.families:
            yield read.problem(("families",), f"no such family {family!r}; {suggest(family, names.families)}")


def _wrong_places(read: ReadRule, names: _Names) -> Iterator[Problem]:
    requirement = read.rule.requirement
    for field, known in (
        ("from_", names.spaces),
        ("to", names.spaces),
        ("space", names.spaces),
        ("diaphragm", names.diaphragms),
        ("if_valve_on", names.diaphragms),
        ("if_diaphragm", names.diaphragms),
        ("item", frozenset(names.items)),
        ("of", frozenset(names.items)),
        ("over", frozenset(names.items)),
    ):
        pattern = getattr(requirement, field, None)
        if pattern is None or (requirement.kind, field) in (("guarded", "to"), ("margin", "of")):
            continue
        if not matching(pattern, known):
            place = ("requirement", field.rstrip("_"))
            yield read.problem(place, f"{pattern!r} names nothing in any family; {suggest(pattern, known)}")
        elif requirement.kind == "suits_fuel" and not any(name.endswith(MATERIAL) for name in matching(pattern, known)):
            message = f"{pattern!r} names nothing whose material is asked for; end it in {MATERIAL}"
            yield read.problem(("requirement", "item"), message)


def _wrong_forms(read: ReadRule, names: _Names) -> Iterator[Problem]:
    requirement = read.rule.requirement
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
