"""Quasi-steady mass balance of a network of orifices, solved for many sets of source pressures at once.

Unknown are the pressures of the free spaces; at each the orifice flows must cancel. The flow law is
`boostcarb.physics.gas.laminar_flow_function` on arrays: St Venant-Wantzel with its choked branch, made laminar
close to zero difference so that the Newton step is defined everywhere. All flows are divided by the common factor
1/sqrt(R T): spaces joined by passages of one casting are taken to be at one temperature.
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

LEAKS = (1e-2, 1e-4, 1e-6)
"""Leak of a shut one-way valve over its open area, stepped down; each solve starts from the last."""

MAX_STEPS = 60
MAX_SWEEPS = 400


@dataclass(frozen=True, slots=True)
class Orifices:
    """Orifices between numbered spaces: first the free ones, then the sources.

    `start`, `end`: space numbers, shape (ways,); `area_m2`: effective areas, same shape; `one_way`: True where
    only flow from start to end passes.
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
    """Solve the balance for each case of source pressures, shape (cases, sources).

    Every free space must have a way to a source. Raises NotSolved, naming the spaces, when a residual stays above
    `TOLERANCE`.

    Two equal openings between 200 and 100 kPa: the flow in equals the flow out.

    >>> two = Orifices(1, np.array([0, 0]), np.array([1, 2]), np.array([1e-6, 1e-6]), np.array([False, False]))
    >>> round(float(solve(two, np.array([[110e3, 100e3]])).pressure_pa_abs[0, 0]))
    105063
    """
    pressure = _linear_start(orifices, sources_pa_abs)
    steps = 0
    leaks = LEAKS if orifices.one_way.any() else (0.0,)
    residual = np.zeros_like(pressure)
    for leak in leaks:
        pressure, residual, used = _newton(orifices, pressure, sources_pa_abs, leak)
        steps += used
    if (residual > TOLERANCE).any():
        pressure, residual, used = _sweep(orifices, pressure, sources_pa_abs, leaks[-1])
        steps += used
    if (residual > TOLERANCE).any() or not np.isfinite(residual).all():
        bad = sorted({int(space) for space in np.argwhere(~(residual <= TOLERANCE))[:, 1]})
        places = [names[space] if space < len(names) else str(space) for space in bad]
        raise NotSolved("the pressure balance", places=places, residual=float(residual.max()))
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
    slope = factor * (a * ratio ** (a - 1) - b * ratio ** (b - 1)) / (2 * np.maximum(psi, 1e-12))
    return psi, slope


def _linear_start(orifices: Orifices, sources: Array) -> Array:
    """Pressures if flow were in proportion to difference; each free space between its neighbors."""
    count = orifices.free + sources.shape[1]
    conductance = np.zeros((count, count))
    np.add.at(conductance, (orifices.start, orifices.end), orifices.area_m2)
    conductance += conductance.T
    laplacian = np.diag(conductance.sum(axis=1)) - conductance
    free = orifices.free
    start: Array = np.linalg.solve(laplacian[:free, :free], -laplacian[:free, free:] @ sources.T).T
    return np.ascontiguousarray(start)


def _imbalance(orifices: Orifices, free: Array, sources: Array, leak: float) -> tuple[Array, Array, Array, Array]:
    everything = np.concatenate([free, sources], axis=1)
    flow, with_start, with_end = way_flows(orifices, everything, leak)
    count = orifices.free
    inflow = np.zeros_like(everything)
    scale = np.zeros_like(everything)
    choked = orifices.area_m2 * everything.max(axis=1, keepdims=True)
    for way in range(flow.shape[1]):
        i, j = orifices.start[way], orifices.end[way]
        inflow[:, i] -= flow[:, way]
        inflow[:, j] += flow[:, way]
        scale[:, i] += choked[:, way]
        scale[:, j] += choked[:, way]
    return inflow[:, :count], scale[:, :count], with_start, with_end


def _jacobian(orifices: Orifices, with_start: Array, with_end: Array) -> Array:
    cases, count = with_start.shape[0], orifices.free
    jacobian = np.zeros((cases, count, count))
    for way in range(with_start.shape[1]):
        i, j = orifices.start[way], orifices.end[way]
        if i < count:
            jacobian[:, i, i] -= with_start[:, way]
            if j < count:
                jacobian[:, i, j] -= with_end[:, way]
        if j < count:
            jacobian[:, j, j] += with_end[:, way]
            if i < count:
                jacobian[:, j, i] += with_start[:, way]
    return jacobian


def _newton(orifices: Orifices, free: Array, sources: Array, leak: float) -> tuple[Array, Array, int]:
    """Newton with step halving, each case damped on its own; kept between lowest and highest source."""
    low, high = sources.min(axis=1, keepdims=True), sources.max(axis=1, keepdims=True)
    imbalance, scale, with_start, with_end = _imbalance(orifices, free, sources, leak)
    step = 0
    for step in range(1, MAX_STEPS + 1):
        worst = np.abs(imbalance / scale).max(axis=1)
        if (worst <= TOLERANCE * 1e-2).all():
            break
        jacobian = _jacobian(orifices, with_start, with_end)
        # A tiny diagonal keeps the step defined where every way of a space is choked.
        diagonal = np.einsum("cii->ci", jacobian)
        diagonal -= 1e-9 * scale / high
        move = np.linalg.solve(jacobian, -imbalance[..., None])[..., 0]
        share = np.ones((free.shape[0], 1))
        for _ in range(12):
            trial = np.clip(free + share * move, low, high)
            new = _imbalance(orifices, trial, sources, leak)
            better = np.abs(new[0] / new[1]).max(axis=1) < worst * (1 - 1e-4 * share[:, 0])
            if better.all():
                break
            share[~better & (worst > TOLERANCE * 1e-2)] /= 2
            share[worst <= TOLERANCE * 1e-2] = 0.0
            if not share.any():
                break
        free, (imbalance, scale, with_start, with_end) = trial, new
    return free, np.abs(imbalance / scale), step


def _sweep(orifices: Orifices, free: Array, sources: Array, leak: float) -> tuple[Array, Array, int]:
    """Bisect one space after the other until nothing moves: slow, but the balance is monotone in each pressure."""
    low, high = sources.min(axis=1), sources.max(axis=1)
    free = free.copy()
    sweep = 0
    for sweep in range(1, MAX_SWEEPS + 1):
        for space in range(orifices.free):
            a, b = low.copy(), high.copy()
            for _ in range(60):
                free[:, space] = (a + b) / 2
                gains = _imbalance(orifices, free, sources, leak)[0][:, space] > 0
                a, b = np.where(gains, free[:, space], a), np.where(gains, b, free[:, space])
        imbalance, scale, _, _ = _imbalance(orifices, free, sources, leak)
        if (np.abs(imbalance / scale) <= TOLERANCE).all():
            break
    imbalance, scale, _, _ = _imbalance(orifices, free, sources, leak)
    return free, np.abs(imbalance / scale), sweep
