"""Flow of a perfect gas through orifices, valves and venturis."""

from __future__ import annotations

import math

from boostcarb.physics.constants import (
    GAMMA_AIR,
    GAS_CONSTANT_AIR,
    STANDARD_PRESSURE,
    STANDARD_TEMPERATURE,
    require_gamma,
    require_not_negative,
    require_positive,
    require_within,
)


def density(*, pressure_pa_abs: float, temperature_k: float) -> float:
    """Density of dry air as a perfect gas.

    Args:
        pressure_pa_abs: pressure, Pa absolute, above 0.
        temperature_k: temperature, K, above 0.

    Returns:
        Density, kg/m3.

    Valid to 0.5 % from 250 to 450 K and up to 5 bar.

    Raises:
        ValueError: a pressure or temperature that is not finite and above 0.

    References:
        1. US Standard Atmosphere, 1976 (perfect-gas law and gas constant).

    >>> round(density(pressure_pa_abs=101325.0, temperature_k=288.15), 5)
    1.225
    """
    require_positive("pressure_pa_abs", pressure_pa_abs)
    require_positive("temperature_k", temperature_k)
    return pressure_pa_abs / (GAS_CONSTANT_AIR * temperature_k)


def critical_pressure_ratio(*, gamma: float = GAMMA_AIR) -> float:
    """Pressure ratio (downstream over upstream) at and below which an orifice is choked.

    Args:
        gamma: ratio of specific heats, above 1 (no unit).

    Returns:
        Critical ratio, no unit: 0.528 for air.

    Valid for isentropic flow of a perfect gas.

    Raises:
        ValueError: gamma not above 1, or not a number.

    References:
        1. Ames Research Staff, NACA Report 1135, 1953.

    >>> round(critical_pressure_ratio(), 6)
    0.528282
    """
    require_gamma(gamma)
    return math.pow(2.0 / (gamma + 1.0), gamma / (gamma - 1.0))


def choked_flow_function(*, gamma: float = GAMMA_AIR) -> float:
    """Largest value of the flow function: the one of a choked orifice.

    Args:
        gamma: ratio of specific heats, above 1 (no unit).

    Returns:
        mdot sqrt(R T0) / (A p0) of choked flow, no unit: 0.6847 for air.

    Valid for isentropic flow of a perfect gas.

    Raises:
        ValueError: gamma not above 1, or not a number.

    References:
        1. Ames Research Staff, NACA Report 1135, 1953.

    >>> round(choked_flow_function(), 6)
    0.684731
    """
    require_gamma(gamma)
    return math.sqrt(gamma) * math.pow(2.0 / (gamma + 1.0), 0.5 * (gamma + 1.0) / (gamma - 1.0))


def flow_function(*, pressure_ratio: float, gamma: float = GAMMA_AIR) -> float:
    """Flow function psi of an orifice, in mdot = A p_up psi / sqrt(R T_up).

    Args:
        pressure_ratio: downstream over upstream absolute pressure, 0 to 1 (no unit).
        gamma: ratio of specific heats, above 1 (no unit).

    Returns:
        psi, no unit: 0 at ratio 1, constant at and below the critical ratio.

    Valid for quasi-steady adiabatic flow of a perfect gas. The slope is infinite at ratio 1; a Newton
    step needs :func:`laminar_flow_function` instead.

    Raises:
        ValueError: a ratio outside 0 to 1, gamma not above 1, or not a number.

    References:
        1. A. J. C. B. de Saint-Venant and L. Wantzel, Journal de l'Ecole polytechnique 27, 1839.

    >>> round(flow_function(pressure_ratio=0.9), 4)
    0.4226
    >>> flow_function(pressure_ratio=0.2) == flow_function(pressure_ratio=0.5)
    True
    """
    require_within("pressure_ratio", pressure_ratio, 0.0, 1.0)
    if pressure_ratio <= critical_pressure_ratio(gamma=gamma):
        return choked_flow_function(gamma=gamma)
    # expm1 keeps the last digits of a small difference, where subtracting two powers would lose them.
    logarithm = math.log(pressure_ratio)
    head = -math.expm1(logarithm * (gamma - 1.0) / gamma)
    return math.exp(logarithm / gamma) * math.sqrt(2.0 * gamma / (gamma - 1.0) * head)


def flow_function_slope(*, pressure_ratio: float, gamma: float = GAMMA_AIR) -> float:
    """Slope of the flow function over the pressure ratio.

    Args:
        pressure_ratio: downstream over upstream absolute pressure, at least 0, below 1 (no unit).
        gamma: ratio of specific heats, above 1 (no unit).

    Returns:
        d psi / d ratio, no unit, never positive; 0 at and below the critical ratio.

    Valid where :func:`flow_function` is, except at ratio 1, where the slope is infinite.

    Raises:
        ValueError: a ratio outside 0 to 1, a ratio of 1, gamma not above 1, or not a number.

    References:
        1. Derivative of the flow function of Saint-Venant and Wantzel, 1839.

    >>> round(flow_function_slope(pressure_ratio=0.9), 3)
    -1.859
    """
    require_within("pressure_ratio", pressure_ratio, 0.0, 1.0)
    if pressure_ratio == 1.0:
        raise ValueError("pressure_ratio must be below 1 for a finite slope, got 1.0")
    if pressure_ratio <= critical_pressure_ratio(gamma=gamma):
        return 0.0
    psi = flow_function(pressure_ratio=pressure_ratio, gamma=gamma)
    squared_slope = (
        2.0 * math.pow(pressure_ratio, 2.0 / gamma - 1.0) - (gamma + 1.0) * math.pow(pressure_ratio, 1.0 / gamma)
    ) / (gamma - 1.0)
    return squared_slope / psi


def laminar_flow_function(*, pressure_ratio: float, gamma: float = GAMMA_AIR, laminar_ratio: float = 0.999) -> float:
    """Flow function with a finite slope at zero pressure difference.

    Args:
        pressure_ratio: downstream over upstream absolute pressure, 0 to 1 (no unit).
        gamma: ratio of specific heats, above 1 (no unit).
        laminar_ratio: pressure ratio above which the curve is a parabola, from the critical ratio to
            just below 1 (no unit).

    Returns:
        psi, no unit. Equal to :func:`flow_function` at and below ``laminar_ratio``; above it a parabola
        through 0 at ratio 1 that takes over value and slope, so that value and slope have no jump.

    Valid where :func:`flow_function` is. The parabola keeps a solver's step defined; it stands in for
    laminar flow without claiming its magnitude. Below a difference of ``1 - laminar_ratio`` of the
    upstream pressure it gives less flow than the orifice law.

    Raises:
        ValueError: a ratio outside 0 to 1, ``laminar_ratio`` below the critical ratio or not below 1,
            gamma not above 1, or not a number.

    References:
        1. The parabola is this project's own; the orifice law is Saint-Venant and Wantzel, 1839.

    >>> laminar_flow_function(pressure_ratio=0.9) == flow_function(pressure_ratio=0.9)
    True
    >>> round(laminar_flow_function(pressure_ratio=0.9999), 6)
    0.006483
    """
    require_within("pressure_ratio", pressure_ratio, 0.0, 1.0)
    critical = critical_pressure_ratio(gamma=gamma)
    if not critical <= laminar_ratio < 1.0:
        raise ValueError(f"laminar_ratio must be from {critical:.9g} to below 1, got {laminar_ratio!r}")
    if pressure_ratio <= laminar_ratio:
        return flow_function(pressure_ratio=pressure_ratio, gamma=gamma)
    width = 1.0 - laminar_ratio
    value = flow_function(pressure_ratio=laminar_ratio, gamma=gamma)
    rise = -width * flow_function_slope(pressure_ratio=laminar_ratio, gamma=gamma)
    x = (1.0 - pressure_ratio) / width
    return x * ((2.0 * value - rise) + (rise - value) * x)


def orifice_mass_flow(
    *,
    effective_area_m2: float,
    pressure_1_pa_abs: float,
    pressure_2_pa_abs: float,
    temperature_k: float,
    gamma: float = GAMMA_AIR,
    gas_constant: float = GAS_CONSTANT_AIR,
) -> float:
    """Mass flow of gas through an orifice, with its sign.

    Args:
        effective_area_m2: discharge coefficient times area, m2, at least 0.
        pressure_1_pa_abs: pressure on side 1, Pa absolute, above 0.
        pressure_2_pa_abs: pressure on side 2, Pa absolute, above 0.
        temperature_k: temperature of whichever side is upstream, K, above 0.
        gamma: ratio of specific heats, above 1 (no unit).
        gas_constant: specific gas constant, J/(kg K), above 0.

    Returns:
        Mass flow, kg/s: positive from side 1 to side 2.

    Valid for quasi-steady adiabatic flow of a perfect gas, choked or not, with the approach velocity
    negligible.

    Raises:
        ValueError: a negative area, a pressure, temperature or gas constant not above 0, gamma not
            above 1, or not a number.

    References:
        1. A. J. C. B. de Saint-Venant and L. Wantzel, Journal de l'Ecole polytechnique 27, 1839.

    >>> flow = orifice_mass_flow(
    ...     effective_area_m2=1e-6, pressure_1_pa_abs=2e5, pressure_2_pa_abs=1e5, temperature_k=293.15)
    >>> round(flow * 1000.0, 4)
    0.4721
    """
    require_not_negative("effective_area_m2", effective_area_m2)
    require_positive("pressure_1_pa_abs", pressure_1_pa_abs)
    require_positive("pressure_2_pa_abs", pressure_2_pa_abs)
    require_positive("temperature_k", temperature_k)
    require_positive("gas_constant", gas_constant)
    upstream = max(pressure_1_pa_abs, pressure_2_pa_abs)
    downstream = min(pressure_1_pa_abs, pressure_2_pa_abs)
    psi = flow_function(pressure_ratio=downstream / upstream, gamma=gamma)
    flow = effective_area_m2 * upstream * psi / math.sqrt(gas_constant * temperature_k)
    return flow if pressure_1_pa_abs >= pressure_2_pa_abs else -flow


def effective_area_for_flow(
    *,
    mass_flow_kg_s: float,
    pressure_up_pa_abs: float,
    pressure_down_pa_abs: float,
    temperature_k: float,
    gamma: float = GAMMA_AIR,
    gas_constant: float = GAS_CONSTANT_AIR,
) -> float:
    """Effective orifice area that passes a given mass flow between two pressures.

    Args:
        mass_flow_kg_s: mass flow, kg/s, at least 0.
        pressure_up_pa_abs: upstream pressure, Pa absolute, above 0.
        pressure_down_pa_abs: downstream pressure, Pa absolute, above 0 and below the upstream pressure.
        temperature_k: upstream temperature, K, above 0.
        gamma: ratio of specific heats, above 1 (no unit).
        gas_constant: specific gas constant, J/(kg K), above 0.

    Returns:
        Discharge coefficient times area, m2.

    Valid where :func:`orifice_mass_flow` is, of which this is the inverse.

    Raises:
        ValueError: a negative flow, a downstream pressure not below the upstream one, a pressure,
            temperature or gas constant not above 0, gamma not above 1, or not a number.

    References:
        1. A. J. C. B. de Saint-Venant and L. Wantzel, Journal de l'Ecole polytechnique 27, 1839.

    >>> area = effective_area_for_flow(mass_flow_kg_s=0.1, pressure_up_pa_abs=101325.0,
    ...     pressure_down_pa_abs=96000.0, temperature_k=288.15)
    >>> round(area * 1e6, 1)
    901.2
    """
    require_not_negative("mass_flow_kg_s", mass_flow_kg_s)
    require_positive("pressure_up_pa_abs", pressure_up_pa_abs)
    require_positive("pressure_down_pa_abs", pressure_down_pa_abs)
    if pressure_down_pa_abs >= pressure_up_pa_abs:
        raise ValueError(
            f"pressure_down_pa_abs must be below pressure_up_pa_abs {pressure_up_pa_abs!r}, "
            f"got {pressure_down_pa_abs!r}"
        )
    flow_per_area = orifice_mass_flow(
        effective_area_m2=1.0,
        pressure_1_pa_abs=pressure_up_pa_abs,
        pressure_2_pa_abs=pressure_down_pa_abs,
        temperature_k=temperature_k,
        gamma=gamma,
        gas_constant=gas_constant,
    )
    return mass_flow_kg_s / flow_per_area


def effective_area_from_rating(
    *,
    volume_flow_m3_s: float,
    pressure_drop_pa: float,
    pressure_up_pa_abs: float = STANDARD_PRESSURE,
    temperature_k: float = STANDARD_TEMPERATURE,
) -> float:
    """Effective orifice area of a carburetor from its rated air flow at its rated drop.

    The trade rates four-barrels at a drop of 1.5 inHg (5080 Pa) and one- and two-barrels at 3.0 inHg
    (10159 Pa): common practice, no standard. Two ratings compare only after this conversion.

    Args:
        volume_flow_m3_s: rated volume flow at the upstream density, m3/s, at least 0.
        pressure_drop_pa: drop at which the flow was rated, Pa, above 0, below the upstream pressure.
        pressure_up_pa_abs: pressure in front of the carburetor at the rating, Pa absolute, above 0.
        temperature_k: air temperature in front of the carburetor at the rating, K, above 0.

    Returns:
        Discharge coefficient times area, m2.

    Valid for dry air at an open throttle; the carburetor is one compressible orifice, so that denser
    flow and large drops come out of the same area. The area goes with the root of the air density that
    is assumed for the rating.

    Raises:
        ValueError: a negative flow, a drop not above 0 or not below the upstream pressure, a pressure
            or temperature not above 0, or not a number.

    References:
        1. A. J. C. B. de Saint-Venant and L. Wantzel, Journal de l'Ecole polytechnique 27, 1839.

    >>> area = effective_area_from_rating(volume_flow_m3_s=0.28317, pressure_drop_pa=5079.6)
    >>> round(area * 1e4, 2)
    31.96
    """
    require_not_negative("volume_flow_m3_s", volume_flow_m3_s)
    require_positive("pressure_drop_pa", pressure_drop_pa)
    require_positive("pressure_up_pa_abs", pressure_up_pa_abs)
    if pressure_drop_pa >= pressure_up_pa_abs:
        raise ValueError(
            f"pressure_drop_pa must be below pressure_up_pa_abs {pressure_up_pa_abs!r}, got {pressure_drop_pa!r}"
        )
    return effective_area_for_flow(
        mass_flow_kg_s=volume_flow_m3_s * density(pressure_pa_abs=pressure_up_pa_abs, temperature_k=temperature_k),
        pressure_up_pa_abs=pressure_up_pa_abs,
        pressure_down_pa_abs=pressure_up_pa_abs - pressure_drop_pa,
        temperature_k=temperature_k,
    )
