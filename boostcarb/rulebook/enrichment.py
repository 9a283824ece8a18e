"""Requirements on the mixture of a barrel group: enriched where it must be, and not where it must not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeVar

from boostcarb.findings import Quantity, Reading, Witness
from boostcarb.network.model import Diaphragm, Network
from boostcarb.rulebook import schema
from boostcarb.rulebook.kind import Kind, Place
from boostcarb.rulebook.valves import across, diaphragm_scope
from boostcarb.rulebook.view import Breach, Reachable, View
from boostcarb.solving.diaphragms import ValveState, difference, valve_states
from boostcarb.solving.situation import StateView

ENRICHMENT = "enrichment"
MIXTURE_FOR = {"wide_open": ("wide_open", "full_boost"), "boost": ("full_boost",)}
"""Forms of jets that carry a load on their own, by load."""


G = TypeVar("G")


class _OnGroups(Kind[G]):
    """Shared by requirements whose places are barrel groups; all enrichment of a group is judged together."""

    def __init__(self, requirement: G, reachable: Reachable) -> None:
        super().__init__(requirement, reachable)
        network = reachable.network
        groups = {item.feeds for item in network.items.values()} | {d.feeds for d in network.diaphragms.values()}
        self.jets = {
            group: tuple(item for item in network.items.values() if item.feeds == group) for group in groups if group
        }
        self.valves = {group: _valves_of(network, group) for group in self.jets}

    def places(self, network: Network) -> list[Place]:
        """Barrel groups with jets or an enrichment valve."""
        return [(group,) for group in sorted(self.jets)]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Jets of the group and everything its enrichment valves hang on."""
        names = set(self.reachable.movable(item.name for item in self.jets[place[0]]))
        for diaphragm in self.valves[place[0]]:
            names |= diaphragm_scope(diaphragm, self.reachable)
        return frozenset(names)

    def carried_by_jets(self, view: View, group: str, loads: Sequence[str]) -> bool:
        """Whether the jets of a group are of a size for one of these loads."""
        return any(item.forms[view.configuration[item.name]].mixture_for in loads for item in self.jets[group])

    def richer(self, view: View, group: str, statement: str, failing: list[str]) -> Breach:
        """A breach of a group that is too rich."""
        names = [item.name for item in self.jets[group]]
        names += [valve.part for valve in self.valves[group] if valve.part]
        return Breach(
            place=group,
            place_title=view.network.group_title(group),
            statement=statement,
            witness=Witness(items=view.item_forms(sorted(names))),
            state=failing[0],
            states=tuple(failing),
        )


def _valves_of(network: Network, group: str) -> tuple[Diaphragm, ...]:
    return tuple(d for d in network.diaphragms.values() if d.feeds == group and d.role == ENRICHMENT)


def enrichments(view: View, diaphragm: Diaphragm) -> tuple[ValveState, ...]:
    """State of an enrichment valve in its effect, in every operating state: shut where its channel is closed."""
    configuration = view.configuration
    valve = diaphragm.valve(configuration)
    if (
        valve is None
        or not diaphragm.exists(configuration)
        or any(configuration[passage] != "open" for passage in diaphragm.works_through)
    ):
        return (ValveState.shut,) * len(view.states)
    return valve_states(diaphragm, valve, configuration, view.pressures)


def enrichment_of(view: View, diaphragm: Diaphragm, state: StateView) -> ValveState:
    """State of an enrichment valve in its effect, in one operating state."""
    return enrichments(view, diaphragm)[view.states.index(state)]


def _stands(diaphragm: Diaphragm, state: ValveState) -> str:
    """How an enrichment valve, or a piston on its rods, stands where it should be open."""
    if diaphragm.leak is not None:
        return f"its {'piston is down' if state is ValveState.shut else 'piston may be up or down'}"
    return f"its enrichment valve {'is shut' if state is ValveState.shut else 'may be open or shut'}"


class Enriched(_OnGroups[schema.Enriched]):
    """A barrel group that is enriched wherever it flows under this load."""

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The worst state in which nothing enriches the group for sure."""
        failing = list(self._failing(view, place[0]))
        if failing:
            yield self._breach(view, place[0], failing)

    def fails(self, view: View, place: Place) -> bool:
        """Whether there is any such state; no witness is made."""
        return next(self._failing(view, place[0]), None) is not None

    def _failing(self, view: View, group: str) -> Iterator[StateView]:
        if self.carried_by_jets(view, group, MIXTURE_FOR[self.requirement.load]):
            return
        by_valve = [enrichments(view, valve) for valve in self.valves[group]]
        for index, state in enumerate(view.states):
            if self._counts(state, group) and not any(states[index] is ValveState.open for states in by_valve):
                yield state

    def _counts(self, state: StateView, group: str) -> bool:
        load = state.boosted == (self.requirement.load == "boost")
        return state.needs_enrichment is True and not state.event and load and group in state.flowing_groups

    def _breach(self, view: View, group: str, failing: list[StateView]) -> Breach:
        valves = self.valves[group]
        live = [
            (diaphragm, valve)
            for diaphragm in valves
            if (valve := diaphragm.valve(view.configuration)) and diaphragm.exists(view.configuration)
        ]
        worst = failing[0]
        quantity: Quantity | None = None
        readings: tuple[Reading, ...] = ()
        statement = "has no enrichment: no valve that could open, and jets that are too small alone"
        blocked = [
            name for diaphragm, _ in live for name in diaphragm.works_through if view.configuration[name] != "open"
        ]
        if live and blocked:
            statement = "has no enrichment: the channel behind its valve is closed"
        elif live:
            diaphragm, valve = live[0]
            differences = {s.name: difference(diaphragm, view.configuration, view.pressures, s.name) for s in failing}
            worst = max(
                failing,
                key=lambda s: differences[s.name].high_pa if valve.opens_below else -differences[s.name].low_pa,
            )
            state = enrichment_of(view, diaphragm, worst)
            statement = _stands(diaphragm, state)
            if valve.fixed is None:
                quantity = across(view, diaphragm, worst.name, valve.setting_pa)
            readings = (view.reading(diaphragm.first, worst.name), view.reading(diaphragm.second, worst.name))
        jets = (item.name for item in self.jets[group])
        parts = sorted({*jets, *(valve.part for valve in valves if valve.part), *blocked})
        return Breach(
            place=group,
            place_title=view.network.group_title(group),
            statement=statement,
            witness=Witness(readings=readings, quantity=quantity, items=view.item_forms(parts)),
            state=worst.name,
            states=tuple(state.name for state in failing),
        )


class NotEnriched(_OnGroups[schema.NotEnriched]):
    """A barrel group that is no richer than its load needs."""

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """Jets that are too large for these states, or a valve that is open."""
        group = place[0]
        strong = self.requirement.richer_than == "wide_open"
        too_large = ("full_boost",) if strong else ("wide_open", "full_boost")
        # A needle that an air valve lifts has its cruise and its full boost at different places of its length.
        by_jets = self.requirement.by == "anything" and not view.network.circuit(group).variable
        jets = by_jets and self.carried_by_jets(view, group, too_large)
        counting = [enrichments(view, valve) for valve in self.valves[group]]
        if strong:
            counting = self._carrying_boost(view, group, counting)
        covered = view.during(self.requirement.during)
        failing = [
            state.name
            for index, state in enumerate(view.states)
            if state in covered
            and group in state.flowing_groups
            and not state.boosted
            and (jets or any(states[index] is ValveState.open for states in counting))
        ]
        if failing:
            yield self.richer(view, group, "richer than needed", failing)

    def _carrying_boost(
        self, view: View, group: str, by_valve: list[tuple[ValveState, ...]]
    ) -> list[tuple[ValveState, ...]]:
        """Valves whose channel must be sized for boost, since they carry it and the jets do not."""
        if self.carried_by_jets(view, group, ("full_boost",)):
            return []
        boosted = [i for i, state in enumerate(view.states) if state.boosted and group in state.flowing_groups]
        return [states for states in by_valve if any(states[index] is ValveState.open for index in boosted)]


class EnrichedOnce(_OnGroups[schema.EnrichedOnce]):
    """A barrel group whose jets carry its highest load on their own, with no valve that adds to them."""

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The states in which a valve opens, or may open, on top of jets that need none."""
        group = place[0]
        loaded = [
            (index, state)
            for index, state in enumerate(view.states)
            if state.needs_enrichment is True and not state.event and group in state.flowing_groups
        ]
        highest = "boost" if any(state.boosted for _, state in loaded) else "wide_open"
        if not self.carried_by_jets(view, group, MIXTURE_FOR[highest]):
            return
        by_valve = [enrichments(view, valve) for valve in self.valves[group]]
        failing = [
            state.name for index, state in loaded if any(states[index] is not ValveState.shut for states in by_valve)
        ]
        if failing:
            yield self.richer(view, group, "its valve adds fuel to jets that need none added", failing)
