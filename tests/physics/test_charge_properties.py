"""Properties of compressor and cooler and their limits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.physics.charge import (
    compressor_outlet_temperature,
    cooler_outlet_temperature,
    cooler_pressure_loss,
)

temperatures = st.floats(230.0, 500.0)
efficiencies = st.floats(0.3, 1.0)


@given(temperature=temperatures, efficiency=efficiencies)
def test_no_compression_no_heating(temperature: float, efficiency: float) -> None:
    found = compressor_outlet_temperature(
        inlet_temperature_k=temperature, pressure_ratio=1.0, efficiency=efficiency
    )
    assert found == temperature


@given(temperature=temperatures, one=st.floats(1.0, 4.0), two=st.floats(1.0, 4.0))
def test_two_ideal_stages_heat_like_one(temperature: float, one: float, two: float) -> None:
    between = compressor_outlet_temperature(
        inlet_temperature_k=temperature, pressure_ratio=one, efficiency=1.0
    )
    staged = compressor_outlet_temperature(inlet_temperature_k=between, pressure_ratio=two, efficiency=1.0)
    single = compressor_outlet_temperature(
        inlet_temperature_k=temperature, pressure_ratio=one * two, efficiency=1.0
    )
    assert staged == pytest.approx(single, rel=1e-12)


@given(charge=temperatures, coolant=temperatures, effectiveness=st.floats(0.0, 1.0))
def test_cooler_stays_between_charge_and_coolant(charge: float, coolant: float, effectiveness: float) -> None:
    found = cooler_outlet_temperature(
        inlet_temperature_k=charge, coolant_temperature_k=coolant, effectiveness=effectiveness
    )
    rounding = 1e-9
    assert min(charge, coolant) - rounding <= found <= max(charge, coolant) + rounding


def test_cooler_ends() -> None:
    arguments = {"inlet_temperature_k": 400.0, "coolant_temperature_k": 300.0}
    assert cooler_outlet_temperature(**arguments, effectiveness=0.0) == 400.0
    assert cooler_outlet_temperature(**arguments, effectiveness=1.0) == 300.0


@given(flow=st.floats(0.0, 1.0), rated=st.floats(0.05, 1.0), loss=st.floats(0.0, 3e4))
def test_twice_the_flow_is_four_times_the_loss(flow: float, rated: float, loss: float) -> None:
    single = cooler_pressure_loss(mass_flow_kg_s=flow, rated_mass_flow_kg_s=rated, rated_loss_pa=loss)
    double = cooler_pressure_loss(mass_flow_kg_s=2.0 * flow, rated_mass_flow_kg_s=rated, rated_loss_pa=loss)
    # The absolute part is for losses so small that their last digits are lost near the smallest number.
    assert double == pytest.approx(4.0 * single, rel=1e-12, abs=1e-300)
    at_rating = cooler_pressure_loss(mass_flow_kg_s=rated, rated_mass_flow_kg_s=rated, rated_loss_pa=loss)
    assert at_rating == loss


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"inlet_temperature_k": 0.0}, "inlet_temperature_k must be finite and above 0, got 0.0"),
        ({"pressure_ratio": 0.99}, "pressure_ratio must be finite and at least 1, got 0.99"),
        ({"pressure_ratio": math.nan}, "pressure_ratio must be finite and at least 1"),
        ({"efficiency": 0.0}, "efficiency must be above 0 and at most 1, got 0.0"),
        ({"efficiency": 1.01}, "efficiency must be above 0 and at most 1, got 1.01"),
        ({"gamma": 1.0}, "gamma must be finite and above 1"),
    ],
)
def test_compressor_limits(change: dict[str, float], message: str) -> None:
    arguments = {"inlet_temperature_k": 300.0, "pressure_ratio": 2.0, "efficiency": 0.7}
    with pytest.raises(ValueError, match=message):
        compressor_outlet_temperature(**(arguments | change))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"effectiveness": -0.01}, "effectiveness must be from 0 to 1, got -0.01"),
        ({"effectiveness": math.nan}, "effectiveness must be from 0 to 1"),
        ({"coolant_temperature_k": -1.0}, "coolant_temperature_k must be finite and above 0"),
    ],
)
def test_cooler_limits(change: dict[str, float], message: str) -> None:
    arguments = {"inlet_temperature_k": 400.0, "coolant_temperature_k": 300.0, "effectiveness": 0.7}
    with pytest.raises(ValueError, match=message):
        cooler_outlet_temperature(**(arguments | change))


@pytest.mark.parametrize("name", ["mass_flow_kg_s", "rated_mass_flow_kg_s", "rated_loss_pa"])
def test_cooler_loss_limits(name: str) -> None:
    arguments = {"mass_flow_kg_s": 0.2, "rated_mass_flow_kg_s": 0.4, "rated_loss_pa": 8000.0}
    with pytest.raises(ValueError, match=f"{name} must be finite"):
        cooler_pressure_loss(**(arguments | {name: -1.0}))
