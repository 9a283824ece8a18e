"""First start and proving: in steps, with the values of the computed states, and the text of the whole order."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.quantities import UnitSystem
from boostcarb.report.work_order_text import work_order_count, work_order_lines
from boostcarb.work.order import Expected, Phase, Step, WorkOrder, work_order
from boostcarb.work.proving import full_boost_pa, levels_pa
from boostcarb.work.shopping import Shopping


def steps_of(jobs: Any, name: str, phase: Phase) -> list[Step]:
    return [step for step in jobs.order_of(name).steps if step.phase is phase]


def value(step: Step, state: str, what: str) -> Expected:
    return next(each for each in step.expected if (each.state, each.what) == (state, what))


@given(st.floats(1e3, 400e3))
def test_boost_rises_from_a_third_in_small_steps(boost: float) -> None:
    levels = levels_pa(boost)
    assert levels[0] == pytest.approx(boost / 3)
    assert levels[-1] == pytest.approx(boost)
    assert all(0 < after - before <= 20e3 + 1e-3 for before, after in pairwise(levels))


def test_no_full_boost_before_throttled_boost_and_none_before_a_drive_without(jobs: Any, boosted_job: str) -> None:
    titles = [step.title for step in steps_of(jobs, boosted_job, Phase.prove)]
    first = titles.index("Throttled boost at a third of full boost")
    assert titles.index("Drive without boost") < first < titles.index("Full boost")
    assert titles.index("Full boost") < titles.index("Lift off from full boost") < titles.index("Hot soak and restart")
    assert titles[-1] == "Check again, cold"
    start = [step.title for step in steps_of(jobs, boosted_job, Phase.first_start)]
    assert start[:2] == ["Fuel only", "Take the boost away"]


def test_every_step_in_boost_says_when_to_stop(jobs: Any, boosted_job: str) -> None:
    boosted = [
        step for step in steps_of(jobs, boosted_job, Phase.prove) if any(each.what == "boost" for each in step.expected)
    ]
    assert len(boosted) == len(levels_pa(full_boost_pa(jobs.planned(boosted_job))))
    limits = [value(step, "this step", "boost").low for step in boosted]
    assert limits == sorted(limits)
    for step in boosted:
        assert sum(caution.startswith("Stop") for caution in step.cautions) >= 3


def test_expected_values_are_those_of_the_planned_carburetor(jobs: Any, any_job: str) -> None:
    rows = {row.title: row for row in jobs.planned(any_job).states}
    tried = 0
    for step in jobs.order_of(any_job).steps:
        if step.title.startswith(("Throttled", "Step", "Leak test")):
            continue
        for each in step.expected:
            row = rows.get(each.state)
            if row is None or each.kind not in ("gauge", "difference"):
                continue
            base = "ambient" if each.kind == "gauge" else "air_horn"
            low = row.spaces[each.what].low_pa_abs - row.spaces[base].high_pa_abs
            assert each.low == pytest.approx(low, abs=51.0)  # rounded to what a gauge shows, 100 Pa
            tried += 1
    assert tried > 10


def test_a_third_of_the_boost_is_computed_and_not_scaled(jobs: Any) -> None:
    """Where the turbo already holds it, the air horn stands at just that boost; the valve must be open."""
    result = jobs.planned("street_blow_through")
    step = next(step for step in jobs.order_of("street_blow_through").steps if step.title.startswith("Throttled"))
    state = "deep boost at part throttle"
    assert value(step, state, "air_horn").low == pytest.approx(full_boost_pa(result) / 3, abs=51.0)
    assert value(step, state, "primary.power_valve_diaphragm").word == "open"
    assert value(step, state, "primary.bowl").high == pytest.approx(0.0, abs=51.0)
    assert value(step, state, "regulator.reference_side").high == pytest.approx(0.0, abs=51.0)


def test_lambda_is_given_as_wanted_and_where_it_is_judged_as_computed(jobs: Any, tmp_path: Path) -> None:
    def named(order: WorkOrder) -> set[str]:
        return {each.what for step in order.steps for each in step.expected if each.kind == "lambda"}

    assert named(jobs.order_of("base_blow_through")) == {"lambda wanted"}
    bores = {f"{group}.main_jet_hole": {"is": "open", "bore": "1.6 mm"} for group in ("primary", "secondary")}
    judged = jobs.plan_of(tmp_path, "base_blow_through", found=bores)
    assert judged.bench.judges_mixture
    assert named(work_order(judged)) == {"lambda wanted", "lambda as computed"}


def test_test_pressure_is_one_and_a_quarter_of_full_boost(jobs: Any) -> None:
    for name, space in (("street_blow_through", "air_horn"), ("roadster_draw_through", "manifold")):
        step = next(step for step in jobs.order_of(name).steps if step.title.startswith("Leak test"))
        assert step.expected[0].what == space
        assert step.expected[0].high == pytest.approx(1.25 * full_boost_pa(jobs.planned(name)), abs=500.0)
        assert any("Never with fuel" in caution for caution in step.cautions)


def test_usual_cautions_are_there(jobs: Any, any_job: str) -> None:
    said = " ".join(f"{step.text} {' '.join(step.cautions)}" for step in jobs.order_of(any_job).steps).lower()
    for word in ("wideband", "gauge", "extinguisher", "local codes", "licensed"):
        assert word in said, word


@pytest.mark.parametrize("system", list(UnitSystem))
@pytest.mark.parametrize("name", ["street_blow_through", "not_taken_apart_yet", "base_naturally_aspirated"])
def test_text_fits_eighty_columns_and_has_a_box_for_every_step(
    jobs: Any, name: str, system: UnitSystem, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    order = jobs.order_of(name)
    lines = "\n".join(work_order_lines(order, jobs.planned(name).bench.network, system)).splitlines()
    assert max(map(len, lines)) <= 80
    for step in order.steps:
        assert any(line.startswith(f"  [ ] {step.number:>2}. ") for line in lines)
    marked = sum(line.count("UNDONE") for line in lines)
    assert marked >= sum(step.irreversible for step in order.steps)


def test_text_of_no_work(jobs: Any) -> None:
    empty = WorkOrder((), Shopping())
    assert list(work_order_lines(empty, jobs.planned("street_blow_through").bench.network, UnitSystem.METRIC)) == [
        "  No plan, so no order of work."
    ]
    assert work_order_count(jobs.order_of("street_blow_through")).endswith("3 that cannot be undone")
