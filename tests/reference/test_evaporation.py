"""Vapor pressure, evaporative cooling, dew point and flashing against CoolProp and published values."""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI

from boostcarb.physics.evaporation import (
    ETHANOL_VAPOR,
    METHANOL_VAPOR,
    VaporCurve,
    boiling_temperature,
    dew_point,
    evaporative_temperature_drop,
    flash_share,
    reid_curve,
    vapor_pressure,
)

PSI = 6894.757
BTU_A_POUND = 2326.0


# Oracle: CoolProp's equations of state. Tolerance 2 %: what Antoine's three constants leave at the ends.
@pytest.mark.parametrize(("curve", "name"), [(ETHANOL_VAPOR, "Ethanol"), (METHANOL_VAPOR, "Methanol")])
@pytest.mark.parametrize("celsius", [4.0, 20.0, 40.0, 60.0, 80.0])
def test_alcohol_vapor_matches_coolprop(curve: VaporCurve, name: str, celsius: float) -> None:
    temperature = 273.15 + celsius
    expected = PropsSI("P", "T", temperature, "Q", 0, name)
    assert vapor_pressure(curve=curve, temperature_k=temperature) == pytest.approx(expected, rel=2e-2)


# Source: normal boiling points 78.2 and 64.7 C, table B.2 of the textbook that gives the constants
# (published copies). Tolerance 0.1 K.
@pytest.mark.parametrize(("curve", "celsius"), [(ETHANOL_VAPOR, 78.2), (METHANOL_VAPOR, 64.7)])
def test_normal_boiling_points(curve: VaporCurve, celsius: float) -> None:
    assert boiling_temperature(curve=curve, pressure_pa_abs=101325.0) == pytest.approx(273.15 + celsius, abs=0.1)


# Source: US EPA AP-42, table 7.1-2, gasoline by Reid vapor pressure (psi), true vapor pressure in psi at 40,
# 60, 80 and 100 F (from memory). Tolerance 2.5 %: the table has two digits.
@pytest.mark.parametrize(
    ("reid", "printed"), [(7.0, (2.3, 3.5, 5.2, 7.4)), (10.0, (3.4, 5.2, 7.4, 10.5)), (13.0, (4.7, 7.0, 9.9, 13.8))]
)
def test_gasoline_vapor_against_the_agency_table(reid: float, printed: tuple[float, ...]) -> None:
    curve = reid_curve(reid_vapor_pressure_pa=reid * PSI)
    for fahrenheit, expected in zip((40.0, 60.0, 80.0, 100.0), printed, strict=True):
        found = vapor_pressure(curve=curve, temperature_k=(fahrenheit + 459.67) / 1.8)
        assert found / PSI == pytest.approx(expected, rel=2.5e-2)


# Source: definition of the Reid vapor pressure, at 100 F over liquid with four volumes of vapor; the true one
# is higher by some percent. Tolerance: 0 to 10 %.
@pytest.mark.parametrize("reid", [45e3, 60e3, 90e3])
def test_true_vapor_pressure_is_a_little_above_reid(reid: float) -> None:
    found = vapor_pressure(curve=reid_curve(reid_vapor_pressure_pa=reid), temperature_k=310.93)
    assert 1.0 < found / reid < 1.1


# Source: J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 6.2 (from memory): -128 C for
# methanol, -19 C for isooctane. Tolerance 15 % against the book; 0.1 K against the values recomputed from its
# table D.4 (from memory) with 2.1 kJ/(kg K) for the liquid.
@pytest.mark.parametrize(
    ("latent", "ratio", "book", "recomputed"), [(1103e3, 6.47, 128.0, 128.1), (308e3, 15.13, 19.0, 17.8)]
)
def test_full_evaporation(latent: float, ratio: float, book: float, recomputed: float) -> None:
    found = evaporative_temperature_drop(
        evaporated_share=1.0, air_fuel_ratio=ratio, latent_heat_j_kg=latent, fuel_heat_capacity_j_kg_k=2100.0
    )
    assert found == pytest.approx(book, rel=0.15)
    assert found == pytest.approx(recomputed, abs=0.1)


# Source: US DOE, Properties of Fuels (published copies): latent heat per pound of air, stoichiometric, 10, 44
# and 78.4 Btu; over 1.005 kJ/(kg K) 23.1, 101.8 and 181.5 K if the air alone gives the heat. Tolerance 4 %:
# the sheet's digits (5 % for gasoline, "about 10").
@pytest.mark.parametrize(
    ("btu_a_pound", "ratio", "expected", "tolerance"),
    [(150.0, 14.7, 23.1, 5e-2), (396.0, 9.0, 101.8, 4e-2), (506.0, 6.45, 181.5, 4e-2)],
)
def test_upper_bound_from_latent_heat_per_air(
    btu_a_pound: float, ratio: float, expected: float, tolerance: float
) -> None:
    found = evaporative_temperature_drop(
        evaporated_share=1.0,
        air_fuel_ratio=ratio,
        latent_heat_j_kg=btu_a_pound * BTU_A_POUND,
        fuel_heat_capacity_j_kg_k=0.0,
    )
    assert found == pytest.approx(expected, rel=tolerance)


# Oracle: CoolProp's humid air. Tolerance 0.1 K above freezing, where dew is liquid.
@pytest.mark.parametrize(("celsius", "humidity"), [(5.0, 0.9), (15.0, 0.6), (20.0, 0.5), (30.0, 0.4), (35.0, 0.95)])
def test_dew_point_matches_coolprop(celsius: float, humidity: float) -> None:
    expected = HAPropsSI("D", "T", 273.15 + celsius, "R", humidity, "P", 101325.0)
    assert dew_point(temperature_k=273.15 + celsius, relative_humidity=humidity) == pytest.approx(expected, abs=0.1)


# Oracle: CoolProp, methanol saturated at a higher pressure let off to 1 bar at constant enthalpy. Tolerance 5 %:
# heat capacity and latent heat change over the drop.
@pytest.mark.parametrize("superheat", [5.0, 10.0, 20.0])
def test_flashing_matches_coolprop(superheat: float) -> None:
    boiling = PropsSI("T", "P", 1e5, "Q", 0, "Methanol")
    hot = boiling + superheat
    enthalpy = PropsSI("H", "T", hot, "Q", 0, "Methanol")
    latent = PropsSI("H", "P", 1e5, "Q", 1, "Methanol") - PropsSI("H", "P", 1e5, "Q", 0, "Methanol")
    found = flash_share(
        temperature_k=hot,
        boiling_temperature_k=boiling,
        heat_capacity_j_kg_k=PropsSI("C", "P", 1e5, "Q", 0, "Methanol"),
        latent_heat_j_kg=latent,
    )
    assert found == pytest.approx(PropsSI("Q", "P", 1e5, "H", enthalpy, "Methanol"), rel=5e-2)
