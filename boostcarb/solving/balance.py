"""Quasi-steady mass balance of a network of orifices, solved for many sets of source pressures at once.

Unknown are the pressures of the free spaces; at each the orifice flows must cancel. The flow law is
`boostcarb.physics.gas.laminar_flow_function` on arrays: St Venant-Wantzel with its choked branch, made
laminar close to zero difference so that the Newton step is defined everywhere. All flows are divided by the
common factor 1/sqrt(R T): spaces joined by passages of one casting are taken to be at one temperature.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from boostcarb.errors import NotSolved
from boostcarb.physics.constants import GAMMA_AIR

Array = NDArray[np.float64]
Index = NDArray[np.intp]

LAMINAR_RATIO = 0.999
"""Pressure ratio above which an orifice is taken to be laminar (as in `boostcarb.physics.gas`)."""

TOLERANCE = 1e-9
"""Largest mass residual of a solved space, as a share of what its openings could pass when choked."""

SHUT_LEAK = 1e-6
"""Leak of a shut one-way valve over its open area."""

LEAK_LADDERS = (
    (1e-2, 1e-4),
    tuple(10.0**-step for step in range(6)),
    tuple(10.0 ** (-step / 4) for step in range(24)),
)
"""Leaks of a shut one-way valve on the way to `SHUT_LEAK`; each solve starts from the last.

A longer ladder is climbed only for the cases that a shorter one leaves unsolved.
"""

MAX_STEPS = 60
MAX_HALVINGS = 12

PROBLEM = "the pressure balance"


@dataclass(frozen=True, slots=True)
class Orifices:
    """Orifices between numbered spaces: first the free ones, then the sources.

    `start`, `end`: space numbers, shape (ways,); `area_m2`: effective areas, same shape, above 0; `one_way`:
    True where only flow from start to end passes.
    """

    free: int
    start: Index
    end: Index
    area_m2: Array
    one_way: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Balance:
    """Solved pressures, shape (cases, free spaces), Pa absolute, and the largest relative residual."""

    pressure_pa_abs: Array
    residual: float
    steps: int


def solve(orifices: Orifices, sources_pa_abs: Array, names: Sequence[str] = ()) -> Balance:
    """Solve the balance for each case of source pressures, shape (cases, sources), Pa absolute.

    `names`: of the free spaces, then of the sources; an error calls a space by its number where they end.

    Raises:
        NotSolved: naming the spaces; a free space without a way to a source, a source pressure that is not
            finite and above zero, or a residual that stays above `TOLERANCE`.

    Two equal openings between 110 and 100 kPa: the flow in equals the flow out.

    >>> two = Orifices(1, np.array([0, 0]), np.array([1, 2]), np.array([1e-6, 1e-6]), np.array([False, False]))
    >>> round(float(solve(two, np.array([[110e3, 100e3]])).pressure_pa_abs[0, 0]))
    105126
    """
    network = _Network.of(orifices, sources_pa_abs.shape[1])
    _require_sources(orifices.free, sources_pa_abs, names)
    _require_ways(orifices, names)
    start = _linear_start(network, sources_pa_abs)
    pressure, residual = start.copy(), np.full(start.shape, np.inf)
    left = np.arange(start.shape[0])
    steps = 0
    for ladder in LEAK_LADDERS if orifices.one_way.any() else ((),):
        sources, climbing = sources_pa_abs[left], start[left]
        for leak in (*ladder, SHUT_LEAK):
            climbing, found, used = _newton(network, climbing, sources, leak)
            steps += used
        pressure[left], residual[left] = climbing, found
        left = left[(found > TOLERANCE).any(axis=1)]
        if not left.size:
            break
    if left.size:
        bad = np.flatnonzero((residual > TOLERANCE).any(axis=0))
        raise NotSolved(PROBLEM, places=_called(bad, names), residual=float(residual.max()))
    return Balance(pressure, float(residual.max(initial=0.0)), steps)


def way_flows(orifices: Orifices, pressure_pa_abs: Array, leak: float = 0.0) -> tuple[Array, Array, Array]:
    """Flow of each way from start to end times sqrt(R T), and its slopes with the pressures at start and end.

    `pressure_pa_abs`: all spaces, shape (cases, spaces). Each result has the shape (cases, ways).
    """
    start, end = pressure_pa_abs[:, orifices.start], pressure_pa_abs[:, orifices.end]
    forward = start >= end
    up, down = np.where(forward, start, end), np.where(forward, end, start)
    psi, slope = _flow_function(down / up)
    area = np.where(orifices.one_way & ~forward, orifices.area_m2 * leak, orifices.area_m2)
    flow = area * up * psi
    with_up, with_down = area * (psi - down / up * slope), area * slope
    return (
        np.where(forward, flow, -flow),
        np.where(forward, with_up, -with_down),
        np.where(forward, with_down, -with_up),
    )


def _flow_function(ratio: Array) -> tuple[Array, Array]:
    """The laminar-regularized flow function and its slope with the pressure ratio."""
    critical = (2 / (GAMMA_AIR + 1)) ** (GAMMA_AIR / (GAMMA_AIR - 1))
    clipped = np.clip(ratio, critical, LAMINAR_RATIO)
    psi, slope = _isentropic(clipped)
    slope = np.where(ratio < critical, 0.0, slope)
    laminar = ratio > LAMINAR_RATIO
    if laminar.any():
        psi_edge, slope_edge = _isentropic(np.array(LAMINAR_RATIO))
        span = 1 - LAMINAR_RATIO
        x = (1 - ratio) / span
        linear, square = 2 * psi_edge + slope_edge * span, -psi_edge - slope_edge * span
        psi = np.where(laminar, linear * x + square * x**2, psi)
        slope = np.where(laminar, -(linear + 2 * square * x) / span, slope)
    return psi, slope


def _isentropic(ratio: Array) -> tuple[Array, Array]:
    k = GAMMA_AIR
    a, b = 2 / k, (k + 1) / k
    factor = 2 * k / (k - 1)
    psi = np.sqrt(factor * (ratio**a - ratio**b))
    slope = factor * (a * ratio ** (a - 1) - b * ratio ** (b - 1)) / (2 * psi)
    return psi, slope


def _called(spaces: Index, names: Sequence[str]) -> list[str]:
    return [names[space] if space < len(names) else str(space) for space in spaces.tolist()]


def _require_sources(free: int, sources: Array, names: Sequence[str]) -> None:
    wrong = ~(np.isfinite(sources) & (sources > 0)).all(axis=0)
    if wrong.any():
        raise NotSolved(
            f"{PROBLEM}, a source without a pressure above zero,",
            places=_called(free + np.flatnonzero(wrong), names),
        )


def _require_ways(orifices: Orifices, names: Sequence[str]) -> None:
    """Refuse free spaces that no way joins to a source: their pressure could be anything."""
    joined = np.arange(max(orifices.free, orifices.start.max(initial=0) + 1, orifices.end.max(initial=0) + 1))
    joined = joined >= orifices.free
    passing = orifices.area_m2 > 0
    start, end = orifices.start[passing], orifices.end[passing]
    count = -1
    while count != joined.sum():
        count = joined.sum()
        touched = joined[start] | joined[end]
        joined[start[touched]] = True
        joined[end[touched]] = True
    if not joined.all():
        raise NotSolved(f"{PROBLEM}, no way to a source,", places=_called(np.flatnonzero(~joined), names))


@dataclass(frozen=True, slots=True)
class _Network:
    """Orifices with the incidence of their ends, shape (ways, spaces), as the balance needs it."""

    orifices: Orifices
    at_start: Array
    at_end: Array
    area_m2: Array
    """Sum of the areas at each free space."""

    @classmethod
    def of(cls, orifices: Orifices, sources: int) -> _Network:
        spaces = np.arange(orifices.free + sources)
        at_start = (orifices.start[:, None] == spaces).astype(float)
        at_end = (orifices.end[:, None] == spaces).astype(float)
        total = orifices.area_m2 @ (at_start + at_end)
        return cls(orifices, at_start, at_end, total[: orifices.free])

    def imbalance(self, free: Array, sources: Array, leak: float) -> tuple[Array, Array, Array]:
        """Net flow into each free space, and the slopes of all ways."""
        flow, with_start, with_end = way_flows(self.orifices, np.concatenate([free, sources], axis=1), leak)
        return (flow @ (self.at_end - self.at_start))[:, : self.orifices.free], with_start, with_end

    def jacobian(self, with_start: Array, with_end: Array) -> Array:
        """Slopes of the net flows with the free pressures, shape (cases, free, free)."""
        count = self.orifices.free
        into = (self.at_end - self.at_start)[:, :count].T
        slopes = with_start[..., None] * self.at_start[:, :count] + with_end[..., None] * self.at_end[:, :count]
        product: Array = into @ slopes
        return product


def _linear_start(network: _Network, sources: Array) -> Array:
    """Pressures if flow were in proportion to difference; each free space between its neighbors."""
    free = network.orifices.free
    area = network.orifices.area_m2[None]
    toward_sources = (network.at_end - network.at_start)[:, free:] * network.orifices.area_m2[:, None]
    matrix = network.jacobian(area, -area)[0]
    into = (network.at_end - network.at_start)[:, :free].T @ toward_sources
    start: Array = np.linalg.solve(matrix, into @ sources.T).T
    low, high = sources.min(axis=1, keepdims=True), sources.max(axis=1, keepdims=True)
    return np.clip(start, low, high)


def _newton(network: _Network, free: Array, sources: Array, leak: float) -> tuple[Array, Array, int]:
    """Newton with step halving, each case damped on its own; kept between lowest and highest source.

    A step must lower the sum of all imbalances: air that leaves one space arrives at another, so that filling
    and venting could only ever lower that sum, whereas the worst single imbalance may have to rise for a while.
    """
    low, high = sources.min(axis=1, keepdims=True), sources.max(axis=1, keepdims=True)
    choked = network.area_m2 * high
    imbalance, with_start, with_end = network.imbalance(free, sources, leak)
    steps = 0
    while steps < MAX_STEPS:
        active = np.abs(imbalance / choked).max(axis=1, initial=0.0) > TOLERANCE * 1e-2
        if not active.any():
            break
        steps += 1
        jacobian = network.jacobian(with_start, with_end)
        # A tiny diagonal keeps the step defined where every way of a space is choked.
        np.einsum("cii->ci", jacobian)[...] -= 1e-9 * network.area_m2
        move = np.linalg.solve(jacobian, -imbalance[..., None])[..., 0]
        total = np.abs(imbalance).sum(axis=1)
        share = active.astype(float)
        for _ in range(MAX_HALVINGS):
            trial = np.clip(free + share[:, None] * move, low, high)
            tried, with_start, with_end = network.imbalance(trial, sources, leak)
            worse = active & ~(np.abs(tried).sum(axis=1) < total * (1 - 1e-4 * share))
            if not worse.any():
                break
            share[worse] /= 2
        free, imbalance = trial, tried
    return free, np.abs(imbalance / choked), steps
