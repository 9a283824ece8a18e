"""Pressure of every space in every operating state: a point where it is tied, a range where its past decides.

- A space with an open way to a source takes the pressure that the balance gives it.
- A space whose only ways out are one-way valves holds an extreme of its past: its range runs from the extreme
  over all drive states to what the present sources enforce.
- A sealed space, or a group of spaces without a way out, keeps the air it was closed with:
  p = p_sealed T / T_sealed over the temperatures it can see.
- A space with fuel in its ways lies between the lowest and the highest of what it is joined to; the metering
  decides where.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from boostcarb.errors import NotSolved
from boostcarb.network.model import Configuration, Network, Way
from boostcarb.physics.chamber import sealed_pressure
from boostcarb.solving.balance import Array, Index, Orifices, solve
from boostcarb.solving.pockets import find_pockets

Mask = NDArray[np.bool_]

AIR = "air"

SEALED_TRAVEL_SHARE = 0.05
"""Share by which the travel of its diaphragm can change a sealed volume either way (assumption)."""


class Nature(StrEnum):
    """Why a space has the pressure it has."""

    source = "set by the air path"
    tied = "tied to its sources"
    held = "held by a one-way valve"
    sealed = "sealed"
    metering = "set by the metering"


@dataclass(frozen=True, slots=True)
class Sealing:
    """How a closed chamber was closed and what temperatures it can then see. Pa absolute, K."""

    pressure_pa_abs: float
    temperature_k: float
    coldest_k: float
    hottest_k: float


@dataclass(frozen=True, slots=True)
class StateInput:
    """One operating state as the network needs it: the pressures of its sources, Pa absolute."""

    name: str
    sources_pa_abs: Mapping[str, float]
    ambient_pa_abs: float
    event: bool = False
    follows: str | None = None


@dataclass(frozen=True, slots=True)
class SpacePressure:
    """Lowest and highest pressure of one space in each state, Pa absolute, shape (states,)."""

    low: Array
    high: Array
    nature: Nature


@dataclass(frozen=True, slots=True)
class Pressures:
    """Pressures of all spaces in all states, with the largest residual of the balances behind them."""

    states: tuple[str, ...]
    spaces: Mapping[str, SpacePressure]
    residual: float

    def range_of(self, space: str, state: str) -> tuple[float, float]:
        """Lowest and highest pressure of a space in a state, Pa absolute."""
        index = self.states.index(state)
        pressure = self.spaces[space]
        return float(pressure.low[index]), float(pressure.high[index])


@dataclass(frozen=True, slots=True)
class _Solved:
    """Per space, over all states: the pressure, or NaN where it is held, and then the bounds enforced on it.

    `past_low` and `past_high` span what it can have met in drive states.
    """

    value: Array
    at_least: Array
    at_most: Array
    past_low: float
    past_high: float


class _Cluster:
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

    def solved(self, drive: Mask) -> dict[str, _Solved]:
        """What is known of every member; spaces that were held together share their past."""
        past = {}
        for group in _joined(self.value, self.held_together):
            low = min(float(self.near_low[name][drive].min(initial=np.inf)) for name in group)
            high = max(float(self.near_high[name][drive].max(initial=-np.inf)) for name in group)
            past.update(dict.fromkeys(group, (low, high)))
        return {
            name: _Solved(value, self.at_least[name], self.at_most[name], *past[name])
            for name, value in self.value.items()
        }


class PressureSolver:
    """Solves configurations of one network for a fixed set of operating states; keeps what it has solved.

    A source that a state does not name has the pressure of the atmosphere.

    Raises:
        NotSolved: a source without a pressure above zero; the error names source and state.
    """

    def __init__(self, network: Network, states: Sequence[StateInput], sealing: Sealing) -> None:
        self.network = network
        self.states = tuple(states)
        self.sealing = sealing
        self._air_ways = tuple(way for way in network.ways if way.carries == AIR)
        self._wet_ways = tuple(way for way in network.ways if way.carries != AIR)
        self._sources = {
            name: np.array([state.sources_pa_abs.get(name, state.ambient_pa_abs) for state in self.states])
            for name, space in network.spaces.items()
            if space.source
        }
        wrong = [
            f"{name} in {state.name}"
            for name, values in self._sources.items()
            for state, value in zip(self.states, values.tolist(), strict=True)
            if not 0.0 < value < np.inf
        ]
        if wrong:
            raise NotSolved("a source without a pressure above zero: the air path", places=wrong)
        self._masks = {way.name: self._mask(way) for way in self._air_ways}
        self._drive = np.array([not state.event for state in self.states])
        self._guarded = {way.name: self._mask(way) & self._drive for way in self._air_ways if way.guard}
        self._solved: dict[object, tuple[dict[str, _Solved], float]] = {}
        self._whole: dict[object, Pressures] = {}

    def solve(self, configuration: Configuration) -> Pressures:
        """Solve all states for a configuration.

        Raises:
            NotSolved: a balance that does not close; nothing is returned then.
        """
        air = [way for way in self._air_ways if way.exists(configuration)]
        wet = [way for way in self._wet_ways if way.exists(configuration)]
        key = (
            tuple((way.name, way.is_one_way(configuration), self._guard_works(way, configuration)) for way in air),
            tuple(way.name for way in wet),
        )
        if key not in self._whole:
            self._whole[key] = self._solve(configuration, air, wet)
        return self._whole[key]

    # --- which ways are open in which state ---------------------------------------------------------------

    def _mask(self, way: Way) -> Mask:
        if way.gate is None:
            return np.ones(len(self.states), dtype=bool)
        gate = way.gate
        base = [state.ambient_pa_abs if gate.level_is_gauge else 0.0 for state in self.states]
        above: Mask = self._sources[gate.senses] > gate.level_pa + np.array(base)
        return above if gate.open_above else ~above

    def _guard_works(self, way: Way, configuration: Configuration) -> bool:
        return way.guard is not None and configuration.get(way.guard) == "fitted"

    def _open_mask(self, way: Way, configuration: Configuration) -> Mask:
        return self._guarded[way.name] if self._guard_works(way, configuration) else self._masks[way.name]

    # --- clusters -----------------------------------------------------------------------------------------

    def _solve(self, configuration: Configuration, air: Sequence[Way], wet: Sequence[Way]) -> Pressures:
        spaces: dict[str, SpacePressure] = {
            name: SpacePressure(values, values, Nature.source) for name, values in self._sources.items()
        }
        residual = 0.0
        free = [name for name, space in self.network.spaces.items() if not space.source]
        for members, ways in _clusters(free, air, self._sources):
            if not ways:
                continue
            if not any(end in self._sources for way in ways for end in (way.a, way.b)):
                spaces.update(dict.fromkeys(members, self._sealed()))
                continue
            solved, left = self._cluster(configuration, members, ways)
            residual = max(residual, left)
            spaces.update({name: self._range(solved[name]) for name in members})
        for name in self._closed(free, air, wet):
            spaces[name] = self._sealed()
        rest = [name for name in free if name not in spaces]
        for members, ways in _clusters(rest, wet, {**self._sources, **spaces}):
            spaces.update(dict.fromkeys(members, self._between(ways, spaces)))
        return Pressures(tuple(state.name for state in self.states), spaces, residual)

    def _closed(self, free: Iterable[str], air: Sequence[Way], wet: Sequence[Way]) -> list[str]:
        joined = {end for way in air for end in (way.a, way.b)}
        wetted = {end for way in wet for end in (way.a, way.b)}
        gas = {name for name in free if self.network.spaces[name].holds not in ("fuel", "emulsion")}
        return [name for name in free if name not in joined and (name in gas or name not in wetted)]

    def _cluster(
        self, configuration: Configuration, members: Sequence[str], ways: Sequence[Way]
    ) -> tuple[dict[str, _Solved], float]:
        masks = [self._open_mask(way, configuration) for way in ways]
        one_way = [way.is_one_way(configuration) for way in ways]
        key = tuple((way.name, flag, mask.tobytes()) for way, flag, mask in zip(ways, one_way, masks, strict=True))
        if key not in self._solved:
            self._solved[key] = self._solve_cluster(members, ways, one_way, masks)
        return self._solved[key]

    def _solve_cluster(
        self, members: Sequence[str], ways: Sequence[Way], one_way: Sequence[bool], masks: Sequence[Mask]
    ) -> tuple[dict[str, _Solved], float]:
        count = len(self.states)
        cluster = _Cluster(members, count)
        residual = 0.0
        patterns: dict[bytes, list[int]] = {}
        for index in range(count):
            patterns.setdefault(bytes(int(mask[index]) for mask in masks), []).append(index)
        flags = {way.name: flag for way, flag in zip(ways, one_way, strict=True)}
        for pattern, indices in patterns.items():
            here = [way for way, is_open in zip(ways, pattern, strict=True) if is_open]
            for piece, piece_ways in _clusters(members, here, self._sources):
                left = self._solve_piece(piece, piece_ways, flags, np.array(indices), cluster)
                residual = max(residual, left)
        return cluster.solved(self._drive), residual

    def _solve_piece(
        self, piece: Sequence[str], ways: Sequence[Way], flags: Mapping[str, bool], at: Index, cluster: _Cluster
    ) -> float:
        """Solve one joined piece in the states `at`: values for tied spaces and bounds for held ones."""
        sources = sorted({end for way in ways for end in (way.a, way.b) if end in self._sources})
        if not sources:
            cluster.held_together += [(piece[0], name) for name in piece]
            return 0.0
        if len(sources) == 1 and not any(flags[way.name] for way in ways):
            for name in piece:
                cluster.know(name, at, self._sources[sources[0]][at])
            return 0.0
        names = [*piece, *sources]
        number = {name: index for index, name in enumerate(names)}
        orifices = Orifices(
            free=len(piece),
            start=np.array([number[way.a] for way in ways]),
            end=np.array([number[way.b] for way in ways]),
            area_m2=np.array([way.area_m2 for way in ways]),
            one_way=np.array([flags[way.name] for way in ways]),
        )
        given = np.stack([self._sources[name][at] for name in sources], axis=1)
        balance = solve(orifices, given, names)
        pressure = np.concatenate([balance.pressure_pa_abs, given], axis=1)

        held: list[tuple[str, ...]] = []
        for members, own in _clusters(piece, [way for way in ways if not flags[way.name]], self._sources):
            if not any(end in self._sources for way in own for end in (way.a, way.b)):
                held.append(members)
                continue
            for name in members:
                cluster.know(name, at, pressure[:, number[name]])
        pockets = find_pockets(orifices, pressure, [[number[name] for name in members] for members in held])
        for index, members in enumerate(held):
            flowing, still = at[pockets.flowing[index]], ~pockets.flowing[index]
            for name in members:
                cluster.know(name, flowing, pressure[~still, number[name]])
                for into, found in (
                    (cluster.at_least, pockets.at_least),
                    (cluster.at_most, pockets.at_most),
                    (cluster.near_low, pockets.near_low),
                    (cluster.near_high, pockets.near_high),
                ):
                    into[name][at[still]] = found[index, still]
                cluster.held_together.append((members[0], name))
        cluster.held_together += [(held[one][0], held[other][0]) for one, other in pockets.joined]
        return balance.residual

    # --- ranges -------------------------------------------------------------------------------------------

    def _range(self, solved: _Solved) -> SpacePressure:
        known = ~np.isnan(solved.value)
        if known.all():
            return SpacePressure(solved.value, solved.value, Nature.tied)
        start = self.sealing.pressure_pa_abs
        lowest, highest = min(start, solved.past_low), max(start, solved.past_high)
        # Between what it has met and what the valves enforce; weeping, it comes to meet what they lead to now.
        low = np.clip(lowest, solved.at_least, solved.at_most)
        high = np.clip(highest, solved.at_least, solved.at_most)
        low, high = np.where(known, solved.value, low), np.where(known, solved.value, high)
        names = [state.name for state in self.states]
        for index, state in enumerate(self.states):
            if state.event and not known[index] and state.follows is not None:
                # Too short for leaks, but not for what a valve lets pass.
                before = names.index(state.follows)
                enforced = solved.at_least[index], solved.at_most[index]
                low[index], high[index] = np.clip((low[before], high[before]), *enforced)
        nature = Nature.tied if known[self._drive].all() else Nature.held
        return SpacePressure(low, high, nature)

    def _sealed(self) -> SpacePressure:
        seal = self.sealing
        cold, hot = (
            sealed_pressure(
                sealed_pressure_pa_abs=seal.pressure_pa_abs,
                sealed_temperature_k=seal.temperature_k,
                temperature_k=temperature,
            )
            for temperature in (seal.coldest_k, seal.hottest_k)
        )
        count = len(self.states)
        return SpacePressure(
            np.full(count, cold * (1 - SEALED_TRAVEL_SHARE)),
            np.full(count, hot * (1 + SEALED_TRAVEL_SHARE)),
            Nature.sealed,
        )

    def _between(self, ways: Sequence[Way], spaces: Mapping[str, SpacePressure]) -> SpacePressure:
        ends = {end for way in ways for end in (way.a, way.b) if end in spaces}
        if not ends:
            return self._sealed()
        low = np.min([spaces[end].low for end in ends], axis=0)
        high = np.max([spaces[end].high for end in ends], axis=0)
        return SpacePressure(low, high, Nature.metering)


def _clusters(
    members: Sequence[str], ways: Sequence[Way], walls: Mapping[str, object]
) -> list[tuple[tuple[str, ...], tuple[Way, ...]]]:
    """Split spaces into groups joined by ways; walls (sources) join nothing. In a fixed order."""
    names = [name for name in members if name not in walls]
    known = set(names)
    groups = _joined(names, [(way.a, way.b) for way in ways if way.a in known and way.b in known])
    place = {name: index for index, group in enumerate(groups) for name in group}
    own: list[list[Way]] = [[] for _ in groups]
    for way in ways:
        end = next((end for end in (way.a, way.b) if end in place), None)
        if end is not None:
            own[place[end]].append(way)
    return [(group, tuple(some)) for group, some in zip(groups, own, strict=True)]


def _joined(names: Iterable[str], pairs: Iterable[tuple[str, str]]) -> list[tuple[str, ...]]:
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
