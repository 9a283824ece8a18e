"""What a fault brings: the findings that come with it, where the fuel goes, in which state first, and how bad it is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from boostcarb.bench import Bench
from boostcarb.faults.catalogue import Fault, FaultKind, faults_of
from boostcarb.faults.spill import Spill, spills
from boostcarb.findings import Finding, Severity
from boostcarb.network.model import AMBIENT, Configuration
from boostcarb.planning.problem import Choice
from boostcarb.rulebook.judging import Judged, findings_in
from boostcarb.rulebook.schema import Effect
from boostcarb.rulebook.view import View

FLOW_PA = 200.0
"""Least difference that counts as pushing something through a leak (assumption)."""

ENGINE_SIDE = frozenset({"base", "manifold", "compressor_inlet", "compressor_outlet"})
"""Where fuel that gets loose is drawn into the engine."""

OUTWARD: frozenset[Effect] = frozenset({"fuel outside", "mixture outside"})
"""Effects that need a push from inside."""

WORST_FIRST: tuple[Effect, ...] = (
    "throttle stays open", "fuel outside", "mixture outside", "lean", "flooding", "uncontrolled boost",
    "diaphragm overloaded", "pressure in the crankcase", "wrong signal elsewhere", "diaphragm unprotected", "rich",
    "air leak", "less power",
    "wear",
)  # fmt: skip
"""Effects from the one that hurts people or the engine first to the one that only annoys."""


@dataclass(frozen=True, slots=True)
class Consequence:
    """One thing a fault does: its effect, how bad, where, and in which states; `state` is the first of them."""

    effect: Effect
    severity: Severity
    endangers: tuple[str, ...]
    state: str | None
    states: tuple[str, ...]
    finding: Finding | None = None
    spill: Spill | None = None


@dataclass(frozen=True, slots=True)
class Relief:
    """The change or two after which a fault does no such harm, and what they cost."""

    choices: tuple[Choice, ...]
    minutes: int
    parts: int
    irreversible: bool


@dataclass(frozen=True, slots=True)
class Outcome:
    """A fault and everything that it brings, worst first; `gone` are findings that it happens to cure."""

    fault: Fault
    consequences: tuple[Consequence, ...]
    gone: tuple[Finding, ...] = ()
    relief: Relief | None = None

    @property
    def severity(self) -> Severity | None:
        """The worst of its consequences; None where nothing changes."""
        return self.consequences[0].severity if self.consequences else None

    @property
    def effects(self) -> tuple[Effect, ...]:
        """Its effects, worst first, each once."""
        return tuple(dict.fromkeys(each.effect for each in self.consequences))


def outcomes(bench: Bench, configuration: Configuration) -> tuple[Outcome, ...]:
    """Every single fault of a configuration, ranked. `bench` has the latent items of its network.

    Raises:
        NotSolved: a balance that does not close.
    """
    whole = {**bench.network.found(), **configuration}
    healthy = bench.judge.each(whole)
    found = [outcome(bench, whole, healthy, fault) for fault in faults_of(bench.network, whole)]
    return ranked(found)


def outcome(bench: Bench, whole: Configuration, healthy: Judged, fault: Fault) -> Outcome:
    """What one fault brings."""
    failed = {**whole, fault.item: fault.form}
    sound = findings_in(healthy)
    known = {finding.key for finding in sound}
    after = findings_in(bench.judge.each_with(healthy, failed, fault.item))
    keys = {finding.key for finding in after}
    view = bench.view(failed)
    new = with_findings(bench, view, [finding for finding in after if finding.key not in known])
    new += _from_spills(bench, view, spills(view, fault))
    gone = tuple(finding for finding in sound if finding.key not in keys)
    return Outcome(fault, ordered(new, view), gone)


def with_findings(bench: Bench, view: View, findings: Iterable[Finding]) -> list[Consequence]:
    """Findings as consequences; those of rules that have no effect yet are left out."""
    found = (_from_rule(view, finding, bench.judge.effects[finding.rule]) for finding in findings)
    return [each for each in found if each is not None]


def ordered(consequences: Iterable[Consequence], view: View) -> tuple[Consequence, ...]:
    """Consequences, the worst first."""
    order = {state.name: index for index, state in enumerate(view.states)}
    return tuple(sorted(consequences, key=lambda each: _weight(each, order)))


def ranked(found: Iterable[Outcome]) -> tuple[Outcome, ...]:
    """Outcomes, the worst first."""
    return tuple(sorted(found, key=_rank))


def _from_rule(view: View, finding: Finding, effect: Effect | None) -> Consequence | None:
    if effect is None or finding.rule_is_about_looking:
        return None
    states = finding.states or _states_of_path(view, finding, outward=effect in OUTWARD)
    order = [state.name for state in view.states]
    states = tuple(sorted(states, key=order.index))
    return Consequence(
        effect, finding.severity, finding.endangers, states[0] if states else None, states, finding=finding
    )


def _states_of_path(view: View, finding: Finding, *, outward: bool) -> tuple[str, ...]:
    """States in which something is pushed along the path that shows a finding; `outward`: only from its start."""
    witness = finding.witness
    if witness.start is None or not witness.path:
        return ()
    goal = witness.path[-1].into
    pushed = []
    for state in view.states:
        across = view.pressures.range_of(witness.start, state.name)[1] - view.pressures.range_of(goal, state.name)[0]
        if not state.event and (across if outward else abs(across)) > FLOW_PA:
            pushed.append(state.name)
    return tuple(pushed)


def _from_spills(bench: Bench, view: View, found: Iterable[Spill]) -> Iterator[Consequence]:
    for spill in found:
        states = spill.states or tuple(state.name for state in view.states if state.running and not state.event)
        effect, severity, endangers = _of_spill(bench, spill)
        yield Consequence(effect, severity, endangers, states[0], states, spill=spill)


def _of_spill(bench: Bench, spill: Spill) -> tuple[Effect, Severity, tuple[str, ...]]:
    if spill.backward:
        return "fuel outside", Severity.stop, ("people", "engine")
    if spill.into == AMBIENT:
        return "fuel outside", Severity.stop, ("people",)
    if spill.into in ENGINE_SIDE:
        return "rich", Severity.fix, ("engine",)
    if spill.over and bench.job.target == "blow_through":
        return "flooding", Severity.stop, ("people", "engine")
    return "flooding", Severity.fix, ("engine", "people")


SEVERITIES: Mapping[Severity, int] = {Severity.stop: 0, Severity.fix: 1, Severity.advise: 2}


def _weight(each: Consequence, order: Mapping[str, int]) -> tuple[int, int, int, str]:
    first = order[each.state] if each.state is not None else -1
    return SEVERITIES[each.severity], WORST_FIRST.index(each.effect), first, each.finding.rule if each.finding else ""


HIDDEN: frozenset[Effect] = frozenset({"lean", "diaphragm overloaded", "diaphragm unprotected", "uncontrolled boost"})
"""Effects that nothing tells the driver of before they do harm, where they come in boost only."""


LIKELIEST_FIRST = tuple(FaultKind)
"""Rubber and hoses fail before castings do (common practice, no source)."""


def _rank(each: Outcome) -> tuple[int, int, int, int, str]:
    """Worst first; of equal ones those first that do harm before anybody notices; then by effect and likelihood."""
    kind = LIKELIEST_FIRST.index(each.fault.kind)
    if not each.consequences:
        return 9, 0, 0, kind, each.fault.name
    worst = each.consequences[0]
    seen = 0 if worst.effect in HIDDEN else 1
    return SEVERITIES[worst.severity], seen, WORST_FIRST.index(worst.effect), kind, each.fault.name
