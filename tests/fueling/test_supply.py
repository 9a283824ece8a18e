"""Needle and seat, fuel pump, the regulator's reference and a dead-head line."""

from __future__ import annotations

from typing import Any

import pytest
from fuel_jobs import BONNET, given, side, solved
from hypothesis import given as drawn
from hypothesis import strategies as st

from boostcarb.description.supply import PumpPoint
from boostcarb.fueling.fuel_pump import PUMP_MARGIN, flow_on_curve
from boostcarb.fueling.margins import margins
from boostcarb.fueling.needle import LEAST_CLOSING, LEAST_FLOW, Seat, seats
from boostcarb.fueling.references import Reference
from boostcarb.fueling.supply import LEAST_HOLD, Supply
from boostcarb.rulebook import schema
from boostcarb.rulebook.loading import shipped_rules

DENSITY = 745.0
TARGETS = ("naturally_aspirated", "blow_through", "draw_through")
RIGHT: dict[str, dict[str, Any]] = {
    "naturally_aspirated": {},
    "blow_through": {"found": BONNET},
    "draw_through": {},
}


def supply(target: str, **sections: Any) -> Supply:
    return side(target, **sections).supply


def reference(found: Supply, space: str) -> Reference:
    return next(each for each in found.references if each.space == space)


def first_seat(**sections: Any) -> Seat:
    found = solved("naturally_aspirated", **sections)
    return next(seats(found, given(found)))


# --- demand -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("target", TARGETS)
def test_the_bowls_together_give_the_fuel_of_all_the_air(target: str) -> None:
    job = solved(target)
    found = side(target).supply.demand
    for state in job.running:
        wanted = next(iter(found.by_state[state.name].values()))
        mixture = next(each.value for each in wanted.inputs if each.name == "lambda wanted")
        ratio = mixture * found.fuel.stoichiometric_air_fuel_ratio
        assert found.total(state.name) * ratio == pytest.approx(state.result.mass_flow_kg_s)


def test_alcohol_asks_for_more_fuel() -> None:
    demands = [supply("blow_through", fuel=fuel).demand.total("full_boost_redline")
               for fuel in ("gasoline", "E10", "E85", "methanol")]  # fmt: skip
    assert demands == sorted(demands)
    assert demands[-1] > 2.0 * demands[0]


# --- needle and seat ----------------------------------------------------------------------------------------------


@drawn(st.floats(1.0, 2e5), st.floats(1.0, 2e5))
def test_a_needle_passes_more_at_more_pressure_and_shuts_worse(a: float, b: float) -> None:
    seat = first_seat()
    low, high = sorted((a, b))
    assert seat.passes(low, DENSITY) <= seat.passes(high, DENSITY)
    least, most = seat.closing_margin(high), seat.closing_margin(low)
    assert least is not None
    assert most is not None
    assert least <= most


@pytest.mark.parametrize("difference", [0.0, -10.0, -5e4])
def test_nothing_runs_in_against_the_bowl(difference: float) -> None:
    assert first_seat().passes(difference, DENSITY) == 0.0
    assert first_seat().closing_margin(difference) is None


def test_float_force_is_met_at_a_margin_of_one() -> None:
    seat = first_seat()
    at = seat.float_force.value / seat.bore_area_m2
    assert seat.closing_margin(at) == pytest.approx(1.0)


def test_a_small_lift_limits_the_seat_and_a_large_one_does_not() -> None:
    areas = [first_seat(supply={"needle_lift": lift}).area.value for lift in ("0.3 mm", "0.6 mm", "3 mm", "4 mm")]
    assert areas[1] == pytest.approx(2.0 * areas[0])
    assert areas[2] == areas[3] > areas[1]


@pytest.mark.parametrize("target", TARGETS)
def test_a_right_reference_keeps_line_minus_bowl_at_the_set_pressure(target: str) -> None:
    found = supply(target, **RIGHT[target])
    for bowl in found.bowls:
        for state in bowl.states:
            assert state.difference.value == pytest.approx(found.set_pressure.value, abs=2.5e3)
        assert bowl.leanest is not None
        assert bowl.leanest.margin is not None
        assert bowl.leanest.margin.value > 1.0


def test_the_leanest_state_of_an_unreferenced_regulator_is_at_full_boost() -> None:
    bowl = next(each for each in supply("blow_through").bowls if each.seat.group == "secondary")
    assert bowl.leanest is not None
    assert bowl.leanest.state.startswith("full_boost")
    assert bowl.leanest.margin is not None
    assert bowl.leanest.margin.value < 1.0


# --- the reference ------------------------------------------------------------------------------------------------


def test_in_blow_through_only_the_bowls_own_pressure_serves() -> None:
    found = supply("blow_through")
    assert reference(found, "air_horn").right
    assert not reference(found, "ambient").right
    assert not reference(found, "manifold").right
    assert "cruise" in reference(found, "manifold").starving


def test_in_draw_through_the_manifold_floods_and_starves() -> None:
    found = supply("draw_through", supply={"float_force": "0.4 N"})
    assert reference(found, "ambient").right
    wrong = reference(found, "manifold")
    assert "full boost at the redline" in wrong.flooding
    assert "cruise" in wrong.starving
    assert wrong.floods_at is not None


def test_an_unreferenced_bowl_runs_dry_just_below_the_set_pressure() -> None:
    """With the reference at atmosphere nothing flows once boost over the bowl is the set pressure; a little before
    that too little flows.
    """
    found = supply("blow_through", charge={"boost": "12 psi"})
    at = reference(found, "ambient").starves_at
    assert at is not None
    assert 0.6 * found.set_pressure.value < at.value < found.set_pressure.value


def test_more_set_pressure_moves_the_boost_at_which_it_runs_dry() -> None:
    at = []
    for setting in ("4 psi", "6 psi", "8 psi"):
        found = reference(supply("blow_through", supply={"regulator_pressure": setting}), "ambient").starves_at
        assert found is not None
        at.append(found.value)
    assert at == sorted(at)
    assert at[2] - at[0] == pytest.approx(4 * 6894.76, rel=0.15)


def test_at_the_boost_that_starves_the_needle_just_meets_the_demand() -> None:
    found = supply("blow_through")
    at = reference(found, "ambient").starves_at
    assert at is not None
    asked = next(each.value for each in at.inputs if each.unit == "kg/s")
    seats_by_group = {bowl.seat.group: bowl.seat for bowl in found.bowls}
    group = next(name for name in seats_by_group if any(name in each.name for each in at.inputs))
    job = solved("blow_through")
    full = next(state for state in job.states if state.name == "full_boost_redline")
    share = at.value / (job.range_of("manifold", full)[0] - job.ambient_pa_abs)
    bowl = share * (job.range_of(f"{group}.bowl", full)[0] - job.ambient_pa_abs)
    passed = seats_by_group[group].passes(found.set_pressure.value - bowl, found.demand.fuel.density_kg_m3)
    assert passed == pytest.approx(asked, rel=1e-6)


def test_without_boost_no_boost_starves_anything() -> None:
    assert all(each.starves_at is None and each.floods_at is None for each in supply("naturally_aspirated").references)


def test_a_regulator_without_a_port_feels_the_atmosphere_wherever_a_line_leads() -> None:
    found = supply("blow_through", found={"fuel_regulator": "fixed"})
    job = solved("blow_through", found={"fuel_regulator": "fixed"})
    for bowl in found.bowls:
        for state in bowl.states:
            held = found.set_pressure.value + job.ambient_pa_abs
            view = job.state(state.state)
            assert view is not None
            assert state.difference.value == pytest.approx(held - job.range_of(f"{bowl.seat.group}.bowl", view)[1])


# --- fuel pump ----------------------------------------------------------------------------------------------------

CURVE = [PumpPoint(pressure="0 kPa", flow="250 l/h"), PumpPoint(pressure="100 kPa", flow="200 l/h"),
         PumpPoint(pressure="300 kPa", flow="60 l/h")]  # fmt: skip


@drawn(st.floats(0.0, 6e5), st.floats(0.0, 6e5))
def test_a_pump_never_delivers_more_against_more(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert flow_on_curve(CURVE, low)[0] >= flow_on_curve(CURVE, high)[0] >= 0.0


@pytest.mark.parametrize("point", CURVE)
def test_the_curve_goes_through_its_points(point: PumpPoint) -> None:
    assert flow_on_curve(CURVE, point.pressure) == (pytest.approx(point.flow), False)


def test_beyond_its_curve_a_pump_is_not_believed_silently() -> None:
    assert flow_on_curve(CURVE, 301e3) == (0.0, True)
    assert flow_on_curve(CURVE, 500e3) == (0.0, True)


def test_a_pump_whose_curve_ends_below_the_need_proves_nothing() -> None:
    """6 psi set, 8 psi of boost and the line: 41.4 + 55.2 kPa and more. The line of the curve carried on from 50 kPa
    at 1 l/h a kPa would give 300 - 118 = 182 l/h at 118 kPa; nobody has measured that.
    """
    curve = [{"pressure": "0 kPa", "flow": "300 l/h"}, {"pressure": "50 kPa", "flow": "250 l/h"}]
    points = [PumpPoint(**point) for point in curve]
    assert flow_on_curve(points, 118e3) == (0.0, True)
    short = {"found": BONNET, "supply": {"regulator_pressure": "6 psi", "pump": {"curve": curve}}}
    worst = supply("blow_through", **short).worst_pump
    assert worst.pressure_in_launch.value > 41.4e3 + 50e3
    assert worst.beyond_curve
    assert worst.margin is not None
    assert worst.margin.value == 0.0
    found = [each for each in margins(solved("blow_through", **short), "fuel_pump_flow") if each.value == 0.0]
    assert {each.statement for each in found} == {"is not proven: its curve ends below the pressure it must make"}


def test_pump_pressure_rises_with_boost_one_to_one() -> None:
    weak, strong = (
        next(need for need in supply("blow_through", found=BONNET, charge={"boost": boost}).pump
             if need.state == "full_boost_torque_peak")
        for boost in ("4 psi", "8 psi")
    )  # fmt: skip
    rise = strong.pressure.value - weak.pressure.value
    losses = strong.line_loss.value - weak.line_loss.value
    assert rise - losses == pytest.approx(4 * 6894.76, rel=0.05)


def test_lift_and_launch_come_on_top() -> None:
    def worst(**line: str) -> float:
        return supply("naturally_aspirated", supply={"line": line}).worst_pump.pressure.value

    assert worst(lift="1 m") - worst(lift="0 m") == pytest.approx(745.0 * 9.80665)
    need = supply("naturally_aspirated", driving={"launch": "1 g"}, supply={"line": {"length": "3 m"}}).worst_pump
    assert need.pressure_in_launch.value - need.pressure.value == pytest.approx(3 * 745.0 * 9.80665)


def test_without_a_curve_there_is_no_verdict_on_the_pump() -> None:
    assert all(need.margin is None and need.delivered is None for need in supply("blow_through").pump)


# --- return or dead-head ------------------------------------------------------------------------------------------


def test_a_return_leaves_nothing_behind() -> None:
    assert supply("blow_through", found=BONNET, supply={"return": True}).dead_head is None


def test_a_dead_head_line_keeps_the_boost_over_the_set_pressure() -> None:
    found = supply("blow_through", found=BONNET, supply={"return": False})
    assert found.dead_head is not None
    job = solved("blow_through", found=BONNET)
    full = next(state for state in job.states if state.name == "full_boost_redline")
    horn = job.range_of("air_horn", full)[0] - job.ambient_pa_abs
    assert found.dead_head.across.value == pytest.approx(found.set_pressure.value + horn, rel=0.06)
    least, most = (rise.value for rise in found.dead_head.rises)
    assert most == pytest.approx(3.0 * least)


@pytest.mark.parametrize(("primary", "secondary", "worst"), [("2.3 mm", "3.6 mm", "secondary"),
                                                              ("3.6 mm", "2.3 mm", "primary")])  # fmt: skip
def test_a_dead_head_line_is_judged_at_the_seat_that_holds_worst(primary: str, secondary: str, worst: str) -> None:
    """The line stays about 96 kPa over the bowls. On 2.3 mm it pushes with 96.2e3 x pi/4 x 0.0023^2 = 0.40 N, on 3.6 mm
    (10.18 mm2) with 0.98 N: more than the float's 0.7 N, a margin of 0.71.
    """
    seats_found = {"primary.needle_seat": {"is": "open", "bore": primary},
                   "secondary.needle_seat": {"is": "open", "bore": secondary}}  # fmt: skip
    given_supply = {"return": False, "float_force": "0.7 N", "regulator_pressure": "6 psi"}
    sections: dict[str, Any] = {"found": {**BONNET, **seats_found}, "supply": given_supply}
    held = supply("blow_through", **sections).dead_head
    assert held is not None
    assert held.closing is not None
    assert held.group == worst
    assert held.across.value * 10.18e-6 == pytest.approx(0.98, rel=0.05)
    assert held.closing.value == pytest.approx(0.7 / 0.98, rel=0.05)
    (margin,) = margins(solved("blow_through", **sections), "needle_after_lift_off")
    assert margin.value == held.closing.value < 1.0
    assert f"worst at the {worst} needle" in margin.statement


def test_the_words_of_a_report_have_the_limits_of_the_rules() -> None:
    limits = {rule.requirement.of: rule.requirement.at_least for rule in shipped_rules()
              if isinstance(rule.requirement, schema.Margin)}  # fmt: skip
    assert limits["needle_flow"] == LEAST_FLOW
    assert limits["needle_closing"] == LEAST_CLOSING
    assert limits["needle_after_lift_off"] == LEAST_HOLD
    assert limits["fuel_pump_flow"] == PUMP_MARGIN


def test_defaults_are_listed_and_what_the_job_gives_is_not() -> None:
    paths = {each.path for each in side("blow_through", supply={"needle_lift": "1 mm"}).defaults}
    assert "supply.needle_lift" not in paths
    assert {"supply.needle_cone", "supply.line.bore", "bowls.primary.level"} <= paths
