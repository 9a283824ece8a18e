"""Properties of vapor pressure, evaporative cooling, icing and flashing."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.physics.evaporation import (
    ETHANOL_VAPOR,
    METHANOL_VAPOR,
    VaporCurve,
    antoine_curve,
    boiling_temperature,
    dew_point,
    evaporative_temperature_drop,
    flash_share,
    icing_risk,
    reid_curve,
    vapor_pressure,
)

curves = st.sampled_from([ETHANOL_VAPOR, METHANOL_VAPOR, reid_curve(reid_vapor_pressure_pa=60e3)])
shares = st.floats(0.0, 1.0)


@given(curve=curves, one=shares, two=shares)
def test_vapor_pressure_rises_and_boiling_is_its_inverse(curve: VaporCurve, one: float, two: float) -> None:
    low, high = (curve.lowest_k + each * (curve.highest_k - curve.lowest_k) for each in sorted((one, two)))
    assert vapor_pressure(curve=curve, temperature_k=low) <= vapor_pressure(curve=curve, temperature_k=high)
    boiling = boiling_temperature(curve=curve, pressure_pa_abs=vapor_pressure(curve=curve, temperature_k=low))
    assert boiling == pytest.approx(low, abs=1e-6)


@given(curve=curves)
def test_curves_refuse_what_they_do_not_cover(curve: VaporCurve) -> None:
    for temperature in (curve.lowest_k - 0.01, curve.highest_k + 0.01, math.nan):
        with pytest.raises(ValueError, match="temperature_k must be from"):
            vapor_pressure(curve=curve, temperature_k=temperature)
    with pytest.raises(ValueError, match="pressure_pa_abs must be from"):
        boiling_temperature(curve=curve, pressure_pa_abs=1.0)


@given(reid=st.floats(45e3, 100e3), more=st.floats(100.0, 30e3), celsius=st.floats(0.0, 70.0))
def test_more_volatile_gasoline_has_more_vapor_pressure(reid: float, more: float, celsius: float) -> None:
    temperature = 273.15 + celsius
    less = vapor_pressure(curve=reid_curve(reid_vapor_pressure_pa=reid), temperature_k=temperature)
    greater = vapor_pressure(curve=reid_curve(reid_vapor_pressure_pa=reid + more), temperature_k=temperature)
    assert greater > less


def test_curve_of_gasoline_covers_0_to_70_celsius() -> None:
    curve = reid_curve(reid_vapor_pressure_pa=60e3)
    assert (curve.lowest_k, curve.highest_k) == pytest.approx((273.15, 343.15), rel=1e-12)


def test_only_gasoline_is_an_estimate() -> None:
    assert reid_curve(reid_vapor_pressure_pa=60e3).estimate
    assert not ETHANOL_VAPOR.estimate
    assert not METHANOL_VAPOR.estimate


def test_curve_limits() -> None:
    with pytest.raises(ValueError, match="reid_vapor_pressure_pa must be from"):
        reid_curve(reid_vapor_pressure_pa=5e3)
    with pytest.raises(ValueError, match="distillation_slope must be from 2 to 5"):
        reid_curve(reid_vapor_pressure_pa=60e3, distillation_slope=1.0)
    with pytest.raises(ValueError, match=r"highest_c must be above lowest_c 3\.0, got 3\.0"):
        antoine_curve(a=16.9, b=3795.0, c=231.0, lowest_c=3.0, highest_c=3.0, source="test")


HEAT: dict[str, Any] = {"air_fuel_ratio": 12.5, "latent_heat_j_kg": 350e3, "fuel_heat_capacity_j_kg_k": 2010.0}


@given(share=shares, more=shares, ratio=st.floats(1.0, 30.0))
def test_drop_grows_with_what_evaporates_and_shrinks_with_air(share: float, more: float, ratio: float) -> None:
    low, high = sorted((share, more))
    cold = HEAT | {"air_fuel_ratio": ratio}
    assert evaporative_temperature_drop(evaporated_share=low, **cold) <= evaporative_temperature_drop(
        evaporated_share=high, **cold
    )
    leaner = HEAT | {"air_fuel_ratio": 1.1 * ratio}
    assert evaporative_temperature_drop(evaporated_share=1.0, **leaner) < evaporative_temperature_drop(
        evaporated_share=1.0, **cold
    )
    assert evaporative_temperature_drop(evaporated_share=0.0, **cold) == 0.0


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"evaporated_share": 1.01}, "evaporated_share must be from 0 to 1"),
        ({"air_fuel_ratio": 0.0}, "air_fuel_ratio must be finite and above 0"),
        ({"latent_heat_j_kg": math.nan}, "latent_heat_j_kg must be finite and above 0"),
    ],
)
def test_drop_limits(change: dict[str, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        evaporative_temperature_drop(**({"evaporated_share": 0.5} | HEAT | change))


@given(superheat=st.floats(-50.0, 500.0), more=st.floats(0.0, 50.0))
def test_flashing_starts_at_the_boiling_point_without_a_jump(superheat: float, more: float) -> None:
    fuel = {"boiling_temperature_k": 320.0, "heat_capacity_j_kg_k": 2010.0, "latent_heat_j_kg": 350e3}
    share = flash_share(temperature_k=320.0 + superheat, **fuel)
    assert 0.0 <= share <= flash_share(temperature_k=320.0 + superheat + more, **fuel) <= 1.0
    if superheat <= 0.0:
        assert share == 0.0
    assert flash_share(temperature_k=320.0 + 1e-6, **fuel) == pytest.approx(0.0, abs=1e-8)


@given(temperature=st.floats(235.0, 330.0), humidity=st.floats(0.05, 1.0), more=st.floats(0.0, 0.5))
def test_dew_point_stays_below_the_air_and_rises_with_moisture(
    temperature: float, humidity: float, more: float
) -> None:
    found = dew_point(temperature_k=temperature, relative_humidity=humidity)
    assert found <= temperature + 1e-9
    wetter = dew_point(temperature_k=temperature, relative_humidity=min(1.0, humidity + more))
    assert wetter >= found
    assert dew_point(temperature_k=temperature, relative_humidity=1.0) == pytest.approx(temperature, abs=1e-9)


@pytest.mark.parametrize(
    ("celsius", "humidity", "drop", "expected"),
    [
        (10.0, 0.9, 14.0, "likely"),
        (10.0, 0.9, 5.0, "none"),  # stays above freezing
        (10.0, 0.2, 12.0, "none"),  # below freezing, but drier than its dew point
        (10.0, 0.5, 14.0, "possible"),
        (25.0, 0.9, 30.0, "possible"),  # above the usual band, with a fuel that cools this much
        (-15.0, 0.9, 14.0, "possible"),
    ],
)
def test_icing(celsius: float, humidity: float, drop: float, expected: str) -> None:
    found = icing_risk(temperature_k=273.15 + celsius, relative_humidity=humidity, temperature_drop_k=drop)
    assert found == expected


@given(celsius=st.floats(-30.0, 45.0), humidity=st.floats(0.05, 1.0), drop=st.floats(0.0, 60.0))
def test_more_cooling_or_moisture_never_lowers_the_risk(celsius: float, humidity: float, drop: float) -> None:
    order = ["none", "possible", "likely"]

    def risk(wetter: float, colder: float) -> int:
        return order.index(
            icing_risk(
                temperature_k=273.15 + celsius,
                relative_humidity=min(1.0, humidity + wetter),
                temperature_drop_k=drop + colder,
            )
        )

    assert risk(0.0, 0.0) <= min(risk(0.0, 10.0), risk(0.3, 0.0))


@pytest.mark.parametrize(
    "change", [{"relative_humidity": 0.0}, {"relative_humidity": 1.1}, {"temperature_drop_k": -1.0}]
)
def test_icing_limits(change: dict[str, float]) -> None:
    arguments = {"temperature_k": 283.15, "relative_humidity": 0.5, "temperature_drop_k": 5.0}
    with pytest.raises(ValueError, match=f"{next(iter(change))} must be"):
        icing_risk(**(arguments | change))
