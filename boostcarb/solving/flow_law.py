"""The flow law of orifices on arrays: `boostcarb.physics.gas.laminar_flow_function` with its slopes.

St Venant-Wantzel with its choked branch, made laminar close to zero difference so that a Newton step is defined
everywhere. Flows are times sqrt(R T) of the gas.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from boostcarb.physics.constants import GAMMA_AIR

Array = NDArray[np.float64]

CRITICAL_RATIO = (2 / (GAMMA_AIR + 1)) ** (GAMMA_AIR / (GAMMA_AIR - 1))
"""Pressure ratio below which an orifice is choked."""

LAMINAR_RATIO = 0.999
"""Pressure ratio above which an orifice is taken to be laminar (as in `boostcarb.physics.gas`)."""

Flows = tuple[Array, Array, Array]
"""Flows from start to end, and their slopes with the pressures at start and end."""


def flows(start: Array, end: Array, area: Array, backward: Array) -> Flows:
    """Flows between pressures, Pa absolute, and their slopes.

    `area`: for flow from start to end, m2, and `backward` for flow from end to start; both may be the same array.
    All of one shape, or of shapes that go together.
    """
    forward, up, ratio = _downhill(start, end)
    psi, slope = _flow_function(ratio)
    if backward is not area:
        area = np.where(forward, area, backward)
    return _with_signs(forward, area * up * psi, area * psi - ratio * area * slope, area * slope)


def squared_flows(start: Array, end: Array, area: Array, backward: Array) -> Flows:
    """Squares of the flows with the signs of the flows, and their slopes; laminar nowhere.

    Arguments as of `flows`. Near zero difference a square is as good as straight, where the flow itself is steep.
    """
    forward, up, ratio = _downhill(start, end)
    square, slope = _squared(np.maximum(ratio, CRITICAL_RATIO))
    slope[ratio < CRITICAL_RATIO] = 0.0
    if backward is not area:
        area = np.where(forward, area, backward)
    twice = area * area * up
    return _with_signs(forward, twice * up * square, twice * (2 * square - ratio * slope), twice * slope)


def laminar_edge(area: Array, up: Array) -> Array:
    """Flow at the edge of the laminar part."""
    return _PSI_EDGE * area * up


def _downhill(start: Array, end: Array) -> tuple[NDArray[np.bool_], Array, Array]:
    up = np.maximum(start, end)
    return start >= end, up, np.minimum(start, end) / up


def _with_signs(forward: NDArray[np.bool_], flow: Array, with_up: Array, with_down: Array) -> Flows:
    return (
        np.where(forward, flow, -flow),
        np.where(forward, with_up, -with_down),
        np.where(forward, with_down, -with_up),
    )


def _flow_function(ratio: Array) -> tuple[Array, Array]:
    """The laminar-regularized flow function and its slope with the pressure ratio."""
    psi, slope = _isentropic(np.minimum(np.maximum(ratio, CRITICAL_RATIO), LAMINAR_RATIO))
    slope[ratio < CRITICAL_RATIO] = 0.0
    laminar = ratio > LAMINAR_RATIO
    if laminar.any():
        x = (1 - ratio[laminar]) / _SPAN
        psi[laminar] = (_LINEAR + _SQUARE * x) * x
        slope[laminar] = -(_LINEAR + 2 * _SQUARE * x) / _SPAN
    return psi, slope


def _isentropic(ratio: Array) -> tuple[Array, Array]:
    square, slope = _squared(ratio)
    psi = np.sqrt(square)
    return psi, slope / (2 * psi)


def _squared(ratio: Array) -> tuple[Array, Array]:
    """psi^2 = 2k/(k-1) (r^(2/k) - r^((k+1)/k)) and its slope; with y = r^(1/k) the bracket is y (y - r)."""
    k = GAMMA_AIR
    y = ratio ** (1 / k)
    return 2 * k / (k - 1) * y * (y - ratio), 2 / (k - 1) * y * (2 * y / ratio - (k + 1))


# The parabola of the laminar part takes over value and slope at its edge: psi = (linear + square x) x.
_SPAN = 1 - LAMINAR_RATIO
_PSI_EDGE, _SLOPE_EDGE = (float(edge) for edge in _isentropic(np.array(LAMINAR_RATIO)))
_LINEAR, _SQUARE = 2 * _PSI_EDGE + _SLOPE_EDGE * _SPAN, -_PSI_EDGE - _SLOPE_EDGE * _SPAN
