"""What the cylinders draw from the manifold."""

from __future__ import annotations

import math

from boostcarb.physics.constants import (
    GAMMA_AIR,
    require_gamma,
    require_not_negative,
    require_positive,
)
from boostcarb.physics.gas import density


def engine_air_flow(
    *,
    displacement_m3: float,
    speed_rev_s: float,
    volumetric_efficiency: float,
    pressure_pa_abs: float,
    temperature_k: float,
) -> float:
    """Mass flow of air into a four-stroke engine.

    Args:
        displacement_m3: swept volume of all cylinders, m3, above 0.
        speed_rev_s: crankshaft speed, revolutions per second, at least 0.
        volumetric_efficiency: air drawn over the air that fills the swept volume at manifold state, at
            least 0 (no unit); above 1 is possible with tuned runners.
        pressure_pa_abs: manifold pressure, Pa absolute, above 0.
        temperature_k: manifold temperature, K, above 0.

    Returns:
        Mass flow of air, kg/s.

    Valid for four-stroke engines (one filling in two revolutions); the volume that fuel vapor takes is
    part of the volumetric efficiency.

    Raises:
        ValueError: a negative speed or efficiency, a displacement, pressure or temperature not above 0,
            or not a number.

    References:
        1. J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.10 (definition of
           volumetric efficiency; cited from memory).

    >>> round(engine_air_flow(displacement_m3=5.735e-3, speed_rev_s=100.0, volumetric_efficiency=1.0,
    ...     pressure_pa_abs=101325.0, temperature_k=288.15), 4)
    0.3513
    """
    require_positive("displacement_m3", displacement_m3)
    require_not_negative("speed_rev_s", speed_rev_s)
    require_not_negative("volumetric_efficiency", volumetric_efficiency)
    fillings_per_second = 0.5 * speed_rev_s
    return (
        volumetric_efficiency
        * displacement_m3
        * fillings_per_second
        * density(pressure_pa_abs=pressure_pa_abs, temperature_k=temperature_k)
    )


def ideal_volumetric_efficiency_factor(
    *,
    intake_pressure_pa_abs: float,
    exhaust_pressure_pa_abs: float,
    compression_ratio: float,
    gamma: float = GAMMA_AIR,
) -> float:
    """How the exhaust gas left in the cylinder changes the volumetric efficiency.

    Args:
        intake_pressure_pa_abs: manifold pressure, Pa absolute, above 0.
        exhaust_pressure_pa_abs: pressure in the exhaust manifold, Pa absolute, above 0.
        compression_ratio: largest over smallest cylinder volume, above 1 (no unit).
        gamma: ratio of specific heats, above 1 (no unit).

    Returns:
        Factor on the volumetric efficiency that was measured at equal pressures, no unit: 1 at equal
        pressures, below 1 with more pressure in the exhaust. Never below 0: at that point the exhaust
        gas left behind fills the cylinder alone.

    Valid for the ideal four-stroke cycle without valve overlap: adiabatic, same specific heats before
    and after combustion.

    Raises:
        ValueError: a pressure not above 0, a compression ratio or gamma not above 1, or not a number.

    References:
        1. J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 6.2, equation 6.2
           (cited from memory; it follows from an energy balance over the intake stroke).

    >>> round(ideal_volumetric_efficiency_factor(intake_pressure_pa_abs=1e5,
    ...     exhaust_pressure_pa_abs=2e5, compression_ratio=8.5), 4)
    0.9048
    """
    require_positive("intake_pressure_pa_abs", intake_pressure_pa_abs)
    require_positive("exhaust_pressure_pa_abs", exhaust_pressure_pa_abs)
    if not 1.0 < compression_ratio < math.inf:
        raise ValueError(f"compression_ratio must be finite and above 1, got {compression_ratio!r}")
    require_gamma(gamma)
    # Same law as r/(r-1) - (p_e/p_i + gamma - 1)/(gamma (r-1)), arranged to be exactly 1 at p_e = p_i.
    excess = exhaust_pressure_pa_abs / intake_pressure_pa_abs - 1.0
    return max(0.0, 1.0 - excess / (gamma * (compression_ratio - 1.0)))
