"""What a requirement is judged on: one configuration of the network, solved in every operating state."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from boostcarb.findings import Reading, Witness
from boostcarb.fueling.mixture import GroupMixture
from boostcarb.network.model import Configuration, Diaphragm, Network, Way, items_of
from boostcarb.network.remembering import Remembered
from boostcarb.network.tracing import Reached, WayFilter, matching, reach, region
from boostcarb.solving.contents import Contents
from boostcarb.solving.pressures import WET, Pressures
from boostcarb.solving.situation import Situations, StateView

Choice = tuple[str, str]
Mixtures = Callable[[Configuration, str], Mapping[str, GroupMixture]]
"""Mixtures of a barrel group in a configuration, by state."""


@dataclass(frozen=True, slots=True)
class Breach:
    """A requirement that does not hold at a place.

    `cure`: choices of which every configuration that meets the requirement there contains at least one; None where
    only the scope of the requirement is known.
    """

    place: str
    place_title: str
    statement: str
    witness: Witness
    state: str | None = None
    states: tuple[str, ...] = ()
    cure: frozenset[Choice] | None = None


@dataclass(frozen=True)
class View:
    """One configuration. Pressures are solved when first asked for."""

    network: Network
    configuration: Configuration
    situations: Situations
    mixtures: Mixtures | None = None

    @cached_property
    def states(self) -> tuple[StateView, ...]:
        """The operating states with this configuration's air path."""
        return self.situations.for_(self.configuration).views

    @cached_property
    def pressures(self) -> Pressures:
        """Pressures of all spaces in all states."""
        return self.situations.for_(self.configuration).pressures(self.configuration)

    @cached_property
    def contents(self) -> Contents:
        """What each space can hold in each state."""
        return Contents(self.network, self.configuration, self.pressures, self.states)

    def reading(self, space: str, state: str) -> Reading:
        """The pressure of a space as a witness."""
        low, high = self.pressures.range_of(space, state)
        return Reading(space, low, high, self.pressures.spaces[space].nature.value)

    def passes_in(self, way: Way, state: StateView) -> bool:
        """Whether a way that exists stands open in a state: a pressure switch may have closed it."""
        if way.gate is None:
            return True
        pressures = state.result.pressures_pa_abs
        level = way.gate.level_pa + (pressures["ambient"] if way.gate.level_is_gauge else 0.0)
        return (pressures[way.gate.senses] > level) == way.gate.open_above

    def during(self, span: str) -> tuple[StateView, ...]:
        """The states that a span of a rule covers."""
        return tuple(state for state in self.states if _SPANS[span](state))

    def named(self, names: Sequence[str]) -> tuple[StateView, ...]:
        """The states of these names that occur in the mode."""
        return tuple(state for state in self.states if state.name in names)

    def item_forms(self, items: Iterable[str]) -> tuple[tuple[str, str], ...]:
        """Items with their forms, for a witness."""
        return tuple((item, self.configuration[item]) for item in items if item in self.configuration)


_SPANS: dict[str, Callable[[StateView], bool]] = {
    "drive": lambda state: not state.event,
    "running": lambda state: state.running and not state.event,
    "boost": lambda state: state.boosted,
    "without_boost": lambda state: state.running and not state.event and not state.boosted,
    "wide_open": lambda state: state.wide_open and not state.event,
    "wide_open_without_boost": lambda state: state.needs_enrichment is True and not state.event and not state.boosted,
    "cruise": lambda state: state.needs_enrichment is False and state.name != "idle" and not state.event,
    "events": lambda state: state.event,
    "all": lambda state: True,
}


def diaphragms_on(network: Network, space: str, pattern: str) -> list[Diaphragm]:
    """The diaphragms of a pattern that border a space."""
    named = [network.diaphragms[name] for name in matching(pattern, network.diaphragms)]
    return [diaphragm for diaphragm in named if space in (diaphragm.first, diaphragm.second)]


def works_a_valve(diaphragm: Diaphragm, configuration: Configuration) -> bool:
    """Whether there is such a diaphragm and it moves something."""
    return diaphragm.exists(configuration) and diaphragm.valve(configuration) is not None


class Reachable:
    """Which forms the items could take, and so which ways could exist and which items a pressure could hang on.

    `offered` are the forms that work can bring about; `forms` adds, for items nobody has looked at, every form they
    might turn out to have; with `every_form` it has every form of every item: faults need no work.
    """

    def __init__(self, network: Network, *, every_form: bool = False) -> None:
        self.network = network
        self.offered = {
            name: tuple(form for form, data in item.forms.items() if form == item.found or data.labor is not None)
            for name, item in network.items.items()
        }
        self.forms = {
            name: forms if network.items[name].confirmed and not every_form else tuple(network.items[name].forms)
            for name, forms in self.offered.items()
        }
        self._scopes: dict[tuple[str, bool], frozenset[str]] = {}
        self._at: dict[str, tuple[tuple[Way, ...], frozenset[str], frozenset[str]]] = {}
        self._near: dict[tuple[str, bool], Remembered[frozenset[str]]] = {}
        self._reaches: dict[tuple[str, Hashable], Remembered[Reached]] = {}

    def reach(self, configuration: Configuration, start: str, kept: Hashable, keep: WayFilter) -> Reached:
        """What a start reaches by ways that `keep` lets pass, whatever the configuration; `kept` says which these are.
        """
        known = self._reaches.setdefault((start, kept), Remembered())

        def look() -> tuple[frozenset[str], Reached]:
            found = reach(self.network, configuration, start, keep)
            return found.items, found

        return known.at(configuration, look)

    def air_at(self, space: str) -> tuple[tuple[Way, ...], frozenset[str], frozenset[str]]:
        """Air ways that could be at a space, the movable items that decide on them, and the same with their guards."""
        if space not in self._at:
            ways = tuple(filter(self.possible_air, self.network.ways_of[space]))
            names = {item for way in ways for item, _ in way.conditions} | {way.inline for way in ways if way.inline}
            guards = {way.guard for way in ways if way.guard}
            self._at[space] = ways, self.movable(names), self.movable(names | guards)
        return self._at[space]

    def possible(self, way: Way) -> bool:
        """Whether some reachable configuration has the way."""
        return all(any(form in forms for form in self.forms[item]) for item, forms in way.conditions)

    def possible_air(self, way: Way) -> bool:
        """The same, for ways that carry air."""
        return way.carries == "air" and self.possible(way)

    def pressure_scope(self, space: str, *, events: bool = False) -> frozenset[str]:
        """Every item that the pressure of a space could hang on, items with only one reachable form left out.

        Backfire checks count only with `events`: they are open in every drive state.
        """
        key = (space, events)
        if key not in self._scopes:
            members = region(self.network, space, self.possible_air)
            names = {item for item in self.network.air_path_items if item in self.forms}
            for member in members:
                if not self.network.spaces[member].source:
                    _, items, with_guards = self.air_at(member)
                    names |= with_guards if events else items
            self._scopes[key] = self.movable(names)
        return self._scopes[key]

    def pressure_near(self, configuration: Configuration, space: str, *, events: bool = False) -> frozenset[str]:
        """Every item that the pressure of a space hangs on as long as none of them changes."""
        known = self._near.setdefault((space, events), Remembered())

        def look() -> tuple[frozenset[str], frozenset[str]]:
            found = self._pressure_near(configuration, space, events=events)
            return found, found

        return known.at(configuration, look)

    def _pressure_near(self, configuration: Configuration, space: str, *, events: bool) -> frozenset[str]:
        names = set(self.movable(self.network.air_path_items))
        members, queue = {space}, [space]
        while queue:
            here = queue.pop()
            if self.network.spaces[here].source:
                continue
            ways, items, with_guards = self.air_at(here)
            names |= with_guards if events else items
            standing = [way for way in ways if way.exists(configuration)]
            if not standing and self.network.spaces[here].holds in WET:  # then its ways of fuel decide
                wet = [way for way in self.network.ways_of[here] if way.carries != "air"]
                names |= self.movable(items_of(wet))
                standing = [way for way in wet if way.exists(configuration)]
            for into in {way.other(here) for way in standing} - members:
                members.add(into)
                queue.append(into)
        return frozenset(names)

    def near(self, configuration: Configuration) -> Reachable:
        """The same, where scopes are those of one configuration: what lies behind a closed way does not count."""
        return _Near(self, configuration)

    def movable(self, items: Iterable[str]) -> frozenset[str]:
        """Those of the items that could take another form."""
        return frozenset(item for item in items if item in self.forms and len(self.forms[item]) > 1)

    def closing(self, ways: Iterable[Way], configuration: Configuration, *, guard: bool = False) -> frozenset[Choice]:
        """Choices that take one of these ways away (or, with `guard`, fit its guard)."""
        choices: set[Choice] = set()
        for way in ways:
            for item, forms in way.conditions:
                choices.update((item, form) for form in self.forms[item] if form not in forms)
            if way.inline is not None:
                choices.update((way.inline, form) for form in self.others(way.inline, configuration))
            if guard and way.guard is not None:
                choices.update((way.guard, form) for form in self.others(way.guard, configuration))
        return frozenset(choices)

    def opening(self, ways: Iterable[Way], configuration: Configuration) -> frozenset[Choice]:
        """Choices of which one must be made before one of these ways can pass."""
        choices: set[Choice] = set()
        for way in ways:
            for item, forms in way.conditions:
                if configuration[item] not in forms:
                    choices.update((item, form) for form in self.forms[item] if form in forms)
                    break
            else:
                if way.inline is not None:
                    choices.update((way.inline, form) for form in self.others(way.inline, configuration))
        return frozenset(choices)

    def others(self, item: str, configuration: Configuration) -> tuple[str, ...]:
        """The reachable forms of an item that it does not have."""
        return tuple(form for form in self.forms.get(item, ()) if form != configuration.get(item))


class _Near(Reachable):
    """Scopes of one configuration.

    The pressure of a space hangs on the spaces that are joined to it now and on every way at any of them, open or
    closed. Whatever lies behind a closed way comes in only when that way opens, and its items are among these.
    """

    def __init__(self, everywhere: Reachable, configuration: Configuration) -> None:
        self.network = everywhere.network
        self.offered = everywhere.offered
        self.forms = everywhere.forms
        self._everywhere = everywhere
        self._configuration = configuration

    def pressure_scope(self, space: str, *, events: bool = False) -> frozenset[str]:
        """Every item that the pressure of a space hangs on as long as none of them changes."""
        return self._everywhere.pressure_near(self._configuration, space, events=events)
