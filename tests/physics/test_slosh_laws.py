"""Properties of the tilted fuel surface: volume, continuity where floor and lid are reached, symmetry."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from boostcarb.physics.slosh import (
    FreeSurface,
    free_surface,
    surface_slope,
    uncovering_acceleration,
    uncovering_slope,
)

LENGTH, HEIGHT = 0.1, 0.04
fills = st.floats(0.0, 1.0)
slopes = st.floats(-50.0, 50.0)
places = st.floats(-0.5, 0.5)


def surface(fill: float, slope: float) -> FreeSurface:
    return free_surface(length_m=LENGTH, height_m=HEIGHT, still_level_m=fill * HEIGHT, slope=slope)


def fuel_area(found: FreeSurface) -> float:
    """Area under the clipped line, by trapezoids between the places where it has a corner."""
    corners = [-0.5 * LENGTH, 0.5 * LENGTH]
    if found.slope != 0.0:
        corners += [(found.middle_m - height) / found.slope for height in (0.0, HEIGHT)]
    inside = sorted(each for each in corners if abs(each) <= 0.5 * LENGTH)
    levels = [found.level_m(position_m=each) for each in inside]
    return math.fsum(0.5 * (levels[i] + levels[i + 1]) * (inside[i + 1] - inside[i]) for i in range(len(inside) - 1))


@given(fill=fills, slope=slopes)
def test_bowl_keeps_its_fuel(fill: float, slope: float) -> None:
    assert fuel_area(surface(fill, slope)) == pytest.approx(fill * HEIGHT * LENGTH, rel=1e-9, abs=1e-12)


@given(fill=fills, slope=slopes, place=places)
def test_braking_is_the_mirror_of_accelerating(fill: float, slope: float, place: float) -> None:
    ahead = surface(fill, slope).level_m(position_m=place * LENGTH)
    behind = surface(fill, -slope).level_m(position_m=-place * LENGTH)
    assert ahead == pytest.approx(behind, abs=1e-12)


@given(fill=fills, slope=slopes, place=places)
def test_fuel_and_air_are_the_mirror_of_each_other(fill: float, slope: float, place: float) -> None:
    fuel = surface(fill, slope).level_m(position_m=place * LENGTH)
    air = surface(1.0 - fill, slope).level_m(position_m=-place * LENGTH)
    assert fuel + air == pytest.approx(HEIGHT, abs=1e-9)


# The surface reaches floor, lid or both at these slopes; each pair of laws must meet there.
@pytest.mark.parametrize("fill", [0.1, 0.3, 0.5, 0.7, 0.9])
def test_no_jump_where_floor_or_lid_is_reached(fill: float) -> None:
    level, room = fill * HEIGHT, (1.0 - fill) * HEIGHT
    first = 2.0 * min(level, room) / LENGTH
    both = HEIGHT**2 / (2.0 * min(level, room) * LENGTH)
    tilted = [surface(fill, slope) for slope in (0.5 * first, 0.5 * (first + both), 2.0 * both)]
    cases = [(each.touches_floor, each.touches_lid) for each in tilted]
    middle = (fill < 0.5, fill > 0.5) if fill != 0.5 else cases[1]
    assert cases == [(False, False), middle, (True, True)]
    for slope in (first, both):
        for place in (-0.5, -0.2, 0.0, 0.3, 0.5):
            below = surface(fill, slope * (1.0 - 1e-9)).level_m(position_m=place * LENGTH)
            above = surface(fill, slope * (1.0 + 1e-9)).level_m(position_m=place * LENGTH)
            assert above == pytest.approx(below, abs=1e-8)


@given(fill=fills, slope=st.floats(0.0, 20.0), more=st.floats(0.0, 5.0))
def test_front_wall_falls_and_rear_wall_rises(fill: float, slope: float, more: float) -> None:
    gentle, steep = surface(fill, slope), surface(fill, slope + more)
    rounding = 1e-12
    front, rear = 0.5 * LENGTH, -0.5 * LENGTH
    assert steep.level_m(position_m=front) <= gentle.level_m(position_m=front) + rounding
    assert steep.level_m(position_m=rear) >= gentle.level_m(position_m=rear) - rounding


@given(fill=fills, place=places)
def test_level_at_rest(fill: float, place: float) -> None:
    assert surface(fill, 0.0).level_m(position_m=place * LENGTH) == pytest.approx(fill * HEIGHT, rel=1e-12)


@given(fill=st.floats(0.05, 1.0), place=places, share=st.floats(0.02, 0.95))
def test_jet_comes_out_at_the_uncovering_slope_and_not_before(fill: float, place: float, share: float) -> None:
    position, jet = place * LENGTH, share * fill * HEIGHT
    found = uncovering_slope(
        length_m=LENGTH, height_m=HEIGHT, still_level_m=fill * HEIGHT, position_m=position, jet_height_m=jet
    )
    tried = [0.002 * 1.02**step for step in range(700)]
    covered = [surface(fill, slope).level_m(position_m=position) > jet for slope in tried]
    assert all(wet for slope, wet in zip(tried, covered, strict=True) if slope < found * (1.0 - 1e-6))
    if found == math.inf:
        return
    assume(found < 2e3)
    assert surface(fill, found).level_m(position_m=position) == pytest.approx(jet, abs=1e-8)


@pytest.mark.parametrize(
    ("fill", "place", "jet_share"),
    [(0.5, 0.4, 0.4), (0.3, 0.45, 0.05), (0.2, -0.05, 0.1), (0.9, 0.4, 0.6), (0.5, 0.25, 0.05), (0.6, 0.3, 0.1)],
)
def test_jet_stays_out_just_beyond(fill: float, place: float, jet_share: float) -> None:
    position, jet = place * LENGTH, jet_share * HEIGHT
    found = uncovering_slope(
        length_m=LENGTH, height_m=HEIGHT, still_level_m=fill * HEIGHT, position_m=position, jet_height_m=jet
    )
    assert 0.0 < found < math.inf
    assert surface(fill, found * 1.001).level_m(position_m=position) < jet
    assert surface(fill, found * 0.999).level_m(position_m=position) > jet


def test_jet_by_the_rear_wall_is_never_uncovered() -> None:
    found = uncovering_slope(
        length_m=LENGTH, height_m=HEIGHT, still_level_m=0.02, position_m=-0.5 * LENGTH, jet_height_m=0.005
    )
    assert found == math.inf
    assert uncovering_acceleration(slope=found) == math.inf


@pytest.mark.parametrize("place", [-0.5, 0.0, 0.5])
def test_full_bowl_has_no_air_to_uncover_a_jet(place: float) -> None:
    found = uncovering_slope(
        length_m=LENGTH, height_m=HEIGHT, still_level_m=HEIGHT, position_m=place * LENGTH, jet_height_m=0.005
    )
    assert found == math.inf


def test_jet_above_the_still_level_is_uncovered_at_rest() -> None:
    found = uncovering_slope(length_m=LENGTH, height_m=HEIGHT, still_level_m=0.02, position_m=0.0, jet_height_m=0.02)
    assert found == 0.0


@given(acceleration=st.floats(0.0, 20.0), grade=st.floats(-0.4, 0.4), vertical=st.floats(-5.0, 20.0))
def test_acceleration_is_the_inverse_of_slope(acceleration: float, grade: float, vertical: float) -> None:
    slope = surface_slope(acceleration_m_s2=acceleration, grade_rad=grade, vertical_acceleration_m_s2=vertical)
    assume(slope >= 0.0)
    found = uncovering_acceleration(slope=slope, grade_rad=grade, vertical_acceleration_m_s2=vertical)
    assert found == pytest.approx(acceleration, abs=1e-12)


@given(grade=st.floats(-1.5, 1.5))
def test_standing_on_a_grade_keeps_the_surface_level(grade: float) -> None:
    assert surface_slope(acceleration_m_s2=0.0, grade_rad=grade) == pytest.approx(math.tan(grade), rel=1e-9)


@pytest.mark.parametrize("change", [{"vertical_acceleration_m_s2": -9.9}, {"grade_rad": 1.6}, {"grade_rad": math.nan}])
def test_no_weight_no_surface(change: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"weight per mass must be|grade_rad must be from"):
        surface_slope(acceleration_m_s2=1.0, **change)
    with pytest.raises(ValueError, match=r"weight per mass must be|grade_rad must be from"):
        uncovering_acceleration(slope=1.0, **change)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"length_m": 0.0}, "length_m must be finite and above 0"),
        ({"still_level_m": 0.05}, r"still_level_m must be from 0 to 0\.04"),
        ({"slope": math.nan}, "slope must be from"),
    ],
)
def test_surface_limits(change: dict[str, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        free_surface(**({"length_m": LENGTH, "height_m": HEIGHT, "still_level_m": 0.02, "slope": 0.1} | change))


def test_level_outside_the_bowl_is_refused() -> None:
    with pytest.raises(ValueError, match=r"position_m must be from -0\.05 to 0\.05"):
        surface(0.5, 0.1).level_m(position_m=0.051)
