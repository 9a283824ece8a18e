"""Mixtures from the network: limits, honesty where nothing can be said, wrong vents, undecided valves."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from metering_jobs import OPEN_IN_BOOST, as_found, circuits_of, group, model, point

from boostcarb.fueling.mixture import Enrichment, Status
from boostcarb.physics.constants import GAS_CONSTANT_AIR
from boostcarb.physics.metering import elementary_air_fuel_ratio, elementary_flow

TARGETS = ("naturally_aspirated", "blow_through", "draw_through")
NO_BLEED = {"primary.high_speed_bleed": "plugged"}


@pytest.mark.parametrize("target", TARGETS)
def test_areas_are_those_of_the_network(target: str) -> None:
    found = model(target, found={"primary.main_jet_hole": {"is": "open", "bore": "1.73 mm"}})
    solved = found.solve(found.found)
    areas = {way.name: way.area_m2 for way in solved.network.ways}
    for circuit in circuits_of(solved).values():
        for drilling in (circuit.main, circuit.restriction, circuit.bleed, circuit.nozzle):
            if drilling is not None:
                assert drilling.area_m2 == pytest.approx(areas[drilling.passage], rel=1e-14)


@pytest.mark.parametrize("state", ["cruise", "tip_in", "part_throttle_boost_fast", "full_boost_redline"])
def test_without_bleed_and_lip_it_is_the_elementary_carburetor(state: str) -> None:
    """Jet and nozzle in series, one depression: the textbook law to solver precision, through the whole chain."""
    fueling = as_found("blow_through", found=NO_BLEED, metering={"spill_height": "0 mm"})
    mixture, found = group(fueling, state), point(fueling, state)
    pull = mixture.pull
    assert pull is not None
    assert found.bleed_area_m2 == 0.0
    liquid, nozzle = found.main_area_m2 + found.power_area_m2, found.nozzle_area_m2
    series = liquid * nozzle / math.hypot(liquid, nozzle)
    fuel = elementary_flow(
        effective_area_m2=series,
        density_kg_m3=745.0,
        depression_pa=pull.air_horn_pa_abs - found.booster_pa_abs,
    )
    assert found.fuel_kg_s == pytest.approx(fuel, rel=1e-12)
    depression = pull.air_horn_pa_abs - found.booster_pa_abs
    # The venturi that would pass this air at this depression in the incompressible law.
    venturi = pull.air_kg_s / math.sqrt(2.0 * pull.air_density_kg_m3 * depression)
    ratio = elementary_air_fuel_ratio(
        venturi_effective_area_m2=venturi,
        jet_effective_area_m2=series,
        air_density_kg_m3=pull.air_density_kg_m3,
        fuel_density_kg_m3=745.0,
        depression_pa=depression,
    )
    assert found.air_fuel_ratio == pytest.approx(ratio, rel=1e-12)


def test_density_is_that_in_front_of_the_venturi() -> None:
    fueling = as_found("blow_through")
    for row in fueling.table:
        result = next(s.result for s in fueling.metering.states if s.name == row.state)
        air = result.pressures_pa_abs["air_horn"] / (GAS_CONSTANT_AIR * result.temperatures_k["air_horn"])
        assert row.lean_shift == pytest.approx(math.sqrt(air / fueling.metering.reference_density_kg_m3), rel=1e-12)


def test_blow_through_leans_in_boost_and_draw_through_does_not() -> None:
    blow, draw = as_found("blow_through"), as_found("draw_through")
    shifts = {row.state: row.lean_shift for row in blow.table}
    assert shifts["full_boost_torque_peak"] > 1.1
    for row in draw.table:
        assert 0.97 < row.lean_shift <= 1.0 + 1e-9
    leaner = point(blow, "full_boost_torque_peak", "secondary").mixture
    before = point(blow, "wide_open_before_boost", "secondary").mixture
    # The air bleed takes back part of the elementary shift, never all of it.
    assert 1.0 < leaner / before < shifts["full_boost_torque_peak"] / shifts["wide_open_before_boost"]


def test_jets_that_were_right_at_sea_level_are_richer_on_a_mountain() -> None:
    right_for = {"right_for": {"altitude": "0 m", "temperature": "15 degC"}}
    fueling = as_found(
        "naturally_aspirated", site={"altitude": "3000 m", "ambient_temperature": "-4.5 degC"}, metering=right_for
    )
    # ISA, 3000 m: root of 0.9091 / 1.2250; the filter takes a little more.
    assert next(row.lean_shift for row in fueling.table if row.state == "cruise") == pytest.approx(0.861, abs=0.003)


@pytest.mark.parametrize("state", ["idle", "crank", "overrun"])
@pytest.mark.parametrize("target", TARGETS)
def test_no_lambda_is_invented_where_the_idle_circuit_rules(target: str, state: str) -> None:
    found = group(as_found(target), state)
    assert found.status is Status.idle
    assert (found.leanest, found.richest) == (None, None)
    row = next(row for row in as_found(target).table if row.state == state)
    assert (row.leanest, row.richest) == (None, None)


def test_events_and_standing_engines_are_left_out() -> None:
    states = [row.state for row in as_found("blow_through").table]
    assert not {"engine_off", "hot_soak", "backfire_idle", "backfire_full_load"} & set(states)


def test_a_group_that_is_shut_has_no_mixture() -> None:
    assert group(as_found("blow_through"), "cruise", "secondary").status is Status.shut


def test_a_main_circuit_that_barely_starts_gives_no_number() -> None:
    weak = {"booster_gain": 1.0, "spill_height": "20 mm"}
    found = group(as_found("naturally_aspirated", metering=weak), "cruise")
    assert found.status is Status.starting
    assert found.leanest is None


def test_a_bowl_vented_outside_starves_in_boost() -> None:
    found = group(as_found("blow_through", found={"primary.bowl_external_vent": "open"}), "full_boost_redline")
    assert found.status is Status.no_fuel
    assert found.leanest is None
    assert found.pull is not None
    assert found.pull.bowl_high_pa_abs < found.pull.air_horn_pa_abs - 5e3


def test_the_solved_bowl_pressure_counts() -> None:
    """A bowl a little below the air horn runs leaner by just what its pressure takes away."""
    right, wrong = as_found("blow_through"), as_found("blow_through", found={"secondary.bowl_external_vent": "open"})
    state = "wide_open_before_boost"
    below = group(wrong, state, "primary").pull
    assert below is not None
    assert below.bowl_low_pa_abs == pytest.approx(below.air_horn_pa_abs, abs=1.0)
    assert point(wrong, state).mixture == pytest.approx(point(right, state).mixture, rel=1e-9)
    vented = group(wrong, state, "secondary")
    assert vented.status is Status.no_fuel or point(wrong, state, "secondary").mixture > 1.05


def test_fuel_out_of_the_bleed_is_flagged() -> None:
    fueling = as_found("blow_through", found={"secondary.nozzle": {"is": "open", "bore": "1.8 mm"}})
    metering, circuit = fueling.metering, fueling.circuits["secondary"]
    state = next(s for s in metering.states if s.name == "full_boost_torque_peak")
    assert not metering.mixture(state, circuit).fuel_leaves_bleed
    pressed = replace(metering, solved=_pressed(metering.solved, 60e3))
    assert pressed.mixture(state, circuit).fuel_leaves_bleed


def _pressed(solved, extra_pa):  # type: ignore[no-untyped-def]
    """A solution in which something presses on the fuel of every bowl."""

    class Pressed(type(solved)):  # type: ignore[misc]
        def range_of(self, space, state):  # type: ignore[no-untyped-def]
            low, high = super().range_of(space, state)
            return (low + extra_pa, high + extra_pa) if space.endswith(".bowl") else (low, high)

    fields = {name: getattr(solved, name) for name in solved.__dataclass_fields__}
    return Pressed(**fields)


def test_an_undecided_valve_gives_both_mixtures() -> None:
    sealed = {"primary.power_valve_vacuum_passage": "plugged"}
    fueling = as_found("naturally_aspirated", found=sealed, site={"assembled_at": "40 degC"})
    found = [each for row in fueling.table for each in row.groups if each.enrichment is Enrichment.undecided]
    both = [each for each in found if each.status is Status.predicted]
    assert both
    for each in both:
        assert each.leanest is not None
        assert each.richest is not None
        assert each.leanest.power_area_m2 == 0.0 < each.richest.power_area_m2
        assert each.leanest.mixture > each.richest.mixture


def test_the_power_restriction_counts_only_behind_an_open_valve() -> None:
    small, large = (
        as_found("blow_through", found={**OPEN_IN_BOOST, "primary.power_restriction": {"is": "open", "bore": bore}})
        for bore in ("0.5 mm", "1.5 mm")
    )
    assert group(small, "cruise").enrichment is Enrichment.shut
    assert point(small, "cruise").mixture == point(large, "cruise").mixture
    assert group(small, "full_boost_redline").enrichment is Enrichment.open
    assert point(small, "full_boost_redline").mixture > 1.2 * point(large, "full_boost_redline").mixture


def test_the_window_of_the_valve_stands_in_series() -> None:
    fueling = as_found("blow_through", found=OPEN_IN_BOOST)
    channel = fueling.circuits["primary"].channels[0]
    assert channel.window is not None
    a, b = channel.restriction.area_m2, channel.window.area_m2
    assert point(fueling, "full_boost_redline").power_area_m2 == pytest.approx(a * b / math.hypot(a, b), rel=1e-12)


def test_the_whole_mixture_weighs_the_groups_by_their_fuel() -> None:
    row = next(row for row in as_found("blow_through", found=OPEN_IN_BOOST).table if row.state == "full_boost_redline")
    air = fuel = 0.0
    for each in row.groups:
        assert each.pull is not None
        assert each.leanest is not None
        air += each.pull.air_kg_s
        fuel += each.leanest.fuel_kg_s
    assert row.leanest == pytest.approx(air / fuel / 14.7, rel=2e-3)
