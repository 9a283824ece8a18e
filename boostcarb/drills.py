"""Twist drill sizes: number, letter, fractional inch and metric.

Number and letter diameters are those of ASME B94.11M, in ten-thousandths of an inch below.
Fractional drills run in 1/64 in steps to 1/2 in, metric drills in 0.05 mm steps from 0.3 to 13 mm.
"""

from __future__ import annotations

from bisect import bisect_left
from functools import cache
from typing import Final, Literal, NamedTuple

Series = Literal["number", "letter", "fraction", "metric"]

SERIES: Final[tuple[Series, ...]] = ("number", "letter", "fraction", "metric")
INCH_M: Final = 0.0254
_SAME_M: Final = 1e-9  # closer than this is the same drill: far below any drill tolerance

# fmt: off
_NUMBERS: Final = (  # from #1 down to #80
    2280, 2210, 2130, 2090, 2055, 2040, 2010, 1990, 1960, 1935,
    1910, 1890, 1850, 1820, 1800, 1770, 1730, 1695, 1660, 1610,
    1590, 1570, 1540, 1520, 1495, 1470, 1440, 1405, 1360, 1285,
    1200, 1160, 1130, 1110, 1100, 1065, 1040, 1015,  995,  980,
     960,  935,  890,  860,  820,  810,  785,  760,  730,  700,
     670,  635,  595,  550,  520,  465,  430,  420,  410,  400,
     390,  380,  370,  360,  350,  330,  320,  310,  292,  280,
     260,  250,  240,  225,  210,  200,  180,  160,  145,  135,
)
_LETTERS: Final = (  # from A to Z
    2340, 2380, 2420, 2460, 2500, 2570, 2610, 2660, 2720, 2770, 2810, 2900, 2950,
    3020, 3160, 3230, 3320, 3390, 3480, 3580, 3680, 3770, 3860, 3970, 4040, 4130,
)
# fmt: on


class Drill(NamedTuple):
    """One drill: the series it belongs to, the name on its shank and its diameter in m."""

    series: Series
    name: str
    diameter_m: float


class NearestDrills(NamedTuple):
    """The drills of one series around a diameter; None where the series ends."""

    smaller: Drill | None
    nearest: Drill
    larger: Drill | None


@cache
def drills(series: Series) -> tuple[Drill, ...]:
    """All drills of a series, smallest first.

    >>> drills("number")[0].name, drills("letter")[-1].name
    ('#80', 'Z')
    """
    if series == "number":
        sizes = [Drill(series, f"#{i}", _inches(size)) for i, size in enumerate(_NUMBERS, 1)]
        return tuple(reversed(sizes))
    if series == "letter":
        return tuple(Drill(series, chr(ord("A") + i), _inches(size)) for i, size in enumerate(_LETTERS))
    if series == "fraction":
        return tuple(Drill(series, f"{_fraction(i)} in", i / 64 * INCH_M) for i in range(1, 33))
    return tuple(Drill(series, f"{i * 5 / 100:g} mm", i * 5 / 100 * 1e-3) for i in range(6, 261))


def drill_diameter_m(name: str) -> float | None:
    """Diameter in m of a number or letter drill, or None where no such drill exists.

    >>> round(drill_diameter_m("#55") / 0.0254, 4)
    0.052
    """
    return _by_name().get(name)


def nearest_drills(diameter_m: float) -> dict[Series, NearestDrills]:
    """The next smaller, the nearest and the next larger drill of every series.

    A drill of just the diameter asked for is the nearest, and neither smaller nor larger.
    Halfway between two drills the smaller counts as nearest: a hole can be opened, not closed.

    Args:
        diameter_m: diameter wanted, m.

    >>> nearest_drills(1.32e-3)["number"].nearest.name
    '#55'
    """
    return {series: _around(drills(series), diameter_m) for series in SERIES}


def _around(sizes: tuple[Drill, ...], diameter_m: float) -> NearestDrills:
    diameters = [drill.diameter_m for drill in sizes]
    below = bisect_left(diameters, diameter_m - _SAME_M)
    above = bisect_left(diameters, diameter_m + _SAME_M)
    smaller = sizes[below - 1] if below > 0 else None
    larger = sizes[above] if above < len(sizes) else None
    candidates = [drill for drill in (*sizes[below:above], smaller, larger) if drill is not None]
    return NearestDrills(smaller, min(candidates, key=lambda drill: _distance(drill, diameter_m)), larger)


def _distance(drill: Drill, diameter_m: float) -> tuple[float, float]:
    return round(abs(drill.diameter_m - diameter_m), 12), drill.diameter_m


@cache
def _by_name() -> dict[str, float]:
    return {drill.name: drill.diameter_m for drill in (*drills("number"), *drills("letter"))}


def _inches(ten_thousandths: int) -> float:
    return ten_thousandths / 10_000 * INCH_M


def _fraction(sixty_fourths: int) -> str:
    shared = sixty_fourths & -sixty_fourths  # largest power of two that divides it
    return f"{sixty_fourths // shared}/{64 // shared}"
