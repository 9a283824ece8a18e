"""What each question about a job is answered with: records that reports write down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fnmatch import fnmatchcase
from functools import cached_property
from typing import TYPE_CHECKING

from boostcarb.bench import Bench, Doubt
from boostcarb.errors import BadDescription, Problem
from boostcarb.findings import Finding, Severity, Step
from boostcarb.planning.problem import Choice, Failure
from boostcarb.planning.problem import Problem as PlanningProblem
from boostcarb.planning.search import Impossible, Plan
from boostcarb.solving.table import StateRow
from boostcarb.suggest import suggest

if TYPE_CHECKING:
    from boostcarb.faults.outcome import Outcome
    from boostcarb.fueling.answer import FuelAnswer
    from boostcarb.fueling.model import Fueling
    from boostcarb.fueling.notes import Note
    from boostcarb.fueling.records import Worked
    from boostcarb.fueling.side import FuelSide
    from boostcarb.fueling.uncertainty import HowSure


class Reach(StrEnum):
    """How a space feels a source."""

    both = "feels it both ways"
    into = "feels only its higher pressure: a one-way valve stands between"
    out_of = "feels only its lower pressure: a one-way valve stands between"


@dataclass(frozen=True, slots=True)
class ReachedSpace:
    """A space that feels a source, the path from the source to it, and how."""

    path: tuple[Step, ...]
    reach: Reach


@dataclass(frozen=True, slots=True)
class Traced:
    """What a source reaches: each space with the path there, and the states asked for.

    `contents` says what each of these spaces, and the start, can hold, by state; `events` are the backfires.
    """

    start: str
    states: tuple[StateRow, ...]
    spaces: Mapping[str, ReachedSpace]
    contents: Mapping[str, Mapping[str, tuple[str, ...]]]
    events: frozenset[str]


@dataclass(frozen=True)
class Planned:
    """A plan or the reason why there is none, with what was wrong as found and what is left."""

    bench: Bench
    problem: PlanningProblem
    as_found: list[Finding]
    outcome: Plan | Impossible
    reasons: Mapping[Choice, tuple[Failure, ...]]
    remaining: list[Finding]
    states: tuple[StateRow, ...]
    doubts: tuple[Doubt, ...]

    @property
    def configuration(self) -> dict[str, str]:
        """The planned configuration; as found if there is no plan."""
        chosen = self.outcome.assignment if isinstance(self.outcome, Plan) else {}
        return {**self.bench.network.found(), **chosen}

    @cached_property
    def fueling(self) -> Fueling:
        """Mixtures and sizes of the planned configuration, every size fitted."""
        return self.bench.fuel.model.fueling(self.configuration, fit_sizes=True)

    @property
    def clean(self) -> bool:
        """Whether there is a plan after which nothing blocks."""
        return isinstance(self.outcome, Plan) and not any(finding.blocks for finding in self.remaining)


@dataclass(frozen=True, slots=True)
class ProposedChange:
    """What one proposed change does: findings that come back without it, and findings that go without it."""

    item: str
    before: str
    after: str
    already_so: bool
    prevents: tuple[Finding, ...]
    causes: tuple[Finding, ...]

    @property
    def verdict(self) -> str:
        """`already so`, `needless`, `harmful`, `needed`, or `needed, but harmful too`.

        What it brings counts as harm where it blocks; what only advises is listed with it.
        """
        if self.already_so:
            return "already so"
        harmful = any(finding.blocks for finding in self.causes)
        if harmful:
            return "needed, but harmful too" if self.prevents else "harmful"
        return "needed" if self.prevents else "needless"


@dataclass(frozen=True)
class Reviewed:
    """A job judged as it is, or with its proposed changes made."""

    bench: Bench
    findings: list[Finding]
    proposed: tuple[ProposedChange, ...]
    completed: Planned | None
    doubts: tuple[Doubt, ...]

    @property
    def clean(self) -> bool:
        """Whether nothing blocks."""
        return not any(finding.blocks for finding in self.findings)


@dataclass(frozen=True)
class Faulted:
    """Every single fault of a carburetor, worst first, with what the driver notices and what the bench reveals."""

    bench: Bench
    as_planned: bool
    outcomes: tuple[Outcome, ...]
    signs: Mapping[str, tuple[str, str]]
    titles: Mapping[str, str]

    @property
    def clean(self) -> bool:
        """Whether no single fault is one to stop for."""
        return not any(each.severity is Severity.stop for each in self.outcomes)


@dataclass(frozen=True)
class Fueled:
    """What the jets and the enrichment must become."""

    bench: Bench
    answer: FuelAnswer

    @cached_property
    def side(self) -> FuelSide:
        """Carburetor size, supply, pumps, bowls and evaporation of the planned carburetor."""
        from boostcarb.fueling.side import fuel_side  # noqa: PLC0415  other commands do without

        return fuel_side(self.answer.planned.metering.solved)

    @cached_property
    def work(self) -> dict[str, Worked]:
        """Every number by name, with all that is needed to follow it by hand."""
        from boostcarb.fueling.side_work import side_work  # noqa: PLC0415  only `--show-work` pays

        return {**self.answer.work, **side_work(self.side)}

    def work_named(self, pattern: str) -> dict[str, Worked]:
        """The numbers whose name, or a leading part of it, matches; `*` is any text. Raises: BadDescription."""
        wanted = pattern.rstrip("/")
        found = {name: each for name, each in self.work.items() if _named_so(name, wanted)}
        if not found:
            near = suggest(wanted, self.work)
            message = f"no number is called {pattern!r}; {near}; `--show-work list` lists all names"
            raise BadDescription(Problem(message, field="--show-work"))
        return found

    def how_sure(self, samples: int, seed: int) -> HowSure:
        """What the stated spreads make of the planned carburetor's lambda. Raises: BadDescription, NotSolved."""
        from boostcarb.fueling.uncertainty import FEWEST, MOST, how_sure  # noqa: PLC0415  only `--how-sure` pays

        if not FEWEST <= samples <= MOST:
            raise BadDescription(Problem(f"is {samples}; give {FEWEST} to {MOST} samples", field="--samples"))
        if seed < 0:
            raise BadDescription(Problem(f"is {seed}; give a whole number from 0", field="--seed"))
        return how_sure(self.answer.model, self.answer.planned, samples=samples, seed=seed)

    @cached_property
    def supply_notes(self) -> tuple[Note, ...]:
        """What of the fuel supply of the planned carburetor blocks, computed on usual sizes where the job says none."""
        from boostcarb.fueling.supply_notes import supply_notes  # noqa: PLC0415  other commands do without

        return tuple(supply_notes(self.side, self.bench.job))

    @property
    def notes(self) -> tuple[Note, ...]:
        """What the builder must know, what blocks first."""
        return (*self.supply_notes, *self.answer.notes)

    @property
    def clean(self) -> bool:
        """Whether nothing blocks."""
        return not any(note.blocks for note in self.notes)


def _named_so(name: str, pattern: str) -> bool:
    parts = name.split("/")
    return any(fnmatchcase("/".join(parts[:length]), pattern) for length in range(1, len(parts) + 1))
