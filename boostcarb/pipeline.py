"""From a job file to its answers: the only place that wires the layers together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from boostcarb.answers import Faulted, Fueled, Planned, ProposedChange, Reach, ReachedSpace, Reviewed, Traced
from boostcarb.bench import Before, Bench, FuelSource
from boostcarb.changes.offer import planning_problem
from boostcarb.changes.oracle import ReasonsOracle, RulebookOracle
from boostcarb.description.job import Job, State
from boostcarb.description.library import SHIPPED, Library, ReadJob, open_library, read_job
from boostcarb.description.loading import SURROUNDINGS
from boostcarb.description.variants import variants_of
from boostcarb.errors import BadDescription, Problem
from boostcarb.findings import Finding, Severity
from boostcarb.network.build import build_network, circuits_of_family
from boostcarb.network.latent import with_latent
from boostcarb.network.model import COOLER, FITTED, INLINE, Configuration, Network, Way
from boostcarb.network.tracing import reached
from boostcarb.planning.explain import needed_because
from boostcarb.planning.problem import Choice, Failure
from boostcarb.planning.search import Plan, cheapest
from boostcarb.rulebook.accepting import check_accepted
from boostcarb.rulebook.judging import Judge
from boostcarb.rulebook.loading import own_data, own_rules, rules_of
from boostcarb.solving.situation import Situations
from boostcarb.suggest import suggest

if TYPE_CHECKING:
    from boostcarb.checks.model import BenchChecks
    from boostcarb.faults.outcome import Outcome
    from boostcarb.transient.answer import BackfireAnswer


def library(folder: Path | None) -> Library:
    """The families, materials and rules to work with: those of a folder before ours. Raises BadDescription."""
    opened = open_library(folder)
    own_rules(opened)  # what is wrong with a rule is said before any job is read
    return opened


def load(path: Path, library: Library = SHIPPED) -> ReadJob:
    """Read a job file, with the families, materials and rules of a library. Raises BadDescription."""
    return read_job(path, library)


def set_up(read: ReadJob, job: Job | None = None, before: Before | None = None, *, latent: bool = False) -> Bench:
    """Build network, operating states and judge of a job.

    `before` goes with a job that is not the one that was read: a proposal. With `latent` the network has everything
    that can fail on its own, all of it sound.

    Raises:
        BadDescription: what the job says does not fit its family or itself; names the file and line.
        NotSolved: an air path that does not balance.
    """
    job = job or read.job
    try:
        known = read.library
        family = known.family(job.carburetor)
        around = known.family(SURROUNDINGS).family
        network = build_network(family.family, around, job, known.material, variants_of(job))
        if latent:
            network = with_latent(network)
        flow = family.family.flow
        if flow is None:
            raise BadDescription(family.problem(("flow",), "a carburetor family needs a `flow` section"))
        situations = Situations(network, job, flow, partial(known.fuel_side, job.carburetor))
        rules = rules_of(known)
        check_accepted(job.pinned.accept, rules)
        fuel = FuelSource(job, family, network, situations, before)
        judge = Judge(
            network,
            situations,
            rules,
            mode=job.target,
            family=job.carburetor,
            accepted=job.pinned.accept,
            mixtures=fuel.mixtures,
            every_form=latent,
        )
        situations.for_(network.found())
        if job.metering.measured or job.metering.targets.model_fields_set:
            fuel.model.check_readings()
    except BadDescription as error:
        proposed = read.job.proposed if job is not read.job else None
        problems = [_where_it_was_said(problem, proposed or {}) for problem in error.problems]
        raise BadDescription([read.located(problem) for problem in problems]) from error
    return Bench(job, read, family, network, situations, judge, fuel, own_data(known))


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
    start = set_up(read).network.found()  # what is wrong with the finds alone is said first
    before = _before(read)
    bench = set_up(read, with_changes(read, proposed), before)
    findings = bench.findings(bench.network.found())
    changes = tuple(_proposed_change(read, bench, findings, name, before, start) for name in sorted(proposed))
    blocking = any(finding.blocks for finding in findings)
    return Reviewed(bench, findings, changes, plan(bench) if blocking else None, bench.doubts(bench.network.found()))


def with_changes(read: ReadJob, proposed: Mapping[str, State], job: Job | None = None) -> Job:
    """A job, that which was read or another, as if its carburetor had been found with these changes made."""
    job = job or read.job
    found = {**job.found, **proposed}
    circuits = circuits_of_family(read.library.family(job.carburetor).family)
    holes = {names.jets: names.jet_hole for names in circuits.values()}
    for name in proposed:
        if name not in holes or (name in job.found and job.found[name].is_ == proposed[name].is_):
            continue
        bore = holes[name]
        if bore in job.found and bore not in proposed:  # jets of another size: the bore measured is not theirs
            found[bore] = found[bore].model_copy(update={"bore": None})
    charge = job.charge
    cooler = proposed.get(COOLER)
    if charge is not None and cooler is not None and cooler.is_ != FITTED:  # what is described of it goes with it
        charge = charge.model_copy(update={"cooler": None})
    return job.model_copy(update={"found": found, "proposed": None, "charge": charge})


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


def _dropped_with(name: str, proposed: Iterable[str], network: Network, start: Mapping[str, str]) -> set[str]:
    """A proposed change, and those that make no sense without it: of a part that is only there once it is made."""
    dropped, queue = {name}, [name]
    while queue:
        gone = queue.pop()
        for other in set(proposed) - dropped:
            item = network.items.get(other)
            if item is not None and any(on == gone and start.get(gone) not in forms for on, forms in item.conditions):
                dropped.add(other)
                queue.append(other)
    return dropped


def _proposed_change(
    read: ReadJob, bench: Bench, findings: list[Finding], name: str, before: Before | None, start: Mapping[str, str]
) -> ProposedChange:
    everything = read.job.proposed or {}
    wanted = everything[name]
    left_out = _dropped_with(name, everything, bench.network, start)
    proposed = {other: state for other, state in everything.items() if other not in left_out}
    after = bench.network.items[name].found if name in bench.network.items else wanted.is_
    without = set_up(read, with_changes(read, proposed), before)
    was = without.network.items[name].found if name in without.network.items else after
    others = without.findings(without.network.found())
    with_keys, without_keys = {finding.key for finding in findings}, {finding.key for finding in others}
    return ProposedChange(
        item=name,
        before=was,
        after=after,
        already_so=was == after and _no_more_asked(name, wanted, read.job.found.get(name), without.network),
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
        other = set_up(read, with_changes(read, read.job.proposed), before)
        proposed = other.fuel.model.fueling(other.network.found())
    as_found = model.fueling(bench.network.found())
    has_plan = isinstance(planned.outcome, Plan)
    return Fueled(bench, FuelAnswer(model, as_found, proposed, planned.fueling, has_plan))


RELIEVED_EACH = 2
"""Faults of one effect for which a plan seeks a cheap way out."""


def faults(read: ReadJob, *, planned: bool) -> Faulted:
    """Every single fault of the carburetor as planned, or as found; as found too where there is no plan.

    Raises:
        BadDescription: what the job says does not fit its family or itself.
        BudgetSpent: no plan within the search's limit.
        NotSolved: a balance that does not close.
    """
    if not planned:
        return _faulted(read, {}, planned=False)
    done = plan(set_up(read), alternatives=0)
    return _faulted(read, done.configuration, planned=isinstance(done.outcome, Plan))


def faults_after(planned: Planned, read: ReadJob) -> Faulted:
    """Every single fault of the carburetor after its plan; ways out for the few a plan names. Raises: NotSolved."""
    return _faulted(read, planned.configuration, planned=isinstance(planned.outcome, Plan), few=True)


def _first_of_its_effect(each: Outcome, found: Sequence[Outcome]) -> bool:
    """Whether it is one of the first of those with its worst effect."""
    alike = [other.fault for other in found if other.effects[0] == each.effects[0]]
    return each.fault in alike[:RELIEVED_EACH]


def _faulted(read: ReadJob, configuration: Mapping[str, str], *, planned: bool, few: bool = False) -> Faulted:
    from boostcarb.faults.air_path import air_faults, air_outcome  # noqa: PLC0415  other commands do without
    from boostcarb.faults.outcome import outcomes, ranked  # noqa: PLC0415
    from boostcarb.faults.relief import with_relief  # noqa: PLC0415
    from boostcarb.faults.signs import noticed, revealed  # noqa: PLC0415

    bench = set_up(read, latent=True)
    whole = {**bench.network.found(), **configuration}
    tried = outcomes(bench, whole)
    if not few:  # a plan names the few that matter most; these need the carburetor set up anew
        before = Before(whole, bench.fuel.model.calibration) if bench.judges_mixture else None
        again = partial(set_up, read, before=before, latent=True)
        tried = ranked([*tried, *(air_outcome(bench, whole, each, again) for each in air_faults(bench, whole))])
    stops = [each for each in tried if each.severity is Severity.stop]
    sought = {each.fault for each in stops if not few or _first_of_its_effect(each, stops)}
    found = [with_relief(bench, whole, each) if each.fault in sought else each for each in tried]
    states = bench.view(whole).states
    boosted = frozenset(state.name for state in states if state.boosted)
    signs = {each.fault.name: (noticed(each, boosted), revealed(bench.network, each.fault)) for each in found}
    return Faulted(bench, planned, tuple(found), signs, {state.name: state.title for state in states})


def bench_checks(read: ReadJob, *, planned: bool) -> BenchChecks:
    """The cheapest bench tests of the carburetor as planned, or as found; as found too where there is no plan.

    Raises:
        BadDescription: what the job says does not fit its family or itself.
        BudgetSpent: no plan within the search's limit.
        NotSolved: a balance that does not close.
    """
    return _checked(read, plan(set_up(read), alternatives=0) if planned else None)


def bench_checks_after(planned: Planned, read: ReadJob) -> BenchChecks:
    """The cheapest bench tests of the carburetor after its plan; as found where there is no plan. Raises: NotSolved."""
    return _checked(read, planned)


def _checked(read: ReadJob, planned: Planned | None) -> BenchChecks:
    from boostcarb.checks.answer import bench_answer  # noqa: PLC0415  other commands do without
    from boostcarb.checks.model import BenchChecks  # noqa: PLC0415

    bench = set_up(read, latent=True)
    done = planned.outcome if planned is not None and isinstance(planned.outcome, Plan) else None
    answer = bench_answer(
        bench.network,
        {**bench.network.found(), **(done.assignment if done else {})},
        frozenset(bench.family.family.castings),
        taken_off=done.steps if done else (),
        assembling=done is not None,
    )
    return BenchChecks(bench, done is not None, done is not None or planned is None, answer)


def trace(bench: Bench, start: str, state: str | None = None) -> Traced:
    """Follow a source through the carburetor as found, by every open way.

    Raises:
        BadDescription: no such space or state.
    """
    configuration = bench.network.found()
    space, spaces = reaches(bench, configuration, start, state)
    rows = tuple(row for row in bench.states(configuration) if state in (None, row.name))
    view = bench.view(configuration)
    asked = [row.name for row in rows]
    contents = {name: view.contents.by_state(name, asked) for name in (space, *spaces)}
    return Traced(space, rows, spaces, contents, frozenset(each.name for each in view.states if each.event))


def reaches(
    bench: Bench, configuration: Configuration, start: str, state: str | None = None
) -> tuple[str, dict[str, ReachedSpace]]:
    """The space that a word names, and what feels it or is felt by it, by ways open in every state or in one.

    Raises:
        BadDescription: no such space or state.
    """
    network = bench.network
    space = network.aliases.get(start, start)
    if space not in network.spaces:
        known = sorted((*network.spaces, *network.aliases))
        raise BadDescription(Problem(f"no such space {start!r}; {suggest(start, known)}", field="--from"))
    view = bench.view(configuration)
    during = [each for each in view.states if state in (None, each.name)]
    if not during:
        names = [each.name for each in view.states]
        message = f"no such state {state!r}; {suggest(str(state), names)} All states: {', '.join(names)}."
        raise BadDescription(Problem(message, field="--state"))

    def passes(way: Way) -> bool:
        return all(view.passes_in(way, each) for each in during)

    into = reached(network, configuration, space, passes, through_ducts=True)
    out_of = reached(network, configuration, space, passes, through_ducts=True, against=True)
    return space, {
        name: ReachedSpace(
            into.get(name, out_of.get(name, ())),
            Reach.both if name in into and name in out_of else Reach.into if name in into else Reach.out_of,
        )
        for name in dict.fromkeys((*into, *out_of))
        if name != space
    }


def backfire(
    bench: Bench, *, as_planned: bool = False, peak_ratio: float | None = None
) -> tuple[Configuration, BackfireAnswer]:
    """Every backfire over time, and how fast signals are, as found or as planned; with the configuration.

    Raises:
        BadDescription: a peak outside its bounds, or no plan to look at.
        NotSolved: an integration that fails, naming the chambers.
    """
    from boostcarb.transient.backfire import backfire_answer  # noqa: PLC0415  other commands do without
    from boostcarb.transient.inputs import BackfireInputs  # noqa: PLC0415

    configuration: Configuration = bench.network.found()
    if as_planned:
        planned = plan(bench, alternatives=0)
        if not isinstance(planned.outcome, Plan):
            raise BadDescription(Problem("there is no plan for this job; `boostcarb plan` says why", field="--as"))
        configuration = planned.configuration
    situation = bench.situations.for_(configuration)
    inputs = BackfireInputs.of(bench.job, situation, peak_ratio=peak_ratio)
    return configuration, backfire_answer(bench.network, configuration, situation, inputs)
