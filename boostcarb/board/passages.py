"""How a way is in a configuration, and what moves through it in a state."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from boostcarb.board.question import Record
from boostcarb.network.model import ABSENT, OPEN, PLUGGED, Configuration, Network, Way
from boostcarb.rulebook.view import View
from boostcarb.solving.contents import is_fuel_source
from boostcarb.solving.diaphragms import ValveState, difference, valve_state
from boostcarb.solving.pressures import AIR
from boostcarb.solving.situation import StateView

CLOSED = "closed"
"""Nobody plugged it, but what else is fitted or led elsewhere closes it."""

MOVES_PA, LIFTS_PA = 10.0, 75.0
"""Differences from which a page shows air and fuel moving (assumption; 75 Pa lift gasoline by 10 mm)."""


def ways_record(network: Network, configuration: Configuration) -> Record:
    """Every way by name: `how` it is, and to which end it `passes` if only to one."""
    record: Record = {}
    for way in network.ways:
        how = form_of_way(way, configuration)
        record[way.name] = {"how": how}
        if how == OPEN:
            if way.is_one_way(configuration):
                record[way.name]["passes"] = way.b
            if way.is_checked(configuration):
                record[way.name]["checked"] = True
    return record


def form_of_way(way: Way, configuration: Configuration) -> str:
    """`open`, `plugged`, `closed` by what else is fitted, or `absent`.

    >>> way = Way("vent", "vent", "bore", "bowl", "ambient", 1e-5, "air", "bowl", "on_engine", "vent",
    ...     (("vent", frozenset({"open"})), ("cover", frozenset({"vented"}))))
    >>> [form_of_way(way, {"vent": vent, "cover": "vented"}) for vent in ("open", "plugged", "absent")]
    ['open', 'plugged', 'absent']
    >>> form_of_way(way, {"vent": "open", "cover": "sealed"})
    'closed'
    """
    failing = [item for item, forms in way.conditions if configuration[item] not in forms]
    if not failing:
        return OPEN
    if configuration[way.item] == PLUGGED and failing == [way.item]:
        return PLUGGED
    return ABSENT if way.item in failing else CLOSED


@dataclass(frozen=True)
class Moving:
    """What moves through the ways of a configuration, state by state."""

    view: View

    @cached_property
    def existing(self) -> tuple[tuple[Way, bool], ...]:
        """Ways that are there, each with whether it passes one way only."""
        configuration = self.view.configuration
        return tuple((way, way.is_one_way(configuration)) for way in self.view.network.existing(configuration))

    def in_state(self, state: StateView) -> tuple[dict[str, int], dict[str, str]]:
        """Ways through which something moves, 1 from `a` to `b` and -1 back; ways held shut, and what holds them.

        Raises: NotSolved.
        """
        closed = self._closed_by_valves(state)
        flows: dict[str, int] = {}
        shut: dict[str, str] = {}
        for way, one_way in self.existing:
            driven = self._driven(way, state)
            if not self.view.passes_in(way, state):
                shut[way.name] = "switch"
            elif way.item in closed:
                shut[way.name] = "valve"
            elif (one_way and driven < 0) or (state.event and way.is_checked(self.view.configuration)):
                shut[way.name] = "check"
            elif driven:
                flows[way.name] = driven
        return flows, shut

    def _closed_by_valves(self, state: StateView) -> frozenset[str]:
        """Passages whose valve is certainly shut."""
        view = self.view
        closed: set[str] = set()
        for each in view.network.diaphragms.values():
            valve = each.valve(view.configuration) if each.works_through and each.exists(view.configuration) else None
            if valve is not None:
                across = difference(each, view.configuration, view.pressures, state.name)
                if valve_state(valve, across) is ValveState.shut:
                    closed.update(each.works_through)
        return frozenset(closed)

    def _driven(self, way: Way, state: StateView) -> int:
        """1 where something is pushed from `a` to `b` and nothing the other way, -1 for the reverse, else 0.

        Where a pressure is a range the drive counts that some of the range gives and none of it turns round.
        """
        spaces = self.view.network.spaces
        if is_fuel_source(spaces[way.a]) or is_fuel_source(spaces[way.b]):
            return 0  # its pressure is that of the fuel supply, which is not part of the network
        pressures = self.view.pressures
        a, b = pressures.range_of(way.a, state.name), pressures.range_of(way.b, state.name)
        least = MOVES_PA if way.carries == AIR else LIFTS_PA
        if a[1] - b[0] > least and a[0] - b[1] >= -MOVES_PA:
            return 1
        return -1 if b[1] - a[0] > least and b[0] - a[1] >= -MOVES_PA else 0
