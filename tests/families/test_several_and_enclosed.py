"""Several carburetors on one engine, and a carburetor in a pressure box, for any family."""

from __future__ import annotations

from pathlib import Path

import pytest
from family_jobs import AIR_VALVE, PISTON, bench_of, families, rules_broken

from boostcarb import pipeline
from boostcarb.fueling.demand import demand
from boostcarb.fueling.records import Input
from boostcarb.fueling.solved import solved_for
from boostcarb.network.latent import with_latent
from boostcarb.planning.search import Plan

MODULAR = "modular_four_barrel"
SEALED = {"box_shaft_leak": "plugged", "box_drain": "self_closing", "box_hold_test": "passed"}
PAIR = {"count": 2}
BOX_RULES = {
    "pressure_box_open_to_atmosphere", "pressure_box_without_drain", "pressure_box_not_hold_tested",
    "no_relief_on_pressure_box", "electrical_item_in_pressure_box",
}  # fmt: skip


@pytest.fixture
def reads(tmp_path: Path) -> object:
    return families(tmp_path, PISTON, AIR_VALVE)


# --- several ------------------------------------------------------------------------------------------------


def test_work_and_parts_of_the_carburetor_are_counted_for_each(reads: object) -> None:
    one, two = bench_of(reads, "shed_single").network, bench_of(reads, "shed_single", carburetors=PAIR).network
    single = one.items["main.bowl_external_vent"].forms["plugged"].labor
    double = two.items["main.bowl_external_vent"].forms["plugged"].labor
    assert (double.minutes, double.parts) == (2 * single.minutes, 2 * single.parts)
    assert double.how == f"{single.how}, on both carburetors"
    assert two.stages["cover_off"].minutes == 2 * one.stages["cover_off"].minutes
    around = "fuel_regulator"
    assert two.items[around].forms == one.items[around].forms


@pytest.mark.parametrize(("count", "words"), [(3, "on all three carburetors"), (6, "on all 6 carburetors")])
def test_words_for_more_than_two(reads: object, count: int, words: str) -> None:
    network = bench_of(reads, "shed_single", carburetors={"count": count}).network
    assert network.items["main.bowl_external_vent"].forms["plugged"].labor.how.endswith(words)


def test_the_engine_sees_the_pair_and_each_bowl_half_its_fuel(reads: object) -> None:
    """Two of half the rated flow stand for one of the whole: same pressures, half the fuel each, the same in all."""
    flow = {"rated_flow": "180 cfm", "rated_drop": "3 inHg"}
    half = bench_of(reads, "shed_single", carburetors=PAIR, flow=flow)
    whole = bench_of(reads, "shed_single", flow={**flow, "rated_flow": "360 cfm"})
    found = []
    for bench in (half, whole):
        solved = solved_for(bench.network, bench.situations, bench.network.found())
        wanted = demand(solved, bench.fuel.model.fuel, lambda state: Input("lambda", 0.8, "", "invented"))
        found.append((solved, wanted))
    (pair, of_pair), (single, of_single) = found
    state = "full_boost_redline"
    for space in ("air_horn", "manifold", "main.booster_throat"):
        assert pair.pressures.range_of(space, state) == pytest.approx(single.pressures.range_of(space, state))
    assert of_pair.of("main", state) == pytest.approx(0.5 * of_single.of("main", state))
    assert of_pair.total(state) == pytest.approx(of_single.total(state))


def test_the_same_mixture_through_each_of_a_pair(reads: object) -> None:
    """Half the air through one carburetor with half the area is the same air speed, and so the same mixture."""
    flow = {"rated_flow": "180 cfm", "rated_drop": "3 inHg"}
    found = {"main.main_jet_hole": {"is": "open", "bore": "1.4 mm"}}
    pair = bench_of(reads, "shed_single", carburetors=PAIR, flow=flow, found=found)
    alone = bench_of(reads, "shed_single", flow=flow, found=found,
                     engine={**pair.job.engine.model_dump(), **engine("1 l")})  # fmt: skip
    state = "full_boost_redline"
    lambdas = [
        bench.fuel.model.mixtures(bench.network.found(), "main")[state].leanest.mixture for bench in (pair, alone)
    ]
    assert lambdas[0] == pytest.approx(lambdas[1], rel=0.02)


def engine(displacement: str) -> dict[str, str]:
    return {
        "displacement": displacement, "idle_speed": "900 rpm", "cruise_speed": "2600 rpm",
        "torque_peak_speed": "3600 rpm", "redline_speed": "5500 rpm",
    }  # fmt: skip


def test_split_plenum_and_split_bonnets_are_judged(reads: object) -> None:
    together = rules_broken(bench_of(reads, "shed_single", carburetors=PAIR))
    apart = rules_broken(
        bench_of(reads, "shed_single", carburetors={"count": 2, "plenum": "split", "bonnets": "split"})
    )
    assert apart - together == {"signals_from_one_runner", "one_reference_for_split_bonnets"}
    assert together - apart == set()


def test_a_job_with_one_carburetor_knows_nothing_of_several(reads: object) -> None:
    network = bench_of(reads, MODULAR).network
    assert not [item for item in network.items if item.startswith(("carburetor_", "box_"))]
    assert network.carburetors == 1


# --- enclosed -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("family", [MODULAR, "shed_single", "piston_single", "shed_air_valve"])
def test_nothing_of_a_boxed_carburetor_faces_the_atmosphere(reads: object, family: str) -> None:
    bench = bench_of(reads, family, enclosure="pressure_box")
    network, own = bench.network, bench.family.family
    ours = {*own.passages, *own.lines}
    assert not [way.name for way in network.ways if way.item in ours and "ambient" in (way.a, way.b)]
    walls = [network.diaphragms[name] for name in own.diaphragms]
    assert not [wall.name for wall in walls if "ambient" in (wall.first, wall.second)]
    opened = [way for way in with_latent(network).ways if way.name.endswith(" open") and way.item in own.lines]
    # The other end of a hose to the engine is outside the box.
    assert {way.a for way in opened if way.b == "ambient"} <= {"manifold", "base"}


def test_what_penetrates_the_box_still_faces_the_atmosphere(tmp_path: Path) -> None:
    family = """\
family: pierced
based_on: shed_single
title: with an outlet through the wall
summary: An outlet that no box can hold.
passages:
  main.outlet:
    title: outlet through the wall
    joins: [base, ambient]
    kind: port
    bore: 3 mm
    penetrates_box: true
    casting: body
    stage: on_engine
"""
    network = bench_of(families(tmp_path, family), "pierced", enclosure="pressure_box").network
    assert {(way.a, way.b) for way in network.ways if way.item == "main.outlet"} == {("base", "ambient")}


@pytest.mark.parametrize("state", ["full_boost_redline", "idle", "backfire_full_load"])
def test_the_box_stands_at_the_pressure_of_the_air_horn(reads: object, state: str) -> None:
    bench = bench_of(reads, "shed_single", enclosure="pressure_box")
    pressures = bench.view(bench.network.found()).pressures
    assert pressures.range_of("box", state) == pressures.range_of("air_horn", state)


def test_vents_and_shafts_harm_nothing_in_a_box_that_holds(reads: object) -> None:
    found = {"main.bowl_external_vent": "open", **SEALED}
    open_air = rules_broken(bench_of(reads, "shed_single", found={"main.bowl_external_vent": "open"}))
    boxed = rules_broken(bench_of(reads, "shed_single", enclosure="pressure_box", found=found))
    assert "bowl_open_to_atmosphere" in open_air
    assert "bowl_open_to_atmosphere" not in boxed
    assert boxed & BOX_RULES == {"no_relief_on_pressure_box"}


def test_an_under_side_left_open_to_the_engine_bay_is_right_in_a_box(reads: object) -> None:
    """The box is at bonnet pressure: what slams an air valve shut in the open lifts it in there."""
    found = {"main.under_side_vent": "plugged", "main.under_side_outer_vent": "open"}
    bench = bench_of(reads, "shed_air_valve", enclosure="pressure_box", found=found)
    spaces = bench.view(bench.network.found()).pressures
    assert spaces.range_of("main.under_side", "full_boost_redline") == pytest.approx(
        spaces.range_of("air_horn", "full_boost_redline"), abs=200.0
    )


def test_a_boxed_pair_has_a_plan_that_says_do_it_on_both(reads: object) -> None:
    bench = bench_of(reads, "shed_single", enclosure="pressure_box", carburetors={"count": 2, "plenum": "split"})
    planned = pipeline.plan(bench, alternatives=0)
    assert isinstance(planned.outcome, Plan)
    items = {change.item for change in planned.outcome.changes}
    assert {"box_drain", "box_shaft_leak", "box_hold_test", "carburetor_balance_tube"} <= items
    assert "main.bowl_external_vent" not in items
    own = bench.family.family
    for change in planned.outcome.changes:
        labor = bench.network.items[change.item].forms[change.option].labor
        assert labor.how.endswith(", on both carburetors") == (change.item in {*own.passages, *own.parts, *own.lines})


def test_rules_on_leaks_leave_a_boxed_carburetor_alone_and_not_the_engine(reads: object) -> None:
    """Domain: most faults of the side to the atmosphere vanish in a box."""
    found = {"manifold_port_caps": "rubber_caps", "plenum_port_caps": "rubber_caps"}
    caps = []
    for enclosure in ({}, {"enclosure": "pressure_box"}):
        bench = bench_of(reads, MODULAR, found=found, **enclosure)
        findings = bench.findings(bench.network.found())
        caps.append({each.place for each in findings if each.rule == "rubber_cap_on_boosted_port"})
    assert caps == [{"manifold_port_caps", "plenum_port_caps"}, {"plenum_port_caps"}]
