"""Pressure of every space in every operating state: a point where it is tied, a range where its past decides.

- A space with an open way to a source takes the pressure that the balance gives it.
- A space whose only ways out are one-way valves holds an extreme of its past: its range runs from the extreme over
  all drive states to what the present sources enforce.
- A sealed space keeps the air it was closed with: p = p_sealed T / T_sealed over the temperatures it can see.
- A space with fuel in its ways lies between the lowest and the highest of what it is joined to; the metering
  decides where.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from boostcarb.network.model import Configuration, Network, Way
from boostcarb.physics.chamber import sealed_pressure
from boostcarb.solving.balance import Array, Orifices, solve

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
    """Per space, over some states: the pressure itself, or the bounds within which a past one is held."""

    value: Array
    at_least: Array
    at_most: Array
    tied: bool


class PressureSolver:
    """Solves configurations of one network for a fixed set of operating states; keeps what it has solved."""

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
        self._masks = {way.name: self._mask(way) for way in self._air_ways}
        self._guarded = {way.name: self._mask(way) & ~self._events() for way in self._air_ways if way.guard}
        self._drive = ~self._events()
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

    def _events(self) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        return np.array([state.event for state in self.states])

    def _mask(self, way: Way) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        if way.gate is None:
            return np.ones(len(self.states), dtype=bool)
        gate = way.gate
        above = np.array(
            [
                state.sources_pa_abs[gate.senses] > gate.level_pa + (state.ambient_pa_abs if gate.level_is_gauge else 0)
                for state in self.states
            ]
        )
        return above if gate.open_above else ~above

    def _guard_works(self, way: Way, configuration: Configuration) -> bool:
        return way.guard is not None and configuration.get(way.guard) == "fitted"

    def _open_mask(self, way: Way, configuration: Configuration) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
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
            solved, left = self._cluster(configuration, members, ways)
            residual = max(residual, left)
            spaces.update(self._ranges(members, solved))
        for name in self._closed(free, air, wet):
            spaces[name] = self._sealed()
        for members, ways in _clusters([name for name in free if name not in spaces], wet, {**self._sources, **spaces}):
            spaces.update(self._between(members, ways, spaces))
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
        self,
        members: Sequence[str],
        ways: Sequence[Way],
        one_way: Sequence[bool],
        masks: Sequence[np.ndarray[tuple[int], np.dtype[np.bool_]]],
    ) -> tuple[dict[str, _Solved], float]:
        count = len(self.states)
        blank = np.full(count, np.nan)
        value = {name: blank.copy() for name in members}
        at_least = {name: np.full(count, -np.inf) for name in members}
        at_most = {name: np.full(count, np.inf) for name in members}
        residual = 0.0
        patterns: dict[bytes, list[int]] = {}
        for index in range(count):
            patterns.setdefault(bytes(int(mask[index]) for mask in masks), []).append(index)
        for pattern, indices in patterns.items():
            at = np.array(indices)
            here = [(way, flag) for way, flag, is_open in zip(ways, one_way, pattern, strict=True) if is_open]
            for piece, piece_ways in _clusters(members, [way for way, _ in here], self._sources):
                flags = {way.name: flag for way, flag in here}
                left = self._solve_piece(piece, piece_ways, flags, at, (value, at_least, at_most))
                residual = max(residual, left)
        solved = {
            name: _Solved(value[name], at_least[name], at_most[name], not bool(np.isnan(value[name]).any()))
            for name in members
        }
        return solved, residual

    def _solve_piece(
        self,
        piece: Sequence[str],
        ways: Sequence[Way],
        flags: Mapping[str, bool],
        at: np.ndarray[tuple[int], np.dtype[np.intp]],
        into: tuple[dict[str, Array], dict[str, Array], dict[str, Array]],
    ) -> float:
        """Solve one joined piece in the states `at`; write values for tied spaces and bounds for held ones."""
        value, at_least, at_most = into
        sources = sorted({end for way in ways for end in (way.a, way.b) if end in self._sources})
        if not sources:
            return 0.0
        if len(sources) == 1 and not any(flags[way.name] for way in ways):
            for name in piece:
                value[name][at] = self._sources[sources[0]][at]
            return 0.0
        number = {name: index for index, name in enumerate([*piece, *sources])}
        balance = solve(
            Orifices(
                free=len(piece),
                start=np.array([number[way.a] for way in ways]),
                end=np.array([number[way.b] for way in ways]),
                area_m2=np.array([way.area_m2 for way in ways]),
                one_way=np.array([flags[way.name] for way in ways]),
            ),
            np.stack([self._sources[name][at] for name in sources], axis=1),
            piece,
        )
        steady = {name: balance.pressure_pa_abs[:, number[name]] for name in piece}
        everywhere = {**steady, **{name: self._sources[name][at] for name in sources}}
        plain = [way for way in ways if not flags[way.name]]
        for pocket, _ in _clusters(piece, plain, self._sources):
            touching = [way for way in ways if way.a in pocket or way.b in pocket]
            if any(not flags[way.name] and (way.a in sources or way.b in sources) for way in touching):
                for name in pocket:
                    value[name][at] = steady[name]
                continue
            low, high = self._hold(pocket, touching, everywhere, len(at))
            flows = low > high
            for name in pocket:
                value[name][at] = np.where(flows, steady[name], np.nan)
                at_least[name][at] = np.where(flows, -np.inf, low)
                at_most[name][at] = np.where(flows, np.inf, high)
        return balance.residual

    @staticmethod
    def _hold(
        pocket: Sequence[str], touching: Sequence[Way], pressure: Mapping[str, Array], count: int
    ) -> tuple[Array, Array]:
        """What one-way valves into and out of a pocket enforce now: at least, at most."""
        low, high = np.full(count, -np.inf), np.full(count, np.inf)
        for way in touching:
            if way.a in pocket and way.b not in pocket:
                high = np.minimum(high, pressure[way.b])
            elif way.b in pocket and way.a not in pocket:
                low = np.maximum(low, pressure[way.a])
        return low, high

    # --- ranges -------------------------------------------------------------------------------------------

    def _ranges(self, members: Sequence[str], solved: Mapping[str, _Solved]) -> dict[str, SpacePressure]:
        return {name: self._range(solved[name]) for name in members}

    def _range(self, solved: _Solved) -> SpacePressure:
        if solved.tied:
            return SpacePressure(solved.value, solved.value, Nature.tied)
        drive = self._drive
        reached = solved.value[drive][~np.isnan(solved.value[drive])]
        lowest = np.concatenate([reached, solved.at_most[drive][np.isfinite(solved.at_most[drive])]])
        highest = np.concatenate([reached, solved.at_least[drive][np.isfinite(solved.at_least[drive])]])
        start = self.sealing.pressure_pa_abs
        low = np.full(len(self.states), min(start, lowest.min(initial=np.inf)) if not reached.size else lowest.min())
        high = np.full(len(self.states), max(start, highest.max(initial=-np.inf)) if not reached.size else highest.max())
        low, high = np.clip(low, solved.at_least, solved.at_most), np.clip(high, solved.at_least, solved.at_most)
        # A one-way valve that weeps lets the present pressure in.
        low = np.where(np.isfinite(solved.at_least), np.minimum(low, solved.at_least), low)
        high = np.where(np.isfinite(solved.at_most), np.maximum(high, solved.at_most), high)
        known = ~np.isnan(solved.value)
        low, high = np.where(known, solved.value, low), np.where(known, solved.value, high)
        for index, state in enumerate(self.states):
            if state.event and not known[index] and state.follows is not None:
                before = [other.name for other in self.states].index(state.follows)
                low[index], high[index] = low[before], high[before]
        always = not known.any()
        nature = Nature.held if always or not known[drive].all() else Nature.tied
        return SpacePressure(low, high, nature)

    def _sealed(self) -> SpacePressure:
        seal = self.sealing
        cold, hot = (
            sealed_pressure(
                sealed_pressure_pa_abs=seal.pressure_pa_abs, sealed_temperature_k=seal.temperature_k, temperature_k=k
            )
            for k in (seal.coldest_k, seal.hottest_k)
        )
        count = len(self.states)
        return SpacePressure(
            np.full(count, cold * (1 - SEALED_TRAVEL_SHARE)), np.full(count, hot * (1 + SEALED_TRAVEL_SHARE)), Nature.sealed
        )

    def _between(
        self, members: Sequence[str], ways: Sequence[Way], spaces: Mapping[str, SpacePressure]
    ) -> dict[str, SpacePressure]:
        ends = {end for way in ways for end in (way.a, way.b) if end in spaces}
        if not ends:
            return {}
        low = np.min([spaces[end].low for end in ends], axis=0)
        high = np.max([spaces[end].high for end in ends], axis=0)
        return {name: SpacePressure(low, high, Nature.metering) for name in members}


def _clusters(
    members: Sequence[str], ways: Sequence[Way], walls: Mapping[str, object]
) -> list[tuple[tuple[str, ...], tuple[Way, ...]]]:
    """Split spaces into groups joined by ways; walls (sources) join nothing. In a fixed order."""
    parent = {name: name for name in members}

    def root(name: str) -> str:
        while parent[name] != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    for way in ways:
        if way.a in parent and way.b in parent and way.a not in walls and way.b not in walls:
            a, b = sorted((root(way.a), root(way.b)))
            parent[b] = a
    groups: dict[str, list[str]] = {}
    for name in members:
        groups.setdefault(root(name), []).append(name)
    own: dict[str, list[Way]] = {name: [] for name in groups}
    for way in ways:
        for end in (way.a, way.b):
            if end in parent and end not in walls:
                own[root(end)].append(way)
                break
    return [(tuple(names), tuple(own[key])) for key, names in sorted(groups.items())]
