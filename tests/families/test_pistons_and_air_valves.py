"""A piston leaks and a diaphragm does not: what becomes of a plugged passage follows from the pressures alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from family_jobs import AIR_VALVE, PISTON, bench_of, families

from boostcarb.fueling.mixture import Status
from boostcarb.network.latent import with_latent
from boostcarb.solving.diaphragms import ValveState, valve_states
from boostcarb.solving.pressures import Nature

WALL = "main.power_valve_diaphragm"
PLUGGED = {"main.power_valve_vacuum_passage": "plugged"}


@pytest.fixture
def reads(tmp_path: Path) -> object:
    return families(tmp_path, PISTON, AIR_VALVE)


def valve_by_state(bench: object, name: str = WALL) -> dict[str, ValveState]:
    network = bench.network  # type: ignore[attr-defined]
    configuration = network.found()
    view = bench.view(configuration)  # type: ignore[attr-defined]
    wall = network.diaphragms[name]
    valve = wall.valve(configuration)
    states = valve_states(wall, valve, configuration, view.pressures)
    return dict(zip((state.name for state in view.states), states, strict=True))


def test_a_plugged_diaphragm_goes_lean_where_a_plugged_piston_goes_rich(reads: object) -> None:
    """Domain: the diaphragm's chamber keeps the air it was closed with, the piston's leaks up to the pressure above."""
    charge = {"boost": "80 kPa gauge", "full_boost_speed": "2800 rpm"}
    lean, rich = (
        valve_by_state(bench_of(reads, name, found=PLUGGED, charge=charge)) for name in ("shed_single", "piston_single")
    )
    boosted = ("full_boost_torque_peak", "full_boost_redline", "part_throttle_boost_deep")
    assert {lean[state] for state in boosted} == {ValveState.shut}
    assert {rich[state] for state in boosted} == {ValveState.open}
    assert rich["idle"] is ValveState.open


def test_piston_space_comes_up_to_the_bowl_by_its_leak(reads: object) -> None:
    bench = bench_of(reads, "piston_single", found=PLUGGED)
    spaces = bench.view(bench.network.found()).pressures.spaces
    assert spaces["main.power_valve_chamber"].nature is Nature.tied
    assert spaces["main.power_valve_chamber"].low == pytest.approx(spaces["main.bowl"].low)
    bench = bench_of(reads, "shed_single", found=PLUGGED)
    assert bench.view(bench.network.found()).pressures.spaces["main.power_valve_chamber"].nature is Nature.sealed


def test_open_passage_holds_the_piston_down_at_idle_in_spite_of_its_leak(reads: object) -> None:
    """1.5 mm2 of leak against a passage of 2.5 mm2: the difference is less than the whole, and yet above the spring."""
    states = valve_by_state(bench_of(reads, "piston_single"))
    assert states["idle"] is ValveState.shut
    assert states["tip_in"] is ValveState.open


@pytest.mark.parametrize(("form", "state"), [("stuck_up", ValveState.open), ("stuck_down", ValveState.shut)])
def test_a_stuck_piston_stays_as_it_is(reads: object, form: str, state: ValveState) -> None:
    bench = bench_of(reads, "piston_single", found={"main.step_up_piston": form})
    assert set(valve_by_state(bench).values()) == {state}


def test_a_piston_cannot_tear(reads: object) -> None:
    torn = {item for item in with_latent(bench_of(reads, "piston_single").network).items if item.endswith(".tear")}
    assert f"{WALL}.tear" not in torn
    assert f"{WALL}.tear" in with_latent(bench_of(reads, "shed_single").network).items


def test_air_valve_lifts_with_its_under_side_on_the_bonnet_and_not_on_the_atmosphere(reads: object) -> None:
    name = "main.air_valve"
    right = valve_by_state(bench_of(reads, "shed_air_valve"), name)
    wrong_vent = {"main.under_side_vent": "plugged", "main.under_side_outer_vent": "open"}
    wrong = valve_by_state(bench_of(reads, "shed_air_valve", found=wrong_vent), name)
    assert right["full_boost_redline"] is ValveState.open
    assert wrong["full_boost_redline"] is ValveState.shut
    natural = bench_of(reads, "shed_air_valve", "naturally_aspirated", found=wrong_vent)
    assert valve_by_state(natural, name)["wide_open_redline"] is ValveState.open


def test_mixture_of_an_air_valve_is_not_predicted(reads: object) -> None:
    bench = bench_of(reads, "shed_air_valve")
    table = bench.fuel.model.fueling(bench.network.found()).table
    statuses = {group.status for state in table for group in state.groups}
    assert statuses == {Status.variable}
    assert all(state.leanest is None and state.richest is None for state in table)
    assert not any(rule.rules[0] == "lean_in_boost" for rule in bench.not_judged)
