"""Pressures and valves of a configuration, state by state, as records for reports."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from boostcarb.network.model import Configuration, Network
from boostcarb.solving.diaphragms import difference, overload, valve_state
from boostcarb.solving.pressures import Pressures
from boostcarb.solving.situation import StateView


@dataclass(frozen=True, slots=True)
class SpaceRow:
    """Pressure of a space, Pa absolute, and why it has it."""

    low_pa_abs: float
    high_pa_abs: float
    nature: str


@dataclass(frozen=True, slots=True)
class DiaphragmRow:
    """Difference across a diaphragm, first minus second, Pa; what its valve does; how far its load is over its limit.

    `valve` is None where it moves no valve, `overload_pa` where its limit is not known.
    """

    low_pa: float
    high_pa: float
    valve: str | None
    setting_pa: float | None
    overload_pa: float | None


@dataclass(frozen=True, slots=True)
class StateRow:
    """One operating state: speed in rev/s, flow in kg/s, pressures and diaphragms by name."""

    name: str
    title: str
    speed_rev_s: float
    mass_flow_kg_s: float
    boosted: bool
    needs_enrichment: bool | None
    flowing_groups: tuple[str, ...]
    spaces: Mapping[str, SpaceRow]
    diaphragms: Mapping[str, DiaphragmRow]


def state_table(
    network: Network, configuration: Configuration, states: Sequence[StateView], pressures: Pressures
) -> tuple[StateRow, ...]:
    """Every state of a solved configuration."""
    return tuple(_row(network, configuration, state, pressures) for state in states)


def _row(network: Network, configuration: Configuration, state: StateView, pressures: Pressures) -> StateRow:
    spaces = {}
    for name, pressure in sorted(pressures.spaces.items()):
        low, high = pressures.range_of(name, state.name)
        spaces[name] = SpaceRow(low, high, pressure.nature.value)
    diaphragms = {}
    for name, diaphragm in network.diaphragms.items():
        if not diaphragm.exists(configuration):
            continue
        across = difference(diaphragm, configuration, pressures, state.name)
        valve, limit = diaphragm.valve(configuration), diaphragm.limit(configuration)
        diaphragms[name] = DiaphragmRow(
            low_pa=across.low_pa,
            high_pa=across.high_pa,
            valve=valve_state(valve, across).value if valve else None,
            setting_pa=valve.setting_pa if valve and valve.fixed is None else None,
            overload_pa=overload(limit, across) if limit else None,
        )
    return StateRow(
        name=state.name,
        title=state.title,
        speed_rev_s=state.result.speed_rev_s,
        mass_flow_kg_s=state.result.mass_flow_kg_s,
        boosted=state.boosted,
        needs_enrichment=state.needs_enrichment,
        flowing_groups=tuple(sorted(state.flowing_groups)),
        spaces=spaces,
        diaphragms=diaphragms,
    )
