"""Isentropic flow of a perfect gas: ratios to the stagnation state, and the pressure in a venturi throat."""

from __future__ import annotations

import math
from typing import Final

from boostcarb.physics.constants import (
    GAMMA_AIR,
    GAS_CONSTANT_AIR,
    require_gamma,
    require_not_negative,
    require_positive,
)
from boostcarb.physics.gas import choked_flow_function

# A flow computed from the choked flow itself must not be refused for the last bits of its rounding.
_CHOKED_ROUNDING: Final = 1e-12


def isentropic_temperature_ratio(*, mach: float, gamma: float = GAMMA_AIR) -> float:
    """Static over stagnation temperature at a Mach number.

    Args:
        mach: Mach number, at least 0 (no unit).
        gamma: ratio of specific heats, above 1 (no unit).

    Returns:
        T/T0, no unit.

    Valid for a perfect gas, subsonic and supersonic.

    Raises:
        ValueError: a negative Mach number, gamma not above 1, or not a number.

    References:
        1. Ames Research Staff, NACA Report 1135, 1953.

    >>> round(isentropic_temperature_ratio(mach=1.0), 4)
    0.8333
    """
    require_not_negative("mach", mach)
    require_gamma(gamma)
    return 1.0 / (1.0 + 0.5 * (gamma - 1.0) * mach * mach)


def isentropic_pressure_ratio(*, mach: float, gamma: float = GAMMA_AIR) -> float:
    """Static over stagnation pressure at a Mach number.

    Args:
        mach: Mach number, at least 0 (no unit).
        gamma: ratio of specific heats, above 1 (no unit).

    Returns:
        p/p0, no unit.

    Valid for isentropic flow of a perfect gas, subsonic and supersonic.

    Raises:
        ValueError: a negative Mach number, gamma not above 1, or not a number.

    References:
        1. Ames Research Staff, NACA Report 1135, 1953.

    >>> round(isentropic_pressure_ratio(mach=0.5), 4)
    0.843
    """
    temperature_ratio = isentropic_temperature_ratio(mach=mach, gamma=gamma)
    return math.pow(temperature_ratio, gamma / (gamma - 1.0))


def isentropic_density_ratio(*, mach: float, gamma: float = GAMMA_AIR) -> float:
    """Static over stagnation density at a Mach number.

    Args:
        mach: Mach number, at least 0 (no unit).
        gamma: ratio of specific heats, above 1 (no unit).

    Returns:
        rho/rho0, no unit.

    Valid for isentropic flow of a perfect gas, subsonic and supersonic.

    Raises:
        ValueError: a negative Mach number, gamma not above 1, or not a number.

    References:
        1. Ames Research Staff, NACA Report 1135, 1953.

    >>> round(isentropic_density_ratio(mach=0.5), 4)
    0.8852
    """
    temperature_ratio = isentropic_temperature_ratio(mach=mach, gamma=gamma)
    return math.pow(temperature_ratio, 1.0 / (gamma - 1.0))


def isentropic_area_ratio(*, mach: float, gamma: float = GAMMA_AIR) -> float:
    """Flow area over the area at which the same flow would be sonic.

    Args:
        mach: Mach number, above 0 (no unit).
        gamma: ratio of specific heats, above 1 (no unit).

    Returns:
        A/A*, no unit, at least 1.

    Valid for isentropic flow of a perfect gas, subsonic and supersonic.

    Raises:
        ValueError: a Mach number not above 0, gamma not above 1, or not a number.

    References:
        1. Ames Research Staff, NACA Report 1135, 1953.

    >>> round(isentropic_area_ratio(mach=0.5), 4)
    1.3398
    """
    require_positive("mach", mach)
    temperature_ratio = isentropic_temperature_ratio(mach=mach, gamma=gamma)
    sonic_ratio = 2.0 / ((gamma + 1.0) * temperature_ratio)
    return math.pow(sonic_ratio, 0.5 * (gamma + 1.0) / (gamma - 1.0)) / mach


def throat_pressure(
    *,
    mass_flow_kg_s: float,
    effective_area_m2: float,
    pressure_pa_abs: float,
    temperature_k: float,
) -> float:
    """Static pressure in a venturi throat, from the still air in front of it.

    Args:
        mass_flow_kg_s: mass flow of air, kg/s, at least 0.
        effective_area_m2: discharge coefficient times throat area, m2, above 0.
        pressure_pa_abs: stagnation pressure in front of the venturi, Pa absolute, above 0.
        temperature_k: stagnation temperature in front of the venturi, K, above 0.

    Returns:
        Throat pressure, Pa absolute, from the critical pressure up to the stagnation pressure.

    Valid for isentropic flow of dry air up to a sonic throat.

    Raises:
        ValueError: a flow above the choked flow, a negative flow, an area, pressure or temperature not
            above 0, or not a number.

    References:
        1. Ames Research Staff, NACA Report 1135, 1953.

    >>> pressure = throat_pressure(mass_flow_kg_s=0.05, effective_area_m2=5e-4,
    ...     pressure_pa_abs=101325.0, temperature_k=288.15)
    >>> round(pressure)
    97050
    """
    require_not_negative("mass_flow_kg_s", mass_flow_kg_s)
    require_positive("effective_area_m2", effective_area_m2)
    require_positive("pressure_pa_abs", pressure_pa_abs)
    require_positive("temperature_k", temperature_k)
    per_flow = math.sqrt(GAS_CONSTANT_AIR * temperature_k) / (effective_area_m2 * pressure_pa_abs)
    target = mass_flow_kg_s * per_flow
    choked = choked_flow_function()
    if target > choked * (1.0 + _CHOKED_ROUNDING):
        raise ValueError(
            f"mass_flow_kg_s must be at most the choked flow {choked / per_flow:.9g}, got {mass_flow_kg_s!r}"
        )
    return pressure_pa_abs * isentropic_pressure_ratio(mach=_subsonic_mach(target))


def _subsonic_mach(target: float) -> float:
    """Mach number, 0 to 1, at which air has the flow function ``target``.

    Flow over Mach number rises and bends down all the way to 1, so Newton's steps from 0 approach the
    root from below and cannot pass it: no bracket is needed.
    """
    half = 0.5 * (GAMMA_AIR - 1.0)
    exponent = 0.5 * (GAMMA_AIR + 1.0) / (GAMMA_AIR - 1.0)
    wanted = target / math.sqrt(GAMMA_AIR)
    mach = 0.0
    while True:
        base = 1.0 + half * mach * mach
        shrink = math.pow(base, -exponent)
        missing = wanted - mach * shrink
        slope = (1.0 - mach * mach) * shrink / base
        if missing <= 0.0 or slope <= 0.0:
            return mach
        improved = min(mach + missing / slope, 1.0)
        if improved - mach <= 1e-15:
            return improved
        mach = improved
