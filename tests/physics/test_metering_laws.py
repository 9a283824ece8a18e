"""Properties of the elementary carburetor and of the main circuit: limits, continuity, monotony, balance."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.errors import NotSolved
from boostcarb.physics import metering
from boostcarb.physics.gas import orifice_mass_flow
from boostcarb.physics.liquid import column_pressure, effective_area_in_series, liquid_orifice_mass_flow
from boostcarb.physics.metering import (
    NO_FLOW_KG_S,
    MainCircuitFlow,
    air_fuel_ratio_at_density,
    elementary_air_fuel_ratio,
    elementary_flow,
    main_circuit,
    spill_over_air_speed,
)

FUEL = 745.0
CIRCUIT = {
    "main_jet_effective_area_m2": 1.5e-6,
    "nozzle_effective_area_m2": 6e-6,
    "bleed_effective_area_m2": 0.6e-6,
    "bowl_pressure_pa_abs": 101325.0,
    "air_horn_pressure_pa_abs": 101325.0,
    "booster_pressure_pa_abs": 93000.0,
    "air_temperature_k": 288.15,
    "fuel_density_kg_m3": FUEL,
    "spill_height_m": 0.008,
}
draws = st.floats(1.0, 3e4)
bleeds = st.one_of(st.just(0.0), st.floats(1e-8, 3e-6))
nozzles = st.floats(1e-6, 1e-4)


def run(**change: float) -> MainCircuitFlow:
    return main_circuit(**(CIRCUIT | change))


@given(draw=draws, bleed=bleeds, nozzle=nozzles, jet=st.floats(0.0, 5e-6), spill=st.floats(-0.02, 0.03))
def test_balance_closes_with_the_laws_of_its_parts(
    draw: float, bleed: float, nozzle: float, jet: float, spill: float
) -> None:
    booster = 101325.0 - draw
    flow = run(
        main_jet_effective_area_m2=jet,
        nozzle_effective_area_m2=nozzle,
        bleed_effective_area_m2=bleed,
        booster_pressure_pa_abs=booster,
        spill_height_m=spill,
    )
    total = flow.fuel_kg_s + flow.bleed_air_kg_s
    assert abs(flow.residual_kg_s) <= 1e-9 * total
    assert booster <= flow.well_pressure_pa_abs
    well = flow.well_pressure_pa_abs
    fuel = liquid_orifice_mass_flow(
        effective_area_m2=jet,
        pressure_1_pa_abs=101325.0,
        pressure_2_pa_abs=well,
        density_kg_m3=FUEL,
        rise_m=spill,
    )
    # Through absolute pressures, a drop keeps some 1e-11 Pa; its root is the coarser the smaller the drop.
    rounding = jet * math.sqrt(2.0 * FUEL * 1e-9) + NO_FLOW_KG_S
    assert flow.fuel_kg_s == pytest.approx(max(0.0, fuel), rel=1e-6, abs=rounding)
    if well <= 101325.0:
        air = orifice_mass_flow(
            effective_area_m2=bleed, pressure_1_pa_abs=101325.0, pressure_2_pa_abs=well, temperature_k=288.15
        )
        assert flow.bleed_air_kg_s == pytest.approx(
            air, rel=1e-6, abs=bleed * math.sqrt(2.0 * 1.3 * 1e-9) + NO_FLOW_KG_S
        )


@given(draw=draws, spill=st.floats(-0.02, 0.05))
def test_elementary_limit_is_the_textbook_law(draw: float, spill: float) -> None:
    flow = run(
        bleed_effective_area_m2=0.0,
        nozzle_effective_area_m2=1.0,
        booster_pressure_pa_abs=101325.0 - draw,
        spill_height_m=spill,
    )
    driving = 101325.0 - (101325.0 - draw) - column_pressure(density_kg_m3=FUEL, height_m=spill)
    # The nozzle of 1 m2 takes (1.5e-6)^2 of the drop: below the solver's precision.
    assert flow.fuel_kg_s == pytest.approx(1.5e-6 * math.sqrt(2.0 * FUEL * max(0.0, driving)), rel=1e-11)
    if spill >= 0.0:
        law = elementary_flow(effective_area_m2=1.5e-6, density_kg_m3=FUEL, depression_pa=draw, lip_m=spill)
        # The depression's own rounding in absolute pressures, 1.5e-11 Pa, is what is left between them.
        assert flow.fuel_kg_s == pytest.approx(law, rel=1e-10, abs=1.5e-6 * math.sqrt(2.0 * FUEL * 1e-10))


@given(draw=draws, nozzle=nozzles)
def test_without_bleed_jet_and_nozzle_are_in_series(draw: float, nozzle: float) -> None:
    flow = run(
        bleed_effective_area_m2=0.0, nozzle_effective_area_m2=nozzle, booster_pressure_pa_abs=101325.0 - draw,
        spill_height_m=0.0,
    )  # fmt: skip
    area = effective_area_in_series(effective_areas_m2=[1.5e-6, nozzle])
    assert flow.fuel_kg_s == pytest.approx(area * math.sqrt(2.0 * FUEL * draw), rel=1e-9)


@given(pressure=st.floats(6e4, 3e5), temperature=st.floats(250.0, 380.0))
def test_elementary_limit_leans_with_the_root_of_density(pressure: float, temperature: float) -> None:
    def ratio(pressure_pa: float, temperature_k: float) -> float:
        density = pressure_pa / temperature_k
        flow = run(
            bleed_effective_area_m2=0.0,
            nozzle_effective_area_m2=1.0,
            bowl_pressure_pa_abs=pressure_pa,
            air_horn_pressure_pa_abs=pressure_pa,
            booster_pressure_pa_abs=pressure_pa - 20.0 * density,
            air_temperature_k=temperature_k,
            spill_height_m=0.0,
        )
        return density / flow.fuel_kg_s

    expected = air_fuel_ratio_at_density(
        air_fuel_ratio=ratio(101325.0, 288.15),
        density_kg_m3=pressure / temperature,
        reference_density_kg_m3=101325.0 / 288.15,
    )
    assert ratio(pressure, temperature) == pytest.approx(expected, rel=1e-9)


@given(bleed=st.floats(1e-7, 2e-6), pressure=st.floats(1.2e5, 2.5e5))
def test_bleed_takes_back_part_of_the_leaning(bleed: float, pressure: float) -> None:
    def ratio(pressure_pa: float) -> float:
        flow = run(
            bleed_effective_area_m2=bleed,
            bowl_pressure_pa_abs=pressure_pa,
            air_horn_pressure_pa_abs=pressure_pa,
            booster_pressure_pa_abs=pressure_pa * (1.0 - 0.06),
            spill_height_m=0.0,
        )
        return pressure_pa / flow.fuel_kg_s

    exponent = math.log(ratio(pressure) / ratio(101325.0)) / math.log(pressure / 101325.0)
    assert 0.3 < exponent < 0.5


@given(draw=draws, more=st.floats(1.0, 5e3), bleed=bleeds, nozzle=nozzles)
def test_more_draw_never_gives_less(draw: float, more: float, bleed: float, nozzle: float) -> None:
    areas = {"bleed_effective_area_m2": bleed, "nozzle_effective_area_m2": nozzle}
    less = run(booster_pressure_pa_abs=101325.0 - draw, **areas)
    greater = run(booster_pressure_pa_abs=101325.0 - draw - more, **areas)
    assert greater.fuel_kg_s >= less.fuel_kg_s * (1.0 - 1e-9)
    assert greater.well_pressure_pa_abs <= less.well_pressure_pa_abs + 1e-6


@given(draw=draws, bleed=st.floats(0.0, 3e-6), more=st.floats(1e-8, 1e-6))
def test_more_bleed_never_gives_more_fuel(draw: float, bleed: float, more: float) -> None:
    less = run(booster_pressure_pa_abs=101325.0 - draw, bleed_effective_area_m2=bleed)
    bled = run(booster_pressure_pa_abs=101325.0 - draw, bleed_effective_area_m2=bleed + more)
    assert bled.fuel_kg_s <= less.fuel_kg_s * (1.0 + 1e-9)


@given(power=st.floats(1e-8, 2e-6), draw=draws)
def test_power_restriction_counts_like_a_larger_jet(power: float, draw: float) -> None:
    booster = 101325.0 - draw
    opened = run(power_effective_area_m2=power, booster_pressure_pa_abs=booster)
    larger = run(main_jet_effective_area_m2=1.5e-6 + power, booster_pressure_pa_abs=booster)
    assert opened == larger
    assert opened.fuel_kg_s >= run(booster_pressure_pa_abs=booster).fuel_kg_s


@given(shift=st.floats(-0.05, 0.05))
def test_only_the_height_above_the_fuel_level_counts(shift: float) -> None:
    moved = run(spill_height_m=0.008 + shift, fuel_level_m=shift)
    assert moved.fuel_kg_s == pytest.approx(run().fuel_kg_s, rel=1e-9)


@pytest.mark.parametrize("bleed", [0.0, 1e-8, 0.6e-6, 3e-6])
def test_fuel_starts_without_a_jump(bleed: float) -> None:
    def fuel(draw: float) -> float:
        return run(bleed_effective_area_m2=bleed, booster_pressure_pa_abs=101325.0 - draw).fuel_kg_s

    low, high = 1.0, 5000.0
    assert fuel(low) == 0.0 < fuel(high)
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if fuel(middle) == 0.0 else (low, middle)
    start = column_pressure(density_kg_m3=FUEL, height_m=0.008)
    # The bleed keeps the well above the booster: fuel starts later, by the square of the area ratio.
    assert low == pytest.approx(start * (1.0 + (bleed / 6e-6) ** 2), rel=1e-3)
    assert fuel(high) < 1e-3 * fuel(5000.0)


def test_well_breathes_air_before_fuel_spills() -> None:
    flow = run(booster_pressure_pa_abs=101325.0 - 40.0)
    assert flow.fuel_kg_s == 0.0
    assert flow.bleed_air_kg_s > 0.0
    assert flow.mixture_density_kg_m3 == pytest.approx(1.225, rel=1e-3)


def test_nothing_flows_without_draw() -> None:
    for booster in (101325.0, 101400.0):
        flow = run(booster_pressure_pa_abs=booster)
        assert (flow.fuel_kg_s, flow.bleed_air_kg_s, flow.residual_kg_s) == (0.0, 0.0, 0.0)
        assert flow.well_pressure_pa_abs == booster


def test_fuel_above_the_spill_height_runs_by_itself() -> None:
    flow = run(booster_pressure_pa_abs=101325.0, fuel_level_m=0.02)
    assert flow.fuel_kg_s > 0.0
    assert flow.bleed_air_kg_s == 0.0


def test_closed_jets_leave_two_air_orifices() -> None:
    flow = run(main_jet_effective_area_m2=0.0)
    assert flow.fuel_kg_s == 0.0
    assert flow.bleed_air_kg_s > 0.0


def test_choked_bleed() -> None:
    flow = run(booster_pressure_pa_abs=3e4, nozzle_effective_area_m2=1e-4)
    choked = orifice_mass_flow(
        effective_area_m2=0.6e-6, pressure_1_pa_abs=101325.0, pressure_2_pa_abs=3e4, temperature_k=288.15
    )
    assert flow.bleed_air_kg_s == pytest.approx(choked, rel=1e-12)


def test_too_few_steps_is_an_error_not_a_number(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(metering, "MOST_STEPS", 1)
    with pytest.raises(NotSolved, match="main circuit's flow did not converge at main well") as caught:
        run()
    assert caught.value.residual is not None


@pytest.mark.parametrize("bleed", [0.0, 0.6e-6, 3e-6])
@pytest.mark.parametrize("draw", [100.0, 500.0, 2e3, 8e3, 2.5e4])
def test_few_steps_are_enough(draw: float, bleed: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ridders' method doubles the digits with each step (Ridders, 1979); halving alone would need some forty."""
    change = {"booster_pressure_pa_abs": 101325.0 - draw, "bleed_effective_area_m2": bleed}
    unhurried = run(**change)
    monkeypatch.setattr(metering, "MOST_STEPS", 12)
    assert run(**change).fuel_kg_s == pytest.approx(unhurried.fuel_kg_s, rel=1e-9)


def test_residual_above_the_limit_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(metering, "LARGEST_RESIDUAL", -1.0)
    with pytest.raises(NotSolved, match="residual"):
        run()


@pytest.mark.parametrize("area", [0.0, 5e-324, 1e-200, 1e-40])
def test_areas_whose_squares_may_underflow_count_as_closed(area: float) -> None:
    flow = run(main_jet_effective_area_m2=area, bleed_effective_area_m2=area)
    assert flow == MainCircuitFlow(0.0, 0.0, 93000.0, FUEL, 0.0)


def test_smallest_flow_that_counts_is_solved() -> None:
    flow = run(main_jet_effective_area_m2=1e-30, bleed_effective_area_m2=0.0)
    assert flow.fuel_kg_s > NO_FLOW_KG_S
    assert abs(flow.residual_kg_s) <= 1e-9 * flow.fuel_kg_s


@given(depression=st.floats(1.0, 2e4), lip=st.floats(0.0, 0.05))
def test_lip_makes_the_elementary_mixture_leaner(depression: float, lip: float) -> None:
    arguments = {
        "venturi_effective_area_m2": 2.5e-4, "jet_effective_area_m2": 6.6e-7, "air_density_kg_m3": 1.2,
        "fuel_density_kg_m3": 750.0, "depression_pa": depression,
    }  # fmt: skip
    flat = elementary_air_fuel_ratio(**arguments)
    assert elementary_air_fuel_ratio(lip_m=lip, **arguments) >= flat
    assert flat == pytest.approx(2.5e-4 / 6.6e-7 * math.sqrt(1.2 / 750.0), rel=1e-12)


def test_elementary_carburetor_starts_at_the_spill_over_speed() -> None:
    speed = spill_over_air_speed(air_density_kg_m3=1.2, fuel_density_kg_m3=750.0, lip_m=0.005)
    start = 0.5 * 1.2 * speed**2
    jet = {"effective_area_m2": 1e-6, "density_kg_m3": 750.0, "lip_m": 0.005}
    assert elementary_flow(depression_pa=start * (1.0 - 1e-9), **jet) == 0.0
    assert 0.0 < elementary_flow(depression_pa=start * (1.0 + 1e-9), **jet) < 1e-8
    assert elementary_air_fuel_ratio(
        venturi_effective_area_m2=2.5e-4,
        jet_effective_area_m2=1e-6,
        air_density_kg_m3=1.2,
        fuel_density_kg_m3=750.0,
        depression_pa=0.5 * start,
        lip_m=0.005,
    ) == math.inf  # fmt: skip


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"nozzle_effective_area_m2": 0.0}, "nozzle_effective_area_m2 must be finite and above 0"),
        ({"main_jet_effective_area_m2": -1e-9}, "main_jet_effective_area_m2 must be finite and at least 0"),
        ({"bleed_effective_area_m2": math.nan}, "bleed_effective_area_m2 must be finite and at least 0"),
        ({"booster_pressure_pa_abs": 0.0}, "booster_pressure_pa_abs must be finite and above 0"),
        ({"air_temperature_k": math.inf}, "air_temperature_k must be finite and above 0"),
        ({"fuel_density_kg_m3": 0.0}, "density_kg_m3 must be finite and above 0"),
        ({"spill_height_m": math.nan}, "height_m must be from"),
    ],
)
def test_main_circuit_limits(change: dict[str, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        run(**change)


@pytest.mark.parametrize("exponent", [-0.01, 0.51, math.nan])
def test_density_exponent_limits(exponent: float) -> None:
    with pytest.raises(ValueError, match=r"exponent must be from 0 to 0\.5"):
        air_fuel_ratio_at_density(
            air_fuel_ratio=14.7, density_kg_m3=1.0, reference_density_kg_m3=1.2, exponent=exponent
        )
