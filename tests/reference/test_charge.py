"""Compressor outlet temperature against a textbook example, fluids and real air."""

from __future__ import annotations

import fluids
import pytest
from CoolProp.CoolProp import PropsSI

from boostcarb.physics.charge import compressor_outlet_temperature


def real_air_outlet_temperature(
    inlet_temperature_k: float, inlet_pressure_pa: float, pressure_ratio: float, efficiency: float
) -> float:
    """Same compression with CoolProp's real air: entropy and enthalpy instead of constant specific heats."""
    entropy = PropsSI("S", "P", inlet_pressure_pa, "T", inlet_temperature_k, "Air")
    inlet = PropsSI("H", "P", inlet_pressure_pa, "T", inlet_temperature_k, "Air")
    outlet_pressure = pressure_ratio * inlet_pressure_pa
    ideal = PropsSI("H", "P", outlet_pressure, "S", entropy, "Air")
    return float(PropsSI("T", "P", outlet_pressure, "H", inlet + (ideal - inlet) / efficiency, "Air"))


# Oracle: fluids.isentropic_T_rise_compression, an independent implementation. Tolerance: rounding.
@pytest.mark.parametrize("temperature", [270.0, 298.15, 330.0])
@pytest.mark.parametrize("ratio", [1.05, 1.6895, 2.0, 3.0])
@pytest.mark.parametrize("efficiency", [0.55, 0.70, 1.0])
def test_matches_fluids(temperature: float, ratio: float, efficiency: float) -> None:
    expected = fluids.isentropic_T_rise_compression(temperature, 1e5, ratio * 1e5, 1.4, efficiency)
    found = compressor_outlet_temperature(
        inlet_temperature_k=temperature, pressure_ratio=ratio, efficiency=efficiency
    )
    assert found == pytest.approx(expected, rel=1e-12)


# Oracle: CoolProp real air. Tolerance 0.5 K, the validity the function states for a pressure ratio of 2.
@pytest.mark.parametrize("ratio", [1.3, 1.7, 2.0])
def test_matches_real_air_at_street_boost(ratio: float) -> None:
    found = compressor_outlet_temperature(inlet_temperature_k=298.15, pressure_ratio=ratio, efficiency=0.70)
    assert found == pytest.approx(real_air_outlet_temperature(298.15, 1e5, ratio, 0.70), abs=0.5)


# Source: Cengel & Boles, Thermodynamics, example 7-14 (100 kPa and 285 K to 800 kPa, efficiency 0.80):
# 569.5 K by the book's air tables (from memory; CoolProp gives 569.7 K). Tolerance 1 %: constant specific
# heats are known to come out 4.4 K high at this pressure ratio, and never low.
def test_textbook_compressor() -> None:
    found = compressor_outlet_temperature(inlet_temperature_k=285.0, pressure_ratio=8.0, efficiency=0.80)
    assert found == pytest.approx(569.5, rel=1e-2)
    assert found > 569.5
