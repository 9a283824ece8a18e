"""Properties of gas flow: continuity at every branch change, monotony, inverses, signs."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.physics import gas, isentropic, iso_6358

gammas = st.floats(1.05, 1.67)
ratios = st.floats(0.0, 1.0)
pressures = st.floats(2e4, 6e5)
temperatures = st.floats(230.0, 450.0)
areas = st.floats(1e-9, 1e-2)


def choked_flow(area: float, pressure: float, temperature: float) -> float:
    return gas.orifice_mass_flow(
        effective_area_m2=area, pressure_1_pa_abs=pressure, pressure_2_pa_abs=1.0, temperature_k=temperature
    )


@given(gamma=gammas)
def test_flow_function_has_no_jump_where_it_chokes(gamma: float) -> None:
    critical = gas.critical_pressure_ratio(gamma=gamma)
    choked = gas.flow_function(pressure_ratio=critical, gamma=gamma)
    # The slope is 0 there, so that a step of 1e-6 changes the value by some 1e-12 only.
    above = gas.flow_function(pressure_ratio=critical + 1e-6, gamma=gamma)
    assert above == pytest.approx(choked, rel=1e-10)
    assert gas.flow_function_slope(pressure_ratio=critical + 1e-6, gamma=gamma) == pytest.approx(
        0.0, abs=1e-4
    )


@given(low=ratios, high=ratios, gamma=gammas)
def test_flow_never_rises_with_downstream_pressure(low: float, high: float, gamma: float) -> None:
    low, high = min(low, high), max(low, high)
    rounding = 1e-12
    for law in (gas.flow_function, gas.laminar_flow_function):
        assert law(pressure_ratio=high, gamma=gamma) <= law(pressure_ratio=low, gamma=gamma) + rounding


@given(ratio=st.floats(0.0, 0.9999), gamma=gammas)
def test_slope_is_the_derivative(ratio: float, gamma: float) -> None:
    critical = gas.critical_pressure_ratio(gamma=gamma)
    step = 1e-4 * (1.0 - ratio)
    low, high = max(ratio - step, 0.0), ratio + step
    secant = (
        gas.flow_function(pressure_ratio=high, gamma=gamma)
        - gas.flow_function(pressure_ratio=low, gamma=gamma)
    ) / (high - low)
    slope = gas.flow_function_slope(pressure_ratio=ratio, gamma=gamma)
    # Across the choking point the second derivative jumps: the secant is off by a share of the step.
    tolerance = 1e-6 * abs(slope) + (10.0 * step if abs(ratio - critical) <= step else 1e-8)
    assert secant == pytest.approx(slope, abs=tolerance)


@given(laminar_ratio=st.floats(0.9, 0.99999), gamma=gammas)
def test_laminar_curve_takes_over_value_and_slope(laminar_ratio: float, gamma: float) -> None:
    value = gas.flow_function(pressure_ratio=laminar_ratio, gamma=gamma)
    slope = gas.flow_function_slope(pressure_ratio=laminar_ratio, gamma=gamma)
    step = 1e-5 * (1.0 - laminar_ratio)
    inside = gas.laminar_flow_function(
        pressure_ratio=laminar_ratio + step, gamma=gamma, laminar_ratio=laminar_ratio
    )
    at_join = gas.laminar_flow_function(
        pressure_ratio=laminar_ratio, gamma=gamma, laminar_ratio=laminar_ratio
    )
    assert at_join == value
    # The parabola bends by value/(1-laminar_ratio)**2 at most: over this step 1e-5 of the slope.
    assert (inside - value) / step == pytest.approx(slope, rel=1e-4)


@given(gamma=gammas)
def test_laminar_curve_ends_at_zero_with_finite_slope(gamma: float) -> None:
    def psi(ratio: float) -> float:
        return gas.laminar_flow_function(pressure_ratio=ratio, gamma=gamma)

    assert psi(1.0) == 0.0
    near, nearer = psi(1.0 - 1e-8) / 1e-8, psi(1.0 - 1e-9) / 1e-9
    assert nearer == pytest.approx(near, rel=1e-4)
    assert nearer > 0.0


@given(ratio=st.floats(0.9991, 0.9999), gamma=gammas)
def test_laminar_curve_gives_less_than_the_orifice_law(ratio: float, gamma: float) -> None:
    laminar = gas.laminar_flow_function(pressure_ratio=ratio, gamma=gamma)
    assert 0.0 < laminar < gas.flow_function(pressure_ratio=ratio, gamma=gamma)


@given(area=areas, one=pressures, two=pressures, temperature=temperatures)
def test_exchanged_sides_reverse_the_flow(area: float, one: float, two: float, temperature: float) -> None:
    there = gas.orifice_mass_flow(
        effective_area_m2=area, pressure_1_pa_abs=one, pressure_2_pa_abs=two, temperature_k=temperature
    )
    back = gas.orifice_mass_flow(
        effective_area_m2=area, pressure_1_pa_abs=two, pressure_2_pa_abs=one, temperature_k=temperature
    )
    assert there == -back
    assert (there > 0.0) == (one > two)


@given(area=areas, up=pressures, share=st.floats(0.01, 0.999), temperature=temperatures)
def test_area_is_the_inverse_of_flow(area: float, up: float, share: float, temperature: float) -> None:
    flow = gas.orifice_mass_flow(
        effective_area_m2=area, pressure_1_pa_abs=up, pressure_2_pa_abs=share * up, temperature_k=temperature
    )
    found = gas.effective_area_for_flow(
        mass_flow_kg_s=flow, pressure_up_pa_abs=up, pressure_down_pa_abs=share * up, temperature_k=temperature
    )
    assert found == pytest.approx(area, rel=1e-12)


@given(
    volume_flow=st.floats(0.01, 1.0),
    drop=st.floats(100.0, 20e3),
    pressure=st.floats(6e4, 1.1e5),
    temperature=temperatures,
)
def test_rated_area_passes_the_rated_flow(
    volume_flow: float, drop: float, pressure: float, temperature: float
) -> None:
    area = gas.effective_area_from_rating(
        volume_flow_m3_s=volume_flow,
        pressure_drop_pa=drop,
        pressure_up_pa_abs=pressure,
        temperature_k=temperature,
    )
    flow = gas.orifice_mass_flow(
        effective_area_m2=area,
        pressure_1_pa_abs=pressure,
        pressure_2_pa_abs=pressure - drop,
        temperature_k=temperature,
    )
    rated = volume_flow * gas.density(pressure_pa_abs=pressure, temperature_k=temperature)
    assert flow == pytest.approx(rated, rel=1e-12)


@given(share=st.floats(0.0, 1.0), area=areas, pressure=pressures, temperature=temperatures)
def test_throat_pressure_passes_its_flow(
    share: float, area: float, pressure: float, temperature: float
) -> None:
    largest = choked_flow(area, pressure, temperature)
    throat = isentropic.throat_pressure(
        mass_flow_kg_s=share * largest,
        effective_area_m2=area,
        pressure_pa_abs=pressure,
        temperature_k=temperature,
    )
    assert gas.critical_pressure_ratio() * pressure * (1.0 - 1e-12) <= throat <= pressure
    flow = gas.orifice_mass_flow(
        effective_area_m2=area,
        pressure_1_pa_abs=pressure,
        pressure_2_pa_abs=throat,
        temperature_k=temperature,
    )
    # A throat pressure has 16 digits: a drop of 1e-16 of the pressure still passes some 2e-8 of the flow.
    assert flow == pytest.approx(share * largest, rel=1e-6, abs=1e-7 * largest)


@given(excess=st.floats(1e-9, 10.0), area=areas, pressure=pressures, temperature=temperatures)
def test_throat_refuses_more_than_choked_flow(
    excess: float, area: float, pressure: float, temperature: float
) -> None:
    flow = choked_flow(area, pressure, temperature) * (1.0 + excess)
    with pytest.raises(ValueError, match="mass_flow_kg_s must be at most the choked flow"):
        isentropic.throat_pressure(
            mass_flow_kg_s=flow, effective_area_m2=area, pressure_pa_abs=pressure, temperature_k=temperature
        )


@given(critical=st.floats(0.0, 0.9), up=pressures)
def test_iso_6358_has_no_jump_where_it_chokes_and_ends_at_zero(critical: float, up: float) -> None:
    def flow(ratio: float) -> float:
        return iso_6358.iso_6358_mass_flow(
            sonic_conductance_m3_s_pa=1e-8,
            critical_ratio=critical,
            pressure_up_pa_abs=up,
            pressure_down_pa_abs=ratio * up,
            temperature_k=300.0,
        )

    choked = flow(max(critical - 1e-6, 1e-9))
    assert flow(critical + 1e-6) == pytest.approx(choked, rel=1e-9)
    assert flow(1.0) == pytest.approx(0.0, abs=1e-6 * choked)


@given(mach=st.floats(1e-3, 1.0), gamma=gammas)
def test_area_ratio_and_flow_function_are_one_law(mach: float, gamma: float) -> None:
    psi = gas.flow_function(pressure_ratio=isentropic.isentropic_pressure_ratio(mach=mach, gamma=gamma), gamma=gamma)
    area_ratio = isentropic.isentropic_area_ratio(mach=mach, gamma=gamma)
    # At Mach 0.001 the pressure ratio is 1 - 7e-7, of which 16 digits leave nine.
    assert psi * area_ratio == pytest.approx(gas.choked_flow_function(gamma=gamma), rel=1e-8)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 0.0])
@pytest.mark.parametrize("name", ["pressure_1_pa_abs", "pressure_2_pa_abs", "temperature_k", "gas_constant"])
def test_orifice_refuses_what_must_be_positive(name: str, bad: float) -> None:
    arguments = {
        "effective_area_m2": 1e-6,
        "pressure_1_pa_abs": 2e5,
        "pressure_2_pa_abs": 1e5,
        "temperature_k": 300.0,
        "gas_constant": 287.0,
    }
    with pytest.raises(ValueError, match=f"{name} must be finite and above 0, got {bad!r}"):
        gas.orifice_mass_flow(**(arguments | {name: bad}))


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1e-9])
def test_orifice_refuses_a_negative_area(bad: float) -> None:
    with pytest.raises(ValueError, match="effective_area_m2 must be finite and at least 0"):
        gas.orifice_mass_flow(
            effective_area_m2=bad, pressure_1_pa_abs=2e5, pressure_2_pa_abs=1e5, temperature_k=300.0
        )


@pytest.mark.parametrize("bad", [math.nan, -0.001, 1.001])
def test_flow_functions_refuse_a_ratio_outside_zero_to_one(bad: float) -> None:
    for law in (gas.flow_function, gas.laminar_flow_function, gas.flow_function_slope):
        with pytest.raises(ValueError, match="pressure_ratio must be from 0 to 1"):
            law(pressure_ratio=bad)


@pytest.mark.parametrize("bad", [math.nan, 1.0, 0.5, math.inf])
def test_gamma_must_be_above_one(bad: float) -> None:
    with pytest.raises(ValueError, match="gamma must be finite and above 1"):
        gas.critical_pressure_ratio(gamma=bad)


@pytest.mark.parametrize("bad", [math.nan, 0.5, 1.0, 1.1])
def test_laminar_ratio_lies_between_choking_and_one(bad: float) -> None:
    with pytest.raises(ValueError, match=r"laminar_ratio must be from 0\.528"):
        gas.laminar_flow_function(pressure_ratio=0.9, laminar_ratio=bad)


def test_slope_refuses_ratio_one() -> None:
    with pytest.raises(ValueError, match="below 1 for a finite slope"):
        gas.flow_function_slope(pressure_ratio=1.0)


@pytest.mark.parametrize("down", [2e5, 2.1e5])
def test_no_area_passes_flow_without_a_drop(down: float) -> None:
    with pytest.raises(ValueError, match="pressure_down_pa_abs must be below pressure_up_pa_abs"):
        gas.effective_area_for_flow(
            mass_flow_kg_s=0.1, pressure_up_pa_abs=2e5, pressure_down_pa_abs=down, temperature_k=300.0
        )


@pytest.mark.parametrize("drop", [101325.0, 2e5])
def test_a_rated_drop_leaves_some_pressure(drop: float) -> None:
    with pytest.raises(ValueError, match="pressure_drop_pa must be below pressure_up_pa_abs"):
        gas.effective_area_from_rating(volume_flow_m3_s=0.3, pressure_drop_pa=drop)


@pytest.mark.parametrize(
    ("critical", "down", "message"),
    [
        (1.0, 1e5, "critical_ratio must be from 0 to below 1"),
        (math.nan, 1e5, "critical_ratio must be from 0 to below 1"),
        (0.3, 3e5, "pressure_down_pa_abs must be at most pressure_up_pa_abs"),
    ],
)
def test_iso_6358_refuses_what_it_cannot_describe(critical: float, down: float, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        iso_6358.iso_6358_mass_flow(
            sonic_conductance_m3_s_pa=1e-8,
            critical_ratio=critical,
            pressure_up_pa_abs=2e5,
            pressure_down_pa_abs=down,
            temperature_k=300.0,
        )
