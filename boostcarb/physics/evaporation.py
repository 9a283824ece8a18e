"""Vapor pressure of fuels, and what their evaporation does: cooling, ice, flashing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from boostcarb.physics.constants import require_not_negative, require_positive, require_within

AIR_HEAT_CAPACITY: Final = 1006.0
"""Specific heat of dry air at constant pressure near 300 K, J/(kg K)."""

ICING_BAND_K: Final = (266.48, 294.26)
"""Air temperatures between which carburetors are known to ice, K: 20 to 70 degrees Fahrenheit.

Engines differ, and ice is known outside it. Source: FAA Advisory Circular 91-51A, as quoted at second hand.
"""

ICING_HUMIDITY: Final = 0.8
"""Relative humidity from which ice is likely in that band (no unit). Source: FAA pilot's handbook, from memory."""

_FREEZING_K: Final = 273.15
_PSI: Final = 6894.757293168


@dataclass(frozen=True, slots=True)
class VaporCurve:
    """Vapor pressure over temperature as ln(p/Pa) = a - b / (T/K + c), with its range and its source.

    ``estimate`` marks a curve of a mixture, whose vapor pressure falls as its light ends leave.
    """

    a: float
    b_k: float
    c_k: float
    lowest_k: float
    highest_k: float
    source: str
    estimate: bool = False


def antoine_curve(*, a: float, b: float, c: float, lowest_c: float, highest_c: float, source: str) -> VaporCurve:
    """Vapor curve from textbook Antoine constants, ln(p/kPa) = a - b / (t/C + c).

    Constants a (no unit), b (K, above 0) and c (K); range in degrees Celsius. Source: C. Antoine, Comptes
    rendus 107, 1888.

    Raises: ValueError for b not above 0, or a range upside down.

    >>> curve = antoine_curve(a=16.8958, b=3795.17, c=230.918, lowest_c=3.0, highest_c=96.0, source="")
    >>> round(vapor_pressure(curve=curve, temperature_k=333.15), -2)
    47000.0
    """
    require_positive("b", b)
    if not lowest_c < highest_c:
        raise ValueError(f"highest_c must be above lowest_c {lowest_c!r}, got {highest_c!r}")
    return VaporCurve(
        a=a + math.log(1000.0),
        b_k=b,
        c_k=c - _FREEZING_K,
        lowest_k=lowest_c + _FREEZING_K,
        highest_k=highest_c + _FREEZING_K,
        source=source,
    )


_ANTOINE_SOURCE: Final = (
    "Smith, Van Ness, Abbott and Swihart, Introduction to Chemical Engineering Thermodynamics, table B.2 (copies)"
)

ETHANOL_VAPOR: Final = antoine_curve(
    a=16.8958, b=3795.17, c=230.918, lowest_c=3.0, highest_c=96.0, source=_ANTOINE_SOURCE
)
"""Vapor curve of pure ethanol."""

METHANOL_VAPOR: Final = antoine_curve(
    a=16.5785, b=3638.27, c=239.500, lowest_c=-11.0, highest_c=83.0, source=_ANTOINE_SOURCE
)
"""Vapor curve of pure methanol."""


def reid_curve(*, reid_vapor_pressure_pa: float, distillation_slope: float = 3.0) -> VaporCurve:
    """Vapor curve of gasoline from its Reid vapor pressure: an estimate, for fresh fuel only.

    Args:
        reid_vapor_pressure_pa: Reid vapor pressure (at 37.8 C), Pa, 7 to 138 kPa (1 to 20 psi).
        distillation_slope: slope of the distillation curve at 10 %, degrees Fahrenheit per percent,
            2 to 5 (motor gasoline 3).

    Returns:
        The curve, marked as an estimate; range 0 to 70 C.

    Valid for gasoline without alcohol: alcohol lifts the vapor pressure of a blend above both its parts.

    Raises:
        ValueError: a pressure or slope outside its range, or not a number.

    References:
        1. US EPA, AP-42, section 7.1, figure 7.1-14b, refined petroleum stocks (coefficients from a public
           program that repeats the figure; slope of motor gasoline from memory).

    >>> curve = reid_curve(reid_vapor_pressure_pa=60e3)
    >>> round(vapor_pressure(curve=curve, temperature_k=333.15), -3), curve.estimate
    (121000.0, True)
    """
    require_within("reid_vapor_pressure_pa", reid_vapor_pressure_pa, _PSI, 20.0 * _PSI)
    require_within("distillation_slope", distillation_slope, 2.0, 5.0)
    root = math.sqrt(distillation_slope)
    order = math.log10(reid_vapor_pressure_pa / _PSI)
    rankine = 8742.0 - 1042.0 * root - 2416.0 * order + 413.0 * root * order
    return VaporCurve(
        a=15.64 - 1.854 * root - 2.013 * order + 0.7553 * root * order + math.log(_PSI),
        b_k=rankine / 1.8,
        c_k=0.0,
        lowest_k=_FREEZING_K,
        highest_k=_FREEZING_K + 70.0,
        source="US EPA AP-42, figure 7.1-14b, from the Reid vapor pressure",
        estimate=True,
    )


def vapor_pressure(*, curve: VaporCurve, temperature_k: float) -> float:
    """Vapor pressure of a fuel.

    Args:
        curve: vapor curve of the fuel; it names the source.
        temperature_k: temperature, K, within the curve's range.

    Returns:
        Vapor pressure, Pa absolute.

    Raises:
        ValueError: a temperature outside the curve's range, or not a number.

    >>> round(vapor_pressure(curve=METHANOL_VAPOR, temperature_k=337.85), -2)
    101300.0
    """
    require_within("temperature_k", temperature_k, curve.lowest_k, curve.highest_k)
    return math.exp(curve.a - curve.b_k / (temperature_k + curve.c_k))


def boiling_temperature(*, curve: VaporCurve, pressure_pa_abs: float) -> float:
    """Temperature at which a fuel starts to boil.

    Args:
        curve: vapor curve of the fuel.
        pressure_pa_abs: pressure over the fuel, Pa absolute, within what the curve covers.

    Returns:
        Boiling temperature, K; for a mixture the one at which its light ends start.

    Raises:
        ValueError: a pressure the curve does not reach within its range, or not a number.

    >>> round(boiling_temperature(curve=ETHANOL_VAPOR, pressure_pa_abs=101325.0) - 273.15, 1)
    78.2
    """
    low = vapor_pressure(curve=curve, temperature_k=curve.lowest_k)
    high = vapor_pressure(curve=curve, temperature_k=curve.highest_k)
    require_within("pressure_pa_abs", pressure_pa_abs, low, high)
    return curve.b_k / (curve.a - math.log(pressure_pa_abs)) - curve.c_k


def evaporative_temperature_drop(
    *,
    evaporated_share: float,
    air_fuel_ratio: float,
    latent_heat_j_kg: float,
    fuel_heat_capacity_j_kg_k: float,
    air_heat_capacity_j_kg_k: float = AIR_HEAT_CAPACITY,
) -> float:
    """How far the mixture cools when part of its fuel evaporates and no heat comes from the walls.

    Args:
        evaporated_share: share of the fuel's mass that evaporates, 0 to 1 (no unit).
        air_fuel_ratio: mass of air over mass of fuel, above 0 (no unit).
        latent_heat_j_kg: heat of evaporation, J/kg, above 0.
        fuel_heat_capacity_j_kg_k: specific heat of the liquid fuel, J/(kg K), at least 0.
        air_heat_capacity_j_kg_k: specific heat of air, J/(kg K), above 0.

    Returns:
        Temperature drop, K. A share of 1 gives an upper bound that is not reached in practice: cold air
        saturates first, with alcohols long before.

    Raises:
        ValueError: an argument outside its range above, or not a number.

    References:
        1. Heat balance; J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 6.2 (cited
           from memory).

    >>> round(evaporative_temperature_drop(evaporated_share=1.0, air_fuel_ratio=15.13,
    ...     latent_heat_j_kg=308e3, fuel_heat_capacity_j_kg_k=2100.0), 1)
    17.8
    """
    require_within("evaporated_share", evaporated_share, 0.0, 1.0)
    require_positive("air_fuel_ratio", air_fuel_ratio)
    require_positive("latent_heat_j_kg", latent_heat_j_kg)
    require_not_negative("fuel_heat_capacity_j_kg_k", fuel_heat_capacity_j_kg_k)
    require_positive("air_heat_capacity_j_kg_k", air_heat_capacity_j_kg_k)
    heat_capacity = air_fuel_ratio * air_heat_capacity_j_kg_k + fuel_heat_capacity_j_kg_k
    return evaporated_share * latent_heat_j_kg / heat_capacity


def flash_share(
    *,
    temperature_k: float,
    boiling_temperature_k: float,
    heat_capacity_j_kg_k: float,
    latent_heat_j_kg: float,
) -> float:
    """Share of hot fuel that turns to vapor when the pressure over it is let off.

    Args:
        temperature_k: temperature of the fuel, K, above 0.
        boiling_temperature_k: boiling temperature at the lower pressure, K, above 0.
        heat_capacity_j_kg_k: specific heat of the liquid fuel, J/(kg K), above 0.
        latent_heat_j_kg: heat of evaporation, J/kg, above 0.

    Returns:
        Share of the mass, 0 to 1 (no unit). Exact for little flashing of a pure fuel; for gasoline an upper
        bound, since its boiling point climbs as the light ends leave.

    Raises:
        ValueError: an argument that is not finite and above 0.

    >>> round(flash_share(temperature_k=335.0, boiling_temperature_k=320.0,
    ...     heat_capacity_j_kg_k=2100.0, latent_heat_j_kg=350e3), 3)
    0.09
    """
    require_positive("temperature_k", temperature_k)
    require_positive("boiling_temperature_k", boiling_temperature_k)
    require_positive("heat_capacity_j_kg_k", heat_capacity_j_kg_k)
    require_positive("latent_heat_j_kg", latent_heat_j_kg)
    superheat = max(0.0, temperature_k - boiling_temperature_k)
    return min(1.0, heat_capacity_j_kg_k * superheat / latent_heat_j_kg)


def dew_point(*, temperature_k: float, relative_humidity: float) -> float:
    """Temperature at which the moisture of the air starts to condense, over liquid water.

    Args:
        temperature_k: air temperature, K, 228.15 to 333.15.
        relative_humidity: relative humidity, 0.01 to 1 (no unit).

    Returns:
        Dew point, K.

    Raises:
        ValueError: an argument outside its range above, or not a number.

    References:
        1. Magnus formula with the constants of the WMO guide (17.62, 243.12 C), from memory.

    >>> round(dew_point(temperature_k=293.15, relative_humidity=0.5) - 273.15, 1)
    9.3
    """
    require_within("temperature_k", temperature_k, 228.15, 333.15)
    require_within("relative_humidity", relative_humidity, 0.01, 1.0)
    celsius = temperature_k - _FREEZING_K
    exponent = math.log(relative_humidity) + 17.62 * celsius / (243.12 + celsius)
    return _FREEZING_K + 243.12 * exponent / (17.62 - exponent)


def icing_risk(
    *, temperature_k: float, relative_humidity: float, temperature_drop_k: float
) -> Literal["none", "possible", "likely"]:
    """Whether ice can form behind the nozzle.

    Args:
        temperature_k: temperature of the air in front of the carburetor, K, 228.15 to 333.15.
        relative_humidity: relative humidity there, 0.01 to 1 (no unit).
        temperature_drop_k: cooling by evaporation and expansion, K, at least 0.

    Returns:
        "none" when the mixture stays above freezing or above the dew point; else "likely" in humid air
        within the usual band of temperatures, and "possible" outside it.

    Valid as a warning, not a forecast: walls, throttle angle and the engine's heat decide the rest.

    Raises:
        ValueError: an argument outside its range above, or not a number.

    References:
        1. Those of :data:`ICING_BAND_K` and :data:`ICING_HUMIDITY`.

    >>> icing_risk(temperature_k=283.15, relative_humidity=0.9, temperature_drop_k=14.0)
    'likely'
    """
    require_not_negative("temperature_drop_k", temperature_drop_k)
    cold = temperature_k - temperature_drop_k
    condensing = cold <= dew_point(temperature_k=temperature_k, relative_humidity=relative_humidity)
    if cold > _FREEZING_K or not condensing:
        return "none"
    usual = ICING_BAND_K[0] <= temperature_k <= ICING_BAND_K[1] and relative_humidity >= ICING_HUMIDITY
    return "likely" if usual else "possible"
