"""Threads, tap drills and plugs against published tables."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.drills import INCH_M
from boostcarb.work.threads import (
    CLEAN_UP_M,
    METRIC,
    PIPE,
    PLUG_LENGTHS_M,
    UNIFIED,
    metric,
    pipe,
    pipe_for,
    thread_for,
    unified,
)

# ISO 261 coarse pitch; ISO 2306 drill; ISO 965-1 internal thread 6H, minor diameter least and largest, mm.
COARSE = {
    "M3": (0.5, 2.5, 2.459, 2.599),
    "M4": (0.7, 3.3, 3.242, 3.422),
    "M5": (0.8, 4.2, 4.134, 4.334),
    "M6": (1.0, 5.0, 4.917, 5.153),
    "M8": (1.25, 6.8, 6.647, 6.912),
    "M10": (1.5, 8.5, 8.376, 8.676),
    "M12": (1.75, 10.2, 10.106, 10.441),
}

# ASME B1.1 class 2B: minor diameter least (D - 1.0825318/n) and largest, in; recommended drill and its share of thread.
INCH_THREADS = {
    "6-32": ("#36", 0.1042, 0.1140, 0.78),
    "8-32": ("#29", 0.1302, 0.1390, 0.69),
    "10-24": ("#25", 0.1449, 0.1560, 0.75),
    "10-32": ("#21", 0.1562, 0.1640, 0.76),
    "1/4-20": ("#7", 0.1959, 0.2070, 0.75),
    "1/4-28": ("#3", 0.2113, 0.2200, 0.80),
    "5/16-18": ("F", 0.2524, 0.2650, 0.77),
}

# ASME B1.20.1: outside diameter, threads per inch, hand-tight engagement L1, in. Drills in use, in: with and without
# reamer, as tables give them (C .242 and D .246; Q .332 and R .339; 27/64 and 7/16). They differ, so ours is a range.
TAPER = {
    "1/16-27": (0.3125, 27, 0.160, (0.242, 0.246)),
    "1/8-27": (0.405, 27, 0.1615, (0.332,)),
    "1/4-18": (0.540, 18, 0.2278, (0.421875, 0.4375)),
}


@pytest.mark.parametrize("name", COARSE)
def test_metric_coarse_threads(name: str) -> None:
    pitch, drill, least, largest = COARSE[name]
    thread = metric(name)
    assert thread.pitch_m == pytest.approx(pitch / 1000)
    assert thread.tap_drill == f"{drill:g} mm"
    assert thread.minor_m * 1000 == pytest.approx(least, abs=0.0006)  # the table is rounded to 0.001 mm
    assert least <= thread.drill_m * 1000 <= largest
    assert thread.drill_m == pytest.approx(thread.diameter_m - thread.pitch_m, abs=0.051e-3)  # drills run in 0.1 mm


@pytest.mark.parametrize("name", INCH_THREADS)
def test_unified_threads(name: str) -> None:
    drill, least, largest, share = INCH_THREADS[name]
    thread = unified(name)
    assert thread.tap_drill == drill
    assert thread.minor_m / INCH_M == pytest.approx(least, abs=0.0001)
    assert least <= thread.drill_m / INCH_M <= largest
    assert thread.share_of_full_thread == pytest.approx(share, abs=0.006)


@pytest.mark.parametrize("name", TAPER)
def test_taper_pipe_threads(name: str) -> None:
    outside, per_inch, hand_tight, drills = TAPER[name]
    thread = pipe(name)
    assert thread.diameter_m / INCH_M == pytest.approx(outside)
    assert thread.per_inch == per_inch
    assert thread.hand_tight_m / INCH_M == pytest.approx(hand_tight)
    for drill in drills:
        assert thread.least_m - 0.05e-3 <= drill * INCH_M <= thread.most_m + 0.05e-3


@pytest.mark.parametrize(("size", "length"), [("M3", 5), ("M4", 6), ("M5", 8), ("M6", 10), ("M8", 12), ("M10", 16)])
def test_plug_has_one_and_a_half_diameters_of_thread(size: str, length: int) -> None:
    thread = metric(size)
    assert thread.plug_m == pytest.approx(length / 1000)
    assert thread.plug_m >= 1.5 * thread.diameter_m - 1e-9
    assert thread.tapped_m > thread.plug_m


@pytest.mark.parametrize(
    ("bore", "wanted"), [(2.0, "M3"), (2.4, "M3"), (2.5, "M4"), (3.0, "M4"), (3.3, "M5"), (4.5, "M6"), (6.0, "M8")]
)
def test_thread_for_a_bore(bore: float, wanted: str) -> None:
    found = thread_for(bore / 1000)
    assert found is not None
    assert found.name == wanted


@given(st.floats(0.3e-3, 10.1e-3), st.sampled_from(["metric", "unified"]))
def test_smallest_thread_that_cleans_the_bore_up(bore: float, system: str) -> None:
    table = METRIC if system == "metric" else UNIFIED
    found = thread_for(bore, "metric" if system == "metric" else "unified")
    fits = [thread.drill_m for thread in table if thread.drill_m >= bore + CLEAN_UP_M - 1e-9]
    assert (found.drill_m if found else None) == min(fits, default=None)


def test_no_thread_for_a_wide_hole() -> None:
    assert thread_for(10.2e-3) is None
    assert pipe_for(11e-3) is None
    smallest = pipe_for(2e-3)
    assert smallest is PIPE[0]


def test_every_thread_finds_a_plug_in_the_table_of_lengths() -> None:
    assert all(thread.plug_m in PLUG_LENGTHS_M for thread in (*METRIC, *UNIFIED))
