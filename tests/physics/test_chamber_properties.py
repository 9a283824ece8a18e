"""Properties of sealed spaces and of filling and venting times, and their limits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.physics import chamber, filling
from boostcarb.physics.gas import critical_pressure_ratio

SIZE = {"volume_m3": 1e-5, "effective_area_m2": 5e-7, "temperature_k": 300.0}
START_SIZE = {"volume_m3": 1e-5, "effective_area_m2": 5e-7, "temperature_start_k": 300.0}
ATMOSPHERE = 1e5
CRITICAL = critical_pressure_ratio()


@given(pressure=st.floats(2e4, 5e5), cold=st.floats(240.0, 420.0), hot=st.floats(240.0, 420.0))
def test_sealed_air_returns_to_its_pressure(pressure: float, cold: float, hot: float) -> None:
    there = chamber.sealed_pressure(
        sealed_pressure_pa_abs=pressure, sealed_temperature_k=cold, temperature_k=hot, volume_ratio=0.8
    )
    back = chamber.sealed_pressure(
        sealed_pressure_pa_abs=there, sealed_temperature_k=hot, temperature_k=cold, volume_ratio=1.25
    )
    assert back == pytest.approx(pressure, rel=1e-12)


def test_squeezed_air_rises_in_pressure() -> None:
    found = chamber.sealed_pressure(
        sealed_pressure_pa_abs=1e5, sealed_temperature_k=300.0, temperature_k=300.0, volume_ratio=0.5
    )
    assert found == 2e5


vent_pressures = st.floats(2e5, 1e6)


@given(one=vent_pressures, two=vent_pressures)
def test_venting_without_heat_is_quicker(one: float, two: float) -> None:
    start, end = max(one, two), min(one, two)
    arguments = {
        "pressure_start_pa_abs": start,
        "pressure_end_pa_abs": end,
        "pressure_outside_pa_abs": ATMOSPHERE,
    }
    warm = filling.isothermal_choked_vent_time(**SIZE, **arguments)
    cooling = filling.adiabatic_choked_vent_time(**START_SIZE, **arguments)
    # Without heat the pressure falls gamma times as fast at first, and slower as the gas cools.
    assert warm / 1.4 * (1.0 - 1e-9) <= cooling <= warm


@given(first=vent_pressures, second=vent_pressures, third=vent_pressures)
def test_vent_times_add_up(first: float, second: float, third: float) -> None:
    start, middle, end = sorted((first, second, third), reverse=True)

    def time(high: float, low: float) -> float:
        return filling.isothermal_choked_vent_time(
            **SIZE,
            pressure_start_pa_abs=high,
            pressure_end_pa_abs=low,
            pressure_outside_pa_abs=ATMOSPHERE,
        )

    assert time(start, middle) + time(middle, end) == pytest.approx(time(start, end), rel=1e-9, abs=1e-15)


def test_venting_to_one_e_th_takes_the_time_constant() -> None:
    found = filling.isothermal_choked_vent_time(
        **SIZE,
        pressure_start_pa_abs=6e5,
        pressure_end_pa_abs=6e5 / math.e,
        pressure_outside_pa_abs=ATMOSPHERE,
    )
    assert found == pytest.approx(chamber.time_constant(**SIZE), rel=1e-12)


@given(supply=st.floats(1.2e5, 6e5))
def test_filling_speed_has_no_jump_where_the_orifice_stops_choking(supply: float) -> None:
    critical, step = CRITICAL * supply, 1e-3 * supply
    below = filling.isothermal_choked_fill_time(
        **SIZE,
        pressure_supply_pa_abs=supply,
        pressure_start_pa_abs=critical - step,
        pressure_end_pa_abs=critical,
    )
    above = filling.isothermal_subsonic_fill_time(
        **SIZE,
        pressure_supply_pa_abs=supply,
        pressure_start_pa_abs=critical,
        pressure_end_pa_abs=critical + step,
    )
    # The ellipse falls by half the square of (step/supply)/(1-critical ratio), 2e-6 here, over the step.
    assert above == pytest.approx(below, rel=1e-5)


@given(supply=st.floats(1.2e5, 6e5), end=st.floats(0.6, 1.0), start=st.floats(0.53, 0.6))
def test_subsonic_filling_ends_and_grows(supply: float, end: float, start: float) -> None:
    def time(ratio: float) -> float:
        return filling.isothermal_subsonic_fill_time(
            **SIZE,
            pressure_supply_pa_abs=supply,
            pressure_start_pa_abs=start * supply,
            pressure_end_pa_abs=ratio * supply,
        )

    assert time(start) == 0.0
    assert 0.0 <= time(end) <= time(1.0) < math.inf


@given(
    supply=st.floats(250.0, 450.0),
    initial=st.floats(250.0, 450.0),
    rise=st.floats(1.0, 100.0),
)
def test_filled_chamber_lies_between_its_gas_and_heated_supply(
    supply: float, initial: float, rise: float
) -> None:
    found = filling.adiabatic_fill_temperature(
        supply_temperature_k=supply,
        start_temperature_k=initial,
        pressure_start_pa_abs=1e4,
        pressure_end_pa_abs=rise * 1e4,
    )
    rounding = 1e-9
    assert min(initial, 1.4 * supply) - rounding <= found <= max(initial, 1.4 * supply) + rounding


@pytest.mark.parametrize("law", [filling.isothermal_choked_vent_time, filling.adiabatic_choked_vent_time])
@pytest.mark.parametrize(
    ("start", "end", "outside", "message"),
    [
        (3e5, 1.8e5, 1e5, "pressure_end_pa_abs must be at least 189292.9.* for a choked orifice"),
        (2e5, 3e5, 1e5, "pressure_end_pa_abs must be at most pressure_start_pa_abs"),
        (3e5, 2e5, math.nan, "pressure_outside_pa_abs must be finite and above 0"),
        (-3e5, 2e5, 1e5, "pressure_start_pa_abs must be finite and above 0"),
        (3e5, 0.0, 1e5, "pressure_end_pa_abs must be finite and above 0"),
    ],
)
def test_vent_limits(law: object, start: float, end: float, outside: float, message: str) -> None:
    assert callable(law)
    size = SIZE if law is filling.isothermal_choked_vent_time else START_SIZE
    with pytest.raises(ValueError, match=message):
        law(
            **size,
            pressure_start_pa_abs=start,
            pressure_end_pa_abs=end,
            pressure_outside_pa_abs=outside,
        )


@pytest.mark.parametrize(
    ("start", "end", "message"),
    [
        (1e5, 1.1e5, "pressure_end_pa_abs must be at most 105656.* for a choked orifice"),
        (1e5, 0.9e5, "pressure_end_pa_abs must be at least pressure_start_pa_abs"),
        (math.nan, 1e5, "pressure_start_pa_abs must be finite and above 0"),
    ],
)
def test_choked_fill_limits(start: float, end: float, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        filling.isothermal_choked_fill_time(
            **SIZE, pressure_supply_pa_abs=2e5, pressure_start_pa_abs=start, pressure_end_pa_abs=end
        )


@pytest.mark.parametrize(
    ("start", "end", "message"),
    [
        (1e5, 1.5e5, "pressure_start_pa_abs must be at least 105656.* that is not choked"),
        (1.5e5, 1.4e5, "pressure_end_pa_abs must be at least pressure_start_pa_abs"),
        (1.5e5, 2.1e5, "pressure_end_pa_abs must be at most pressure_supply_pa_abs"),
        (1.5e5, math.nan, "pressure_end_pa_abs must be finite and above 0"),
    ],
)
def test_subsonic_fill_limits(start: float, end: float, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        filling.isothermal_subsonic_fill_time(
            **SIZE, pressure_supply_pa_abs=2e5, pressure_start_pa_abs=start, pressure_end_pa_abs=end
        )


@pytest.mark.parametrize("name", ["volume_m3", "effective_area_m2", "temperature_k", "gas_constant"])
@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan])
def test_time_constant_limits(name: str, bad: float) -> None:
    with pytest.raises(ValueError, match=f"{name} must be finite and above 0"):
        chamber.time_constant(**(SIZE | {name: bad}))


@pytest.mark.parametrize(
    "name", ["sealed_pressure_pa_abs", "sealed_temperature_k", "temperature_k", "volume_ratio"]
)
def test_sealed_limits(name: str) -> None:
    arguments = {"sealed_pressure_pa_abs": 1e5, "sealed_temperature_k": 300.0, "temperature_k": 320.0}
    with pytest.raises(ValueError, match=f"{name} must be finite and above 0, got 0.0"):
        chamber.sealed_pressure(**(arguments | {name: 0.0}))
