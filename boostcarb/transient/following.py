"""How long a signal takes: joined chambers after their sources have changed, without the stiff method's package.

Walls keep the temperature: a signal takes tens of milliseconds in a small chamber, and that is the slower, safer case.
The flows and their slopes are those of the steady balance (`boostcarb.solving.balance.way_flows`); the steps are those
of the two-stage Rosenbrock method of second order, L-stable, with the first-order solution as error estimate.

Reference: J. G. Verwer, E. J. Spee, J. G. Blom, W. Hundsdorfer, SIAM J. Sci. Comput. 20 (1999) 1456-1480 (ROS2;
cited from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from boostcarb.errors import NotSolved
from boostcarb.physics.chamber import time_constant
from boostcarb.physics.constants import GAS_CONSTANT_AIR
from boostcarb.solving.balance import Orifices, way_flows
from boostcarb.transient.chambers import Piece

Array = NDArray[np.float64]

GAMMA: Final = 1.0 + 1.0 / math.sqrt(2.0)
"""Makes the method L-stable."""

TOLERANCE: Final = 5e-4
"""Error of a step over the largest difference between the sources and the start."""

COARSE: Final = 1e-2
"""The same where only whether a signal comes soon is asked; it must then be past its mark by `BEYOND` of that."""

BEYOND: Final = 5.0

CONSTANTS: Final = 5.0
"""Time constants after which a chamber has arrived: filling takes one, venting to a fifth of the pressure not three."""

MOST_STEPS: Final = 2000
WHAT = "the signal"


def quickest_bound(piece: Piece, temperature_k: float) -> float:
    """A time, s, after which the chambers of a piece have long arrived: `CONSTANTS` time constants of all its volume
    behind its narrowest opening. Infinite where it has no source.
    """
    if not piece.sources:
        return math.inf
    return CONSTANTS * time_constant(
        volume_m3=sum(chamber.volume_m3 for chamber in piece.chambers),
        effective_area_m2=min(each.area_m2 for each in piece.openings),
        temperature_k=temperature_k,
    )


def follow(
    piece: Piece,
    *,
    start_pa_abs: Mapping[str, float],
    sources_pa_abs: Mapping[str, float],
    temperature_k: float,
    arrived: Callable[[Mapping[str, float]], float],
    most_s: float,
    coarse: bool = False,
) -> float:
    """Time from a step of the sources until `arrived`, of the pressures of all spaces, is no longer negative.

    Args:
        piece: the chambers and their openings; checks stand open.
        start_pa_abs: pressure of every chamber before, Pa absolute.
        sources_pa_abs: pressure of every source after, Pa absolute.
        temperature_k: of all gas, K.
        arrived: negative until the chambers have arrived; from pressures by name.
        most_s: when to stop waiting, s.
        coarse: in few long steps, to see whether a signal comes soon: it counts as arrived once it is past its mark by
            several times the error of a step.

    Returns:
        Time, s; infinite if it has not arrived by `most_s`.

    Raises:
        NotSolved: naming the chambers, where steps become too many.
    """
    names, sources = piece.names, piece.sources
    system = _System(piece, [sources_pa_abs[name] for name in sources], temperature_k)
    now = np.array([start_pa_abs[name] for name in names])
    outside = dict(sources_pa_abs)

    span = max(float(np.ptp([*now, *outside.values()])), 1.0)
    tolerance = span * (COARSE if coarse else TOLERANCE)
    beyond = BEYOND * tolerance if coarse else 0.0

    def lack(pressures: Array) -> float:
        return arrived({**outside, **dict(zip(names, pressures.tolist(), strict=True))}) - beyond

    before = lack(now)
    if before >= 0.0:
        return 0.0
    time, step = 0.0, most_s * 1e-4
    for _ in range(MOST_STEPS):
        after, error = system.step(now, step)
        if error > tolerance or not bool((after > 0.0).all()):
            step *= max(0.2, 0.9 * math.sqrt(tolerance / max(error, 1e-12 * span)))
            continue
        here = lack(after)
        if here >= 0.0:
            return time + step * before / (before - here)
        time, now, before = time + step, after, here
        if time >= most_s:
            return math.inf
        step *= min(4.0, 0.9 * math.sqrt(tolerance / max(error, 1e-12 * span)))
        step = min(step, most_s / 20)
    raise NotSolved(WHAT, places=names)


class _System:
    """Rates of the chambers' pressures and one step of the method."""

    def __init__(self, piece: Piece, sources_pa_abs: list[float], temperature_k: float) -> None:
        number = {name: index for index, name in enumerate((*piece.names, *piece.sources))}
        start = np.array([number[each.a] for each in piece.openings])
        end = np.array([number[each.b] for each in piece.openings])
        self._count = len(piece.names)
        self._orifices = Orifices(
            free=self._count,
            start=start,
            end=end,
            area_m2=np.array([each.area_m2 for each in piece.openings]),
            one_way=np.array([each.one_way for each in piece.openings]),
        )
        spaces = np.arange(len(number))
        self._at_start = (start[:, None] == spaces).astype(float)
        self._at_end = (end[:, None] == spaces).astype(float)
        self._sources = np.array(sources_pa_abs)
        volumes = np.array([chamber.volume_m3 for chamber in piece.chambers])
        self._factor = math.sqrt(GAS_CONSTANT_AIR * temperature_k) / volumes

    def rates(self, free: Array) -> tuple[Array, Array]:
        """Pa/s of every chamber, and the slopes of that with the chambers' pressures."""
        count = self._count
        flow, with_start, with_end = way_flows(self._orifices, np.concatenate([free, self._sources])[None])
        into = (self._at_end - self._at_start)[:, :count]
        slopes = with_start[0][:, None] * self._at_start[:, :count] + with_end[0][:, None] * self._at_end[:, :count]
        return self._factor * (into.T @ flow[0]), self._factor[:, None] * (into.T @ slopes)

    def step(self, now: Array, step: float) -> tuple[Array, float]:
        """Pressures after a step, s, and the largest error, Pa."""
        rate, slopes = self.rates(now)
        matrix = np.eye(self._count) - GAMMA * step * slopes
        first = np.linalg.solve(matrix, rate)
        second = np.linalg.solve(matrix, self.rates(np.maximum(now + step * first, 1.0))[0] - 2.0 * first)
        after: Array = now + step * (1.5 * first + 0.5 * second)
        return after, float(np.abs(0.5 * step * (first + second)).max())
