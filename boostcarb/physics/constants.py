"""Constants shared by the laws of this package, and the limits their arguments must keep."""

from __future__ import annotations

import math
from typing import Final

STANDARD_GRAVITY: Final = 9.80665
"""Standard acceleration of gravity, m/s2."""

STANDARD_PRESSURE: Final = 101325.0
"""Sea-level pressure of the standard atmosphere, Pa absolute."""

STANDARD_TEMPERATURE: Final = 288.15
"""Sea-level temperature of the standard atmosphere, K."""

# The standard atmosphere keeps its own 1976 value of the molar gas constant, 8.31432, not today's 8.31446.
GAS_CONSTANT_AIR: Final = 8.31432 / 28.9644e-3
"""Specific gas constant of dry air, 287.05307 J/(kg K), as the US Standard Atmosphere 1976 defines it.

ISO 2533 prints 287.05287, from a molar mass with one more digit; the difference is below one in a million.
"""

GAMMA_AIR: Final = 1.4
"""Ratio of the specific heats of air near room temperature."""


def require_positive(name: str, value: float) -> None:
    """Refuse a value that is not finite and above zero.

    Raises:
        ValueError: zero, negative, infinite or not a number.

    >>> require_positive("volume_m3", 0.001)
    """
    if not 0.0 < value < math.inf:
        raise ValueError(f"{name} must be finite and above 0, got {value!r}")


def require_not_negative(name: str, value: float) -> None:
    """Refuse a value that is not finite and at least zero.

    Raises:
        ValueError: negative, infinite or not a number.

    >>> require_not_negative("effective_area_m2", 0.0)
    """
    if not 0.0 <= value < math.inf:
        raise ValueError(f"{name} must be finite and at least 0, got {value!r}")


def require_within(name: str, value: float, low: float, high: float) -> None:
    """Refuse a value outside a closed range.

    Raises:
        ValueError: below ``low``, above ``high`` or not a number.

    >>> require_within("effectiveness", 0.7, 0.0, 1.0)
    """
    if not low <= value <= high:
        raise ValueError(f"{name} must be from {low:.9g} to {high:.9g}, got {value!r}")


def require_gamma(gamma: float) -> None:
    """Refuse a ratio of specific heats that no gas can have.

    Raises:
        ValueError: not above 1 (no gas has cp <= cv), infinite or not a number.

    >>> require_gamma(1.4)
    """
    if not 1.0 < gamma < math.inf:
        raise ValueError(f"gamma must be finite and above 1, got {gamma!r}")
