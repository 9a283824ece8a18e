"""Properties of the flow of liquid and their limits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.physics.liquid import (
    LAMINAR_REYNOLDS,
    TURBULENT_REYNOLDS,
    column_pressure,
    effective_area_in_series,
    effective_bore_area,
    friction_factor,
    line_pressure_loss,
    liquid_effective_area_for_flow,
    liquid_orifice_mass_flow,
    needle_seat_effective_area,
)

pressures = st.floats(2e4, 4e5)
areas = st.floats(1e-8, 1e-5)
rises = st.floats(-0.5, 0.5)
LINE = {"length_m": 3.0, "diameter_m": 8e-3, "density_kg_m3": 745.0, "viscosity_pa_s": 4.1e-4}


@given(area=areas, one=pressures, two=pressures, rise=rises)
def test_orifice_flow_turns_round_with_its_sides(area: float, one: float, two: float, rise: float) -> None:
    forth = liquid_orifice_mass_flow(
        effective_area_m2=area, pressure_1_pa_abs=one, pressure_2_pa_abs=two, density_kg_m3=745.0, rise_m=rise
    )
    back = liquid_orifice_mass_flow(
        effective_area_m2=area, pressure_1_pa_abs=two, pressure_2_pa_abs=one, density_kg_m3=745.0, rise_m=-rise
    )
    # Near balance the driving difference is what rounding of the pressures leaves of it.
    assert forth == pytest.approx(-back, rel=1e-6, abs=area * math.sqrt(2.0 * 745.0 * 1e-9))


@given(area=areas, down=pressures, drop=st.floats(10.0, 1e5), rise=st.floats(-0.5, 0.001))
def test_area_for_flow_is_the_inverse(area: float, down: float, drop: float, rise: float) -> None:
    sides = {"pressure_1_pa_abs": down + drop, "pressure_2_pa_abs": down, "density_kg_m3": 745.0, "rise_m": rise}
    flow = liquid_orifice_mass_flow(effective_area_m2=area, **sides)
    assert liquid_effective_area_for_flow(mass_flow_kg_s=flow, **sides) == pytest.approx(area, rel=1e-12)


def test_no_flow_at_balance_of_head_and_pressure() -> None:
    head = column_pressure(density_kg_m3=745.0, height_m=0.01)
    flow = liquid_orifice_mass_flow(
        effective_area_m2=1e-6, pressure_1_pa_abs=head, pressure_2_pa_abs=0.0, density_kg_m3=745.0, rise_m=0.01
    )
    assert flow == 0.0


def test_area_for_flow_refuses_pressures_that_do_not_drive() -> None:
    with pytest.raises(ValueError, match=r"must lift the liquid by 1\.0 m"):
        liquid_effective_area_for_flow(
            mass_flow_kg_s=1e-3, pressure_1_pa_abs=101e3, pressure_2_pa_abs=100e3, density_kg_m3=745.0, rise_m=1.0
        )


@given(one=areas, two=areas, three=areas)
def test_series_is_below_the_smallest_and_in_any_order(one: float, two: float, three: float) -> None:
    found = effective_area_in_series(effective_areas_m2=[one, two, three])
    assert found < min(one, two, three)
    assert found == pytest.approx(effective_area_in_series(effective_areas_m2=[three, one, two]), rel=1e-14)


def test_series_limits() -> None:
    assert effective_area_in_series(effective_areas_m2=[2e-6]) == 2e-6
    assert effective_area_in_series(effective_areas_m2=[2e-6, 0.0]) == 0.0
    assert effective_area_in_series(effective_areas_m2=[1e-6, 1.0]) == pytest.approx(1e-6, rel=1e-11)
    with pytest.raises(ValueError, match="at least one area"):
        effective_area_in_series(effective_areas_m2=[])


@given(lift=st.floats(0.0, 3e-3), more=st.floats(0.0, 1e-3), angle=st.floats(0.3, math.pi))
def test_needle_area_grows_with_lift_up_to_the_bore(lift: float, more: float, angle: float) -> None:
    seat = {"seat_diameter_m": 2.5e-3, "cone_angle_rad": angle, "discharge_coefficient": 0.6}
    bore = effective_bore_area(diameter_m=2.5e-3, discharge_coefficient=0.6)
    found = needle_seat_effective_area(lift_m=lift, **seat)
    assert found <= needle_seat_effective_area(lift_m=lift + more, **seat) <= bore
    # The gap equals the bore at a lift of d / (4 sin(half angle)): the two laws meet there without a jump.
    change = 2.5e-3 / (4.0 * math.sin(0.5 * angle))
    assert needle_seat_effective_area(lift_m=change, **seat) == pytest.approx(bore, rel=1e-12)
    assert needle_seat_effective_area(lift_m=0.5 * change, **seat) == pytest.approx(0.5 * bore, rel=1e-12)
    assert needle_seat_effective_area(lift_m=0.0, **seat) == 0.0


@pytest.mark.parametrize("limit", [LAMINAR_REYNOLDS, TURBULENT_REYNOLDS])
@given(roughness=st.floats(0.0, 0.05))
def test_friction_factor_has_no_jump(limit: float, roughness: float) -> None:
    below = friction_factor(reynolds=limit * (1.0 - 1e-9), relative_roughness=roughness)
    above = friction_factor(reynolds=limit * (1.0 + 1e-9), relative_roughness=roughness)
    assert above == pytest.approx(below, rel=1e-7)


@given(reynolds=st.floats(1.0, 1e8), roughness=st.floats(0.0, 0.05), rougher=st.floats(0.0, 0.05))
def test_rough_pipes_do_not_rub_less(reynolds: float, roughness: float, rougher: float) -> None:
    smooth, rough = sorted((roughness, rougher))
    rounding = 1e-9
    assert friction_factor(reynolds=reynolds, relative_roughness=smooth) <= (1.0 + rounding) * friction_factor(
        reynolds=reynolds, relative_roughness=rough
    )


@given(flow=st.one_of(st.just(0.0), st.floats(1e-9, 0.2)), share=st.floats(1.001, 1.2))
def test_line_loss_grows_with_flow(flow: float, share: float) -> None:
    less = line_pressure_loss(mass_flow_kg_s=flow, **LINE)
    more = line_pressure_loss(mass_flow_kg_s=flow * share, **LINE)
    assert more > less if flow > 0.0 else more == less == 0.0


def test_laminar_loss_is_hagen_poiseuille() -> None:
    flow = 4e-3  # Reynolds number 1553
    found = line_pressure_loss(mass_flow_kg_s=flow, **LINE)
    assert found == pytest.approx(128.0 * 4.1e-4 * 3.0 * flow / 745.0 / (math.pi * 8e-3**4), rel=1e-12)


def test_fittings_add_their_share_of_the_dynamic_pressure() -> None:
    plain = line_pressure_loss(mass_flow_kg_s=0.03, **LINE)
    fitted = line_pressure_loss(mass_flow_kg_s=0.03, loss_coefficient=1.5, **LINE)
    speed = 0.03 / 745.0 / (0.25 * math.pi * 8e-3**2)
    assert fitted - plain == pytest.approx(1.5 * 0.5 * 745.0 * speed**2, rel=1e-9)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"reynolds": 0.0}, "reynolds must be finite and above 0"),
        ({"reynolds": 2e8}, "reynolds must be from 0 to 100000000"),
        ({"relative_roughness": 0.06}, "relative_roughness must be from 0 to 0.05"),
        ({"relative_roughness": math.nan}, "relative_roughness must be from 0 to 0.05"),
    ],
)
def test_friction_factor_limits(change: dict[str, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        friction_factor(**({"reynolds": 1e4, "relative_roughness": 0.0} | change))


@pytest.mark.parametrize("coefficient", [0.0, 1.01, math.nan])
def test_bore_coefficient_limits(coefficient: float) -> None:
    with pytest.raises(ValueError, match="discharge_coefficient must be"):
        effective_bore_area(diameter_m=1e-3, discharge_coefficient=coefficient)
