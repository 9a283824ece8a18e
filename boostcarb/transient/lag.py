"""Signal lag: how long a chamber takes to follow its source when the state changes, in a configuration."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from boostcarb.network.model import Configuration, Diaphragm, Network, Valve, Way
from boostcarb.solving.diaphragms import ValveState, difference, valve_state
from boostcarb.solving.pressures import Nature, Pressures
from boostcarb.solving.situation import StateView
from boostcarb.transient.chambers import Piece, piece_of
from boostcarb.transient.following import follow, quickest_bound

MOST_S = 5.0
"""How long a signal is waited for, s."""

SOON = 0.5
"""Share of the time allowed within which a signal that is followed coarsely has come for sure."""

Spaces = Mapping[str, float]
Arrived = Callable[[Spaces], float]


@dataclass(frozen=True, slots=True)
class Change:
    """A configuration that goes from one operating state to another."""

    network: Network
    configuration: Configuration
    pressures: Pressures
    before: StateView
    after: StateView

    def passes(self, way: Way) -> bool:
        """Whether a way that exists stands open in the state after: a pressure switch may have closed it."""
        return passes_in(way, self.after)

    @property
    def temperature_k(self) -> float:
        """Of the chambers, K: that of the air at the carburetor."""
        return self.after.result.temperatures_k["air_horn"]


def passes_in(way: Way, state: StateView) -> bool:
    """Whether a way that exists stands open in a state, by its pressure switch."""
    if way.gate is None:
        return True
    pressures = state.result.pressures_pa_abs
    level = way.gate.level_pa + (pressures["ambient"] if way.gate.level_is_gauge else 0.0)
    return (pressures[way.gate.senses] > level) == way.gate.open_above


@dataclass(frozen=True, slots=True)
class Lag:
    """Time until a signal has arrived, s: `at_most_s` where only a bound was needed, infinite where it never does."""

    time_s: float
    bound: bool = False


def opening_lag(change: Change, diaphragm: Diaphragm, *, enough_s: float = 0.0) -> Lag | None:
    """Time from the change until a diaphragm has opened its valve; None where it does not wait for a signal.

    It does not wait where there is no valve, where the valve stood open before, and where the pressures of the state
    after do not open it, however long it takes: that is no question of time. A chamber that is sealed never follows.

    With `enough_s` a bound that is below it will do, and saves the integration; so will a coarse one well below it.
    """
    configuration, pressures = change.configuration, change.pressures
    valve = diaphragm.valve(configuration)
    if valve is None or not diaphragm.exists(configuration):
        return None
    before, after = (
        valve_state(valve, difference(diaphragm, configuration, pressures, state.name))
        for state in (change.before, change.after)
    )
    if before is ValveState.open:
        return None
    if after is not ValveState.open:
        sealed = any(
            pressures.spaces[side].nature is Nature.sealed for side in (diaphragm.first, diaphragm.second)
        )
        return Lag(float("inf")) if sealed else None
    return _lag(change, (diaphragm.first, diaphragm.second), _opened(diaphragm, valve), enough_s)


def arrival_lag(change: Change, space: str, *, short_by_pa: float, enough_s: float = 0.0) -> Lag | None:
    """Time from the change until a space is within `short_by_pa` of its pressure in the state after.

    None for a source; infinite where a space does not follow at all and is further off than that.
    """
    if change.network.spaces[space].source:
        return None
    start, end = (change.pressures.range_of(space, state.name) for state in (change.before, change.after))
    if max(abs(end[1] - start[0]), abs(end[0] - start[1])) <= short_by_pa:
        return Lag(0.0)
    if change.pressures.spaces[space].nature is not Nature.tied:
        return None
    return _lag(change, (space,), lambda now: short_by_pa - abs(now[space] - end[0]), enough_s)


def _opened(diaphragm: Diaphragm, valve: Valve) -> Arrived:
    """Not negative once the difference is past setting and spread; of a stuck valve at once, or never."""
    if valve.fixed is not None:
        return lambda _now: 1.0 if valve.fixed == "open" else -1.0
    if valve.opens_below:
        return lambda now: valve.setting_pa - valve.spread_pa - (now[diaphragm.first] - now[diaphragm.second])
    return lambda now: now[diaphragm.first] - now[diaphragm.second] - valve.setting_pa - valve.spread_pa


def _lag(change: Change, spaces: tuple[str, ...], arrived: Arrived, enough_s: float) -> Lag:
    found = _pieces(change, spaces)
    if not found:
        return Lag(0.0)
    bound = max(quickest_bound(each, change.temperature_k) for each in found)
    piece = _as_one(found)
    if bound <= enough_s:
        return Lag(bound, bound=True)
    sources = {name: change.pressures.range_of(name, change.after.name)[0] for name in _outside(change, spaces, piece)}
    lowest = {name: change.pressures.range_of(name, change.before.name)[0] for name in piece.names}
    highest = {name: change.pressures.range_of(name, change.before.name)[1] for name in piece.names}
    starts = [lowest] if lowest == highest else [lowest, highest]

    def longest(*, coarse: bool) -> float:
        return max(
            follow(
                piece,
                start_pa_abs=start,
                sources_pa_abs=sources,
                temperature_k=change.temperature_k,
                arrived=arrived,
                most_s=MOST_S,
                coarse=coarse,
            )
            for start in starts
        )

    if enough_s > 0.0 and (soon := longest(coarse=True)) <= SOON * enough_s:
        return Lag(soon, bound=True)
    return Lag(longest(coarse=False))


def _pieces(change: Change, spaces: tuple[str, ...]) -> list[Piece]:
    """The pieces that these spaces stand in, those that nothing joins to anything left out."""
    found: list[Piece] = []
    for space in spaces:
        if change.network.spaces[space].source or any(space in piece.names for piece in found):
            continue
        piece = piece_of(change.network, change.configuration, change.passes, space)
        if piece.openings:
            found.append(piece)
    return found


def _as_one(found: list[Piece]) -> Piece:
    openings = {each.way: each for piece in found for each in piece.openings}
    return Piece(tuple(chamber for piece in found for chamber in piece.chambers), tuple(openings.values()))


def _outside(change: Change, spaces: tuple[str, ...], piece: Piece) -> tuple[str, ...]:
    """Spaces whose pressure is given: the sources of a piece, and the sides that are none of its chambers."""
    return tuple(sorted({*piece.sources, *(space for space in spaces if space not in piece.names)}))
