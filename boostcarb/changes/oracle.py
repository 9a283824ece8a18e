"""The rulebook as the planner's oracle: each blocking finding becomes a clause that every plan must satisfy."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from boostcarb.planning.explain import shrink
from boostcarb.planning.problem import Choice, Failure
from boostcarb.planning.problem import Problem as PlanningProblem
from boostcarb.rulebook.judging import Judge, Judgement

COMBINATIONS_TRIED = 512
"""Most combinations of forms tried while a clause is shortened."""


class RulebookOracle:
    """Judges assignments of a planning problem by the blocking rules."""

    def __init__(self, judge: Judge, problem: PlanningProblem) -> None:
        self._judge = judge
        self._base = judge.network.found()
        self._options = {item.name: tuple(item.options) for item in problem.items}
        self._clauses: dict[int, list[frozenset[Choice]]] = {}
        self._ordered: dict[tuple[str, ...], tuple[str, ...]] = {}

    def failures(self, assignment: Mapping[str, str]) -> Sequence[Failure]:
        """Clauses of every blocking finding, with the finding as the reason."""
        configuration = {**self._base, **assignment}
        return [
            Failure(self._clause(judgement, configuration), judgement.finding)
            for judgement in self._judge.judgements(configuration, blocking=True)
        ]

    def reasons(self, assignment: Mapping[str, str]) -> Sequence[Failure]:
        """The same failures with empty clauses, for those who only want to know why."""
        configuration = {**self._base, **assignment}
        return [
            Failure(frozenset(), judgement.finding)
            for judgement in self._judge.judgements(configuration, blocking=True)
        ]

    def _clause(self, judgement: Judgement, configuration: Mapping[str, str]) -> frozenset[Choice]:
        if judgement.cure is not None:
            return frozenset(Choice(item, form) for item, form in judgement.cure if form in self._options.get(item, ()))

        def depends(trial: Mapping[str, str]) -> tuple[str, ...]:
            return self._movable(self._judge.scope_near(judgement.instance, trial))

        known = self._clauses.setdefault(judgement.instance, [])
        for clause in known:
            # A clause holds wherever none of its choices is made: there too it says what is missing.
            if not any(configuration[choice.item] == choice.option for choice in clause):
                return clause
        known.append(
            shrink(
                configuration,
                depends(configuration),
                lambda trial: self._judge.fails(judgement.instance, trial),
                self._options,
                limit=COMBINATIONS_TRIED,
                depends=depends,
            )
        )
        return known[-1]

    def _movable(self, scope: tuple[str, ...]) -> tuple[str, ...]:
        """Those items of a scope that a plan can change, the air path first."""
        if scope not in self._ordered:
            movable = [item for item in scope if item in self._options]
            air_path = self._judge.network.air_path_items
            self._ordered[scope] = tuple(sorted(movable, key=lambda item: (item not in air_path, item)))
        return self._ordered[scope]


class ReasonsOracle:
    """An oracle that tells why an assignment fails, and leaves the clauses out."""

    def __init__(self, oracle: RulebookOracle) -> None:
        self.failures = oracle.reasons
