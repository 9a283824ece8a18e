"""Tilted free surfaces against a textbook mug, plain tangents and numerical integration."""

from __future__ import annotations

import math

import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from boostcarb.physics.slosh import free_surface, surface_slope, uncovering_acceleration, uncovering_slope

GRAVITY = 9.80665


# Source: F. M. White, Fluid Mechanics, coffee mug at 7 m/s2, radius 3 cm, 7 cm of coffee in 10 cm (from
# memory): 35.5 degrees, rise 2.14 cm. Tolerance: the digits given.
def test_coffee_mug() -> None:
    slope = surface_slope(acceleration_m_s2=7.0)
    assert math.degrees(math.atan(slope)) == pytest.approx(35.5, abs=0.05)
    surface = free_surface(length_m=0.06, height_m=0.10, still_level_m=0.07, slope=slope)
    assert surface.level_m(position_m=-0.03) - 0.07 == pytest.approx(0.0214, abs=5e-5)
    assert not surface.touches_floor
    assert not surface.touches_lid


# Source: tan = a/g, worked by hand for a half-length of 50 mm. Tolerance: the digits given.
@pytest.mark.parametrize(
    ("in_g", "degrees", "rise_mm"),
    [(0.25, 14.04, 12.5), (0.5, 26.57, 25.0), (0.8, 38.66, 40.0), (1.0, 45.0, 50.0), (1.2, 50.19, 60.0)],
)
def test_tilt_and_rise(in_g: float, degrees: float, rise_mm: float) -> None:
    slope = surface_slope(acceleration_m_s2=in_g * GRAVITY)
    assert math.degrees(math.atan(slope)) == pytest.approx(degrees, abs=5e-3)
    surface = free_surface(length_m=0.1, height_m=0.2, still_level_m=0.1, slope=slope)
    assert surface.level_m(position_m=-0.05) - 0.1 == pytest.approx(rise_mm * 1e-3, abs=1e-9)


# Source: a triangle worked by hand: at 1 g a bowl of 100 mm with 20 mm of fuel holds a wedge of
# sqrt(2 x 20 x 100) = 63.25 mm. Lid at 80 mm.
def test_wedge_on_a_dry_floor() -> None:
    surface = free_surface(length_m=0.1, height_m=0.08, still_level_m=0.02, slope=1.0)
    assert surface.level_m(position_m=-0.05) == pytest.approx(63.25e-3, abs=1e-5)
    assert surface.level_m(position_m=0.02) == 0.0


# Oracle: scipy finds the surface that holds the fuel by integrating the clipped line. Tolerance 0.1 um.
@pytest.mark.parametrize("slope", [0.2, 0.55, 0.9, 1.6, 4.0])
@pytest.mark.parametrize("level", [0.004, 0.012, 0.02, 0.033])
def test_surface_matches_numerical_volume_balance(slope: float, level: float) -> None:
    length, height = 0.1, 0.04

    def excess(middle: float) -> float:
        corners = sorted({min(0.05, max(-0.05, (middle - each) / slope)) for each in (0.0, height)})
        area, _ = quad(lambda x: min(height, max(0.0, middle - slope * x)), -0.05, 0.05, points=corners, epsabs=1e-14)
        return float(area) - level * length

    middle = brentq(excess, -slope * length, height + slope * length, xtol=1e-13)
    surface = free_surface(length_m=length, height_m=height, still_level_m=level, slope=slope)
    assert surface.middle_m == pytest.approx(middle, abs=1e-7)


# Source: a = g (level - jet) / distance while neither floor nor lid is reached: 20 mm of fuel over a jet at
# 5 mm, 40 mm ahead, 0.375 g; on a climb of 10 % the same jet comes out at the tangent's sum.
def test_uncovering_acceleration() -> None:
    slope = uncovering_slope(length_m=0.1, height_m=0.05, still_level_m=0.02, position_m=0.04, jet_height_m=0.005)
    assert uncovering_acceleration(slope=slope) / GRAVITY == pytest.approx(0.375, rel=1e-9)
    grade = math.atan(0.1)
    climbing = uncovering_acceleration(slope=slope, grade_rad=grade)
    assert climbing / GRAVITY == pytest.approx((0.375 - 0.1) * math.cos(grade), rel=1e-9)
