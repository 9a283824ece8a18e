"""Drill series and the drills around a diameter."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.drills import SERIES, Series, drill_diameter_m, drills, nearest_drills


@pytest.mark.parametrize(
    ("series", "count", "first", "last"),
    [
        ("number", 80, "#80", "#1"),
        ("letter", 26, "A", "Z"),
        ("fraction", 32, "1/64 in", "1/2 in"),
        ("metric", 255, "0.3 mm", "13 mm"),
    ],
)
def test_each_series_is_complete_and_rises(series: Series, count: int, first: str, last: str) -> None:
    sizes = drills(series)
    assert len(sizes) == len({drill.name for drill in sizes}) == count
    assert (sizes[0].name, sizes[-1].name) == (first, last)
    assert all(small.diameter_m < large.diameter_m for small, large in itertools.pairwise(sizes))


def test_an_exact_size_is_nearest_and_has_neighbors_on_both_sides() -> None:
    diameter = drill_diameter_m("#55")
    assert diameter is not None
    around = nearest_drills(diameter)["number"]
    assert around.nearest.name == "#55"
    assert around.smaller is not None
    assert around.larger is not None
    assert (around.smaller.name, around.larger.name) == ("#56", "#54")


def test_the_series_end() -> None:
    below, above = nearest_drills(1e-5), nearest_drills(0.1)
    for series in SERIES:
        assert below[series].smaller is None
        assert below[series].nearest == below[series].larger == drills(series)[0]
        assert above[series].larger is None
        assert above[series].nearest == above[series].smaller == drills(series)[-1]


def test_halfway_takes_the_smaller() -> None:
    assert nearest_drills(1.225e-3)["metric"].nearest.name == "1.2 mm"


def test_names_that_are_no_drills() -> None:
    for name in ("#0", "#81", "AA", "a", "", "#055"):
        assert drill_diameter_m(name) is None


@given(st.floats(min_value=1e-5, max_value=0.02))
def test_nearest_agrees_with_looking_at_every_drill(diameter: float) -> None:
    for series, around in nearest_drills(diameter).items():
        distances = [abs(drill.diameter_m - diameter) for drill in drills(series)]
        assert abs(around.nearest.diameter_m - diameter) == pytest.approx(min(distances), abs=1e-11)
        assert around.smaller is None or around.smaller.diameter_m < diameter
        assert around.larger is None or around.larger.diameter_m > diameter
