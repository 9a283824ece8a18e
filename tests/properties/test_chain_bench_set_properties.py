"""Bench tests of generated carburetors: what they show, worked out again; that no cheaper set shows as much.

`tests/checks/test_bench_checks.py` does so on random ways between spaces. Here the carburetors have diaphragms, hoses,
parts that shut or turn a passage, and a plan whose strip-down costs nothing more. What a test shows comes from the
second working of `tests/checks/conftest.py`, the cheapest set from a mixed-integer solver (HiGHS).
"""

from __future__ import annotations

import importlib.util
import random
import sys
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from generated_carburetors import Made, carburetors, shuffled, tried
from hypothesis import event, given
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from boostcarb import pipeline
from boostcarb.answers import Planned
from boostcarb.checks.candidates import broken_by, candidates
from boostcarb.checks.mistakes import mistakes_of
from boostcarb.checks.model import BenchAnswer, Candidate, Mistake
from boostcarb.checks.parting import bench_stages, stage_order
from boostcarb.checks.passing import with_fuel_valves
from boostcarb.network.model import Network
from boostcarb.planning.search import Plan


@cache
def second_working() -> Any:
    """The class that does tests a second time; test folders are no packages."""
    name = "second_working_of_bench_tests"
    path = Path(__file__).parents[1] / "checks/conftest.py"
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module.Oracle


class Checked:
    """The bench tests of a carburetor as planned or as found, with all that they were chosen from."""

    def __init__(self, made: Made, as_planned: bool) -> None:
        read = made.read()
        planned: Planned = pipeline.plan(pipeline.set_up(read), alternatives=0)
        plan = planned.outcome if as_planned and isinstance(planned.outcome, Plan) else None
        checks = pipeline.bench_checks_after(planned, read) if plan else pipeline.bench_checks(read, planned=False)
        self.answer: BenchAnswer = checks.answer
        self.own = frozenset(checks.bench.family.family.castings)
        self.network: Network = with_fuel_valves(pipeline.set_up(read, latent=True).network)
        self.configuration = {**self.network.found(), **(plan.assignment if plan else {})}
        self.mistakes = mistakes_of(self.network, self.configuration, self.network.found())
        self.taken_off = plan.steps if plan else ()
        self.assembling = plan is not None
        event("as planned" if plan else "as found")

    @property
    def order(self) -> Sequence[str]:
        """All stages in the order in which it comes apart."""
        return [stage.name for stage in stage_order(self.network, self.taken_off)]

    def every(self) -> list[Candidate]:
        """Every test that shows any mistake."""
        broken = broken_by(self.network, self.configuration, self.mistakes)
        stages = bench_stages(self.network, self.own, stage_order(self.network, self.taken_off))
        return [
            each
            for stage in stages
            for each in candidates(
                self.network, stage, self.configuration, broken, dry=self.assembling or not stage.on_engine
            )
        ]

    def extra(self) -> list[int]:
        """Minutes of strip-down from each bench stage to the next, without what the work takes off anyway."""
        reached = 0
        minutes = []
        for stage in self.answer.stages:
            at = self.order.index(stage) + 1
            new = [name for name in self.order[reached:at] if name not in self.taken_off]
            minutes.append(sum(self.network.stages[name].minutes for name in new))
            reached = at
        return minutes


def least_minutes(tests: Sequence[Candidate], stages: Sequence[str], extra: Sequence[int]) -> int:
    """Least minutes in which tests show all that any shows: a cover with the strip-down to the deepest, by HiGHS."""
    mistakes = sorted({each for test in tests for each in test.shown}, key=lambda each: each.name)
    if not mistakes:
        return 0
    count, depth = len(tests), len(stages)
    rows: list[np.ndarray] = []
    least: list[float] = []
    for mistake in mistakes:
        row = np.zeros(count + depth)
        row[[index for index, test in enumerate(tests) if mistake in test.shown]] = 1
        rows.append(row)
        least.append(1)
    for index, test in enumerate(tests):
        row = np.zeros(count + depth)
        row[index], row[count + stages.index(test.test.stage)] = -1, 1
        rows.append(row)
        least.append(0)
    for index in range(1, depth):
        row = np.zeros(count + depth)
        row[count + index], row[count + index - 1] = -1, 1
        rows.append(row)
        least.append(0)
    cost = np.array([*(test.minutes for test in tests), *extra], dtype=float)
    found = milp(
        cost, constraints=LinearConstraint(np.array(rows), np.array(least), np.inf),
        integrality=np.ones(len(cost)), bounds=Bounds(0, 1),
    )  # fmt: skip
    assert found.success, found.message
    return round(found.fun)


@tried(10)
@given(carburetors(), st.sampled_from([True, True, True, False]))
def test_chosen_tests_show_all_that_any_shows_and_none_is_to_spare(made: Made, as_planned: bool) -> None:
    checked = Checked(made, as_planned)
    answer = checked.answer
    shown = [{each for deviation in check.deviations for each in deviation.mistakes} for check in answer.checks]
    every = checked.every()
    any_shows = {mistake for each in every for mistake in each.shown}
    assert set().union(*shown) == any_shows
    assert {each.mistake for each in answer.unseen} == set(checked.mistakes) - any_shows
    for index, check in enumerate(answer.checks):
        assert check.minutes > 0
        others: set[Mistake] = set().union(*(each for other, each in enumerate(shown) if other != index))
        assert others < any_shows, check.test
    assert [stage.extra_minutes for stage in answer.stages.values()] == checked.extra()
    assert answer.minutes == least_minutes(every, list(answer.stages), checked.extra())
    event(f"{min(len(answer.checks), 9)} tests")


@tried(6)
@given(carburetors(), st.sampled_from([True, True, True, False]), st.randoms(use_true_random=False))
def test_every_chosen_test_shows_what_it_says_for_every_mistake(
    made: Made, as_planned: bool, rng: random.Random
) -> None:
    """And so do some of those that were not chosen, all being well."""
    checked = Checked(made, as_planned)
    again = {
        name: second_working()(
            checked.network, checked.own, stage.off, checked.order[: checked.order.index(name) + 1], stage.on_engine
        )
        for name, stage in checked.answer.stages.items()
    }
    for check in checked.answer.checks:
        oracle = again[check.test.stage]
        assert oracle.shown(check.test, checked.configuration) == check.sound, check.test
        said = {mistake: each.outcome for each in check.deviations for mistake in each.mistakes}
        for mistake in checked.mistakes:
            shown = oracle.shown(check.test, {**checked.configuration, mistake.item: mistake.form})
            assert shown == said.get(mistake, check.sound), (check.test, mistake)
    every = checked.every()
    for each in rng.sample(every, min(12, len(every))):
        assert again[each.test.stage].shown(each.test, checked.configuration) == each.sound, each.test


@tried(4)
@given(carburetors(), st.randoms(use_true_random=False))
def test_order_of_entries_in_the_files_does_not_matter_for_bench_tests(made: Made, rng: random.Random) -> None:
    one, two = (pipeline.bench_checks(each.read(), planned=False).answer for each in (made, shuffled(made, rng)))
    assert one == two
