"""How long filling and venting a chamber through an orifice take, and how warm filling makes it."""

from __future__ import annotations

import math
from typing import Final

from boostcarb.physics.chamber import time_constant
from boostcarb.physics.constants import GAMMA_AIR, GAS_CONSTANT_AIR, require_gamma, require_positive
from boostcarb.physics.gas import critical_pressure_ratio

# A pressure computed as critical ratio times supply must not be refused for the last bits of its rounding.
_LIMIT_ROUNDING: Final = 1e-12


def isothermal_choked_vent_time(
    *,
    volume_m3: float,
    effective_area_m2: float,
    temperature_k: float,
    pressure_start_pa_abs: float,
    pressure_end_pa_abs: float,
    pressure_outside_pa_abs: float,
    gamma: float = GAMMA_AIR,
    gas_constant: float = GAS_CONSTANT_AIR,
) -> float:
    """Time a chamber takes to vent through a choked orifice while it keeps its temperature.

    Args:
        volume_m3: volume of the chamber, m3, above 0.
        effective_area_m2: discharge coefficient times orifice area, m2, above 0.
        temperature_k: temperature of the gas in the chamber, K, above 0.
        pressure_start_pa_abs: pressure at the start, Pa absolute, above 0.
        pressure_end_pa_abs: pressure at the end, Pa absolute, above 0, at most the starting pressure.
        pressure_outside_pa_abs: pressure behind the orifice, Pa absolute, above 0, at most the critical
            ratio times the pressure at the end.
        gamma: ratio of specific heats, above 1 (no unit).
        gas_constant: specific gas constant, J/(kg K), above 0.

    Returns:
        Venting time, s.

    Valid while the orifice stays choked and the walls keep the gas at their temperature (small
    chambers, slow venting).

    Raises:
        ValueError: an end above the start, an orifice that is no longer choked at the end, an argument
            that is not finite and above 0, or gamma not above 1.

    References:
        1. Mass balance of the chamber with the choked flow of Saint-Venant and Wantzel, 1839.

    >>> round(1e3 * isothermal_choked_vent_time(volume_m3=1e-5, effective_area_m2=1e-6,
    ...     temperature_k=293.15, pressure_start_pa_abs=4e5, pressure_end_pa_abs=2e5,
    ...     pressure_outside_pa_abs=1e5), 1)
    34.9
    """
    _require_choked_vent(pressure_start_pa_abs, pressure_end_pa_abs, pressure_outside_pa_abs, gamma)
    scale = time_constant(
        volume_m3=volume_m3,
        effective_area_m2=effective_area_m2,
        temperature_k=temperature_k,
        gamma=gamma,
        gas_constant=gas_constant,
    )
    return scale * math.log(pressure_start_pa_abs / pressure_end_pa_abs)


def adiabatic_choked_vent_time(
    *,
    volume_m3: float,
    effective_area_m2: float,
    temperature_start_k: float,
    pressure_start_pa_abs: float,
    pressure_end_pa_abs: float,
    pressure_outside_pa_abs: float,
    gamma: float = GAMMA_AIR,
    gas_constant: float = GAS_CONSTANT_AIR,
) -> float:
    """Time a chamber takes to vent through a choked orifice without heat from its walls.

    Args:
        volume_m3: volume of the chamber, m3, above 0.
        effective_area_m2: discharge coefficient times orifice area, m2, above 0.
        temperature_start_k: temperature of the gas at the start, K, above 0; it falls as the gas expands.
        pressure_start_pa_abs: pressure at the start, Pa absolute, above 0.
        pressure_end_pa_abs: pressure at the end, Pa absolute, above 0, at most the starting pressure.
        pressure_outside_pa_abs: pressure behind the orifice, Pa absolute, above 0, at most the critical
            ratio times the pressure at the end.
        gamma: ratio of specific heats, above 1 (no unit).
        gas_constant: specific gas constant, J/(kg K), above 0.

    Returns:
        Venting time, s.

    Valid while the orifice stays choked and too little time passes for the walls to warm the gas.

    Raises:
        ValueError: an end above the start, an orifice that is no longer choked at the end, an argument
            that is not finite and above 0, or gamma not above 1.

    References:
        1. Mass and energy balance of the chamber with the choked flow of Saint-Venant and Wantzel, 1839.

    >>> round(1e3 * adiabatic_choked_vent_time(volume_m3=1e-5, effective_area_m2=1e-6,
    ...     temperature_start_k=293.15, pressure_start_pa_abs=4e5, pressure_end_pa_abs=2e5,
    ...     pressure_outside_pa_abs=1e5), 1)
    26.2
    """
    _require_choked_vent(pressure_start_pa_abs, pressure_end_pa_abs, pressure_outside_pa_abs, gamma)
    scale = time_constant(
        volume_m3=volume_m3,
        effective_area_m2=effective_area_m2,
        temperature_k=temperature_start_k,
        gamma=gamma,
        gas_constant=gas_constant,
    )
    exponent = 0.5 * (gamma - 1.0) / gamma
    growth = math.expm1(math.log(pressure_start_pa_abs / pressure_end_pa_abs) * exponent)
    return scale * 2.0 / (gamma - 1.0) * growth


def isothermal_choked_fill_time(
    *,
    volume_m3: float,
    effective_area_m2: float,
    temperature_k: float,
    pressure_supply_pa_abs: float,
    pressure_start_pa_abs: float,
    pressure_end_pa_abs: float,
    gamma: float = GAMMA_AIR,
    gas_constant: float = GAS_CONSTANT_AIR,
) -> float:
    """Time a chamber takes to fill through a choked orifice while it keeps its temperature.

    Args:
        volume_m3: volume of the chamber, m3, above 0.
        effective_area_m2: discharge coefficient times orifice area, m2, above 0.
        temperature_k: temperature of supply and chamber, K, above 0.
        pressure_supply_pa_abs: constant pressure in front of the orifice, Pa absolute, above 0.
        pressure_start_pa_abs: chamber pressure at the start, Pa absolute, above 0.
        pressure_end_pa_abs: chamber pressure at the end, Pa absolute, at least the starting pressure and
            at most the critical ratio times the supply.
        gamma: ratio of specific heats, above 1 (no unit).
        gas_constant: specific gas constant, J/(kg K), above 0.

    Returns:
        Filling time, s.

    Valid while the orifice stays choked. Filling without heat loss takes 1/gamma of this time.

    Raises:
        ValueError: an end below the start, an orifice that is no longer choked at the end, an argument
            that is not finite and above 0, or gamma not above 1.

    References:
        1. Mass balance of the chamber with the choked flow of Saint-Venant and Wantzel, 1839.

    >>> round(1e3 * isothermal_choked_fill_time(volume_m3=1e-5, effective_area_m2=1e-6,
    ...     temperature_k=293.15, pressure_supply_pa_abs=4e5, pressure_start_pa_abs=1e5,
    ...     pressure_end_pa_abs=2e5), 1)
    12.6
    """
    require_positive("pressure_supply_pa_abs", pressure_supply_pa_abs)
    require_positive("pressure_start_pa_abs", pressure_start_pa_abs)
    require_positive("pressure_end_pa_abs", pressure_end_pa_abs)
    _require_rise(pressure_start_pa_abs, pressure_end_pa_abs)
    limit = critical_pressure_ratio(gamma=gamma) * pressure_supply_pa_abs
    if pressure_end_pa_abs > limit * (1.0 + _LIMIT_ROUNDING):
        raise ValueError(
            f"pressure_end_pa_abs must be at most {limit:.9g} for a choked orifice, got {pressure_end_pa_abs!r}"
        )
    scale = time_constant(
        volume_m3=volume_m3,
        effective_area_m2=effective_area_m2,
        temperature_k=temperature_k,
        gamma=gamma,
        gas_constant=gas_constant,
    )
    return scale * (pressure_end_pa_abs - pressure_start_pa_abs) / pressure_supply_pa_abs


def isothermal_subsonic_fill_time(
    *,
    volume_m3: float,
    effective_area_m2: float,
    temperature_k: float,
    pressure_supply_pa_abs: float,
    pressure_start_pa_abs: float,
    pressure_end_pa_abs: float,
    gamma: float = GAMMA_AIR,
    gas_constant: float = GAS_CONSTANT_AIR,
) -> float:
    """Time a chamber takes to fill through an orifice that is not choked, at constant temperature.

    Args:
        volume_m3: volume of the chamber, m3, above 0.
        effective_area_m2: discharge coefficient times orifice area, m2, above 0.
        temperature_k: temperature of supply and chamber, K, above 0.
        pressure_supply_pa_abs: constant pressure in front of the orifice, Pa absolute, above 0.
        pressure_start_pa_abs: chamber pressure at the start, Pa absolute, at least the critical ratio
            times the supply.
        pressure_end_pa_abs: chamber pressure at the end, Pa absolute, at least the starting pressure and
            at most the supply.
        gamma: ratio of specific heats, above 1 (no unit).
        gas_constant: specific gas constant, J/(kg K), above 0.

    Returns:
        Filling time, s; finite even when the end is the supply pressure.

    Valid from the critical ratio up, with the ellipse of ISO 6358 in place of the exact flow function:
    the time is within 0.4 % of the exact one for air.

    Raises:
        ValueError: a start below the critical pressure, an end below the start or above the supply, an
            argument that is not finite and above 0, or gamma not above 1.

    References:
        1. Mass balance of the chamber with the elliptic flow function of ISO 6358:1989 (cited from
           memory).

    >>> round(1e3 * isothermal_subsonic_fill_time(volume_m3=1e-5, effective_area_m2=1e-6,
    ...     temperature_k=293.15, pressure_supply_pa_abs=2e5, pressure_start_pa_abs=1.2e5,
    ...     pressure_end_pa_abs=2e5), 1)
    33.7
    """
    require_positive("pressure_supply_pa_abs", pressure_supply_pa_abs)
    require_positive("pressure_start_pa_abs", pressure_start_pa_abs)
    require_positive("pressure_end_pa_abs", pressure_end_pa_abs)
    critical = critical_pressure_ratio(gamma=gamma)
    limit = critical * pressure_supply_pa_abs
    if pressure_start_pa_abs < limit * (1.0 - _LIMIT_ROUNDING):
        raise ValueError(
            f"pressure_start_pa_abs must be at least {limit:.9g} for an orifice that is not choked, "
            f"got {pressure_start_pa_abs!r}"
        )
    _require_rise(pressure_start_pa_abs, pressure_end_pa_abs)
    if pressure_end_pa_abs > pressure_supply_pa_abs:
        raise ValueError(
            f"pressure_end_pa_abs must be at most pressure_supply_pa_abs {pressure_supply_pa_abs!r}, "
            f"got {pressure_end_pa_abs!r}"
        )
    scale = time_constant(
        volume_m3=volume_m3,
        effective_area_m2=effective_area_m2,
        temperature_k=temperature_k,
        gamma=gamma,
        gas_constant=gas_constant,
    )
    width = 1.0 - critical
    end, start = (
        math.asin(min((pressure / pressure_supply_pa_abs - critical) / width, 1.0))
        for pressure in (pressure_end_pa_abs, pressure_start_pa_abs)
    )
    return scale * width * (end - start)


def adiabatic_fill_temperature(
    *,
    supply_temperature_k: float,
    start_temperature_k: float,
    pressure_start_pa_abs: float,
    pressure_end_pa_abs: float,
    gamma: float = GAMMA_AIR,
) -> float:
    """Temperature in a chamber that was filled without heat loss.

    Args:
        supply_temperature_k: temperature of the gas that flows in, K, above 0.
        start_temperature_k: temperature in the chamber at the start, K, above 0.
        pressure_start_pa_abs: chamber pressure at the start, Pa absolute, above 0.
        pressure_end_pa_abs: chamber pressure at the end, Pa absolute, at least the starting pressure.
        gamma: ratio of specific heats, above 1 (no unit).

    Returns:
        Temperature at the end, K: gamma times the supply temperature if the chamber was empty.

    Valid for a perfect gas in a rigid chamber without heat loss to its walls.

    Raises:
        ValueError: an end below the start, an argument that is not finite and above 0, or gamma not
            above 1.

    References:
        1. Y. A. Cengel and M. A. Boles, Thermodynamics: An Engineering Approach, chapter 5 (filling of
           a rigid tank; cited from memory).

    >>> round(adiabatic_fill_temperature(supply_temperature_k=300.0, start_temperature_k=300.0,
    ...     pressure_start_pa_abs=1e5, pressure_end_pa_abs=2e5), 1)
    350.0
    """
    require_positive("supply_temperature_k", supply_temperature_k)
    require_positive("start_temperature_k", start_temperature_k)
    require_positive("pressure_start_pa_abs", pressure_start_pa_abs)
    require_positive("pressure_end_pa_abs", pressure_end_pa_abs)
    require_gamma(gamma)
    _require_rise(pressure_start_pa_abs, pressure_end_pa_abs)
    start_share = pressure_start_pa_abs / pressure_end_pa_abs
    return 1.0 / (start_share / start_temperature_k + (1.0 - start_share) / (gamma * supply_temperature_k))


def _require_rise(pressure_start_pa_abs: float, pressure_end_pa_abs: float) -> None:
    if pressure_end_pa_abs < pressure_start_pa_abs:
        raise ValueError(
            f"pressure_end_pa_abs must be at least pressure_start_pa_abs {pressure_start_pa_abs!r}, "
            f"got {pressure_end_pa_abs!r}"
        )


def _require_choked_vent(
    pressure_start_pa_abs: float, pressure_end_pa_abs: float, pressure_outside_pa_abs: float, gamma: float
) -> None:
    require_positive("pressure_start_pa_abs", pressure_start_pa_abs)
    require_positive("pressure_end_pa_abs", pressure_end_pa_abs)
    require_positive("pressure_outside_pa_abs", pressure_outside_pa_abs)
    if pressure_end_pa_abs > pressure_start_pa_abs:
        raise ValueError(
            f"pressure_end_pa_abs must be at most pressure_start_pa_abs {pressure_start_pa_abs!r}, "
            f"got {pressure_end_pa_abs!r}"
        )
    limit = pressure_outside_pa_abs / critical_pressure_ratio(gamma=gamma)
    if pressure_end_pa_abs < limit * (1.0 - _LIMIT_ROUNDING):
        raise ValueError(
            f"pressure_end_pa_abs must be at least {limit:.9g} for a choked orifice, got {pressure_end_pa_abs!r}"
        )
