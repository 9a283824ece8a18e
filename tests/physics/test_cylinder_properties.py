"""Properties of the air drawn by the engine and its limits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.physics.cylinder import engine_air_flow, ideal_volumetric_efficiency_factor

pressures = st.floats(2e4, 5e5)
compression_ratios = st.floats(6.0, 13.0)


@given(pressure=pressures, ratio=compression_ratios, gamma=st.floats(1.2, 1.4))
def test_equal_pressures_leave_the_efficiency_alone(pressure: float, ratio: float, gamma: float) -> None:
    found = ideal_volumetric_efficiency_factor(
        intake_pressure_pa_abs=pressure,
        exhaust_pressure_pa_abs=pressure,
        compression_ratio=ratio,
        gamma=gamma,
    )
    assert found == 1.0


@given(intake=pressures, one=pressures, two=pressures, ratio=compression_ratios)
def test_back_pressure_never_helps(intake: float, one: float, two: float, ratio: float) -> None:
    low, high = (
        ideal_volumetric_efficiency_factor(
            intake_pressure_pa_abs=intake, exhaust_pressure_pa_abs=exhaust, compression_ratio=ratio
        )
        for exhaust in (min(one, two), max(one, two))
    )
    assert 0.0 <= high <= low


def test_factor_stops_at_zero() -> None:
    found = ideal_volumetric_efficiency_factor(
        intake_pressure_pa_abs=2e4, exhaust_pressure_pa_abs=5e5, compression_ratio=8.0
    )
    assert found == 0.0


@given(speed=st.floats(1.0, 150.0), pressure=pressures)
def test_flow_grows_with_speed_and_pressure(speed: float, pressure: float) -> None:
    def flow(factor_speed: float, factor_pressure: float) -> float:
        return engine_air_flow(
            displacement_m3=5e-3,
            speed_rev_s=factor_speed * speed,
            volumetric_efficiency=0.85,
            pressure_pa_abs=factor_pressure * pressure,
            temperature_k=320.0,
        )

    assert flow(2.0, 1.0) == pytest.approx(2.0 * flow(1.0, 1.0), rel=1e-12)
    assert flow(1.0, 2.0) == pytest.approx(2.0 * flow(1.0, 1.0), rel=1e-12)


@pytest.mark.parametrize("bad", [math.nan, -1.0])
@pytest.mark.parametrize(
    "name",
    ["displacement_m3", "speed_rev_s", "volumetric_efficiency", "pressure_pa_abs", "temperature_k"],
)
def test_flow_limits(name: str, bad: float) -> None:
    arguments = {
        "displacement_m3": 5e-3,
        "speed_rev_s": 50.0,
        "volumetric_efficiency": 0.8,
        "pressure_pa_abs": 1e5,
        "temperature_k": 300.0,
    }
    with pytest.raises(ValueError, match=f"{name} must be finite"):
        engine_air_flow(**(arguments | {name: bad}))


@pytest.mark.parametrize(
    ("name", "bad"),
    [
        ("intake_pressure_pa_abs", 0.0),
        ("exhaust_pressure_pa_abs", math.nan),
        ("compression_ratio", 1.0),
        ("compression_ratio", math.nan),
        ("gamma", 1.0),
    ],
)
def test_factor_limits(name: str, bad: float) -> None:
    arguments = {"intake_pressure_pa_abs": 1e5, "exhaust_pressure_pa_abs": 1e5, "compression_ratio": 9.0}
    with pytest.raises(ValueError, match=f"{name} must be finite"):
        ideal_volumetric_efficiency_factor(**(arguments | {name: bad}))
