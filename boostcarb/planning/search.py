"""The cheapest acceptable plan, proved: select, ask the oracle, learn from what fails, select again.

The cheapest selection under the clauses learned so far costs no more than any acceptable plan, since an
acceptable plan satisfies every clause. So the first selection that the oracle accepts is the cheapest plan.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from boostcarb.errors import BudgetSpent
from boostcarb.planning.explain import conflict
from boostcarb.planning.problem import Choice, Cost, Failure, Oracle, Pin, PlanningError, Problem, Progress
from boostcarb.planning.selection import Selected, Selection


class WrongClauseError(PlanningError):
    """The oracle returned a clause that the assignment it judged already satisfies, or cannot be about."""

    def __init__(self, failure: Failure, why: str) -> None:
        self.failure = failure
        clause = ", ".join(f"{choice.item}={choice.option}" for choice in sorted(failure.clause))
        super().__init__(f"wrong clause {{{clause}}} for {failure.reason!r}: {why}")


@dataclass(frozen=True, slots=True)
class Proof:
    """Why nothing cheaper exists: no assignment that meets the learned clauses costs less than the bound."""

    lower_bound: Cost
    rounds: int
    clauses: int


@dataclass(frozen=True, slots=True)
class Alternative:
    """The cheapest plan that leaves out at least one change of each plan before it."""

    assignment: Mapping[str, str]
    changes: tuple[Choice, ...]
    steps: tuple[str, ...]
    cost: Cost


@dataclass(frozen=True, slots=True)
class Plan:
    """The cheapest acceptable assignment, what it changes, and what was learned on the way.

    ``alternatives_complete`` is false when the rounds ran out before the alternatives asked for were found.
    """

    assignment: Mapping[str, str]
    changes: tuple[Choice, ...]
    steps: tuple[str, ...]
    cost: Cost
    proof: Proof
    learned: tuple[Failure, ...]
    alternatives: tuple[Alternative, ...] = ()
    alternatives_complete: bool = True


@dataclass(frozen=True, slots=True)
class Impossible:
    """No plan exists. What contradicts what, and the pins to release.

    ``core``, ``exclusions`` and ``pins`` cannot all be met; without any one of them the rest can.
    ``release`` is the fewest pins whose release leaves a plan, ``relaxed_plan`` the cheapest plan then;
    empty and None if no release helps.
    """

    core: tuple[Failure, ...]
    exclusions: tuple[frozenset[Choice], ...]
    pins: tuple[Pin, ...]
    release: tuple[Pin, ...]
    relaxed_plan: Plan | None


Outcome = Plan | Impossible


def cheapest(
    problem: Problem,
    oracle: Oracle,
    *,
    alternatives: int = 2,
    max_rounds: int = 2000,
    progress: Progress | None = None,
) -> Outcome:
    """The cheapest assignment the oracle accepts, with the next best ones; or why there is none.

    Args:
        problem: what may be chosen.
        oracle: judges an assignment; must be deterministic.
        alternatives: how many further plans to look for at most.
        max_rounds: limit on the oracle's judgements for the plan with its alternatives, and again for the
            release of pins if there is no plan.
        progress: told after each round.

    Raises:
        BudgetSpent: no answer within ``max_rounds``. If the best plan is known and only alternatives are
            missing, the plan is returned instead and says so.
        WrongClauseError: the oracle contradicts itself.

    >>> from boostcarb.planning.problem import Item
    >>> class Oracle:
    ...     def failures(self, assignment):
    ...         cure = frozenset({Choice("drain", "plugged"), Choice("cover", "sealed")})
    ...         cured = any(assignment[choice.item] == choice.option for choice in cure)
    ...         return [] if cured else [Failure(cure, "air gets in")]
    >>> drain = Item("drain", "open", {"open": Cost(), "plugged": Cost(minutes=20)})
    >>> cover = Item("cover", "loose", {"loose": Cost(), "sealed": Cost(minutes=30)})
    >>> plan = cheapest(Problem([drain, cover]), Oracle())
    >>> plan.changes
    (Choice(item='drain', option='plugged'),)
    >>> [alternative.changes for alternative in plan.alternatives]
    [(Choice(item='cover', option='sealed'),)]
    """
    search = _Search(problem, oracle, max_rounds=max_rounds, progress=progress)
    found = search.next_best()
    if found is not None:
        return _with_alternatives(search, search.plan(found), alternatives)
    return _explained(problem, oracle, search.learned, max_rounds=max_rounds, progress=progress)


class _Search:
    """The loop and what it has learned; finds one plan after the other."""

    def __init__(
        self,
        problem: Problem,
        oracle: Oracle,
        *,
        max_rounds: int,
        progress: Progress | None,
        learned: Sequence[Failure] = (),
        release_pins: bool = False,
    ) -> None:
        self.problem = problem
        self.learned = list(learned)
        self.rounds = 0
        self._oracle = oracle
        self._max_rounds = max_rounds
        self._progress = progress
        self._what = "pins to release" if release_pins else "cheapest plan"
        self._selection = Selection(problem, release_pins=release_pins)
        for failure in learned:
            self._selection.add(failure.clause)

    def next_best(self) -> Selected | None:
        """The cheapest selection that the oracle accepts, or None if what was learned leaves none."""
        while (selected := self._selection.solve()) is not None:
            if self.rounds >= self._max_rounds:
                raise BudgetSpent(self._what, rounds=self.rounds)
            failures = self._oracle.failures(selected.assignment)
            self.rounds += 1
            if self._progress is not None:
                self._progress(rounds=self.rounds, clauses=len(self.learned), failures=len(failures))
            if not failures:
                return selected
            self._learn(selected.assignment, failures)
        return None

    def forbid(self, changes: Sequence[Choice]) -> None:
        """At least one of these changes must not be made from now on."""
        self._selection.add(frozenset().union(*map(self.problem.others, changes)))

    def plan(self, found: Selected) -> Plan:
        """The record of the first plan found."""
        cost = self.problem.cost(found.assignment)
        if found.cost != cost:
            raise PlanningError(f"the plan costs {cost}, but the selection was priced at {found.cost}")
        return Plan(
            assignment=found.assignment,
            changes=self.problem.changes(found.assignment),
            steps=self.problem.work(found.assignment),
            cost=cost,
            proof=Proof(lower_bound=found.cost, rounds=self.rounds, clauses=len(self.learned)),
            learned=tuple(self.learned),
        )

    def _learn(self, assignment: Mapping[str, str], failures: Sequence[Failure]) -> None:
        for failure in sorted(failures, key=lambda failure: sorted(failure.clause)):
            self._check(assignment, failure)
            self.learned.append(failure)
            self._selection.add(failure.clause)

    def _check(self, assignment: Mapping[str, str], failure: Failure) -> None:
        try:
            self.problem.check_choices("clause", failure.clause)
        except ValueError as error:
            raise WrongClauseError(failure, str(error)) from error
        for choice in sorted(failure.clause):
            if assignment[choice.item] == choice.option:
                why = f"the assignment that failed already has {choice.item}={choice.option}"
                raise WrongClauseError(failure, why)


def _with_alternatives(search: _Search, plan: Plan, wanted: int) -> Plan:
    """The plan with up to so many next best ones, each without at least one change of each before it."""
    found: list[Alternative] = []
    changes = plan.changes
    while changes and len(found) < wanted:
        search.forbid(changes)
        try:
            selected = search.next_best()
        except BudgetSpent:
            return replace(plan, alternatives=tuple(found), alternatives_complete=False)
        if selected is None:
            break
        other = search.plan(selected)
        found.append(Alternative(other.assignment, other.changes, other.steps, other.cost))
        changes = other.changes
    return replace(plan, alternatives=tuple(found))


def _explained(
    problem: Problem,
    oracle: Oracle,
    learned: Sequence[Failure],
    *,
    max_rounds: int,
    progress: Progress | None,
) -> Impossible:
    """Why there is no plan; if pins may be to blame, which of them to release and what the plan is then."""
    release: tuple[Pin, ...] = ()
    relaxed: Plan | None = None
    if problem.pins:
        search = _Search(problem, oracle, max_rounds=max_rounds, progress=progress, learned=learned, release_pins=True)
        found = search.next_best()
        if found is None:
            learned = search.learned
        else:
            release, relaxed = found.released, search.plan(found)
    core = conflict(problem, learned)
    return Impossible(core.failures, core.exclusions, core.pins, release, relaxed)
