"""Requirements on diaphragms and what they move: enrichment, opening, load, margin."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from boostcarb.findings import Quantity, Reading, Witness
from boostcarb.network.model import Diaphragm, Network
from boostcarb.network.tracing import matching
from boostcarb.rulebook import schema
from boostcarb.rulebook.kind import Kind, Place
from boostcarb.rulebook.view import Breach, Reachable, View
from boostcarb.solving.diaphragms import ValveState, difference, overload, valve_state
from boostcarb.solving.situation import StateView

ENRICHMENT = "enrichment"
MIXTURE_FOR = {"wide_open": ("wide_open", "full_boost"), "boost": ("full_boost",)}
"""Forms of jets that carry a load on their own, by load."""


D = TypeVar("D", schema.Opens, schema.WithinLimit, schema.SettingMargin)
G = TypeVar("G", schema.Enriched, schema.NotEnriched, schema.EnrichedOnce)


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
    found = difference(diaphragm, view.pressures, state)
    return Quantity(f"{diaphragm.first} minus {diaphragm.second}", found.low_pa, found.high_pa, limit, "Pa")


class Opens(_OnDiaphragms[schema.Opens]):
    """A diaphragm that opens what it works in the named states."""

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The first state in which it is not open."""
        diaphragm = view.network.diaphragms[place[0]]
        valve = diaphragm.valve(view.configuration)
        if valve is None or not diaphragm.exists(view.configuration):
            return
        failing = [
            state.name
            for state in view.named(self.requirement.states)
            if valve_state(valve, difference(diaphragm, view.pressures, state.name)) is not ValveState.open
        ]
        if failing:
            yield Breach(
                place=diaphragm.name,
                place_title=diaphragm.title,
                statement="does not open",
                witness=Witness(
                    readings=(view.reading(diaphragm.first, failing[0]), view.reading(diaphragm.second, failing[0])),
                    quantity=across(view, diaphragm, failing[0], valve.setting_pa),
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
            (overload(limit, difference(diaphragm, view.pressures, state.name)), state.name)
            for state in view.during(self.requirement.during)
        ]
        failing = [name for load, name in loads if load > 0]
        if not failing:
            return
        _, worst = max(loads)
        found = difference(diaphragm, view.pressures, worst)
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
            found = difference(diaphragm, view.pressures, state.name).high_pa
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


class _OnGroups(Kind[G]):
    """Shared by requirements whose places are barrel groups; all enrichment of a group is judged together."""

    def places(self, network: Network) -> list[Place]:
        """Barrel groups with jets or an enrichment valve."""
        groups = {item.feeds for item in network.items.values() if item.feeds}
        groups |= {diaphragm.feeds for diaphragm in network.diaphragms.values() if diaphragm.feeds}
        return [(group,) for group in sorted(group for group in groups if group is not None)]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Jets of the group and everything its enrichment valves hang on."""
        names = set(self.reachable.movable(item.name for item in network.items.values() if item.feeds == place[0]))
        for diaphragm in _valves_of(network, place[0]):
            names |= diaphragm_scope(diaphragm, self.reachable)
        return frozenset(names)


def _valves_of(network: Network, group: str) -> list[Diaphragm]:
    return [d for d in network.diaphragms.values() if d.feeds == group and d.role == ENRICHMENT]


def enrichment_of(view: View, diaphragm: Diaphragm, state: StateView) -> ValveState:
    """State of an enrichment valve in its effect: shut where its channel is closed."""
    valve = diaphragm.valve(view.configuration)
    if valve is None or not diaphragm.exists(view.configuration):
        return ValveState.shut
    if any(view.configuration[passage] != "open" for passage in diaphragm.works_through):
        return ValveState.shut
    return valve_state(valve, difference(diaphragm, view.pressures, state.name))


def _jets(view: View, group: str) -> set[str]:
    items = [item for item in view.network.items.values() if item.feeds == group]
    forms = (item.forms[view.configuration[item.name]].mixture_for for item in items)
    return {form for form in forms if form is not None}


class Enriched(_OnGroups[schema.Enriched]):
    """A barrel group that is enriched wherever it flows under this load."""

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The worst state in which nothing enriches the group for sure."""
        failing = list(self._failing(view, place[0]))
        if failing:
            yield self._breach(view, place[0], _valves_of(view.network, place[0]), failing)

    def fails(self, view: View, place: Place) -> bool:
        """Whether there is any such state; no witness is made."""
        return next(self._failing(view, place[0]), None) is not None

    def _failing(self, view: View, group: str) -> Iterator[StateView]:
        if _jets(view, group).intersection(MIXTURE_FOR[self.requirement.load]):
            return
        valves = _valves_of(view.network, group)
        for state in view.states:
            if self._counts(state, group) and all(
                enrichment_of(view, valve, state) is not ValveState.open for valve in valves
            ):
                yield state

    def _counts(self, state: StateView, group: str) -> bool:
        load = state.boosted == (self.requirement.load == "boost")
        return state.needs_enrichment is True and not state.event and load and group in state.flowing_groups

    def _breach(self, view: View, group: str, valves: list[Diaphragm], failing: list[StateView]) -> Breach:
        jets = sorted(item.name for item in view.network.items.values() if item.feeds == group)
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
            differences = {s.name: difference(diaphragm, view.pressures, s.name) for s in failing}
            worst = max(
                failing,
                key=lambda s: differences[s.name].high_pa if valve.opens_below else -differences[s.name].low_pa,
            )
            state = enrichment_of(view, diaphragm, worst)
            statement = "its enrichment valve is shut" if state is ValveState.shut else (
                "its enrichment valve may be open or shut"
            )
            quantity = across(view, diaphragm, worst.name, valve.setting_pa)
            readings = (view.reading(diaphragm.first, worst.name), view.reading(diaphragm.second, worst.name))
        parts = sorted({*jets, *(valve.part for valve in valves if valve.part), *blocked})
        return Breach(
            place=group,
            place_title=f"{group} barrels",
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
        jets, valves = _jets(view, group), _valves_of(view.network, group)
        strong = self.requirement.richer_than == "wide_open"
        too_large = ("full_boost",) if strong else ("wide_open", "full_boost")
        counting = _boost_valves(view, group) if strong else valves
        failing = [
            state.name
            for state in view.during(self.requirement.during)
            if group in state.flowing_groups
            and not state.boosted
            and (jets.intersection(too_large) or _any_in(view, counting, state, ValveState.open))
        ]
        if failing:
            yield _richer(view, group, "richer than needed", failing)


class EnrichedOnce(_OnGroups[schema.EnrichedOnce]):
    """A barrel group whose jets carry its highest load on their own, with no valve that adds to them."""

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The states in which a valve opens, or may open, on top of jets that need none."""
        group = place[0]
        loaded = [s for s in view.states if s.needs_enrichment is True and not s.event and group in s.flowing_groups]
        highest = "boost" if any(state.boosted for state in loaded) else "wide_open"
        if not _jets(view, group).intersection(MIXTURE_FOR[highest]):
            return
        valves = _valves_of(view.network, group)
        failing = [s.name for s in loaded if _any_in(view, valves, s, ValveState.open, ValveState.undecided)]
        if failing:
            yield _richer(view, group, "its valve adds fuel to jets that need none added", failing)


def _any_in(view: View, valves: list[Diaphragm], state: StateView, *wanted: ValveState) -> bool:
    return any(enrichment_of(view, valve, state) in wanted for valve in valves)


def _boost_valves(view: View, group: str) -> list[Diaphragm]:
    """Valves whose channel must be sized for boost, since they carry it and the jets do not."""
    if "full_boost" in _jets(view, group):
        return []
    boosted = [state for state in view.states if state.boosted and group in state.flowing_groups]
    return [
        valve
        for valve in _valves_of(view.network, group)
        if any(enrichment_of(view, valve, state) is ValveState.open for state in boosted)
    ]


def _richer(view: View, group: str, statement: str, failing: list[str]) -> Breach:
    names = [item.name for item in view.network.items.values() if item.feeds == group]
    names += [valve.part for valve in _valves_of(view.network, group) if valve.part]
    return Breach(
        place=group,
        place_title=f"{group} barrels",
        statement=statement,
        witness=Witness(items=view.item_forms(sorted(names))),
        state=failing[0],
        states=tuple(failing),
    )
