"""What there is to ask about one carburetor with one target and fuel: its items in strip-down order, and why.

Worked out once for a family, a target and a fuel; answers about the carburetor do not change it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from boostcarb.bench import Bench
from boostcarb.description.library import Library, ReadJob
from boostcarb.findings import Finding
from boostcarb.network.model import INLINE, MATERIAL, Item, Valve, Way
from boostcarb.network.tracing import matching
from boostcarb.rulebook.forms import OfForm
from boostcarb.rulebook.judging import LOOKED_AT, Instance

SIZED_KINDS = ("restriction", "seat")
"""Kinds of passage whose bores set a mixture or a flow."""


@dataclass(frozen=True)
class Workshop:
    """What the interview stands on: the only way out of it.

    Attributes:
        library: families and materials by name.
        set_up: network, operating states and judge of a job; raises BadDescription or NotSolved.
    """

    library: Library
    set_up: Callable[[ReadJob], Bench]


@dataclass(frozen=True)
class Subject:
    """One carburetor with one target and fuel, nothing of it looked at."""

    bench: Bench

    @cached_property
    def stages(self) -> tuple[str, ...]:
        """Strip-down stages in order."""
        return tuple(self.bench.network.stages)

    @cached_property
    def groups(self) -> list[str]:
        """Barrel groups of the family."""
        return list(self.bench.family.family.groups)

    @cached_property
    def relevant(self) -> frozenset[str]:
        """Items that a rule of this target and fuel hangs on, other than the rule that somebody must look."""
        network, names = self.bench.network, set[str]()
        for instance in self.bench.judge.instances:
            if instance.rule.requirement.kind != LOOKED_AT and self._can_fail(instance):
                names.update(instance.scope)
                names.update(place for place in instance.place if place in network.items)
        for name in tuple(names):
            names.update(other for other, _ in network.items[name].conditions)
        return frozenset(names)

    def _can_fail(self, instance: Instance) -> bool:
        """Whether some form of what it looks at breaks it: in gasoline, say, few materials break any rule."""
        requirement = instance.requirement
        if not isinstance(requirement, OfForm):
            return True
        item = self.bench.network.items[instance.place[0]]
        return not all(requirement.allowed(item, form) for form in item.forms)

    @cached_property
    def settled(self) -> frozenset[str]:
        """Ducts: that they are there is what the target says."""
        return frozenset(way.item for way in self.bench.network.ways if way.kind == "duct")

    @cached_property
    def _in_line(self) -> Mapping[str, frozenset[str]]:
        """By what stands in a line: the places to which the line can lead so that it matters."""
        places: dict[str, set[str]] = {}
        for way in self.bench.network.ways:
            if way.inline is not None:
                places.setdefault(way.inline, set()).update(
                    *(forms for name, forms in way.conditions if name == way.item)
                )
        return {inline: frozenset(forms) for inline, forms in places.items()}

    def stands_in(self, inline: str, form: str | None) -> bool:
        """Whether something can stand in a line that leads there; nobody can tell of a line nobody has looked at."""
        return form in self._in_line.get(inline, frozenset())

    @cached_property
    def order(self) -> tuple[Item, ...]:
        """Every item, by stage and casting, each after those that it exists by and followed by what goes with it."""
        network = self.bench.network
        castings = list(network.castings)
        first = sorted(
            network.items.values(),
            key=lambda item: (self.stage_index[item.name], castings.index(item.casting), _base(item.name), item.name),
        )
        taken: dict[str, Item] = {}

        def take(item: Item) -> None:
            if item.name in taken:
                return
            for other, _ in item.conditions:
                take(network.items[other])
            taken[item.name] = item
            for suffix in (INLINE, MATERIAL):
                if item.name + suffix in network.items:
                    take(network.items[item.name + suffix])

        for item in first:
            take(item)
        return tuple(taken.values())

    @cached_property
    def stage_index(self) -> Mapping[str, int]:
        """When each item can be asked for: not before what it exists by."""
        network, found = self.bench.network, dict[str, int]()

        def index(name: str) -> int:
            if name not in found:
                item = network.items[name]
                own = self.stages.index(item.stage)
                found[name] = max([own, *(index(other) for other, _ in item.conditions)])
            return found[name]

        for name in network.items:
            index(name)
        return found

    def stage_of(self, item: str) -> str:
        """The stage at which an item is asked for."""
        return self.stages[self.stage_index[item]]

    @cached_property
    def _valves(self) -> Mapping[tuple[str, str], Valve]:
        return {
            (diaphragm.part, form): valve
            for diaphragm in self.bench.network.diaphragms.values()
            for form, valve in diaphragm.valves.items()
            if diaphragm.part is not None
        }

    def valve(self, item: str, form: str | None) -> Valve | None:
        """What moves with a part in a form."""
        return self._valves.get((item, form or ""))

    @cached_property
    def sized(self) -> Mapping[str, Way]:
        """Passages whose bores matter: they set a mixture or a flow, or a rule wants them wide enough."""
        wide = set(self._pairs_that_must_be_wide())
        return {
            way.item: way
            for way in self.bench.network.ways
            if way.bore_m is not None and (way.kind in SIZED_KINDS or (way.carries == "air" and (way.a, way.b) in wide))
        }

    def _pairs_that_must_be_wide(self) -> Iterator[tuple[str, str]]:
        spaces = self.bench.network.spaces
        for rule in self.bench.judge.rules:
            wanted = rule.requirement
            if wanted.kind == "connected" and wanted.least_area is not None:
                for start in matching(wanted.from_, spaces):
                    yield from ((start, goal) for goal in matching(wanted.to, spaces))

    @cached_property
    def margins(self) -> frozenset[str]:
        """Margins of the fuel side that a rule judges."""
        requirements = (rule.requirement for rule in self.bench.judge.rules)
        return frozenset(wanted.of for wanted in requirements if wanted.kind == "margin")

    def matters(self, margins: tuple[str, ...]) -> tuple[str, ...]:
        """Titles of the rules that judge one of these margins."""
        rules = [(rule.title, rule.requirement) for rule in self.bench.judge.rules]
        return tuple(title for title, wanted in rules if wanted.kind == "margin" and wanted.of in margins)


def consequences(bench: Bench, item: str) -> dict[str, tuple[Finding, ...]]:
    """By form of an item: what blocks with it, and not with every other form; all else as said or assumed."""
    found = bench.network.found()
    by_form = {
        form: {each.key: each for each in bench.findings({**found, item: form}) if each.blocks and not _looking(each)}
        for form in bench.network.items[item].forms
    }
    always = set.intersection(*(set(findings) for findings in by_form.values()))
    return {
        form: tuple(finding for key, finding in findings.items() if key not in always)
        for form, findings in by_form.items()
    }


def _looking(finding: Finding) -> bool:
    return finding.rule_is_about_looking


def _base(name: str) -> str:
    return name.removesuffix(INLINE).removesuffix(MATERIAL)
