"""The backfire itself: what pressure it makes over time where charge burns, and with which gas."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from boostcarb.physics.constants import GAMMA_AIR
from boostcarb.states.inputs import BACKFIRE_BOUND, BACKFIRE_PEAK_RATIO

RISE_S: Final = 3e-3
"""Time from the start of a backfire to its peak (assumption).

A flame at 230 m/s, the one published speed that was found (hydrogen engine, International Journal of Hydrogen Energy
44, 2019, abstract), crosses a plenum of 0.5 m in 2.2 ms; gasoline burns slower. No measurement with gasoline was found.
"""

DURATION_S: Final = 15e-3
"""Time from the start of a backfire until its pressure has gone (assumption; 2 to 15 ms are named in the trade)."""

BURNED_GAS_K: Final = 2637.0
"""Burned gas at constant volume, isooctane and air at lambda 1 from 298 K (computed by chemical equilibrium).

Bound: gas that hot fills a chamber almost three times as fast as the charge that is pushed ahead of the flame.
"""


MOST_CORNERS: Final = 16
"""Corners of a curve that an integration stops at."""


@dataclass(frozen=True, slots=True)
class Pulse:
    """Absolute peak over the pressure just before it, rise and whole duration in s.

    The pressure rises in a straight line, stays, and falls in a straight line as long as it rose: staying is the safe
    side, as a chamber then has the longest time to fill. `gas_k` is the temperature of what streams in, K; None means
    charge pushed ahead of the flame and warmed by compression only.
    """

    peak_ratio: float = BACKFIRE_PEAK_RATIO
    rise_s: float = RISE_S
    duration_s: float = DURATION_S
    gas_k: float | None = None

    def __post_init__(self) -> None:
        if not 1.0 <= self.peak_ratio <= BACKFIRE_BOUND:
            raise ValueError(f"peak_ratio must be from 1 to {BACKFIRE_BOUND:g}, got {self.peak_ratio!r}")
        if not 0.0 < self.rise_s < self.duration_s:
            raise ValueError(f"rise_s must be above 0 and below duration_s, got {self.rise_s!r}")

    @property
    def fall_s(self) -> float:
        """Time in which it falls: as long as it rose, where its duration leaves that much."""
        return min(self.rise_s, self.duration_s - self.rise_s)

    def curve(self, start_pa_abs: float, *, share: float = 1.0, end_s: float) -> Curve:
        """Pressure over time, Pa absolute, from a start; `share` of the rise arrives.

        >>> curve = Pulse(peak_ratio=3.0).curve(100e3, end_s=0.02)
        >>> round(curve.at(1.5e-3)), round(curve.at(5e-3)), round(curve.at(0.02))
        (200000, 300000, 100000)
        """
        peak = start_pa_abs * (1.0 + share * (self.peak_ratio - 1.0))
        times = (0.0, self.rise_s, self.duration_s - self.fall_s, self.duration_s, end_s)
        return Curve.of(zip(times, (start_pa_abs, peak, peak, start_pa_abs, start_pa_abs), strict=True))

    def gas_temperature(self, start_k: float, pressure_ratio: float) -> float:
        """Temperature of the gas that streams from where the charge burns, K."""
        if self.gas_k is not None:
            return self.gas_k
        warmed: float = max(pressure_ratio, 1.0) ** ((GAMMA_AIR - 1.0) / GAMMA_AIR)
        return start_k * warmed


@dataclass(frozen=True, slots=True)
class Curve:
    """A pressure over time by corners, straight in between; before and after, as at the ends. s, Pa absolute."""

    times_s: tuple[float, ...]
    pressures_pa_abs: tuple[float, ...]

    @classmethod
    def of(cls, corners: Iterable[tuple[float, float]]) -> Curve:
        """From corners in order; of two at one time the last counts."""
        kept = dict(corners)
        return cls(tuple(kept), tuple(kept.values()))

    @classmethod
    def level(cls, pressure_pa_abs: float) -> Curve:
        """A pressure that stays."""
        return cls((0.0,), (pressure_pa_abs,))

    def at(self, time_s: float) -> float:
        """The pressure at a time."""
        times, values = self.times_s, self.pressures_pa_abs
        index = bisect_right(times, time_s)
        if index == 0:
            return values[0]
        if index == len(times):
            return values[-1]
        before, after = times[index - 1], times[index]
        share = (time_s - before) / (after - before)
        return values[index - 1] + share * (values[index] - values[index - 1])

    @property
    def corners(self) -> tuple[float, ...]:
        """Times at which it bends; a curve of many points is smooth enough without."""
        return self.times_s if len(self.times_s) <= MOST_CORNERS else ()

    @property
    def peak_pa_abs(self) -> float:
        """Its highest pressure."""
        return max(self.pressures_pa_abs)
