"""A closed or slowly following space: sealed air, and the time constant of a chamber behind a passage."""

from __future__ import annotations

import math

from boostcarb.physics.constants import GAMMA_AIR, GAS_CONSTANT_AIR, require_positive
from boostcarb.physics.gas import choked_flow_function


def sealed_pressure(
    *,
    sealed_pressure_pa_abs: float,
    sealed_temperature_k: float,
    temperature_k: float,
    volume_ratio: float = 1.0,
) -> float:
    """Pressure of air that was sealed in at another temperature or volume.

    Args:
        sealed_pressure_pa_abs: pressure when the space was closed, Pa absolute, above 0.
        sealed_temperature_k: temperature when the space was closed, K, above 0.
        temperature_k: temperature now, K, above 0.
        volume_ratio: volume now over volume when closed, above 0 (no unit); above 1 the pressure falls.

    Returns:
        Pressure now, Pa absolute.

    Valid for dry air or vapor far from condensing; liquid fuel in the space adds its vapor pressure.

    Raises:
        ValueError: an argument that is not finite and above 0.

    References:
        1. Perfect-gas law; any thermodynamics textbook.

    >>> round(sealed_pressure(
    ...     sealed_pressure_pa_abs=1e5, sealed_temperature_k=300.0, temperature_k=360.0))
    120000
    """
    require_positive("sealed_pressure_pa_abs", sealed_pressure_pa_abs)
    require_positive("sealed_temperature_k", sealed_temperature_k)
    require_positive("temperature_k", temperature_k)
    require_positive("volume_ratio", volume_ratio)
    return sealed_pressure_pa_abs * (temperature_k / sealed_temperature_k) / volume_ratio


def time_constant(
    *,
    volume_m3: float,
    effective_area_m2: float,
    temperature_k: float,
    gamma: float = GAMMA_AIR,
    gas_constant: float = GAS_CONSTANT_AIR,
) -> float:
    """Time in which a chamber that vents through a choked orifice falls to 1/e of its pressure.

    Args:
        volume_m3: volume of the chamber, m3, above 0.
        effective_area_m2: discharge coefficient times orifice area, m2, above 0.
        temperature_k: temperature of the gas, K, above 0.
        gamma: ratio of specific heats, above 1 (no unit).
        gas_constant: specific gas constant, J/(kg K), above 0.

    Returns:
        Time constant, s: the scale of every filling and venting time of the chamber.

    Valid at constant temperature.

    Raises:
        ValueError: an argument that is not finite and above 0, or gamma not above 1.

    References:
        1. Mass balance of the chamber with the choked flow of Saint-Venant and Wantzel, 1839.

    >>> round(1e3 * time_constant(volume_m3=1e-5, effective_area_m2=1e-6, temperature_k=293.15), 1)
    50.3
    """
    require_positive("volume_m3", volume_m3)
    require_positive("effective_area_m2", effective_area_m2)
    require_positive("temperature_k", temperature_k)
    require_positive("gas_constant", gas_constant)
    sonic_volume_flow = effective_area_m2 * choked_flow_function(gamma=gamma) * math.sqrt(gas_constant * temperature_k)
    return volume_m3 / sonic_volume_flow
