"""Groups of joined spaces, and what is known of their pressures while they are solved state by state."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from boostcarb.network.model import Way
from boostcarb.solving.balance import Array, Index

Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Solved:
    """Per space, over all states: the pressure, or NaN where it is held, and then the bounds enforced on it.

    `past_low` and `past_high` span what it can have met in drive states.
    """

    value: Array
    at_least: Array
    at_most: Array
    past_low: float
    past_high: float


class Cluster:
    """Arrays over all states for each member, filled state by state."""

    def __init__(self, members: Sequence[str], states: int) -> None:
        def each(fill: float) -> dict[str, Array]:
            return {name: np.full(states, fill) for name in members}

        self.value = each(np.nan)
        self.at_least, self.at_most = each(-np.inf), each(np.inf)
        self.near_low, self.near_high = each(np.inf), each(-np.inf)
        self.held_together: list[tuple[str, str]] = []

    def know(self, name: str, at: Index, pressure: Array) -> None:
        """A pressure that the present sources give."""
        self.value[name][at] = self.near_low[name][at] = self.near_high[name][at] = pressure

    def solved(self, drive: Mask) -> dict[str, Solved]:
        """What is known of every member; spaces that were held together share their past."""
        past = {}
        for group in joined(self.value, self.held_together):
            low = min(float(self.near_low[name][drive].min(initial=np.inf)) for name in group)
            high = max(float(self.near_high[name][drive].max(initial=-np.inf)) for name in group)
            past.update(dict.fromkeys(group, (low, high)))
        return {
            name: Solved(value, self.at_least[name], self.at_most[name], *past[name])
            for name, value in self.value.items()
        }


def clusters(
    members: Sequence[str], ways: Sequence[Way], walls: Mapping[str, object]
) -> list[tuple[tuple[str, ...], tuple[Way, ...]]]:
    """Split spaces into groups joined by ways; walls (sources) join nothing. In a fixed order."""
    names = [name for name in members if name not in walls]
    known = set(names)
    groups = joined(names, [(way.a, way.b) for way in ways if way.a in known and way.b in known])
    place = {name: index for index, group in enumerate(groups) for name in group}
    own: list[list[Way]] = [[] for _ in groups]
    for way in ways:
        end = next((end for end in (way.a, way.b) if end in place), None)
        if end is not None:
            own[place[end]].append(way)
    return [(group, tuple(some)) for group, some in zip(groups, own, strict=True)]


def joined(names: Iterable[str], pairs: Iterable[tuple[str, str]]) -> list[tuple[str, ...]]:
    """Names in groups that pairs join, in the order of the names."""
    parent = {name: name for name in names}

    def root(name: str) -> str:
        while parent[name] != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    for a, b in pairs:
        parent[root(b)] = root(a)
    groups: dict[str, list[str]] = {}
    for name in parent:
        groups.setdefault(root(name), []).append(name)
    return [tuple(group) for group in groups.values()]
