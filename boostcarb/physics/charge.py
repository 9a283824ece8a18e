"""What the compressor and the charge cooler do to the air."""

from __future__ import annotations

import math

from boostcarb.physics.constants import (
    GAMMA_AIR,
    require_gamma,
    require_not_negative,
    require_positive,
    require_within,
)


def compressor_outlet_temperature(
    *,
    inlet_temperature_k: float,
    pressure_ratio: float,
    efficiency: float,
    gamma: float = GAMMA_AIR,
) -> float:
    """Temperature of the air behind a compressor.

    Args:
        inlet_temperature_k: temperature in front of the compressor, K, above 0.
        pressure_ratio: outlet over inlet absolute pressure, at least 1 (no unit).
        efficiency: isentropic efficiency, above 0, at most 1 (no unit).
        gamma: ratio of specific heats, above 1 (no unit).

    Returns:
        Outlet temperature, K.

    Valid for dry air with constant specific heats: within 0.5 K of real air at a pressure ratio of 2,
    some 4 K too high at 8. Fuel that evaporates in the compressor (draw-through) is not in it.

    Raises:
        ValueError: a temperature not above 0, a pressure ratio below 1, an efficiency outside 0 to 1,
            gamma not above 1, or not a number.

    References:
        1. Y. A. Cengel and M. A. Boles, Thermodynamics: An Engineering Approach, chapter 7 (isentropic
           efficiency of a compressor; cited from memory).

    >>> round(compressor_outlet_temperature(
    ...     inlet_temperature_k=298.15, pressure_ratio=2.0, efficiency=0.70), 2)
    391.43
    """
    require_positive("inlet_temperature_k", inlet_temperature_k)
    if not 1.0 <= pressure_ratio < math.inf:
        raise ValueError(f"pressure_ratio must be finite and at least 1, got {pressure_ratio!r}")
    if not 0.0 < efficiency <= 1.0:
        raise ValueError(f"efficiency must be above 0 and at most 1, got {efficiency!r}")
    require_gamma(gamma)
    ideal_rise = math.expm1(math.log(pressure_ratio) * (gamma - 1.0) / gamma)
    return inlet_temperature_k * (1.0 + ideal_rise / efficiency)


def cooler_outlet_temperature(
    *, inlet_temperature_k: float, coolant_temperature_k: float, effectiveness: float
) -> float:
    """Temperature of the air behind a charge cooler.

    Args:
        inlet_temperature_k: charge temperature in front of the cooler, K, above 0.
        coolant_temperature_k: temperature of the cooling air or water where it enters, K, above 0.
        effectiveness: share of the possible temperature drop that is reached, 0 to 1 (no unit).

    Returns:
        Outlet temperature, K. A charge colder than the coolant is warmed.

    Valid when the charge, not the coolant, has the smaller heat capacity flow.

    Raises:
        ValueError: a temperature not above 0, an effectiveness outside 0 to 1, or not a number.

    References:
        1. W. M. Kays and A. L. London, Compact Heat Exchangers (definition of effectiveness; cited
           from memory).

    >>> round(cooler_outlet_temperature(
    ...     inlet_temperature_k=390.0, coolant_temperature_k=300.0, effectiveness=0.7), 2)
    327.0
    """
    require_positive("inlet_temperature_k", inlet_temperature_k)
    require_positive("coolant_temperature_k", coolant_temperature_k)
    require_within("effectiveness", effectiveness, 0.0, 1.0)
    return inlet_temperature_k - effectiveness * (inlet_temperature_k - coolant_temperature_k)


def cooler_pressure_loss(*, mass_flow_kg_s: float, rated_mass_flow_kg_s: float, rated_loss_pa: float) -> float:
    """Pressure loss of a charge cooler, from its rated point.

    Args:
        mass_flow_kg_s: mass flow of air, kg/s, at least 0.
        rated_mass_flow_kg_s: mass flow at which the loss was rated, kg/s, above 0.
        rated_loss_pa: loss at the rated flow, Pa, at least 0.

    Returns:
        Pressure loss, Pa.

    Valid near the rated density; the loss grows with the square of the flow, which holds for turbulent
    flow and overstates the exponent (1.75 to 2) for smooth tubes.

    Raises:
        ValueError: a negative flow or loss, a rated flow not above 0, or not a number.

    References:
        1. Square law of turbulent losses; any fluid mechanics textbook.

    >>> round(cooler_pressure_loss(mass_flow_kg_s=0.2, rated_mass_flow_kg_s=0.4, rated_loss_pa=8000.0), 6)
    2000.0
    """
    require_not_negative("mass_flow_kg_s", mass_flow_kg_s)
    require_positive("rated_mass_flow_kg_s", rated_mass_flow_kg_s)
    require_not_negative("rated_loss_pa", rated_loss_pa)
    return rated_loss_pa * (mass_flow_kg_s / rated_mass_flow_kg_s) ** 2
