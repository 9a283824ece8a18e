"""Which ways pass on the bench: no engine, everything at the pressure of the atmosphere."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from boostcarb.network.model import AMBIENT, Configuration, Network, Way

ATMOSPHERE_PA_ABS = 101_325.0

SHOWN_ROLES = frozenset({"advance", "choke", "secondary"})
"""Roles of diaphragms that move something which can be seen from outside."""


@dataclass(frozen=True, slots=True)
class Passes:
    """How a way passes: from `a` to `b` only or both ways; a brisk flow from `b` to `a` may shut its check."""

    one_way: bool
    guarded: bool


def with_fuel_valves(network: Network) -> Network:
    """The same network where a valve of a fuel passage that leaks or is not right lets flow pass back."""
    ways: list[Way] = []
    for way in network.ways:
        valve = network.items.get(way.valve) if way.valve is not None else None
        if valve is None or not way.one_way:
            ways.append(way)
            continue
        right = next(iter(valve.forms))
        wrong = frozenset(valve.forms) - {right}
        ways.append(replace(way, conditions=(*way.conditions, (valve.name, frozenset({right})))))
        conditions = (*way.conditions, (valve.name, wrong))
        ways.append(replace(way, name=f"{way.name}/passing back", conditions=conditions, one_way=False))
    ordered = tuple(sorted(ways, key=lambda way: way.name))
    return replace(
        network,
        ways=ordered,
        ways_of={name: tuple(way for way in ordered if name in (way.a, way.b)) for name in network.spaces},
    )


def passing(network: Network, configuration: Configuration) -> dict[str, Passes]:
    """The ways that pass, by name."""
    shut = shut_at_rest(network, configuration)
    return {
        way.name: Passes(
            way.is_one_way(configuration),
            not way.one_way and way.is_checked(configuration),
        )
        for way in network.ways
        if way.exists(configuration) and way.item not in shut and _gate_open(way)
    }


def shut_at_rest(network: Network, configuration: Configuration) -> frozenset[str]:
    """Passages whose flow goes through a valve that stands shut when both its sides are at one pressure."""
    through: set[str] = set()
    is_open: set[str] = set()
    for diaphragm in network.diaphragms.values():
        through.update(diaphragm.works_through)
        valve = diaphragm.valve(configuration) if diaphragm.exists(configuration) else None
        if valve is None:
            continue
        at_rest = valve.opens_below == (valve.setting_pa > 0)
        if valve.fixed == "open" or (valve.fixed is None and at_rest):
            is_open.update(diaphragm.works_through)
    return frozenset(through - is_open)


def _gate_open(way: Way) -> bool:
    if way.gate is None:
        return True
    sensed = 0.0 if way.gate.level_is_gauge else ATMOSPHERE_PA_ABS
    return (sensed > way.gate.level_pa) == way.gate.open_above


def moved(network: Network, configuration: Configuration, region: Collection[str]) -> tuple[str, ...]:
    """Diaphragms that a suction in a region moves, where that can be seen."""
    return tuple(
        name
        for name, diaphragm in sorted(network.diaphragms.items())
        if diaphragm.role in SHOWN_ROLES
        and (diaphragm.first in region) != (diaphragm.second in region)
        and diaphragm.exists(configuration)
        and not diaphragm.is_torn(configuration)
    )


def outside(network: Network, space: str) -> bool:
    """Whether a space lies open at the bench: the atmosphere, and what the air path joins."""
    return space == AMBIENT or network.spaces[space].source
