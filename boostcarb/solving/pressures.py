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

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from operator import itemgetter

import numpy as np

from boostcarb.errors import NotSolved
from boostcarb.network.model import Configuration, Network, Way, items_of
from boostcarb.physics.chamber import sealed_pressure
from boostcarb.solving.balance import Array, Index, Orifices, solve
from boostcarb.solving.clusters import Cluster, Mask, Solved, clusters
from boostcarb.solving.pockets import find_pockets

AIR = "air"
WET = ("fuel", "emulsion")
"""What a space holds whose pressure the metering decides, unless air reaches it."""

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


@dataclass(frozen=True, slots=True, eq=False)
class SpacePressure:
    """Lowest and highest pressure of one space in each state, Pa absolute, shape (states,); residual of its balance."""

    low: Array
    high: Array
    nature: Nature
    residual: float = 0.0


class Pressures:
    """Pressures of all spaces in all states for one configuration; each is solved when first asked for.

    Raises NotSolved wherever a pressure is asked for whose balance does not close.
    """

    def __init__(self, solver: PressureSolver, configuration: Configuration) -> None:
        self.states = tuple(state.name for state in solver.states)
        self.spaces: Mapping[str, SpacePressure] = _Spaces(solver, configuration)
        self._index = {name: index for index, name in enumerate(self.states)}

    @property
    def residual(self) -> float:
        """Largest residual of the balances behind any of the pressures."""
        return max(pressure.residual for pressure in self.spaces.values())

    def range_of(self, space: str, state: str) -> tuple[float, float]:
        """Lowest and highest pressure of a space in a state, Pa absolute."""
        index = self._index[state]
        pressure = self.spaces[space]
        return float(pressure.low[index]), float(pressure.high[index])


class _Spaces(Mapping[str, SpacePressure]):
    """Pressures by space, filled in as they are asked for, with all spaces that are joined to one."""

    def __init__(self, solver: PressureSolver, configuration: Configuration) -> None:
        self._solver = solver
        self._configuration = configuration
        self._known: dict[str, SpacePressure] = {}

    def __getitem__(self, name: str) -> SpacePressure:
        if name not in self._known:
            if name not in self._solver.network.spaces:
                raise KeyError(name)
            self._known.update(self._solver.around(name, self._configuration, self))
        return self._known[name]

    def __contains__(self, name: object) -> bool:
        return name in self._solver.network.spaces

    def __iter__(self) -> Iterator[str]:
        return iter(self._solver.network.spaces)

    def __len__(self) -> int:
        return len(self._solver.network.spaces)


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
        air_ways = [way for way in network.ways if way.carries == AIR]
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
        self._masks = {way.name: self._mask(way) for way in air_ways}
        self._drive = np.array([not state.event for state in self.states])
        self._guarded = {way.name: self._mask(way) & self._drive for way in air_ways if way.guard}
        guards = {way.guard for way in air_ways if way.guard}
        self._deciding = itemgetter(*sorted(items_of(network.ways) | guards))
        self._clusters: dict[object, dict[str, SpacePressure]] = {}
        self._pressures: dict[object, Pressures] = {}

    def solve(self, configuration: Configuration) -> Pressures:
        """The pressures of a configuration, all states; each is solved when it is first asked for."""
        key = self._deciding(configuration)
        if key not in self._pressures:
            self._pressures[key] = Pressures(self, dict(configuration))
        return self._pressures[key]

    # --- which ways are open in which state ---------------------------------------------------------------

    def _mask(self, way: Way) -> Mask:
        if way.gate is None:
            return np.ones(len(self.states), dtype=bool)
        gate = way.gate
        base = [state.ambient_pa_abs if gate.level_is_gauge else 0.0 for state in self.states]
        above: Mask = self._sources[gate.senses] > gate.level_pa + np.array(base)
        return above if gate.open_above else ~above

    def _open_mask(self, way: Way, configuration: Configuration) -> Mask:
        return self._guarded[way.name] if way.is_checked(configuration) else self._masks[way.name]

    # --- clusters -----------------------------------------------------------------------------------------

    def around(
        self, name: str, configuration: Configuration, known: Mapping[str, SpacePressure]
    ) -> dict[str, SpacePressure]:
        """Pressures of a space and of every space joined to it; `known` gives those that these lean on.

        Raises:
            NotSolved: a balance that does not close; nothing is returned then.
        """
        if name in self._sources:
            return {name: SpacePressure(self._sources[name], self._sources[name], Nature.source)}
        members, ways = self._joined_to(name, configuration, wet=False)
        if ways:
            if not any(end in self._sources for way in ways for end in (way.a, way.b)):
                return dict.fromkeys(members, self._sealed())
            return self._cluster(configuration, members, ways)
        if self.network.spaces[name].holds in WET:
            members, ways = self._joined_to(name, configuration, wet=True)
            if ways:
                return dict.fromkeys(members, self._between(members, ways, known))
        return {name: self._sealed()}

    def _joined_to(self, name: str, configuration: Configuration, *, wet: bool) -> tuple[list[str], list[Way]]:
        """Spaces joined to one by ways that are there, sources left out, with all those ways; by name."""
        members, ways, queue = {name}, {}, [name]
        while queue:
            for way in self.network.ways_of[queue.pop()]:
                if (way.carries != AIR) is not wet or not way.exists(configuration):
                    continue
                ways[way.name] = way
                for end in (way.a, way.b):
                    if end in members or end in self._sources or (wet and self._has_air(end, configuration)):
                        continue
                    members.add(end)
                    queue.append(end)
        return sorted(members), [ways[way] for way in sorted(ways)]

    def _has_air(self, name: str, configuration: Configuration) -> bool:
        """Whether a space's pressure is decided by its air."""
        ways = (way for way in self.network.ways_of[name] if way.carries == AIR)
        return self.network.spaces[name].holds not in WET or any(way.exists(configuration) for way in ways)

    def _cluster(
        self, configuration: Configuration, members: Sequence[str], ways: Sequence[Way]
    ) -> dict[str, SpacePressure]:
        masks = [self._open_mask(way, configuration) for way in ways]
        one_way = [way.is_one_way(configuration) for way in ways]
        key = tuple((way.name, flag, mask.tobytes()) for way, flag, mask in zip(ways, one_way, masks, strict=True))
        if key not in self._clusters:
            solved, residual = self._solve_cluster(members, ways, one_way, masks)
            self._clusters[key] = {name: self._range(solved[name], residual) for name in members}
        return self._clusters[key]

    def _solve_cluster(
        self, members: Sequence[str], ways: Sequence[Way], one_way: Sequence[bool], masks: Sequence[Mask]
    ) -> tuple[dict[str, Solved], float]:
        count = len(self.states)
        cluster = Cluster(members, count)
        residual = 0.0
        patterns: dict[bytes, list[int]] = {}
        for index in range(count):
            patterns.setdefault(bytes(int(mask[index]) for mask in masks), []).append(index)
        flags = {way.name: flag for way, flag in zip(ways, one_way, strict=True)}
        for pattern, indices in patterns.items():
            here = [way for way, is_open in zip(ways, pattern, strict=True) if is_open]
            for piece, piece_ways in clusters(members, here, self._sources):
                left = self._solve_piece(piece, piece_ways, flags, np.array(indices), cluster)
                residual = max(residual, left)
        return cluster.solved(self._drive), residual

    def _solve_piece(
        self, piece: Sequence[str], ways: Sequence[Way], flags: Mapping[str, bool], at: Index, cluster: Cluster
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
        for members, own in clusters(piece, [way for way in ways if not flags[way.name]], self._sources):
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

    def _range(self, solved: Solved, residual: float) -> SpacePressure:
        known = ~np.isnan(solved.value)
        if known.all():
            return SpacePressure(solved.value, solved.value, Nature.tied, residual)
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
        return SpacePressure(low, high, nature, residual)

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

    def _between(
        self, members: Sequence[str], ways: Sequence[Way], known: Mapping[str, SpacePressure]
    ) -> SpacePressure:
        ends = {end for way in ways for end in (way.a, way.b)}.difference(members)
        if not ends:
            return self._sealed()
        low = np.min([known[end].low for end in ends], axis=0)
        high = np.max([known[end].high for end in ends], axis=0)
        return SpacePressure(low, high, Nature.metering)
