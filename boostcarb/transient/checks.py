"""Backfire checks: how long a ball takes to its seat, and what passes once it is there."""

from __future__ import annotations

import math
from typing import Final

from boostcarb.physics.constants import require_not_negative, require_positive

CLOSING_TIME_S: Final = 1.0e-3
"""Time from the first reverse flow to a shut check (assumption: a 5 mm steel ball, 1 mm lift, 0.5 bar across it,
see `ball_closing_time`; 1 to 5 ms are usual)."""

LEAK_SHARE: Final = 0.005
"""What a shut check passes, as a share of its open area (assumption: metal ball on a metal seat)."""

CLOSING_PA: Final = 500.0
"""Reverse difference that lifts the ball of a check (assumption: weight and weak spring of a small ball)."""

STILL_CLOSING_PA: Final = 250.0
"""Reverse difference under which a ball on its way falls back."""


def ball_closing_time(*, mass_kg: float, lift_m: float, area_m2: float, difference_pa: float, weight_n: float) -> float:
    """Time a ball takes through its lift under a steady pressure difference.

    Args:
        mass_kg: mass of the ball, kg, above 0.
        lift_m: way to its seat, m, above 0.
        area_m2: area on which the difference acts, m2, above 0.
        difference_pa: pressure difference across the ball, Pa, at least 0.
        weight_n: what holds it open, weight and spring, N, at least 0.

    Returns:
        Time, s; infinite where the difference does not lift it.

    Valid while the difference is steady and the ball far from its seat: drag is taken as the full difference on the
    area, which makes it quick.

    Raises:
        ValueError: an argument out of its range, or not a number.

    References:
        1. Newton's second law with a constant force; the force is this project's own estimate.

    A steel ball of 5 mm (0.51 g), 1 mm lift, 0.5 bar:

    >>> round(1e3 * ball_closing_time(mass_kg=0.51e-3, lift_m=1e-3, area_m2=19.6e-6, difference_pa=50e3,
    ...     weight_n=0.01), 2)
    1.03
    """
    require_positive("mass_kg", mass_kg)
    require_positive("lift_m", lift_m)
    require_positive("area_m2", area_m2)
    require_not_negative("difference_pa", difference_pa)
    require_not_negative("weight_n", weight_n)
    force = area_m2 * difference_pa - weight_n
    return math.sqrt(2.0 * mass_kg * lift_m / force) if force > 0.0 else math.inf
