"""Metering against textbook carburetor examples and a second solution of the main circuit."""

from __future__ import annotations

import math

import ambiance
import pytest
from scipy.optimize import brentq

from boostcarb.physics.gas import effective_area_for_flow
from boostcarb.physics.isentropic import isentropic_pressure_ratio
from boostcarb.physics.liquid import effective_bore_area, liquid_effective_area_for_flow
from boostcarb.physics.metering import (
    air_fuel_ratio_at_density,
    elementary_air_fuel_ratio,
    elementary_flow,
    main_circuit,
    spill_over_air_speed,
)

# Carburetor examples of textbooks, read in academic re-workings of them; outputs recomputed from the inputs
# given there, unless "printed" is said. Tolerance: the digits given, 0.1 %.
DIGITS = 1e-3
HEAT_CAPACITY = 1005.0


def throat(air_kg_s: float, pressure_pa: float, speed: float, speed_coefficient: float) -> tuple[float, float]:
    """Throat pressure (Pa) and diameter (m) for a real throat speed, at 300 K."""
    drop_k = (speed / speed_coefficient) ** 2 / (2.0 * HEAT_CAPACITY)
    mach = math.sqrt(2.0 / 0.4 * drop_k / (300.0 - drop_k))
    throat_pressure = pressure_pa * isentropic_pressure_ratio(mach=mach)
    effective = effective_area_for_flow(
        mass_flow_kg_s=air_kg_s,
        pressure_up_pa_abs=pressure_pa,
        pressure_down_pa_abs=throat_pressure,
        temperature_k=300.0,
    )
    return throat_pressure, math.sqrt(4.0 * effective / speed_coefficient / math.pi)


def jet_diameter(fuel_kg_s: float, drop_pa: float, density: float, coefficient: float) -> float:
    area = liquid_effective_area_for_flow(
        mass_flow_kg_s=fuel_kg_s, pressure_1_pa_abs=1e5, pressure_2_pa_abs=1e5 - drop_pa, density_kg_m3=density
    )
    return math.sqrt(4.0 * area / coefficient / math.pi)


# Mathur & Sharma, Internal Combustion Engine, example 11.1 (printed: 3.25 cm).
def test_venturi_for_five_kilograms_a_minute() -> None:
    pressure, diameter = throat(5.0 / 60.0, 1.013e5, 90.0, 0.8)
    assert pressure == pytest.approx(0.9405e5, rel=DIGITS)
    assert diameter == pytest.approx(3.25e-2, rel=DIGITS)


# The same, example 11.2; "Fundamental of internal combustion engines", chapter 9; Ganesan, Internal
# Combustion Engines (inferred from chapter numbers), example 8.1. Air and fuel in kg/min, drop at the jet as
# a share of the choke's.
@pytest.mark.parametrize(
    ("air", "fuel", "bar", "speed", "density", "share", "throat_cm", "jet_mm"),
    [
        (6.0, 0.45, 1.013, 92.0, 740.0, 0.75, 3.526, 2.344),
        (5.0, 0.40, 1.013, 90.0, 780.0, 0.75, 3.251, 2.204),
        (5.0, 0.50, 1.000, 100.0, 750.0, 0.80, 3.123, 2.334),
    ],
)
def test_venturi_and_jet(
    *, air: float, fuel: float, bar: float, speed: float, density: float, share: float, throat_cm: float, jet_mm: float
) -> None:
    pressure, diameter = throat(air / 60.0, bar * 1e5, speed, 0.8)
    assert diameter == pytest.approx(throat_cm * 1e-2, rel=DIGITS)
    drop = share * (bar * 1e5 - pressure)
    assert jet_diameter(fuel / 60.0, drop, density, 0.6) == pytest.approx(jet_mm * 1e-3, rel=DIGITS)


# Ganesan, example 8.2 (inferred), and a university tutorial: four cylinders, suction at the throat.
@pytest.mark.parametrize(
    ("bore_m", "stroke_m", "rev_s", "density", "throat_m", "coefficient", "air", "suction"),
    [(0.10, 0.10, 40.0, 1.15, 0.030, 0.75, 0.05419, 4543.0), (0.10, 0.12, 30.0, 1.2, 0.028, 0.80, 0.05089, 4448.0)],
)
def test_suction_of_an_engine(
    *,
    bore_m: float,
    stroke_m: float,
    rev_s: float,
    density: float,
    throat_m: float,
    coefficient: float,
    air: float,
    suction: float,
) -> None:
    wanted = 0.75 * math.pi * bore_m**2 * stroke_m * density * rev_s / 2.0
    assert wanted == pytest.approx(air, rel=DIGITS)
    area = effective_bore_area(diameter_m=throat_m, discharge_coefficient=coefficient)
    found = elementary_flow(effective_area_m2=area, density_kg_m3=density, depression_pa=suction)
    assert found == pytest.approx(air, rel=DIGITS)


# Ganesan, example 8.5 (inferred): 15.15 without lip, 15.19 with a lip of 5 mm, least air speed 7.83 m/s.
def test_lip_of_the_nozzle() -> None:
    arguments = {
        "venturi_effective_area_m2": effective_bore_area(diameter_m=0.020, discharge_coefficient=0.8),
        "jet_effective_area_m2": effective_bore_area(diameter_m=1.14e-3, discharge_coefficient=0.65),
        "air_density_kg_m3": 1.2,
        "fuel_density_kg_m3": 750.0,
        "depression_pa": 8000.0,
    }
    assert elementary_air_fuel_ratio(**arguments) == pytest.approx(15.15, rel=DIGITS)
    assert elementary_air_fuel_ratio(lip_m=0.005, **arguments) == pytest.approx(15.19, rel=DIGITS)
    speed = spill_over_air_speed(air_density_kg_m3=1.2, fuel_density_kg_m3=750.0, lip_m=0.005)
    assert speed == pytest.approx(7.83, rel=DIGITS)


# Academic re-working of an unnamed book: throat 75 mm, jet 5 mm; 13.03 (its own print: 13.0).
def test_large_carburetor() -> None:
    found = elementary_air_fuel_ratio(
        venturi_effective_area_m2=effective_bore_area(diameter_m=0.075, discharge_coefficient=0.93),
        jet_effective_area_m2=effective_bore_area(diameter_m=0.005, discharge_coefficient=0.68),
        air_density_kg_m3=1.29,
        fuel_density_kg_m3=720.0,
        depression_pa=5000.0,
    )
    assert found == pytest.approx(13.03, rel=DIGITS)


# Altitude example of an academic re-working (Mathur & Sharma, likely): 14 at sea level and 27 C becomes 10.99
# at 5000 m, where 267.5 K and 0.5562 bar give 0.7244 against 1.1765 kg/m3.
def test_altitude_example() -> None:
    found = air_fuel_ratio_at_density(air_fuel_ratio=14.0, density_kg_m3=0.7244, reference_density_kg_m3=1.1765)
    assert found == pytest.approx(10.99, rel=DIGITS)


# Oracle: ambiance for the density of the standard atmosphere; printed ratios recomputed from 14.7.
@pytest.mark.parametrize(("height_m", "expected"), [(1000.0, 14.00), (1500.0, 13.66), (2000.0, 13.32), (3000.0, 12.66)])
def test_altitude_enriches(height_m: float, expected: float) -> None:
    density = float(ambiance.Atmosphere(height_m).density[0])
    found = air_fuel_ratio_at_density(air_fuel_ratio=14.7, density_kg_m3=density, reference_density_kg_m3=1.225)
    assert found == pytest.approx(expected, rel=DIGITS)


# Oracle: the same balance written in absolute pressures, with the gas law in enthalpies, and solved by
# scipy. Tolerance 1e-7: what the difference of absolute pressures leaves.
GAS = 8.31432 / 28.9644e-3


def second_solution(
    *, jet: float, bleed: float, nozzle: float, bonnet: float, draw: float, spill: float, temperature: float
) -> tuple[float, float]:
    def parts(well: float) -> tuple[float, float]:
        fuel = jet * math.sqrt(2.0 * 745.0 * max(0.0, bonnet - well - 745.0 * 9.80665 * spill))
        ratio = min(1.0, max(well / bonnet, (2.0 / 2.4) ** 3.5))
        speed = math.sqrt(max(0.0, 2.0 * 3.5 * GAS * temperature * (1.0 - ratio ** (1.0 / 3.5))))
        return fuel, bleed * bonnet / (GAS * temperature) * ratio ** (1.0 / 1.4) * speed

    def missing(well: float) -> float:
        fuel, air = parts(well)
        density = (fuel + air) / (fuel / 745.0 + air * GAS * temperature / well) if fuel + air > 0.0 else 745.0
        return nozzle * math.sqrt(2.0 * density * max(0.0, well - bonnet + draw)) - fuel - air

    return parts(brentq(missing, bonnet - draw, bonnet, xtol=1e-10, rtol=1e-14))


@pytest.mark.parametrize("bonnet", [9e4, 101325.0, 1.71e5, 2.5e5])
@pytest.mark.parametrize("draw", [200.0, 1500.0, 9000.0])
@pytest.mark.parametrize(("bleed", "nozzle"), [(0.3e-6, 4e-6), (0.6e-6, 6e-6), (1.5e-6, 1e-5)])
def test_main_circuit_matches_a_second_solution(bonnet: float, draw: float, bleed: float, nozzle: float) -> None:
    found = main_circuit(
        main_jet_effective_area_m2=1.5e-6,
        nozzle_effective_area_m2=nozzle,
        bleed_effective_area_m2=bleed,
        bowl_pressure_pa_abs=bonnet,
        air_horn_pressure_pa_abs=bonnet,
        booster_pressure_pa_abs=bonnet - draw,
        air_temperature_k=310.0,
        fuel_density_kg_m3=745.0,
        spill_height_m=0.006,
    )
    fuel, air = second_solution(
        jet=1.5e-6, bleed=bleed, nozzle=nozzle, bonnet=bonnet, draw=draw, spill=0.006, temperature=310.0
    )
    assert found.fuel_kg_s == pytest.approx(fuel, rel=1e-7)
    assert found.bleed_air_kg_s == pytest.approx(air, rel=1e-7)
