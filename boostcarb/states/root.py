"""One root of one function between two bounds."""

from __future__ import annotations

from collections.abc import Callable
from math import isnan
from sys import float_info
from typing import Final

from boostcarb.errors import NotSolved

_Point = tuple[float, float]

MOST_STEPS: Final = 120
"""Enough to halve any bracket of doubles down to one spacing."""


def find_root(function: Callable[[float], float], low: float, high: float, *, place: str) -> float:
    """The x between two bounds, of any unit, at which a continuous function is zero.

    Inverse quadratic interpolation where it can be trusted, else halving, until the bracket is as
    narrow as floating point allows (for a root at zero: a tiny part of the first bracket). `place`
    names the balance for the error.

    Raises: NotSolved when the function has one sign at both bounds, is not a number somewhere, or the
    bracket does not close.

    Source: [1] T. R. Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of
    a nonlinear function without using derivatives", Advances in Engineering Software 28 (1997) 145-149.

    >>> round(find_root(lambda x: x * x - 2.0, 0.0, 2.0, place="square root"), 12)
    1.414213562373
    """
    a, b = high, low
    f_a, f_b = function(a), function(b)
    if f_a == 0.0:
        return a
    if f_b == 0.0:
        return b
    if not f_a * f_b < 0.0:
        raise NotSolved("the air flow balance (no sign change between its bounds)", places=(place,))
    finest = 1.0e-6 * float_info.epsilon * abs(high - low)
    share = 0.5
    for _ in range(MOST_STEPS):
        x = a + share * (b - a)
        f_x = function(x)
        if isnan(f_x):
            raise NotSolved("the air flow balance (not a number)", places=(place,))
        if (f_x > 0.0) == (f_a > 0.0):
            c, f_c = a, f_a
        else:
            c, b, f_c, f_b = b, a, f_b, f_a
        a, f_a = x, f_x
        best, f_best = (a, f_a) if abs(f_a) < abs(f_b) else (b, f_b)
        narrowest = 2.0 * float_info.epsilon * abs(best) + finest
        width = abs(b - a)
        if f_best == 0.0 or width <= 2.0 * narrowest:
            return best
        share = _next_share((a, f_a), (b, f_b), (c, f_c))
        edge = min(0.5, narrowest / width)
        share = min(1.0 - edge, max(edge, share))
    raise NotSolved("the air flow balance", places=(place,), residual=abs(f_best))


def _next_share(newest: _Point, opposite: _Point, oldest: _Point) -> float:
    """How far from the newest point to the opposite bound to look next: interpolated where
    Chandrupatla's test allows it, else half-way.
    """
    (a, f_a), (b, f_b), (c, f_c) = newest, opposite, oldest
    xi = (a - b) / (c - b)
    phi = (f_a - f_b) / (f_c - f_b)
    if not (phi * phi < xi and (1.0 - phi) * (1.0 - phi) < 1.0 - xi):
        return 0.5
    alpha = (c - a) / (b - a)
    return f_a / (f_b - f_a) * f_c / (f_b - f_c) + alpha * f_a / (f_c - f_a) * f_b / (f_c - f_b)
