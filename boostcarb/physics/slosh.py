"""Fuel level in a rectangular float bowl under acceleration and on a grade."""

from __future__ import annotations

import math
from dataclasses import dataclass

from boostcarb.physics.constants import STANDARD_GRAVITY, require_not_negative, require_positive, require_within


def surface_slope(
    *, acceleration_m_s2: float, grade_rad: float = 0.0, vertical_acceleration_m_s2: float = 0.0
) -> float:
    """Fall of the fuel's surface per length along the bowl, in the direction of the acceleration.

    Args:
        acceleration_m_s2: acceleration along the bowl, m/s2; negative for braking.
        grade_rad: angle by which the bowl climbs in that direction, rad, above -pi/2, below pi/2.
        vertical_acceleration_m_s2: acceleration upwards, square to the bowl's floor, m/s2.

    Returns:
        Tangent of the angle between surface and floor, no unit; positive when the fuel stands higher at
        the rear.

    Valid for fuel at rest in the bowl (steady for a tenth of a second or more), without baffles.

    Raises:
        ValueError: a grade outside its range, no weight left to hold the fuel down, or not a number.

    References:
        1. F. M. White, Fluid Mechanics, rigid-body acceleration (cited from memory).

    >>> round(math.degrees(math.atan(surface_slope(acceleration_m_s2=7.0))), 2)
    35.52
    """
    require_within("acceleration_m_s2", acceleration_m_s2, -1e4, 1e4)
    require_within("grade_rad", grade_rad, -0.5 * math.pi, 0.5 * math.pi)
    weight = STANDARD_GRAVITY * math.cos(grade_rad) + vertical_acceleration_m_s2
    require_positive("weight per mass", weight)
    return (acceleration_m_s2 + STANDARD_GRAVITY * math.sin(grade_rad)) / weight


@dataclass(frozen=True, slots=True)
class FreeSurface:
    """Straight surface of the fuel in a bowl.

    Attributes:
        slope: fall per length towards the front, no unit.
        middle_m: height of the surface's line above the floor in the middle of the bowl, m; outside 0 to
            the bowl's height where floor or lid cut the line off there.
        length_m: length of the bowl along the acceleration, m.
        height_m: height of the bowl from floor to lid, m.
        touches_floor: part of the floor is dry.
        touches_lid: part of the lid is wet.
    """

    slope: float
    middle_m: float
    length_m: float
    height_m: float
    touches_floor: bool
    touches_lid: bool

    def level_m(self, *, position_m: float) -> float:
        """Level above the floor, m, at a position ahead of the bowl's middle, m (negative behind it).

        Raises: ValueError for a position outside the bowl.
        """
        require_within("position_m", position_m, -0.5 * self.length_m, 0.5 * self.length_m)
        return min(self.height_m, max(0.0, self.middle_m - self.slope * position_m))


def free_surface(*, length_m: float, height_m: float, still_level_m: float, slope: float) -> FreeSurface:
    """Surface of the fuel at a slope: the bowl keeps its fuel, whether floor or lid are reached or not.

    Args:
        length_m: length of the bowl along the acceleration, m, above 0.
        height_m: height from floor to lid, m, above 0.
        still_level_m: level above the floor at rest, m, from 0 to the height.
        slope: fall of the surface per length towards the front, no unit; :func:`surface_slope`.

    Returns:
        The surface.

    Valid for a closed rectangular bowl while the float valve neither adds fuel nor spills it, and for a
    float that takes up no room.

    Raises:
        ValueError: an argument outside its range above, or not a number.

    References:
        1. Volume balance of the tilted surface.

    >>> surface = free_surface(length_m=0.1, height_m=0.04, still_level_m=0.02, slope=1.0)
    >>> round(surface.level_m(position_m=-0.02), 4), round(surface.level_m(position_m=0.02), 4)
    (0.04, 0.0)
    """
    require_positive("length_m", length_m)
    require_positive("height_m", height_m)
    require_within("still_level_m", still_level_m, 0.0, height_m)
    require_within("slope", slope, -1e6, 1e6)
    steep = abs(slope)
    half_rise = 0.5 * steep * length_m
    room = height_m - still_level_m
    # A wedge of fuel (or of air, under the lid) at slope s that fills q of the area is sqrt(2 q s) high.
    wedge, air_wedge = (math.sqrt(2.0 * level * length_m * steep) for level in (still_level_m, room))
    dry_floor = still_level_m < half_rise
    wet_lid = room < half_rise
    if dry_floor and wedge <= height_m:
        wet_lid = False
        wall = wedge
    elif wet_lid and air_wedge <= height_m:
        dry_floor = False
        wall = height_m - air_wedge + steep * length_m
    elif dry_floor or wet_lid:
        dry_floor = wet_lid = True
        wall = 0.5 * height_m + steep * length_m * still_level_m / height_m
    else:
        wall = still_level_m + half_rise
    return FreeSurface(slope, wall - half_rise, length_m, height_m, dry_floor, wet_lid)


def uncovering_slope(
    *, length_m: float, height_m: float, still_level_m: float, position_m: float, jet_height_m: float
) -> float:
    """Smallest slope, falling towards the front, at which a jet's inlet comes out of the fuel.

    Args:
        length_m: length of the bowl along the acceleration, m, above 0.
        height_m: height from floor to lid, m, above 0.
        still_level_m: level above the floor at rest, m, from 0 to the height.
        position_m: where the jet draws, ahead of the bowl's middle, m; negative behind it.
        jet_height_m: height above the floor that the fuel must keep there, m, from 0 to the height.

    Returns:
        Slope, no unit: 0 when the jet is uncovered at rest, infinite when no slope uncovers it.

    Valid where :func:`free_surface` is. For braking, or a slope towards the rear, give the position with
    its sign changed.

    Raises:
        ValueError: an argument outside its range above, or not a number.

    References:
        1. Each case of the volume balance, solved for the slope.

    >>> round(uncovering_slope(length_m=0.1, height_m=0.05, still_level_m=0.025, position_m=0.04,
    ...     jet_height_m=0.005), 9)
    0.5
    """
    require_positive("length_m", length_m)
    require_positive("height_m", height_m)
    require_within("still_level_m", still_level_m, 0.0, height_m)
    require_within("position_m", position_m, -0.5 * length_m, 0.5 * length_m)
    require_within("jet_height_m", jet_height_m, 0.0, height_m)
    if still_level_m <= jet_height_m:
        return 0.0
    behind = position_m + 0.5 * length_m
    ahead = length_m - behind
    room = height_m - still_level_m
    candidates: list[float] = []
    if position_m > 0.0:
        candidates.append((still_level_m - jet_height_m) / position_m)
    candidates += _wedge_slopes(2.0 * still_level_m * length_m, behind, jet_height_m)
    candidates += _wedge_slopes(2.0 * room * length_m, ahead, height_m - jet_height_m)
    off_middle = behind - still_level_m * length_m / height_m
    if off_middle != 0.0:
        candidates.append((0.5 * height_m - jet_height_m) / off_middle)

    def reaches(slope: float) -> bool:
        surface = free_surface(length_m=length_m, height_m=height_m, still_level_m=still_level_m, slope=slope)
        return surface.level_m(position_m=position_m) <= jet_height_m + 1e-9 * height_m

    fitting = [slope for slope in candidates if 0.0 < slope <= 1e6 and reaches(slope)]
    return min(fitting, default=math.inf)


def _wedge_slopes(twice_area: float, distance: float, height: float) -> list[float]:
    """Slopes s at which a wedge of given area, sqrt(2 area s) high, is ``height`` high at a distance."""
    if twice_area == 0.0:
        return []
    if distance == 0.0:
        return [height * height / twice_area]
    discriminant = twice_area - 4.0 * distance * height
    if discriminant < 0.0:
        return []
    ends = (math.sqrt(twice_area) - math.sqrt(discriminant), math.sqrt(twice_area) + math.sqrt(discriminant))
    return [(0.5 * end / distance) ** 2 for end in ends]


def uncovering_acceleration(*, slope: float, grade_rad: float = 0.0, vertical_acceleration_m_s2: float = 0.0) -> float:
    """Acceleration along the bowl at which its surface has a slope: the inverse of :func:`surface_slope`.

    Args:
        slope: fall of the surface per length in the direction of the acceleration, no unit.
        grade_rad: angle by which the bowl climbs in that direction, rad, above -pi/2, below pi/2.
        vertical_acceleration_m_s2: acceleration upwards, square to the bowl's floor, m/s2.

    Returns:
        Acceleration, m/s2: negative when the grade alone is more than enough, infinite for an infinite slope.

    Raises:
        ValueError: a slope below 0, a grade outside its range, or no weight left to hold the fuel down.

    References:
        1. F. M. White, Fluid Mechanics, rigid-body acceleration (cited from memory).

    >>> round(uncovering_acceleration(slope=0.5), 3)
    4.903
    """
    if slope != math.inf:
        require_not_negative("slope", slope)
    require_within("grade_rad", grade_rad, -0.5 * math.pi, 0.5 * math.pi)
    weight = STANDARD_GRAVITY * math.cos(grade_rad) + vertical_acceleration_m_s2
    require_positive("weight per mass", weight)
    return slope * weight - STANDARD_GRAVITY * math.sin(grade_rad)
