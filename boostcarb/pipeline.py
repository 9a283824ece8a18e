"""From a job file to its answers: the only place that wires the layers together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from fnmatch import fnmatchcase
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from boostcarb.assumed import Assumed
from boostcarb.changes.offer import planning_problem
from boostcarb.changes.oracle import ReasonsOracle, RulebookOracle
from boostcarb.description.job import Job, State
from boostcarb.description.loading import (
    SURROUNDINGS,
    Read,
    ReadFamily,
    ReadJob,
    read_job,
    shipped_family,
)
from boostcarb.errors import BadDescription, Problem
from boostcarb.findings import Finding, Step
from boostcarb.network.build import build_network
from boostcarb.network.model import INLINE, Configuration, Network, Way
from boostcarb.network.tracing import reached
from boostcarb.planning.explain import needed_because
from boostcarb.planning.problem import Choice, Failure
from boostcarb.planning.problem import Problem as PlanningProblem
from boostcarb.planning.search import Impossible, Plan, cheapest
from boostcarb.rulebook.judging import LOOKED_AT, Judge
from boostcarb.rulebook.loading import shipped_rules
from boostcarb.rulebook.schema import Rule
from boostcarb.rulebook.view import View
from boostcarb.solving.situation import Situations
from boostcarb.solving.table import StateRow, state_table
from boostcarb.suggest import suggest

if TYPE_CHECKING:
    from boostcarb.fueling.answer import FuelAnswer
    from boostcarb.fueling.calibration import Calibration
    from boostcarb.fueling.mixture import GroupMixture
    from boostcarb.fueling.model import Fueling, FuelModel
    from boostcarb.fueling.records import Worked
    from boostcarb.fueling.side import FuelSide
    from boostcarb.fueling.uncertainty import HowSure


MAIN_JETS, JET_HOLE, JET_SIZES = ".main_jets", ".main_jet_hole", ".jet_sizes"


@dataclass(frozen=True, slots=True)
class Doubt:
    """An item nobody has looked at: what is assumed, and what blocks if it has another form."""

    item: str
    assumed: str
    otherwise: Mapping[str, tuple[Finding, ...]]


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
    """What a source reaches: each space with the path there, and the states asked for."""

    start: str
    states: tuple[StateRow, ...]
    spaces: Mapping[str, ReachedSpace]


@dataclass(frozen=True, slots=True)
class Before:
    """What a proposal starts from: the carburetor as found, and the calibration from lambdas measured on it."""

    found: Configuration
    calibration: Calibration | None


@dataclass(frozen=True)
class FuelSource:
    """The metering of a job, loaded when first asked for."""

    job: Job
    family: ReadFamily
    network: Network
    situations: Situations
    before: Before | None

    @cached_property
    def model(self) -> FuelModel:
        """Metering and sizing of every configuration."""
        from boostcarb.fueling.model import FuelModel  # noqa: PLC0415  most plans never ask
        from boostcarb.fueling.solved import solved_for  # noqa: PLC0415

        found, calibration = self.network.found(), None
        if self.before is not None:
            found.update({item: form for item, form in self.before.found.items() if item in found})
            calibration = self.before.calibration
        return FuelModel(
            self.job,
            self.family.family,
            found,
            lambda configuration: solved_for(self.network, self.situations, configuration),
            calibration=calibration,
        )

    def mixtures(self, configuration: Configuration, group: str) -> Mapping[str, GroupMixture]:
        """Mixtures of a barrel group in a configuration, by state."""
        return self.model.mixtures(configuration, group)


@dataclass(frozen=True)
class Bench:
    """One carburetor as described by a job, ready to be judged in any configuration."""

    job: Job
    read: Read
    family: ReadFamily
    network: Network
    situations: Situations
    judge: Judge
    fuel: FuelSource

    def view(self, configuration: Configuration) -> View:
        """A configuration, solved when asked."""
        return View(self.network, configuration, self.situations, self.fuel.mixtures)

    @property
    def judges_mixture(self) -> bool:
        """Whether somebody gave bores of jets or a measured lambda, so that the mixture can be judged."""
        return any(name.endswith(JET_SIZES) for name in self.network.items)

    def findings(self, configuration: Configuration) -> list[Finding]:
        """All findings of a configuration, worst first."""
        return self.judge.findings(configuration)

    def states(self, configuration: Configuration) -> tuple[StateRow, ...]:
        """Pressures and valves of a configuration in every operating state."""
        view = self.view(configuration)
        return state_table(self.network, configuration, view.states, view.pressures)

    def defaults(self, configuration: Configuration) -> tuple[Assumed, ...]:
        """What the job does not say and had to be assumed."""
        return self.situations.for_(configuration).defaults

    def state_notes(self, configuration: Configuration) -> dict[str, tuple[str, ...]]:
        """What the air path of each state rests on: the note, and the titles of the states it goes for."""
        notes: dict[str, tuple[str, ...]] = {}
        for view in self.situations.for_(configuration).views:
            for text in view.result.assumptions:
                notes[text] = (*notes.get(text, ()), view.title)
        return notes

    @property
    def unused_finds(self) -> tuple[str, ...]:
        """Items that were found but do not exist with this target."""
        return tuple(sorted(name for name in self.job.found if name not in self.network.items))

    def doubts(self, configuration: Configuration) -> tuple[Doubt, ...]:
        """Items nobody has looked at, in strip-down order, with what would go wrong if they turn out otherwise."""
        known = {finding.key for finding in self.findings(configuration)}
        doubts = []
        for name in self.network.unconfirmed():
            item = self.network.items[name]
            settled = configuration[name] != item.found
            absent = any(configuration[other] not in forms for other, forms in item.conditions)
            if settled or absent:
                continue
            worse = {
                form: tuple(
                    finding
                    for finding in self.findings({**configuration, name: form})
                    if finding.blocks and finding.key not in known
                )
                for form in item.forms
                if form != item.found
            }
            doubts.append(Doubt(name, item.found, {form: found for form, found in worse.items() if found}))
        return tuple(doubts)


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

    @property
    def clean(self) -> bool:
        """Whether nothing blocks."""
        return self.answer.clean


def _named_so(name: str, pattern: str) -> bool:
    parts = name.split("/")
    return any(fnmatchcase("/".join(parts[:length]), pattern) for length in range(1, len(parts) + 1))


def load(path: Path) -> ReadJob:
    """Read a job file. Raises BadDescription."""
    return read_job(path)


def set_up(read: ReadJob, job: Job | None = None, before: Before | None = None) -> Bench:
    """Build network, operating states and judge of a job.

    `before` goes with a job that is not the one that was read: a proposal.

    Raises:
        BadDescription: what the job says does not fit its family or itself; names the file and line.
        NotSolved: an air path that does not balance.
    """
    job = job or read.job
    try:
        family = shipped_family(job.carburetor)
        network = build_network(family.family, shipped_family(SURROUNDINGS).family, job)
        flow = family.family.flow
        if flow is None:
            raise BadDescription(family.problem(("flow",), "a carburetor family needs a `flow` section"))
        situations = Situations(network, job, flow)
        rules = shipped_rules()
        _check_accepted(job.pinned.accept, rules)
        fuel = FuelSource(job, family, network, situations, before)
        judge = Judge(
            network,
            situations,
            rules,
            mode=job.target,
            family=job.carburetor,
            accepted=job.pinned.accept,
            mixtures=fuel.mixtures,
        )
        situations.for_(network.found())
        if job.metering.measured:
            fuel.model.check_readings()
    except BadDescription as error:
        proposed = read.job.proposed if job is not read.job else None
        problems = [_where_it_was_said(problem, proposed or {}) for problem in error.problems]
        raise BadDescription([read.located(problem) for problem in problems]) from error
    return Bench(job, read, family, network, situations, judge, fuel)


def _check_accepted(accepted: Iterable[str], rules: Iterable[Rule]) -> None:
    """Only a fix can be lived with, and nobody can accept what nobody has looked at."""
    book = {rule.id: rule for rule in rules}
    problems = []
    for name in accepted:
        message = None
        if name not in book:
            message = f"no such rule {name!r}; {suggest(name, book)}"
        elif book[name].severity == "stop":
            message = f"{name} is a stop: it destroys the engine or endangers people, and cannot be accepted"
        elif book[name].requirement.kind == LOOKED_AT:
            message = f"{name} cannot be accepted: look, and write down what you find"
        if message is not None:
            problems.append(Problem(message, field="pinned.accept"))
    if problems:
        raise BadDescription(problems)


def _where_it_was_said(problem: Problem, proposed: Mapping[str, State]) -> Problem:
    """A problem with a find that stands under `proposed`, named there."""
    section, _, name = (problem.field or "").partition(".")
    if section == "found" and any(name == item or name.startswith(f"{item}.") for item in proposed):
        return replace(problem, field=f"proposed.{name}")
    return problem


def plan(bench: Bench, *, alternatives: int = 2) -> Planned:
    """Find the cheapest set of changes after which no blocking rule fails.

    Raises:
        BadDescription: a pin that cannot be met.
        BudgetSpent: no answer within the search's limit.
        NotSolved: a balance that does not close on the way.
    """
    try:
        problem = planning_problem(bench.network, bench.judge.reachable, bench.job.pinned)
    except BadDescription as error:
        raise BadDescription([bench.read.located(each) for each in error.problems]) from error
    oracle = RulebookOracle(bench.judge, problem)
    found = bench.network.found()
    as_found = bench.findings(found)
    outcome = cheapest(problem, oracle, alternatives=alternatives)
    reasons: Mapping[Choice, tuple[Failure, ...]] = {}
    configuration = found
    if isinstance(outcome, Plan):
        reasons = needed_because(problem, outcome.assignment, ReasonsOracle(oracle))
        configuration = {**found, **outcome.assignment}
    return Planned(
        bench,
        problem,
        as_found,
        outcome,
        reasons,
        bench.findings(configuration),
        bench.states(configuration),
        bench.doubts(configuration),
    )


def review(read: ReadJob) -> Reviewed:
    """Judge a job with its proposed changes made, each change on its own, and what is still missing."""
    job = read.job
    proposed = job.proposed or {}
    set_up(read)  # what is wrong with the finds, or with the proposal alone, is said first
    before = _before(read)
    bench = set_up(read, _with(job, proposed), before)
    findings = bench.findings(bench.network.found())
    changes = tuple(_proposed_change(read, bench, findings, name, before) for name in sorted(proposed))
    blocking = any(finding.blocks for finding in findings)
    return Reviewed(bench, findings, changes, plan(bench) if blocking else None, bench.doubts(bench.network.found()))


def _with(job: Job, proposed: Mapping[str, State]) -> Job:
    found = {**job.found, **proposed}
    for name in proposed:
        if not name.endswith(MAIN_JETS) or (name in job.found and job.found[name].is_ == proposed[name].is_):
            continue
        bore = name.replace(MAIN_JETS, JET_HOLE)
        if bore in job.found and bore not in proposed:  # jets of another size: the bore measured is not theirs
            found[bore] = found[bore].model_copy(update={"bore": None})
    return job.model_copy(update={"found": found, "proposed": None})


def _before(read: ReadJob) -> Before | None:
    """What the proposal of a job starts from, where a mixture is judged."""
    job = read.job
    known = job.metering.measured or any(state.bore is not None for state in job.found.values())
    if not job.proposed or not (known or any(state.bore is not None for state in job.proposed.values())):
        return None
    bench = set_up(read)
    return Before(bench.network.found(), bench.fuel.model.calibration)


def _no_more_asked(name: str, wanted: State, found: State | None, network: Network) -> bool:
    """Whether a proposal asks for no other setting, bore or valve in the line than there is."""
    inline = network.items.get(name + INLINE)
    if wanted.inline is not None and (inline is None or inline.found != wanted.inline):
        return False
    return all(getattr(wanted, field) in (None, getattr(found, field, None)) for field in ("setting", "bore"))


def _proposed_change(
    read: ReadJob, bench: Bench, findings: list[Finding], name: str, start: Before | None
) -> ProposedChange:
    proposed = dict(read.job.proposed or {})
    wanted = proposed.pop(name)
    after = bench.network.items[name].found if name in bench.network.items else wanted.is_
    without = set_up(read, _with(read.job, proposed), start)
    before = without.network.items[name].found if name in without.network.items else after
    others = without.findings(without.network.found())
    with_keys, without_keys = {finding.key for finding in findings}, {finding.key for finding in others}
    return ProposedChange(
        item=name,
        before=before,
        after=after,
        already_so=before == after and _no_more_asked(name, wanted, read.job.found.get(name), without.network),
        prevents=tuple(finding for finding in others if finding.key not in with_keys),
        causes=tuple(finding for finding in findings if finding.key not in without_keys),
    )


def fuel(read: ReadJob) -> Fueled:
    """Mixtures as found, as proposed and as planned, and the sizes to fit.

    Raises:
        BadDescription: what the job says does not fit its family or itself.
        BudgetSpent: no plan within the search's limit.
        NotSolved: a balance that does not close.
    """
    from boostcarb.fueling.answer import FuelAnswer  # noqa: PLC0415  other commands do without

    bench = set_up(read)
    planned = plan(bench, alternatives=0)
    model = bench.fuel.model
    proposed = None
    if read.job.proposed:
        before = Before(bench.network.found(), model.calibration)
        other = set_up(read, _with(read.job, read.job.proposed), before)
        proposed = other.fuel.model.fueling(other.network.found())
    as_found = model.fueling(bench.network.found())
    has_plan = isinstance(planned.outcome, Plan)
    return Fueled(bench, FuelAnswer(model, as_found, proposed, planned.fueling, has_plan))


def trace(bench: Bench, start: str, state: str | None = None) -> Traced:
    """Follow a source through the carburetor as found, by every open way.

    Raises:
        BadDescription: no such space or state.
    """
    network = bench.network
    configuration = network.found()
    space = network.aliases.get(start, start)
    if space not in network.spaces:
        known = sorted((*network.spaces, *network.aliases))
        raise BadDescription(Problem(f"no such space {start!r}; {suggest(start, known)}", field="--from"))
    rows = bench.states(configuration)
    view = bench.view(configuration)

    def passes(way: Way) -> bool:
        return all(view.passes_in(way, each) for each in view.states) if state is None else view.passes_in(way, here)

    if state is not None:
        names = [row.name for row in rows]
        if state not in names:
            message = f"no such state {state!r}; {suggest(state, names)}{_all(names)}"
            raise BadDescription(Problem(message, field="--state"))
        rows = tuple(row for row in rows if row.name == state)
        here = next(each for each in view.states if each.name == state)
    into = reached(network, configuration, space, passes, through_ducts=True)
    out_of = reached(network, configuration, space, passes, through_ducts=True, against=True)
    spaces = {
        name: ReachedSpace(
            into.get(name, out_of.get(name, ())),
            Reach.both if name in into and name in out_of else Reach.into if name in into else Reach.out_of,
        )
        for name in dict.fromkeys((*into, *out_of))
        if name != space
    }
    return Traced(space, rows, spaces)


def _all(names: Iterable[str]) -> str:
    return f" All states: {', '.join(names)}."
