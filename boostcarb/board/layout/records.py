"""What a drawing consists of. Drawing units, x to the right and y down; a page shows one unit as one pixel."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

Point = tuple[int, int]

PITCH = 11  # distance of the closest parallel routes; every edge and bend lies on this lattice
SYMBOL_LONG, SYMBOL_WIDE = 32, 28
SYMBOL_REACH = SYMBOL_LONG // 2


@dataclass(frozen=True, slots=True)
class Panel:
    """The rectangle of a casting; `around` where it is not part of the carburetor."""

    title: str
    x: int
    y: int
    w: int
    h: int
    around: bool


@dataclass(frozen=True, slots=True)
class Place:
    """The rectangle of a space: a box, or a bar that spans what is joined to it."""

    shape: str
    x: int
    y: int
    w: int
    h: int


@dataclass(frozen=True, slots=True)
class Route:
    """Where a way runs, from the edge of `a` to the edge of `b`.

    Where one of the two is the atmosphere, `vent` is set and that end is an open-air terminal instead of a
    rectangle. `symbol` is where symbol and click target stand: x, y and the angle of the direction from a to b,
    degrees, clockwise from the right as on a screen.
    """

    points: tuple[Point, ...]
    vent: bool
    symbol: tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Membrane:
    """Where the symbol of a diaphragm stands, on the link between its spaces; angle from first to second, degrees."""

    x: int
    y: int
    angle: int
    link: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """The whole board."""

    width: int
    height: int
    panels: Mapping[str, Panel]
    places: Mapping[str, Place]
    routes: Mapping[str, Route]
    membranes: Mapping[str, Membrane]
