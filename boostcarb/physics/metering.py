"""Metering of fuel: the elementary carburetor, and the main circuit with its air bleed."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from boostcarb.errors import NotSolved
from boostcarb.physics.constants import (
    GAMMA_AIR,
    GAS_CONSTANT_AIR,
    require_not_negative,
    require_positive,
    require_within,
)
from boostcarb.physics.gas import choked_flow_function, critical_pressure_ratio
from boostcarb.physics.liquid import column_pressure

MOST_STEPS: Final = 200
"""Far more steps than a root ever takes; each at least halves its bracket."""

LARGEST_RESIDUAL: Final = 1e-7
"""Share of the flow through the nozzle that may be missing in a solved balance."""

NO_FLOW_KG_S: Final = 1e-30
"""Flow that counts as none: its square, in which the balance is solved, may underflow."""


def elementary_flow(
    *, effective_area_m2: float, density_kg_m3: float, depression_pa: float, lip_m: float = 0.0
) -> float:
    """Mass flow of air through a venturi, or of fuel through a jet, at one depression.

    Args:
        effective_area_m2: discharge coefficient times area, m2, at least 0.
        density_kg_m3: density of what flows, kg/m3, above 0.
        depression_pa: pressure in front less pressure at the venturi throat, Pa, at least 0.
        lip_m: height the fuel must be raised from its level to the nozzle, m, at least 0; 0 for air.

    Returns:
        Mass flow, kg/s; 0 until the depression lifts the fuel over the lip.

    Valid for liquid, and for air at depressions up to some 5 % of the pressure.

    Raises:
        ValueError: an argument outside its range above, or not a number.

    References:
        1. J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 7.2 (cited from memory).

    >>> round(elementary_flow(effective_area_m2=6.634e-7, density_kg_m3=750.0, depression_pa=8000.0) * 1e3, 3)
    2.298
    """
    require_not_negative("effective_area_m2", effective_area_m2)
    require_not_negative("depression_pa", depression_pa)
    require_not_negative("lip_m", lip_m)
    driving = depression_pa - column_pressure(density_kg_m3=density_kg_m3, height_m=lip_m)
    return effective_area_m2 * math.sqrt(2.0 * density_kg_m3 * max(0.0, driving))


def elementary_air_fuel_ratio(
    *,
    venturi_effective_area_m2: float,
    jet_effective_area_m2: float,
    air_density_kg_m3: float,
    fuel_density_kg_m3: float,
    depression_pa: float,
    lip_m: float = 0.0,
) -> float:
    """Mixture of the elementary carburetor: one venturi, one jet, no bleed.

    Args:
        venturi_effective_area_m2: discharge coefficient times throat area, m2, at least 0.
        jet_effective_area_m2: discharge coefficient times jet area, m2, at least 0.
        air_density_kg_m3: density of the air in front of the venturi, kg/m3, above 0.
        fuel_density_kg_m3: density of the fuel, kg/m3, above 0.
        depression_pa: pressure in front (and over the fuel) less throat pressure, Pa, above 0.
        lip_m: height the fuel must be raised from its level to the nozzle, m, at least 0.

    Returns:
        Air over fuel by mass, no unit; infinite while no fuel flows.

    Raises:
        ValueError: an argument outside its range above, or not a number.

    References:
        1. J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 7.2 (cited from memory).

    >>> round(elementary_air_fuel_ratio(venturi_effective_area_m2=2.5133e-4, jet_effective_area_m2=6.6346e-7,
    ...     air_density_kg_m3=1.2, fuel_density_kg_m3=750.0, depression_pa=8000.0), 2)
    15.15
    """
    require_positive("depression_pa", depression_pa)
    air = elementary_flow(
        effective_area_m2=venturi_effective_area_m2, density_kg_m3=air_density_kg_m3, depression_pa=depression_pa
    )
    fuel = elementary_flow(
        effective_area_m2=jet_effective_area_m2,
        density_kg_m3=fuel_density_kg_m3,
        depression_pa=depression_pa,
        lip_m=lip_m,
    )
    return air / fuel if fuel > 0.0 else math.inf


def spill_over_air_speed(*, air_density_kg_m3: float, fuel_density_kg_m3: float, lip_m: float) -> float:
    """Speed of the air in the throat at which fuel starts to flow over the lip, m/s.

    Densities in kg/m3, above 0; the lip in m, at least 0. Source: Bernoulli on both sides.

    Raises: ValueError for an argument outside its range, or not a number.

    >>> round(spill_over_air_speed(air_density_kg_m3=1.2, fuel_density_kg_m3=750.0, lip_m=0.005), 2)
    7.83
    """
    require_positive("air_density_kg_m3", air_density_kg_m3)
    require_not_negative("lip_m", lip_m)
    return math.sqrt(2.0 * column_pressure(density_kg_m3=fuel_density_kg_m3, height_m=lip_m) / air_density_kg_m3)


def air_fuel_ratio_at_density(
    *, air_fuel_ratio: float, density_kg_m3: float, reference_density_kg_m3: float, exponent: float = 0.5
) -> float:
    """Mixture of an unchanged carburetor when the air in front of it has another density.

    Args:
        air_fuel_ratio: air over fuel at the reference density, above 0 (no unit).
        density_kg_m3: density now, kg/m3, above 0; denser runs leaner.
        reference_density_kg_m3: density at which the ratio was right, kg/m3, above 0.
        exponent: 0.5 for the elementary carburetor; an air bleed takes back part of it, 0 to 0.5 (no unit).

    Returns:
        Air over fuel, no unit.

    Raises:
        ValueError: an argument outside its range above, or not a number.

    References:
        1. J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 7.2 (cited from memory).

    >>> round(air_fuel_ratio_at_density(air_fuel_ratio=14.7, density_kg_m3=0.90925,
    ...     reference_density_kg_m3=1.225), 2)
    12.66
    """
    require_positive("air_fuel_ratio", air_fuel_ratio)
    require_positive("density_kg_m3", density_kg_m3)
    require_positive("reference_density_kg_m3", reference_density_kg_m3)
    require_within("exponent", exponent, 0.0, 0.5)
    return air_fuel_ratio * math.pow(density_kg_m3 / reference_density_kg_m3, exponent)


@dataclass(frozen=True, slots=True)
class MainCircuitFlow:
    """Flow of a main circuit: kg/s, Pa absolute, kg/m3; the residual is what the nozzle passes too much."""

    fuel_kg_s: float
    bleed_air_kg_s: float
    well_pressure_pa_abs: float
    mixture_density_kg_m3: float
    residual_kg_s: float


def main_circuit(
    *,
    main_jet_effective_area_m2: float,
    nozzle_effective_area_m2: float,
    bowl_pressure_pa_abs: float,
    air_horn_pressure_pa_abs: float,
    booster_pressure_pa_abs: float,
    air_temperature_k: float,
    fuel_density_kg_m3: float,
    spill_height_m: float = 0.0,
    fuel_level_m: float = 0.0,
    power_effective_area_m2: float = 0.0,
    bleed_effective_area_m2: float = 0.0,
) -> MainCircuitFlow:
    """Fuel and bleed air of a main circuit: jet and bleed into one well, their mixture through one nozzle.

    Args:
        main_jet_effective_area_m2: discharge coefficient times area of the main jet, m2, at least 0.
        nozzle_effective_area_m2: the same of the path from well to booster, m2, above 0.
        bowl_pressure_pa_abs: pressure over the fuel, Pa absolute, above 0.
        air_horn_pressure_pa_abs: pressure at the bleed's inlet, Pa absolute, above 0.
        booster_pressure_pa_abs: pressure where the nozzle ends, Pa absolute, above 0.
        air_temperature_k: temperature of the bleed air, K, above 0.
        fuel_density_kg_m3: density of the fuel, kg/m3, above 0.
        spill_height_m: height at which fuel spills from the well into the nozzle, m.
        fuel_level_m: height of the fuel in the bowl over the same zero, m; above the spill height the
            circuit runs by itself.
        power_effective_area_m2: the power restriction while its valve is open, beside the jet, m2, at least 0.
        bleed_effective_area_m2: the air bleed, m2, at least 0.

    Returns:
        The flow; without fuel until the well's pressure lets it rise to the spill height, without any
        when the booster draws on neither side.

    Valid for a homogeneous mixture at the well's pressure (bubbles that slip past the fuel carry more air)
    and a drop across the nozzle small against the pressure. Nothing flows back: not air into the well,
    not fuel out of the bleed (which it does where the well's pressure is above the air horn's).

    Raises:
        ValueError: an argument outside its range above, or not a number.
        NotSolved: a residual above a ten-millionth of the flow.

    References:
        1. Mass balance of the well with Torricelli's law, that of Saint-Venant and Wantzel, and
           homogeneous two-phase flow.

    >>> flow = main_circuit(main_jet_effective_area_m2=1.5e-6, nozzle_effective_area_m2=6e-6,
    ...     bleed_effective_area_m2=0.6e-6, bowl_pressure_pa_abs=101325.0, air_horn_pressure_pa_abs=101325.0,
    ...     booster_pressure_pa_abs=93000.0, air_temperature_k=288.15, fuel_density_kg_m3=745.0,
    ...     spill_height_m=0.008)
    >>> round(flow.fuel_kg_s * 1e3, 2), round(flow.bleed_air_kg_s * 1e6), round(flow.well_pressure_pa_abs)
    (4.03, 64, 96427)
    """
    require_not_negative("main_jet_effective_area_m2", main_jet_effective_area_m2)
    require_not_negative("power_effective_area_m2", power_effective_area_m2)
    require_not_negative("bleed_effective_area_m2", bleed_effective_area_m2)
    require_positive("nozzle_effective_area_m2", nozzle_effective_area_m2)
    require_positive("bowl_pressure_pa_abs", bowl_pressure_pa_abs)
    require_positive("air_horn_pressure_pa_abs", air_horn_pressure_pa_abs)
    require_positive("booster_pressure_pa_abs", booster_pressure_pa_abs)
    require_positive("air_temperature_k", air_temperature_k)
    lift = column_pressure(density_kg_m3=fuel_density_kg_m3, height_m=spill_height_m - fuel_level_m)
    # The unknown is the well's pressure over the booster's: a wide nozzle makes it too small to be told
    # from rounding in a difference of two absolute pressures.
    fuel_drive = bowl_pressure_pa_abs - booster_pressure_pa_abs - lift
    air_drive = air_horn_pressure_pa_abs - booster_pressure_pa_abs
    liquid_area = main_jet_effective_area_m2 + power_effective_area_m2
    specific_energy = GAS_CONSTANT_AIR * air_temperature_k
    air_scale = bleed_effective_area_m2 * air_horn_pressure_pa_abs / math.sqrt(specific_energy)
    nozzle = 2.0 * nozzle_effective_area_m2**2

    def flows(rise: float) -> tuple[float, float, float]:
        fuel = liquid_area * math.sqrt(2.0 * fuel_density_kg_m3 * max(0.0, fuel_drive - rise))
        air = air_scale * _flow_function_of_drop(max(0.0, air_drive - rise) / air_horn_pressure_pa_abs)
        volume = fuel / fuel_density_kg_m3 + air * specific_energy / (booster_pressure_pa_abs + rise)
        return fuel, air, volume

    def excess(rise: float) -> float:
        fuel, air, volume = flows(rise)
        return nozzle * rise - (fuel + air) * volume

    highest = min(max(fuel_drive, air_drive, 0.0), -excess(0.0) / nozzle)
    rise = _increasing_root(excess, highest) if highest > 0.0 else 0.0
    fuel, air, volume = flows(rise)
    total = fuel + air
    if total <= NO_FLOW_KG_S:
        return MainCircuitFlow(0.0, 0.0, booster_pressure_pa_abs, fuel_density_kg_m3, 0.0)
    mixture_density = total / volume
    residual = nozzle_effective_area_m2 * math.sqrt(2.0 * mixture_density * rise) - total
    if not abs(residual) <= LARGEST_RESIDUAL * total:
        raise NotSolved("the main circuit's flow", places=("main well",), residual=residual)
    return MainCircuitFlow(fuel, air, booster_pressure_pa_abs + rise, mixture_density, residual)


def _flow_function_of_drop(drop: float) -> float:
    """The gas flow function at 1 - drop of the upstream pressure, without losing a small drop's digits."""
    if 1.0 - drop <= critical_pressure_ratio():
        return choked_flow_function()
    logarithm = math.log1p(-drop)
    head = -math.expm1(logarithm * (GAMMA_AIR - 1.0) / GAMMA_AIR)
    return math.exp(logarithm / GAMMA_AIR) * math.sqrt(2.0 * GAMMA_AIR / (GAMMA_AIR - 1.0) * head)


def _increasing_root(function: Callable[[float], float], high: float) -> float:
    """Root from 0 to ``high`` of a rising function, by Ridders' method (IEEE Trans. CAS 26, 1979, 979-980).

    The caller judges it by its residual.
    """
    low, f_low, f_high = 0.0, function(0.0), function(high)
    if f_high <= 0.0:
        return high
    last = high
    for _ in range(MOST_STEPS):
        middle = 0.5 * (low + high)
        f_middle = function(middle)
        scale = math.sqrt(f_middle * f_middle - f_low * f_high)
        if scale == 0.0:
            return middle
        guess = middle - (middle - low) * f_middle / scale
        f_guess = function(guess)
        for x, f_x in ((middle, f_middle), (guess, f_guess)):
            if f_x < 0.0 and x >= low:
                low, f_low = x, f_x
            elif f_x >= 0.0 and x <= high:
                high, f_high = x, f_x
        if f_guess == 0.0 or abs(guess - last) <= 1e-15 * guess or high - low <= 4e-16 * high:
            return guess
        last = guess
    return last
