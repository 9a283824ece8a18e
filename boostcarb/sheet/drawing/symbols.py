"""Graphic symbols after ISO 1219-1, in our own drawing: each stands on a line from left to right, centered at x, y.

A symbol covers the line it stands on where the line must not be seen.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import StrEnum

from boostcarb.sheet.drawing.pen import THIN, box, circle, line, number, path
from boostcarb.sheet.style import INK, PAPER


class Symbol(StrEnum):
    """What stands in a line, in words for the legend."""

    line = "open passage or line"
    restriction = "restriction: jet, bleed, slot or clearance"
    adjustable = "restriction that a needle or valve sets"
    check = "one-way valve: passes from the seat toward the ball only"
    check_back = "one-way valve that passes the other way"
    open_check = "normally open check with its spring: shuts when blown into"
    plugged = "plugged: the line ends"
    diaphragm = "diaphragm between two chambers"
    piston = "piston between two chambers, with its clearance"
    leak = "leak at a joint or seal"
    switch = "valve that leads the line to one of two places"
    gone = "no longer there"


def _clear(x: float, y: float, half: float) -> str:
    """Wipes the line under a symbol."""
    return f'<rect x="{number(x - half)}" y="{number(y - 9)}" width="{number(2 * half)}" height="18" fill="{PAPER}"/>'


def _nothing(x: float, y: float, width: float) -> list[str]:
    return []


def _restriction(x: float, y: float, width: float) -> list[str]:
    """Two arcs that narrow the line from above and below."""
    arcs = []
    for side in (-1, 1):
        edge, bend = number(y + 10 * side), number(y - 2 * side)
        arcs.append(path(f"M{number(x - 11)},{edge}Q{number(x)},{bend} {number(x + 11)},{edge}", width=2))
    return arcs


def _adjustable(x: float, y: float, width: float) -> list[str]:
    """A restriction with the arrow that says it is set."""
    tip = path(f"M{number(x + 12)},{number(y - 13)}l-7,2l4.5,4.5z", fill=INK, width=1)
    return [*_restriction(x, y, width), line(x - 12, y + 13, x + 11, y - 12, width=THIN), tip]


def _seat(x: float, y: float, width: float, sign: int) -> list[str]:
    """A ball on a seat; it passes from the point of the seat toward the ball."""
    tip = x - sign * 9
    seat = f"M{number(x + sign * 5)},{number(y - 11)}L{number(tip)},{number(y)}L{number(x + sign * 5)},{number(y + 11)}"
    return [
        _clear(x + sign * 2, y, 9),
        path(seat, width=2),
        circle(x + sign * 2, y, 6, width=2),
        line(x + sign * 8, y, x + sign * 12, y, width=width),
    ]


def _check(x: float, y: float, width: float) -> list[str]:
    return _seat(x, y, width, 1)


def _check_back(x: float, y: float, width: float) -> list[str]:
    return _seat(x, y, width, -1)


def _open_check(x: float, y: float, width: float) -> list[str]:
    """A ball held off its seat by a spring: open at rest."""
    seat = f"M{number(x + 2)},{number(y - 11)}L{number(x - 12)},{number(y)}L{number(x + 2)},{number(y + 11)}"
    spring = "M" + " ".join(
        f"{number(x - 9 + 2.5 * index)},{number(y + (3 if index % 2 else -3))}" for index in range(4)
    )
    return [_clear(x + 2, y, 14), path(seat, width=2), path(spring), circle(x + 6, y, 6, width=2),
            line(x + 12, y, x + 16, y, width=width)]  # fmt: skip


def _plugged(x: float, y: float, width: float) -> list[str]:
    """The line ends at a cross; after it, nothing."""
    return [
        _clear(x + 12, y, 12),
        line(x - 9, y - 9, x + 9, y + 9, width=3),
        line(x - 9, y + 9, x + 9, y - 9, width=3),
    ]


def _diaphragm(x: float, y: float, width: float) -> list[str]:
    """A housing with an elastic wall across it."""
    wall = f"M{number(x - 3)},{number(y - 12)}Q{number(x + 8)},{number(y)} {number(x - 3)},{number(y + 12)}"
    return [box(x - 16, y - 12, 32, 24), path(wall, width=2.4)]


def _piston(x: float, y: float, width: float) -> list[str]:
    """A housing with a piston that does not quite reach its walls."""
    return [box(x - 16, y - 12, 32, 24), box(x - 4, y - 9, 8, 18)]


def _leak(x: float, y: float, width: float) -> list[str]:
    """Two flanges with a gap that the line passes."""
    return [line(x - 3, y - 11, x - 3, y + 11, width=2), line(x + 3, y - 11, x + 3, y + 11, width=2)]


def _switch(x: float, y: float, width: float) -> list[str]:
    """Two squares, one for each place of the valve: passes in one, shut in the other."""
    tip = path(f"M{number(x - 3)},{number(y)}l-6,-3.5v7z", fill=INK, width=1)
    shut = [line(x + 3, y, x + 7, y), line(x + 7, y - 5, x + 7, y + 5)]
    shut += [line(x + 15, y, x + 11, y), line(x + 11, y - 5, x + 11, y + 5)]
    return [box(x - 18, y - 10, 18, 20), box(x, y - 10, 18, 20), line(x - 15, y, x - 5, y), tip, *shut]


def _gone(x: float, y: float, width: float) -> list[str]:
    """A gap between two strokes: what was there is taken away."""
    return [_clear(x, y, 12), line(x - 12, y - 8, x - 12, y + 8, width=2), line(x + 12, y - 8, x + 12, y + 8, width=2)]


DRAWN: Mapping[Symbol, Callable[[float, float, float], list[str]]] = {
    Symbol.line: _nothing,
    Symbol.restriction: _restriction,
    Symbol.adjustable: _adjustable,
    Symbol.check: _check,
    Symbol.check_back: _check_back,
    Symbol.open_check: _open_check,
    Symbol.plugged: _plugged,
    Symbol.diaphragm: _diaphragm,
    Symbol.piston: _piston,
    Symbol.leak: _leak,
    Symbol.switch: _switch,
    Symbol.gone: _gone,
}


def draw(symbol: Symbol, x: float, y: float, width: float = THIN) -> list[str]:
    """A symbol on a line of a width."""
    return DRAWN[symbol](x, y, width)
