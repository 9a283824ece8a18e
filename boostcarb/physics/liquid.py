"""Flow of liquid fuel through jets, needle seats and lines."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from boostcarb.physics.constants import (
    STANDARD_GRAVITY,
    require_not_negative,
    require_positive,
    require_within,
)

LAMINAR_REYNOLDS: Final = 2300.0
"""Reynolds number up to which pipe flow is taken as laminar."""

TURBULENT_REYNOLDS: Final = 4000.0
"""Reynolds number from which pipe flow is taken as fully turbulent."""


def effective_bore_area(*, diameter_m: float, discharge_coefficient: float) -> float:
    """Effective area of a round jet, restriction or nozzle.

    Args:
        diameter_m: bore, m, at least 0.
        discharge_coefficient: flow over ideal flow of the bore, above 0, at most 1 (no unit). Jets lie
            between 0.6 (thin, sharp edge) and 0.9 (long, rounded); one jet differs from the next by 5 %.

    Returns:
        Discharge coefficient times area, m2.

    Raises: ValueError for a negative diameter, or a coefficient outside 0 to 1.

    References:
        1. Range: NACA report of Joachim on small round orifices, 0.62 to 0.88 (abstract only, at far
           higher pressures).

    >>> round(effective_bore_area(diameter_m=1.6e-3, discharge_coefficient=0.75) * 1e6, 3)
    1.508
    """
    require_not_negative("diameter_m", diameter_m)
    require_positive("discharge_coefficient", discharge_coefficient)
    require_within("discharge_coefficient", discharge_coefficient, 0.0, 1.0)
    return discharge_coefficient * 0.25 * math.pi * diameter_m * diameter_m


def effective_area_in_series(*, effective_areas_m2: Iterable[float]) -> float:
    """One effective area that passes as much liquid as several restrictions one behind the other.

    Takes discharge coefficient times area of each, m2; gives an area below the smallest, 0 when one is
    closed. Valid for liquid, and where each jet loses its speed before the next restriction.

    Raises: ValueError for no area, or a negative one.

    >>> round(effective_area_in_series(effective_areas_m2=[3e-6, 4e-6]) * 1e6, 9)
    2.4
    """
    areas = tuple(effective_areas_m2)
    if not areas:
        raise ValueError("effective_areas_m2 must hold at least one area, got none")
    for area in areas:
        require_not_negative("effective_areas_m2", area)
    smallest = min(areas)
    if smallest == 0.0:
        return 0.0
    return smallest / math.sqrt(math.fsum((smallest / area) ** 2 for area in areas))


def column_pressure(*, density_kg_m3: float, height_m: float, acceleration_m_s2: float = STANDARD_GRAVITY) -> float:
    """Pressure difference along a column of liquid.

    Args:
        density_kg_m3: density of the liquid, kg/m3, above 0.
        height_m: height of the column, or its length along the acceleration, m; negative downwards.
        acceleration_m_s2: acceleration along the column, m/s2; gravity for a column that stands.

    Returns:
        Pressure at the bottom less pressure at the top, Pa: some 7 kPa per meter and g.

    Raises:
        ValueError: a density not above 0, or an argument beyond a million or not a number.

    >>> round(column_pressure(density_kg_m3=745.0, height_m=3.0))
    21918
    """
    require_positive("density_kg_m3", density_kg_m3)
    require_within("height_m", height_m, -1e6, 1e6)
    require_within("acceleration_m_s2", acceleration_m_s2, -1e6, 1e6)
    return density_kg_m3 * acceleration_m_s2 * height_m


def liquid_orifice_mass_flow(
    *,
    effective_area_m2: float,
    pressure_1_pa_abs: float,
    pressure_2_pa_abs: float,
    density_kg_m3: float,
    rise_m: float = 0.0,
) -> float:
    """Mass flow of liquid through an orifice, with its sign.

    Args:
        effective_area_m2: discharge coefficient times area, m2, at least 0.
        pressure_1_pa_abs: pressure over the liquid on side 1, Pa absolute, at least 0.
        pressure_2_pa_abs: pressure on side 2, Pa absolute, at least 0.
        density_kg_m3: density of the liquid, kg/m3, above 0.
        rise_m: height the liquid gains from its surface on side 1 to side 2, m; negative if it falls.

    Returns:
        Mass flow, kg/s: positive from side 1 to side 2.

    Valid for turbulent flow (the coefficient falls below a bore Reynolds number of some thousands) of a
    liquid that does not boil in the orifice.

    Raises:
        ValueError: a negative area or pressure, a density not above 0, or not a number.

    References:
        1. Bernoulli and Torricelli; any fluid mechanics textbook.

    >>> flow = liquid_orifice_mass_flow(effective_area_m2=0.589e-6, pressure_1_pa_abs=106895.0,
    ...     pressure_2_pa_abs=1e5, density_kg_m3=745.0)
    >>> round(flow * 1e3, 3)
    1.888
    """
    require_not_negative("effective_area_m2", effective_area_m2)
    require_not_negative("pressure_1_pa_abs", pressure_1_pa_abs)
    require_not_negative("pressure_2_pa_abs", pressure_2_pa_abs)
    head = column_pressure(density_kg_m3=density_kg_m3, height_m=rise_m)
    driving = pressure_1_pa_abs - pressure_2_pa_abs - head
    return math.copysign(effective_area_m2 * math.sqrt(2.0 * density_kg_m3 * abs(driving)), driving)


def liquid_effective_area_for_flow(
    *,
    mass_flow_kg_s: float,
    pressure_1_pa_abs: float,
    pressure_2_pa_abs: float,
    density_kg_m3: float,
    rise_m: float = 0.0,
) -> float:
    """Effective orifice area that passes a given mass flow of liquid from side 1 to side 2.

    The inverse of :func:`liquid_orifice_mass_flow`, with the same arguments and validity; takes kg/s, at
    least 0, and gives discharge coefficient times area, m2.

    Raises:
        ValueError: a negative flow, pressures that do not drive the liquid to side 2, a negative
            pressure, a density not above 0, or not a number.

    >>> area = liquid_effective_area_for_flow(mass_flow_kg_s=1.888e-3, pressure_1_pa_abs=106895.0,
    ...     pressure_2_pa_abs=1e5, density_kg_m3=745.0)
    >>> round(area * 1e6, 3)
    0.589
    """
    require_not_negative("mass_flow_kg_s", mass_flow_kg_s)
    flow_per_area = liquid_orifice_mass_flow(
        effective_area_m2=1.0,
        pressure_1_pa_abs=pressure_1_pa_abs,
        pressure_2_pa_abs=pressure_2_pa_abs,
        density_kg_m3=density_kg_m3,
        rise_m=rise_m,
    )
    if flow_per_area <= 0.0:
        raise ValueError(
            f"pressure_1_pa_abs must lift the liquid by {rise_m!r} m against pressure_2_pa_abs "
            f"{pressure_2_pa_abs!r}, got {pressure_1_pa_abs!r}"
        )
    return mass_flow_kg_s / flow_per_area


def needle_seat_effective_area(
    *, seat_diameter_m: float, lift_m: float, cone_angle_rad: float, discharge_coefficient: float
) -> float:
    """Effective area of a float needle's seat: its bore, or the gap round the cone while that is smaller.

    Args:
        seat_diameter_m: bore of the seat, m, at least 0.
        lift_m: lift of the needle off its seat, m, at least 0.
        cone_angle_rad: full angle of the needle's cone, rad, above 0, at most pi (a flat needle).
        discharge_coefficient: flow over ideal flow, above 0, at most 1 (no unit); 0.55 to 0.65 is usual.

    Returns:
        Discharge coefficient times area, m2.

    Valid for lifts up to about a quarter of the bore; the gap is taken as pi d lift sin(half angle),
    which leaves out that the cone is narrower at its tip (10 % too large at the change-over).

    Raises:
        ValueError: a negative bore or lift, an angle outside 0 to pi, a coefficient outside 0 to 1.

    >>> area = needle_seat_effective_area(seat_diameter_m=2.5e-3, lift_m=1e-3,
    ...     cone_angle_rad=1.047, discharge_coefficient=0.6)
    >>> round(area * 1e6, 3)
    2.356
    """
    require_not_negative("seat_diameter_m", seat_diameter_m)
    require_not_negative("lift_m", lift_m)
    require_positive("cone_angle_rad", cone_angle_rad)
    require_within("cone_angle_rad", cone_angle_rad, 0.0, math.pi)
    bore = effective_bore_area(diameter_m=seat_diameter_m, discharge_coefficient=discharge_coefficient)
    curtain = math.pi * seat_diameter_m * lift_m * math.sin(0.5 * cone_angle_rad)
    return min(bore, discharge_coefficient * curtain)


def friction_factor(*, reynolds: float, relative_roughness: float = 0.0) -> float:
    """Darcy friction factor of a round pipe.

    Args:
        reynolds: Reynolds number of the bore, above 0 (no unit).
        relative_roughness: height of the roughness over the bore, 0 to 0.05 (no unit).

    Returns:
        Friction factor, no unit.

    Laminar (64/Re) up to a Reynolds number of 2300; from 4000 to 1e8 Serghides' explicit form of
    Colebrook's equation (within 0.01 %; that equation itself is good to some 10 %). In between the factor
    is a straight line from one to the other: flow there is not settled, and the line only avoids a jump.

    Raises: ValueError for a Reynolds number outside 0 to 1e8, or a roughness outside 0 to 0.05.

    References:
        1. C. F. Colebrook, Journal of the Institution of Civil Engineers 11, 1939.
        2. T. K. Serghides, Chemical Engineering 91, 1984 (cited from memory).

    >>> round(friction_factor(reynolds=2000.0), 6), round(friction_factor(reynolds=1e5, relative_roughness=1e-3), 5)
    (0.032, 0.02217)
    """
    require_positive("reynolds", reynolds)
    require_within("reynolds", reynolds, 0.0, 1e8)
    require_within("relative_roughness", relative_roughness, 0.0, 0.05)
    if reynolds <= LAMINAR_REYNOLDS:
        return 64.0 / reynolds
    if reynolds >= TURBULENT_REYNOLDS:
        return _colebrook(reynolds, relative_roughness)
    laminar = 64.0 / LAMINAR_REYNOLDS
    share = (reynolds - LAMINAR_REYNOLDS) / (TURBULENT_REYNOLDS - LAMINAR_REYNOLDS)
    return laminar + share * (_colebrook(TURBULENT_REYNOLDS, relative_roughness) - laminar)


def _colebrook(reynolds: float, relative_roughness: float) -> float:
    rough = relative_roughness / 3.7
    a = -2.0 * math.log10(rough + 12.0 / reynolds)
    b = -2.0 * math.log10(rough + 2.51 * a / reynolds)
    c = -2.0 * math.log10(rough + 2.51 * b / reynolds)
    return (a - (b - a) ** 2 / (c - 2.0 * b + a)) ** -2


def line_pressure_loss(
    *,
    mass_flow_kg_s: float,
    length_m: float,
    diameter_m: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
    roughness_m: float = 1.5e-6,
    loss_coefficient: float = 0.0,
) -> float:
    """Pressure loss of a round fuel line and its fittings.

    Args:
        mass_flow_kg_s: mass flow, kg/s, at least 0.
        length_m: length of the line, m, at least 0.
        diameter_m: bore of the line, m, above 0.
        density_kg_m3: density of the liquid, kg/m3, above 0.
        viscosity_pa_s: dynamic viscosity, Pa s, above 0.
        roughness_m: height of the roughness, m, at least 0; 1.5 um is drawn tube.
        loss_coefficient: sum of the fittings' losses over the dynamic pressure, at least 0 (no unit):
            sharp entrance 0.5, free exit 1.

    Returns:
        Pressure loss, Pa. Lift and acceleration come on top: :func:`column_pressure`.

    Valid where :func:`friction_factor` is; steady flow (a pulsing pump loses more).

    Raises: ValueError for an argument outside its range above, or a Reynolds number above 1e8.

    >>> loss = line_pressure_loss(mass_flow_kg_s=0.03104, length_m=3.0, diameter_m=8e-3,
    ...     density_kg_m3=745.0, viscosity_pa_s=5e-4)
    >>> round(loss, -1)
    3000.0
    """
    require_not_negative("mass_flow_kg_s", mass_flow_kg_s)
    require_not_negative("length_m", length_m)
    require_positive("diameter_m", diameter_m)
    require_positive("density_kg_m3", density_kg_m3)
    require_positive("viscosity_pa_s", viscosity_pa_s)
    require_not_negative("roughness_m", roughness_m)
    require_not_negative("loss_coefficient", loss_coefficient)
    if mass_flow_kg_s == 0.0:
        return 0.0
    flow_per_area = mass_flow_kg_s / (0.25 * math.pi * diameter_m * diameter_m)
    factor = friction_factor(
        reynolds=flow_per_area * diameter_m / viscosity_pa_s, relative_roughness=roughness_m / diameter_m
    )
    dynamic = 0.5 * flow_per_area * flow_per_area / density_kg_m3
    return (factor * length_m / diameter_m + loss_coefficient) * dynamic
