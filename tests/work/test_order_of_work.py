"""The order of work of every scenario and base job: it leads to the plan, and it can be done in that order."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from boostcarb.network.model import Stage
from boostcarb.planning.search import Impossible
from boostcarb.work.order import Phase, WorkOrder, WrongOrder, executed, work_order
from boostcarb.work.renewals import renewals
from boostcarb.work.wording import back_text, off_text

PHASES = list(Phase)


def test_executing_the_steps_yields_the_planned_configuration(jobs: Any, any_job: str) -> None:
    network = jobs.network_of(any_job)
    assert executed(jobs.order_of(any_job), network, network.found()) == jobs.planned(any_job).configuration


def test_every_change_is_made_once(jobs: Any, any_job: str) -> None:
    made = [change for step in jobs.order_of(any_job).steps for change in step.changes]
    assert sorted(made) == sorted(jobs.plan(any_job).changes)


def test_nothing_is_asked_at_a_stage_that_is_not_open(jobs: Any, any_job: str) -> None:
    """Walked here once more, apart from `executed`."""
    network, opened = jobs.network_of(any_job), set[str]()
    start = {stage for stage, found in network.stages.items() if not found.after}
    for step in jobs.order_of(any_job).steps:
        if step.opens:
            assert set(network.stages[step.opens].after) <= opened | start
            opened.add(step.opens)
        if step.stage:
            assert step.stage in opened | start, step.title
        for change in step.changes:
            labor = network.items[change.item].forms[change.option].labor
            assert labor is not None
            assert labor.stage in opened | start, step.title
        if step.closes:
            opened.remove(step.closes)
    assert not opened


def test_each_stage_of_the_plan_is_opened_once_and_closed_in_reverse(jobs: Any, any_job: str) -> None:
    steps = jobs.order_of(any_job).steps
    opened = [step.opens for step in steps if step.opens]
    closed = [step.closes for step in steps if step.closes]
    assert closed == opened[::-1]
    assert len(set(opened)) == len(opened)
    assert {*opened, "on_engine"} == {*jobs.plan(any_job).steps, "on_engine"}  # no more than the changes need


def test_minutes_add_up_to_the_cost_of_the_plan(jobs: Any, any_job: str) -> None:
    order = jobs.order_of(any_job)
    assert order.planned_minutes == jobs.plan(any_job).cost.minutes
    assert order.planned_minutes + order.extra_minutes == sum(step.minutes for step in order.steps)
    assert sum(step.irreversible for step in order.steps) == jobs.plan(any_job).cost.irreversible


def test_phases_come_in_order_and_steps_are_numbered(jobs: Any, any_job: str) -> None:
    steps = jobs.order_of(any_job).steps
    places = [PHASES.index(step.phase) for step in steps]
    assert places == sorted(places)
    assert [step.number for step in steps] == list(range(1, len(steps) + 1))


def test_what_cannot_be_undone_comes_after_all_that_could_make_it_needless(jobs: Any, any_job: str) -> None:
    steps = jobs.order_of(any_job).steps
    final = [index for index, step in enumerate(steps) if step.irreversible]
    if not final:
        return
    before = [
        index
        for index, step in enumerate(steps)
        if step.phase in (Phase.prepare, Phase.check_as_found, Phase.strip)
        or (step.phase is Phase.change and not step.irreversible)
    ]
    assert max(before) < min(final)
    assert steps[min(final) - 1].title == "Last look before you cut"
    assert all(any("Cannot be undone" in caution for caution in steps[index].cautions) for index in final)


def test_work_on_a_casting_is_done_in_one_go(jobs: Any, any_job: str) -> None:
    """In each phase a casting comes up once, but for what cannot be undone."""
    for phase in (Phase.change, Phase.renew, Phase.reference_and_hoses):
        for final in (False, True):
            castings = [
                step.casting
                for step in jobs.order_of(any_job).steps
                if step.phase is phase and step.changes and step.irreversible is final
            ]
            runs = [casting for casting, before in zip(castings, [None, *castings], strict=False) if casting != before]
            assert len(runs) == len(set(runs)), (phase, runs)


def test_cut_castings_are_cleaned_before_anything_is_fitted_and_checked_before_they_are_closed(
    jobs: Any, any_job: str
) -> None:
    steps = jobs.order_of(any_job).steps
    cut = {step.casting for step in steps if step.phase is Phase.change and step.changes}
    cleaned = {step.casting for step in steps if step.phase is Phase.clean}
    of_carburetor = set(jobs.planned(any_job).bench.family.family.castings)
    assert cleaned == cut & of_carburetor


def test_tapping_is_done_before_cleaning(jobs: Any) -> None:
    steps = jobs.order_of("street_blow_through").steps
    last_bath = max(step.number for step in steps if step.phase is Phase.clean)
    castings = jobs.planned("street_blow_through").bench.family.family.castings
    tapped = [step for step in steps if "Drill" in step.text and step.casting in castings]
    assert len(tapped) >= 4
    assert all(step.number < last_bath for step in tapped)


def test_the_check_valve_goes_into_its_fitting_after_the_port_is_drilled(jobs: Any) -> None:
    numbers = {
        change.item: step.number for step in jobs.order_of("street_blow_through").steps for change in step.changes
    }
    assert numbers["primary.power_valve_reference_port"] < numbers["primary.reference_check"]


def test_the_level_is_set_with_fuel_in_the_bowl(jobs: Any, tmp_path: Path) -> None:
    result = jobs.plan_of(tmp_path, "base_blow_through", found={"primary.float_level": "not_set"})
    order = work_order(result)
    step = next(step for step in order.steps if any(c.item == "primary.float_level" for c in step.changes))
    assert step.phase is Phase.first_start


def test_plate_screws_go_in_after_the_shafts_are_back(jobs: Any, tmp_path: Path) -> None:
    result = jobs.plan_of(tmp_path, "base_blow_through", found={"primary.plate_screws": "unlocked"})
    order = work_order(result)
    screws = next(step for step in order.steps if any(c.item == "primary.plate_screws" for c in step.changes))
    shafts = next(step for step in order.steps if step.closes == "shafts_out")
    body = next(step for step in order.steps if step.closes == "throttle_body_off")
    assert shafts.number < screws.number < body.number


def test_what_nobody_has_looked_at_is_looked_at_on_the_way(jobs: Any) -> None:
    result = jobs.planned("not_taken_apart_yet")
    order = jobs.order_of("not_taken_apart_yet")
    looks = {step.stage for step in order.steps if step.title.startswith("Look at the")}
    strip = {step.opens for step in order.steps if step.opens} | {"on_engine"}
    items = result.bench.network.items
    assert looks == {items[doubt.item].stage for doubt in result.doubts} & strip
    hidden = {items[doubt.item].stage for doubt in result.doubts if doubt.otherwise} - strip
    assert any(step.title.startswith("Decide") for step in order.steps) == bool(hidden)


def test_seams_are_renewed_but_not_twice(jobs: Any) -> None:
    name = "street_blow_through"
    result = jobs.planned(name)
    strip = [step.opens for step in jobs.order_of(name).steps if step.opens]
    new = {each.name for each in renewals(jobs.network_of(name), strip, jobs.plan(name).changes, result.configuration)}
    assert {"base gasket", "primary bowl gasket", "gasket between main body and throttle body"} <= new
    assert "primary pump diaphragm" not in new  # the plan fits another
    without = {each.name for each in renewals(jobs.network_of(name), strip, (), jobs.network_of(name).found())}
    assert "primary pump diaphragm" in without


def test_steps_out_of_turn_are_refused(jobs: Any) -> None:
    name = "street_blow_through"
    order, network = jobs.order_of(name), jobs.network_of(name)
    without_strip = WorkOrder(tuple(step for step in order.steps if not step.opens), order.shopping)
    with pytest.raises(WrongOrder, match="not open"):
        executed(without_strip, network, network.found())
    inner = next(step for step in order.steps if step.opens == "throttle_body_off")
    with pytest.raises(WrongOrder, match="must come first"):
        executed(WorkOrder((inner,), order.shopping), network, network.found())
    outer = [step for step in order.steps if step.opens in ("bonnet_off", "carburetor_off")]
    wrong = replace(outer[0], opens=None, closes="bonnet_off")
    with pytest.raises(WrongOrder, match="closes"):
        executed(WorkOrder((*outer, wrong), order.shopping), network, network.found())


def test_no_plan_no_work(jobs: Any, tmp_path: Path) -> None:
    result = jobs.plan_of(
        tmp_path, "base_blow_through", pinned={"irreversible_work": False, "keep": ["fuel_regulator"]}
    )
    if isinstance(result.outcome, Impossible):
        assert work_order(result).steps == ()
        assert work_order(result).shopping.parts == ()
    else:
        pytest.fail("this job was meant to have no plan")


def test_a_carburetor_that_needs_nothing_is_only_proved(jobs: Any) -> None:
    order = jobs.order_of("base_naturally_aspirated")
    assert order.planned_minutes == 0
    assert not any(step.opens or step.changes for step in order.steps)
    assert {step.phase for step in order.steps} == {
        Phase.prepare, Phase.check_as_found, Phase.first_start, Phase.prove,
    }  # fmt: skip


def test_a_closed_passage_says_what_it_must_hold(jobs: Any) -> None:
    name = "street_blow_through"
    steps = {change.item: step for step in jobs.order_of(name).steps for change in step.changes}
    rows = {row.name: row for row in jobs.planned(name).states}
    boost = rows["lift_off"].spaces["primary.bowl"].high_pa_abs - rows["lift_off"].spaces["ambient"].low_pa_abs
    assert f"must hold {boost / 1000:.1f} kPa" in steps["primary.bowl_external_vent"].text
    assert "in a backfire" in steps["primary.power_valve_vacuum_passage"].text


def test_a_family_with_other_stages_has_words_for_them_too(jobs: Any) -> None:
    network = jobs.network_of("street_blow_through")
    lid = Stage("lid_up", "lid turned up", 10, ("on_engine",))
    other = replace(network, stages={**network.stages, "lid_up": lid})
    assert [each.name for each in renewals(other, ["lid_up"], (), network.found())] == [
        "gaskets and seals of: lid turned up"
    ]
    assert off_text(lid) == "Strip down to: lid turned up"
    assert "lid turned up" in back_text(lid)
