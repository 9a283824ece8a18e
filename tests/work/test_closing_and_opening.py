"""Methods for passages that plans close or open, and the list of what to have in hand."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from boostcarb import pipeline
from boostcarb.bench import Bench
from boostcarb.description.job import Job, State
from boostcarb.network.model import Network, Way
from boostcarb.planning.problem import Choice
from boostcarb.planning.search import Plan
from boostcarb.work.methods import Means, Method, is_alcohol_rich, method_for, methods, ways_worked_on

STREET = "street_blow_through"
LEAK = "primary.channel_plug_leak"


@cache
def bench() -> Bench:
    """A carburetor with an outside bleed and a leaking channel plug, so that both have something to close."""
    read = pipeline.load(Path(__file__).parents[2] / "scenarios" / f"{STREET}.yaml")
    wrong = {name: State.model_validate({"is": "open"}) for name in ("primary.outer_air_bleed", LEAK)}
    return pipeline.set_up(read, read.job.model_copy(update={"found": {**read.job.found, **wrong}}))


def network() -> Network:
    return bench().network


def job(fuel: str = "gasoline") -> Job:
    return bench().job.model_copy(update={"fuel": fuel})


def way_named(name: str) -> Way:
    return next(way for way in network().ways if way.item == name)


def closing(name: str, fuel: str = "gasoline", **changes: object) -> Method:
    return method_for(replace(way_named(name), **changes), Choice(name, "plugged"), network(), job(fuel))


def test_every_passage_of_a_plan_has_a_method(jobs: Any, any_job: str) -> None:
    result = jobs.planned(any_job)
    assert isinstance(result.outcome, Plan)
    items = result.bench.network.items
    found = methods(result.bench.network, result.bench.job, result.outcome.changes)
    assert {choice for choice in result.outcome.changes if items[choice.item].kind == "passage"} <= set(found)
    assert all(method.how and method.source for method in found.values())


def test_three_millimeter_vacuum_drilling_takes_m4() -> None:
    """Common practice: M4, tap drill 3.3, in a drilling of 2 to 3 mm."""
    found = closing("primary.power_valve_vacuum_passage")
    assert (found.means, found.thread, found.tap_drill) == (Means.screw_plug, "M4", "3.3 mm")
    assert found.plug_m == pytest.approx(6e-3)
    assert found.depth_m is not None
    assert found.depth_m >= 1.5 * 4e-3
    assert found.instead == "8-32, tap drill #29"
    assert "epoxy" in found.never_alone
    assert "3.03 to 3.06 mm" in found.how  # driven plug, 1 to 2 % over the hole


def test_a_hole_that_boost_pushes_at_from_inside_gets_a_thread_and_no_rubber_cap() -> None:
    found = closing("primary.bowl_external_vent")
    assert (found.means, found.thread) == (Means.screw_plug, "M10")
    assert {"rubber cap", "driven ball", "lead", "solder"} <= set(found.never_alone)
    assert "1/8-27 taper pipe" in found.how
    assert "driven brass plug" not in found.how


def test_alcohol_forbids_lead_and_solder_everywhere() -> None:
    assert not {"lead", "solder"} & set(closing("primary.power_valve_vacuum_passage").never_alone)
    for fuel in ("E85", "ethanol", "methanol"):
        found = closing("primary.power_valve_vacuum_passage", fuel)
        assert {"lead", "solder", "epoxy"} <= set(found.never_alone)
        assert "rated for alcohol" in found.how
    assert not is_alcohol_rich(job("E10"))


@pytest.mark.parametrize(
    ("name", "changes", "means"),
    [
        ("body_joint_leak", {}, Means.gasket),
        ("primary.block_gasket_leak", {}, Means.gasket),
        ("choke_shaft_gap", {}, Means.shaft_seal),
        ("primary.outer_air_bleed", {}, Means.blank),
        ("choke_heat_tube", {}, Means.caps),
        ("cleaner_stud_hole", {}, Means.screw_plug),
        ("cleaner_stud_hole", {"bore_m": 14e-3}, Means.disc),
        (LEAK, {}, Means.factory_plug),
    ],
)
def test_means_follow_kind_bore_and_access(name: str, changes: dict[str, object], means: Means) -> None:
    found = method_for(replace(way_named(name), **changes), Choice(name, "plugged"), network(), job())
    assert found.means is means
    assert "epoxy" in found.never_alone


def test_a_reference_port_is_drilled_small_and_tapped_at_its_mouth() -> None:
    name = "primary.power_valve_reference_port"
    found = method_for(way_named(name), Choice(name, "open"), network(), job())
    assert (found.means, found.drill, found.thread, found.tap_drill) == (
        Means.drilled_and_tapped, "3 mm", "M6", "5 mm",
    )  # fmt: skip
    assert "Pilot 1 mm" in found.how
    assert "1.5 mm must stay" in found.how


def test_restrictions_are_opened_in_small_steps_to_a_drill_that_is_made() -> None:
    name = "secondary.power_restriction"
    found = method_for(way_named(name), Choice(name, "open"), network(), job())
    assert (found.means, found.drill, found.thread) == (Means.drilled, "1.2 mm", None)
    assert "0.1 mm" in found.how


def test_clearing_takes_no_drill() -> None:
    name = "primary.bowl_vent"
    found = method_for(way_named(name), Choice(name, "open"), network(), job())
    assert found.means is not Means.drilled_and_tapped
    assert found.thread is None


def test_port_plugs_go_by_the_bore_of_their_port() -> None:
    choice = Choice("manifold_port_caps", "screw_plugs")
    ways = ways_worked_on(network(), [choice])
    assert ways[choice].item == "manifold_port_cap_leak"
    assert method_for(ways[choice], choice, network(), job()).thread == "M8"


def test_parts_of_the_plan_add_up(jobs: Any, any_job: str) -> None:
    result = jobs.planned(any_job)
    assert isinstance(result.outcome, Plan)
    parts = jobs.order_of(any_job).shopping.parts
    assert sum(line.quantity for line in parts if line.for_changes) == result.outcome.cost.parts
    changed = {change.item for change in result.outcome.changes}
    shopping = jobs.order_of(any_job).shopping
    for line in (*parts, *shopping.consumables, *shopping.tools):
        assert set(line.for_changes) <= changed
        assert line.quantity > 0


def test_plugs_of_one_size_are_one_line_with_their_drill_and_tap(jobs: Any) -> None:
    shopping = jobs.order_of(STREET).shopping
    plugs = {line.name: line for line in shopping.parts}
    assert plugs["screw plug without head M4 x 6 mm"].quantity == 2
    assert set(plugs["screw plug without head M4 x 6 mm"].for_changes) == {
        "choke_vacuum", "primary.power_valve_vacuum_passage",
    }  # fmt: skip
    tools = [line.name for line in shopping.tools]
    assert {"drill 3.3 mm", "tap M4, with a second tap"} <= set(tools)
    assert len(tools) == len(set(tools))
