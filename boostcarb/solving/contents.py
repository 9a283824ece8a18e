"""What each space can hold in each operating state: air, vapor, mixture, liquid fuel, exhaust, crankcase gas.

A space holds what it holds by itself and what flows or breathes into it:

- Gas passes an open way from the higher pressure to the lower. Where both are equal it still gets into a chamber, which
  breathes as the pressure of its source rises and falls, and through ducts; into other sources it does not, but for
  the vapor of a float bowl, which drives itself out. Where a pressure is a range, what may flow counts.
- A one-way valve passes its direction only; a backfire check that is fitted passes nothing in a backfire.
- The air path carries on what it meets, from the air horn past the throats to the base and through the compressor.
  Air and vapor that get into mixture are part of it, and so is fuel that is metered into the stream.
- Liquid fuel runs through ways of fuel unless pressure holds it back. It leaves a float bowl through what lies below
  its level, and through its vents too once the bowl runs over. Where liquid stands in a space with air, there is vapor.
- Gas gets through a way of fuel only against the head of fuel above it.
- The atmosphere holds air, whatever escapes into it. So does every chamber, from when it was closed.

This is a least fixed point over spaces and contents: what one space holds never takes anything out of another. It is
read backward from the space that is asked about, so that only what could lead there is looked at.

Two steps that need two states are not followed: what a chamber took up in one state and passes on in another. While
pressures change, a chamber with ways to two sources can take in more than the steady flow through it brings.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fnmatch import fnmatchcase
from typing import Protocol

import numpy as np

from boostcarb.findings import Step
from boostcarb.network.model import Configuration, Network, Space, Way
from boostcarb.solving.clusters import Mask
from boostcarb.solving.pressures import AIR, Nature, Pressures


class Content(StrEnum):
    """What a space can hold. `vapor` is fuel vapor in air, `crankcase_gas` blow-by, oil mist and fuel vapor."""

    air = "air"
    vapor = "vapor"
    mixture = "mixture"
    liquid_fuel = "liquid_fuel"
    exhaust = "exhaust"
    crankcase_gas = "crankcase_gas"


OWN = {
    "air": Content.air,
    "mixture": Content.mixture,
    "fuel": Content.liquid_fuel,
    "crankcase_gas": Content.crankcase_gas,
    "exhaust": Content.exhaust,
}
"""What a source holds by itself, by what its family says; a chamber holds air unless it is a place of fuel."""

AIR_PATH = "air path"
STREAM = (("air_horn", "*_throat"), ("*_throat", "base"), ("compressor_inlet", "compressor_outlet"))
"""Where the air path leads from source to source without a way of the network."""

DUCT, SEAT, AMBIENT = "duct", "seat", "ambient"
BELOW_THE_LEVEL = frozenset({"joint", "gasket_window", "clearance", "rupture"})
"""Kinds of air way through which a float bowl loses fuel; all others open into the air above it."""

STILL_PA = 10.0
"""Below this difference a gas drifts and pulsates either way (assumption)."""

HEAD_PA = 250.0
"""Head of fuel over a jet: 35 mm of gasoline, rho g h."""


class State(Protocol):
    """An operating state, as far as it matters here."""

    @property
    def name(self) -> str:
        """Its name, as in the pressures."""

    @property
    def event(self) -> bool:
        """Whether it is a backfire: then what burns leaves exhaust."""


@dataclass(frozen=True, slots=True)
class Origin:
    """How a content gets into a space: from where, by which path, in which states."""

    content: Content
    start: str
    path: tuple[Step, ...]
    states: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Inflow:
    """A content of another space, or of the same one, that becomes one of this space in the states of `mask`."""

    space: str
    content: Content
    way: str | None
    mask: int


class Contents:
    """What each space can hold in one configuration; worked out when it is asked for."""

    def __init__(
        self, network: Network, configuration: Configuration, pressures: Pressures, states: Iterable[State]
    ) -> None:
        events = {state.name for state in states if state.event}
        self._network = network
        self._configuration = configuration
        self._pressures = pressures
        self.states = pressures.states
        self._is_event = np.array([name in events for name in pressures.states])
        self._events = _bits(self._is_event)
        self._all = (1 << len(pressures.states)) - 1
        self._flooded = {
            item.forms[configuration[name]].floods for name, item in network.items.items() if name in configuration
        }
        self._known: dict[tuple[str, bool, bool, bool], int] = {}
        self._inflowing: dict[tuple[str, Content], tuple[_Inflow, ...]] = {}

    def of(self, space: str, state: str) -> tuple[Content, ...]:
        """What a space can hold in one state."""
        return self.over(space, [state])

    def over(self, space: str, states: Sequence[str]) -> tuple[Content, ...]:
        """What a space can hold in any of some states."""
        return tuple(each for each in Content if next(self.origins(space, [each], states), None) is not None)

    def by_state(self, space: str, states: Sequence[str]) -> dict[str, tuple[Content, ...]]:
        """What a space can hold in each of some states."""
        found: dict[str, list[Content]] = {name: [] for name in states}
        for content in Content:
            for origin in self.origins(space, [content], states):
                for state in origin.states:
                    found[state].append(content)
        return {state: tuple(contents) for state, contents in found.items()}

    def origins(self, space: str, contents: Iterable[Content], states: Sequence[str]) -> Iterator[Origin]:
        """From where a space can get any of these, each state once, the shortest path first.

        The search ends at a source that holds one of them by itself in every state, whatever else comes in there.
        """
        wanted = tuple(contents)
        missing = sum(1 << index for index, name in enumerate(self._pressures.states) if name in states)
        queue: deque[tuple[str, Content, Content, int, tuple[Step, ...]]]
        queue = deque((space, content, content, missing, ()) for content in wanted)
        seen = dict.fromkeys(((space, content) for content in wanted), missing)
        while queue and missing:
            here, content, arrives, mask, path = queue.popleft()
            mask &= missing
            own = mask & self._own(here, content)
            if own:
                missing &= ~own
                yield Origin(arrives, here, path, self._names(own))
            if mask == own or (here != space and is_spring(self._network, here, wanted)):
                continue
            for inflow in self._into(here, content):
                node = (inflow.space, inflow.content)
                new = mask & ~own & inflow.mask & ~seen.get(node, 0)
                if new:
                    seen[node] = seen.get(node, 0) | new
                    longer = path if inflow.way is None else (Step(inflow.way, here), *path)
                    queue.append((*node, arrives, new, longer))

    def _names(self, mask: int) -> tuple[str, ...]:
        return tuple(name for index, name in enumerate(self._pressures.states) if mask >> index & 1)

    # --- what a space holds by itself ---------------------------------------------------------------------

    def _own(self, name: str, content: Content) -> int:
        space = self._network.spaces[name]
        mine = own_content(space)
        if mine is content and not (content is Content.air and self._is_fed(space)):
            return self._all
        return self._events if content is Content.exhaust and mine is Content.mixture else 0

    def _is_fed(self, space: Space) -> bool:
        """Whether a source has its gas from another one: then it is not fresh air by itself."""
        if not space.source:
            return False
        ducts = (way for way in self._network.ways_of[space.name] if way.kind == DUCT and way.b == space.name)
        return any(True for _ in stream_into(self._network, space.name)) or any(
            way.exists(self._configuration) for way in ducts
        )

    # --- what gets in -------------------------------------------------------------------------------------

    def _into(self, name: str, content: Content) -> tuple[_Inflow, ...]:
        """Everything that brings a content into a space in some state; worked out once."""
        key = (name, content)
        if key not in self._inflowing:
            self._inflowing[key] = tuple(inflow for inflow in self._inflows(name, content) if inflow.mask)
        return self._inflowing[key]

    def _inflows(self, name: str, content: Content) -> Iterator[_Inflow]:
        space = self._network.spaces[name]
        if name == AMBIENT or is_fuel_source(space):
            return
        if space.source and space.holds == "mixture" and content in (Content.air, Content.vapor):
            return
        if content is Content.vapor and space.holds != "fuel":
            yield _Inflow(name, Content.liquid_fuel, None, self._all)
        for way in self._network.ways_of[name]:
            if way.exists(self._configuration) and not (way.is_one_way(self._configuration) and way.a == name):
                mask = self._passing(way, content, backward=way.a == name)
                yield _Inflow(way.other(name), content, way.name, mask)
        yield from self._stream(name, content)

    def _stream(self, name: str, content: Content) -> Iterator[_Inflow]:
        for before in stream_into(self._network, name):
            yield _Inflow(before, content, AIR_PATH, self._all)
        back = fnmatchcase(name, "*_throat") or name == "air_horn"
        if back and "base" in self._network.spaces:
            spaces = self._pressures.spaces
            pushed = spaces["base"].low > spaces["air_horn"].high + STILL_PA
            yield _Inflow("base", content, AIR_PATH, _bits(pushed))

    def _passing(self, way: Way, content: Content, *, backward: bool) -> int:
        """The states in which a way that is there passes a content from `a` to `b`, or backward."""
        start, end = (way.b, way.a) if backward else (way.a, way.b)
        drives_itself = content is Content.vapor and is_float_bowl(self._network, start)
        key = (way.name, backward, content is Content.liquid_fuel, drives_itself)
        if key not in self._known:
            if content is Content.liquid_fuel:
                passes = self._liquid_passes(way, start, end)
            else:
                passes = self._gas_passes(way, start, end, drives_itself=drives_itself)
            self._known[key] = 0 if passes is None else _bits(passes & self._stands_open(way))
        return self._known[key]

    def _gas_passes(self, way: Way, start: str, end: str, *, drives_itself: bool) -> Mask:
        above, below = self._pressures.spaces[start], self._pressures.spaces[end]
        if way.carries not in (AIR, "emulsion"):
            least = HEAD_PA
        elif Nature.metering in (above.nature, below.nature):
            # Its range spans from the lowest to the highest end: it takes in from above, and gives off below.
            least = STILL_PA
        elif self._network.spaces[end].source and way.kind != DUCT and not drives_itself:
            least = STILL_PA
        else:
            least = -STILL_PA
        return np.asarray(above.high - below.low > least)

    def _liquid_passes(self, way: Way, start: str, end: str) -> Mask | None:
        spaces, pressures = self._network.spaces, self._pressures.spaces
        if is_fuel_source(spaces[start]):
            return np.ones_like(self._is_event)
        high, low = pressures[start].high, pressures[end].low
        if way.carries != AIR:
            return None if is_in_stream(end) else np.asarray(high >= low - HEAD_PA)
        if is_float_bowl(self._network, start) and start not in self._flooded and way.kind not in BELOW_THE_LEVEL:
            return None
        if spaces[start].source and way.kind != DUCT:
            return np.asarray(high > low + STILL_PA)
        return np.asarray(high >= low - STILL_PA)

    def _stands_open(self, way: Way) -> Mask:
        is_open = np.ones_like(self._is_event)
        if way.gate is not None:
            gate = way.gate
            base = self._pressures.spaces[AMBIENT].low if gate.level_is_gauge else 0.0
            above = self._pressures.spaces[gate.senses].low > gate.level_pa + base
            is_open = above if gate.open_above else ~above
        if way.is_checked(self._configuration):
            is_open = is_open & ~self._is_event
        return is_open


def _bits(flags: Mask) -> int:
    return sum(1 << int(index) for index in np.flatnonzero(flags))


# --- what holds in every configuration --------------------------------------------------------------------------


def own_content(space: Space) -> Content | None:
    """What a space holds by itself; None for a place of fuel that gets it through its ways."""
    content = OWN.get(space.holds)
    return content if space.source or content is not Content.liquid_fuel else None


def is_fuel_source(space: Space) -> bool:
    """Whether it is fuel under the pressure of a pump: it runs out by every way, and nothing gets in."""
    return space.source and space.holds == "fuel"


def is_spring(network: Network, name: str, contents: Iterable[Content]) -> bool:
    """Whether it is a source that holds one of these by itself, whatever the configuration; air may be led in."""
    own = own_content(network.spaces[name])
    return network.spaces[name].source and own is not Content.air and own in tuple(contents)


def is_float_bowl(network: Network, name: str) -> bool:
    """Whether a needle and seat keep a level of fuel in it."""
    seats = (way for way in network.ways_of[name] if way.kind == SEAT)
    return not network.spaces[name].source and any(is_fuel_source(network.spaces[way.other(name)]) for way in seats)


def is_in_stream(name: str) -> bool:
    """Whether the air path leads through it: fuel that is metered into it becomes mixture."""
    return any(fnmatchcase(name, pattern) for ends in STREAM for pattern in ends)


def stream_into(network: Network, name: str) -> Iterator[str]:
    """The sources from which the air path leads into this one without a way of the network."""
    for before, after in STREAM:
        if fnmatchcase(name, after):
            yield from (each for each in network.spaces if fnmatchcase(each, before))
