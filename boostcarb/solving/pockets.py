"""Pockets: spaces that only one-way valves join to the rest, and what bounds the pressure that they hold.

Where air flows through a pocket, the balance gives its pressure. Where none does, the pocket keeps what its past
left in it, within what the valves enforce now: at least what could flow in, at most what could not flow out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from boostcarb.solving.balance import SHUT_LEAK, TOLERANCE, Array, Orifices, way_flows


@dataclass(frozen=True, slots=True)
class Pockets:
    """Pockets of one network in some cases; arrays of the shape (pockets, cases), Pa absolute.

    `flowing`: air flows through, the balance holds. Elsewhere `at_least` and `at_most` bound the pressure
    (infinite where nothing does), and `near_low` and `near_high` span what the pocket's valves lead to now.
    `joined`: pairs of pockets with a valve between them.
    """

    flowing: NDArray[np.bool_]
    at_least: Array
    at_most: Array
    near_low: Array
    near_high: Array
    joined: tuple[tuple[int, int], ...]


def find_pockets(orifices: Orifices, pressure_pa_abs: Array, members: Sequence[Sequence[int]]) -> Pockets:
    """Judge pockets, each given by the numbers of its spaces, at the solved pressures of all spaces."""
    shape = (len(members), pressure_pa_abs.shape[0])
    flow = way_flows(orifices, pressure_pa_abs, SHUT_LEAK)[0]
    pocket_of = {space: index for index, spaces in enumerate(members) for space in spaces}
    valves = [
        (way, pocket_of.get(start), pocket_of.get(end))
        for way, (start, end) in enumerate(zip(orifices.start.tolist(), orifices.end.tolist(), strict=True))
        if pocket_of.get(start) != pocket_of.get(end)
    ]
    through = np.zeros(shape)
    for way, start, end in valves:
        if end is not None:
            through[end] += np.maximum(flow[:, way], 0)
        if start is not None:
            through[start] += np.maximum(-flow[:, way], 0)
    # Were it not for leaks, no more could flow through a pocket at rest than all shut valves let through.
    leaks = np.maximum(-flow[:, orifices.one_way], 0).sum(axis=1)
    unsure = TOLERANCE * orifices.area_m2.sum() * pressure_pa_abs.max(axis=1)
    flowing = through > leaks + unsure

    at_least, at_most = np.full(shape, -np.inf), np.full(shape, np.inf)
    for _ in members:
        for way, start, end in valves:
            before, after = pressure_pa_abs[:, orifices.start[way]], pressure_pa_abs[:, orifices.end[way]]
            if end is not None:
                enforced = before if start is None else np.where(flowing[start], before, at_least[start])
                at_least[end] = np.maximum(at_least[end], enforced)
            if start is not None:
                enforced = after if end is None else np.where(flowing[end], after, at_most[end])
                at_most[start] = np.minimum(at_most[start], enforced)

    near_low, near_high = np.full(shape, np.inf), np.full(shape, -np.inf)
    for way, start, end in valves:
        for pocket, other, space in ((start, end, orifices.end[way]), (end, start, orifices.start[way])):
            if pocket is not None:
                sure = np.ones(shape[1], dtype=bool) if other is None else flowing[other]
                seen = pressure_pa_abs[:, space]
                near_low[pocket] = np.minimum(near_low[pocket], np.where(sure, seen, np.inf))
                near_high[pocket] = np.maximum(near_high[pocket], np.where(sure, seen, -np.inf))
    return Pockets(
        flowing=flowing,
        # A flow no larger than the leaks leaves the two the wrong way round.
        at_least=np.minimum(at_least, at_most),
        at_most=np.maximum(at_least, at_most),
        near_low=near_low,
        near_high=near_high,
        joined=tuple((start, end) for _, start, end in valves if start is not None and end is not None),
    )
