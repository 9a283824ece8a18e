"""What the pressures do to a diaphragm: its difference, the state of its valve, its load."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from boostcarb.network.model import Configuration, Diaphragm, Limit, Valve
from boostcarb.solving.pressures import Pressures, SpacePressure


class ValveState(StrEnum):
    """Undecided: within the spread of the setting, or the pressures have a range that reaches across it."""

    open = "open"
    shut = "shut"
    undecided = "undecided"


@dataclass(frozen=True, slots=True)
class Difference:
    """First side minus second side, lowest and highest, Pa."""

    low_pa: float
    high_pa: float


AT_REST = Difference(0.0, 0.0)
"""Across a torn diaphragm: its spring alone moves the valve."""


def difference(diaphragm: Diaphragm, configuration: Configuration, pressures: Pressures, state: str) -> Difference:
    """Pressure difference across a diaphragm in a state, first side minus second; none across a torn one."""
    if diaphragm.is_torn(configuration):
        return AT_REST
    first, second = pressures.range_of(diaphragm.first, state), pressures.range_of(diaphragm.second, state)
    return Difference(first[0] - second[1], first[1] - second[0])


def valve_state(valve: Valve, across: Difference) -> ValveState:
    """Whether a valve is open over the whole range of differences, shut over all of it, or neither.

    A vacuum-held valve set at 22 kPa, 35 kPa across it:

    >>> valve_state(Valve(opens_below=True, setting_pa=22e3, spread_pa=2e3), Difference(35e3, 35e3)).value
    'shut'
    """
    if valve.fixed is not None:
        return ValveState(valve.fixed)
    under = across.high_pa < valve.setting_pa - valve.spread_pa
    over = across.low_pa > valve.setting_pa + valve.spread_pa
    if under or over:
        return ValveState.open if under == valve.opens_below else ValveState.shut
    return ValveState.undecided


def valve_states(
    diaphragm: Diaphragm, valve: Valve, configuration: Configuration, pressures: Pressures
) -> tuple[ValveState, ...]:
    """State of a diaphragm's valve in every operating state."""
    first, second = (pressures.spaces[side] for side in (diaphragm.first, diaphragm.second))
    if diaphragm.is_torn(configuration):
        return (valve_state(valve, AT_REST),) * len(first.low)
    return _between(valve, first, second)


@lru_cache(maxsize=4096)
def _between(valve: Valve, first: SpacePressure, second: SpacePressure) -> tuple[ValveState, ...]:
    low, high = first.low - second.high, first.high - second.low
    return tuple(valve_state(valve, Difference(*pair)) for pair in zip(low.tolist(), high.tolist(), strict=True))


def overload(limit: Limit, across: Difference) -> float:
    """How far the worst difference exceeds the limit on its side, Pa; zero or less when it does not."""
    return max(across.high_pa - limit.forward_pa, -across.low_pa - limit.reverse_pa)
