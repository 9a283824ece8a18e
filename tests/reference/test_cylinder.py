"""Air drawn by the engine against the trade's formula and an integrated intake stroke."""

from __future__ import annotations

import pytest
from scipy.constants import inch
from scipy.integrate import solve_ivp

from boostcarb.physics.cylinder import engine_air_flow, ideal_volumetric_efficiency_factor

CUBIC_INCH = inch**3
CUBIC_FOOT_PER_MINUTE = (12.0 * inch) ** 3 / 60.0


# Source: the trade's formula cfm = cubic inches * rpm / 3456 (two revolutions a filling, 1728 cubic inches a
# cubic foot). Tolerance: rounding; the density 1.225 kg/m3 has seven digits at this state.
@pytest.mark.parametrize("speed_rpm", [3000.0, 5000.0, 6000.0])
def test_matches_the_cfm_formula(speed_rpm: float) -> None:
    flow = engine_air_flow(
        displacement_m3=350.0 * CUBIC_INCH,
        speed_rev_s=speed_rpm / 60.0,
        volumetric_efficiency=1.0,
        pressure_pa_abs=101325.0,
        temperature_k=288.15,
    )
    assert flow / 1.225 / CUBIC_FOOT_PER_MINUTE == pytest.approx(350.0 * speed_rpm / 3456.0, rel=1e-6)


# Source: worked carburetor example of a university tutorial (inputs read in a published copy, output
# recomputed from its formula): bore 10 cm, stroke 12 cm, 4 cylinders, 1800 rpm, efficiency 0.75, air
# 1.2 kg/m3 -> 0.05089 kg/s. The swept volume of the tutorial is rounded to 0.00377 m3: tolerance 0.1 %.
def test_worked_example() -> None:
    pressure = 1.2 * 287.05287 * 293.15
    flow = engine_air_flow(
        displacement_m3=0.00377,
        speed_rev_s=30.0,
        volumetric_efficiency=0.75,
        pressure_pa_abs=pressure,
        temperature_k=293.15,
    )
    assert flow == pytest.approx(0.05089, rel=1e-3)


# Oracle: scipy.solve_ivp over the ideal intake process. The clearance volume holds exhaust gas at exhaust
# pressure; the valve opens and manifold air fills it at constant volume (integrated over the pressure), then
# the piston draws air at constant pressure (integrated over the volume). Energy: dU = cp T_in dm - p dV.
# The mass drawn over p_i V_d / (R T_i) is the factor. Tolerance 1e-6: the integrator's.
@pytest.mark.parametrize("exhaust_over_intake", [0.4, 0.7, 0.95])
@pytest.mark.parametrize("compression_ratio", [7.5, 8.5, 11.0])
def test_matches_integrated_intake_stroke(exhaust_over_intake: float, compression_ratio: float) -> None:
    gamma, gas_constant, inlet_temperature, intake = 1.35, 287.0, 320.0, 150e3
    clearance, swept = 1.0 / (compression_ratio - 1.0), 1.0
    enthalpy = gamma / (gamma - 1.0) * gas_constant * inlet_temperature

    def mass_over_pressure(_pressure: float, _mass: list[float]) -> list[float]:
        energy_per_pressure = clearance / (gamma - 1.0)
        return [energy_per_pressure / enthalpy]

    def mass_over_volume(_volume: float, _mass: list[float]) -> list[float]:
        energy_and_work = intake / (gamma - 1.0) + intake
        return [energy_and_work / enthalpy]

    filled = solve_ivp(mass_over_pressure, (exhaust_over_intake * intake, intake), [0.0], rtol=1e-9)
    drawn = solve_ivp(mass_over_volume, (clearance, clearance + swept), [filled.y[0, -1]], rtol=1e-9)
    expected = drawn.y[0, -1] / (intake * swept / (gas_constant * inlet_temperature))
    found = ideal_volumetric_efficiency_factor(
        intake_pressure_pa_abs=intake,
        exhaust_pressure_pa_abs=exhaust_over_intake * intake,
        compression_ratio=compression_ratio,
        gamma=gamma,
    )
    assert found == pytest.approx(expected, rel=1e-6)


# Source: Heywood, Internal Combustion Engine Fundamentals, 1988, equation 6.2 as printed (from memory):
# r/(r-1) - [p_e/p_i + gamma - 1] / (gamma (r-1)). The code uses another arrangement. Tolerance: rounding.
@pytest.mark.parametrize("exhaust_over_intake", [0.3, 1.0, 1.8, 4.0])
def test_matches_the_printed_arrangement(exhaust_over_intake: float) -> None:
    r, gamma = 9.0, 1.3
    expected = r / (r - 1.0) - (exhaust_over_intake + gamma - 1.0) / (gamma * (r - 1.0))
    found = ideal_volumetric_efficiency_factor(
        intake_pressure_pa_abs=1e5,
        exhaust_pressure_pa_abs=exhaust_over_intake * 1e5,
        compression_ratio=r,
        gamma=gamma,
    )
    assert found == pytest.approx(expected, rel=1e-12)
