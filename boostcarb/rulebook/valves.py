"""Requirements on diaphragms and what they move: opening, load, margin of the setting."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from boostcarb.findings import Quantity, Witness
from boostcarb.network.model import Diaphragm, Network
from boostcarb.network.tracing import matching
from boostcarb.rulebook import schema
from boostcarb.rulebook.kind import Kind, Place
from boostcarb.rulebook.view import Breach, Reachable, View
from boostcarb.solving.diaphragms import ValveState, difference, overload, valve_states

D = TypeVar("D", schema.Opens, schema.WithinLimit, schema.SettingMargin)


class _OnDiaphragms(Kind[D]):
    """Shared by requirements whose places are diaphragms."""

    def places(self, network: Network) -> list[Place]:
        """The diaphragms that the pattern covers."""
        return [(name,) for name in matching(self.requirement.diaphragm, network.diaphragms)]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Items of both sides' regions and of the diaphragm itself."""
        events = isinstance(self.requirement, schema.WithinLimit) and self.requirement.during in ("events", "all")
        return diaphragm_scope(network.diaphragms[place[0]], self.reachable, events=events)


def diaphragm_scope(diaphragm: Diaphragm, reachable: Reachable, *, events: bool = False) -> frozenset[str]:
    """Items that a diaphragm's difference and its valve could hang on."""
    sides = frozenset().union(
        *(reachable.pressure_scope(side, events=events) for side in (diaphragm.first, diaphragm.second))
    )
    return sides | reachable.movable(diaphragm.items() | set(diaphragm.works_through))


def across(view: View, diaphragm: Diaphragm, state: str, limit: float) -> Quantity:
    """The difference across a diaphragm as a witness."""
    found = difference(diaphragm, view.configuration, view.pressures, state)
    return Quantity(f"{diaphragm.first} minus {diaphragm.second}", found.low_pa, found.high_pa, limit, "Pa")


class Opens(_OnDiaphragms[schema.Opens]):
    """A diaphragm that opens what it works in the named states."""

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The first state in which it is not open."""
        diaphragm = view.network.diaphragms[place[0]]
        valve = diaphragm.valve(view.configuration)
        if valve is None or not diaphragm.exists(view.configuration):
            return
        found = valve_states(diaphragm, valve, view.configuration, view.pressures)
        failing = [
            state.name
            for state in view.named(self.requirement.states)
            if found[view.states.index(state)] is not ValveState.open
        ]
        if failing:
            yield Breach(
                place=diaphragm.name,
                place_title=diaphragm.title,
                statement="does not open",
                witness=Witness(
                    readings=(view.reading(diaphragm.first, failing[0]), view.reading(diaphragm.second, failing[0])),
                    quantity=None if valve.fixed else across(view, diaphragm, failing[0], valve.setting_pa),
                    items=view.item_forms(sorted(diaphragm.items())),
                ),
                state=failing[0],
                states=tuple(failing),
            )


class WithinLimit(_OnDiaphragms[schema.WithinLimit]):
    """A diaphragm that is not overloaded."""

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The state with the worst load."""
        diaphragm = view.network.diaphragms[place[0]]
        limit = diaphragm.limit(view.configuration)
        if limit is None or not diaphragm.exists(view.configuration):
            return
        loads = [
            (overload(limit, difference(diaphragm, view.configuration, view.pressures, state.name)), state.name)
            for state in view.during(self.requirement.during)
        ]
        failing = [name for load, name in loads if load > 0]
        if not failing:
            return
        _, worst = max(loads)
        found = difference(diaphragm, view.configuration, view.pressures, worst)
        forward = found.high_pa - limit.forward_pa >= -found.low_pa - limit.reverse_pa
        yield Breach(
            place=diaphragm.name,
            place_title=diaphragm.title,
            statement="carries more pressure than it stands",
            witness=Witness(
                readings=(view.reading(diaphragm.first, worst), view.reading(diaphragm.second, worst)),
                quantity=across(view, diaphragm, worst, limit.forward_pa if forward else -limit.reverse_pa),
                items=view.item_forms(sorted(diaphragm.items())),
            ),
            state=worst,
            states=tuple(failing),
        )


class SettingMargin(_OnDiaphragms[schema.SettingMargin]):
    """A vacuum-held valve set well above the difference that flow alone makes."""

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The state with the least margin."""
        diaphragm = view.network.diaphragms[place[0]]
        valve = diaphragm.valve(view.configuration)
        if valve is None or not valve.opens_below or valve.setting_pa <= 0 or not diaphragm.exists(view.configuration):
            return
        worst, highest = None, 0.0
        failing = []
        for state in view.named(self.requirement.states):
            found = difference(diaphragm, view.configuration, view.pressures, state.name).high_pa
            if found * self.requirement.factor > valve.setting_pa:
                failing.append(state.name)
                if worst is None or found > highest:
                    worst, highest = state.name, found
        if worst is not None:
            yield Breach(
                place=diaphragm.name,
                place_title=diaphragm.title,
                statement=f"set at less than {self.requirement.factor:g} times what would shut it",
                witness=Witness(
                    readings=(view.reading(diaphragm.first, worst), view.reading(diaphragm.second, worst)),
                    quantity=across(view, diaphragm, worst, valve.setting_pa / self.requirement.factor),
                    items=view.item_forms(sorted(diaphragm.items())),
                ),
                state=worst,
                states=tuple(failing),
            )
