"""Requirements on pressures: equal, following their source, from one reference only."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.findings import Quantity, Witness
from boostcarb.network.model import Network
from boostcarb.network.tracing import matching, reached
from boostcarb.rulebook import schema
from boostcarb.rulebook.kind import Kind, Place
from boostcarb.rulebook.view import Breach, View, diaphragms_on, works_a_valve
from boostcarb.solving.pressures import Nature


class EqualPressure(Kind[schema.EqualPressure]):
    """Two spaces at one pressure, within a tolerance."""

    def places(self, network: Network) -> list[Place]:
        """The spaces that the pattern covers."""
        if self.requirement.to not in network.spaces:
            return []
        return [(name,) for name in matching(self.requirement.space, network.spaces) if name != self.requirement.to]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Items of both regions."""
        events = self.requirement.during in ("events", "all")
        return frozenset().union(
            *(self.reachable.pressure_scope(space, events=events) for space in (place[0], self.requirement.to))
        )

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The state with the largest difference."""
        space, other = place[0], self.requirement.to
        worst, worst_state, failing = 0.0, None, []
        for state in view.during(self.requirement.during):
            low, high = view.pressures.range_of(space, state.name)
            other_low, other_high = view.pressures.range_of(other, state.name)
            apart = max(high - other_low, other_high - low)
            if apart > self.requirement.within:
                failing.append(state.name)
                if apart > worst:
                    worst, worst_state = apart, state.name
        if worst_state is None:
            return
        mine, its = view.reading(space, worst_state), view.reading(other, worst_state)
        yield Breach(
            place=space,
            place_title=view.network.title_of(space),
            statement=f"not at the pressure of the {view.network.title_of(other)}",
            witness=Witness(
                readings=(mine, its),
                quantity=Quantity(
                    f"{space} minus {other}",
                    mine.low_pa_abs - its.high_pa_abs,
                    mine.high_pa_abs - its.low_pa_abs,
                    self.requirement.within,
                    "Pa",
                ),
            ),
            state=worst_state,
            states=tuple(failing),
        )


class FollowsSource(Kind[schema.FollowsSource]):
    """A space whose pressure nothing traps."""

    def places(self, network: Network) -> list[Place]:
        """The spaces that the pattern covers."""
        return [(name,) for name in matching(self.requirement.space, network.spaces)]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Items of the region and of the diaphragms on the space."""
        names: set[str] = set(self.reachable.pressure_scope(place[0]))
        for diaphragm in network.diaphragms.values():
            if place[0] in (diaphragm.first, diaphragm.second):
                names |= diaphragm.items()
        return self.reachable.movable(names)

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """Held by a one-way valve, or sealed, in any state of the drive."""
        space = place[0]
        if not self._matters(view, space):
            return
        pressure = view.pressures.spaces.get(space)
        wanted = Nature.held if self.requirement.trapped_by == "one_way_valve" else Nature.sealed
        if pressure is None or pressure.nature is not wanted:
            return
        spread = [
            (float(pressure.high[i] - pressure.low[i]), state.name)
            for i, state in enumerate(view.states)
            if not state.event
        ]
        _, worst = max(spread, key=lambda pair: pair[0])
        yield Breach(
            place=space,
            place_title=view.network.title_of(space),
            statement=wanted.value,
            witness=Witness(readings=(view.reading(space, worst),), items=view.item_forms(self._near(view, space))),
            state=worst,
            states=tuple(name for _, name in spread),
        )

    def _matters(self, view: View, space: str) -> bool:
        network, configuration = view.network, view.configuration
        valve, diaphragm = self.requirement.if_valve_on, self.requirement.if_diaphragm
        if valve and not any(works_a_valve(each, configuration) for each in diaphragms_on(network, space, valve)):
            return False
        return not diaphragm or any(each.exists(configuration) for each in diaphragms_on(network, space, diaphragm))

    def _near(self, view: View, space: str) -> list[str]:
        names: set[str] = set()
        for member in reached(view.network, view.configuration, space, lambda way: way.carries == "air"):
            if member != space and view.network.spaces[member].source:
                continue
            for way in view.network.ways_of[member]:
                if way.carries == "air" and self.reachable.possible(way):
                    names.add(way.item)
                    names.update([way.inline] if way.inline and way.is_one_way(view.configuration) else [])
        return sorted(names)


class OneReference(Kind[schema.OneReference]):
    """A space not joined to two sources of different pressure."""

    def places(self, network: Network) -> list[Place]:
        """The spaces that the pattern covers."""
        return [(name,) for name in matching(self.requirement.space, network.spaces)]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Items of the region."""
        return self.reachable.pressure_scope(place[0])

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The two open sources whose pressures differ most, with the paths to them."""
        space = place[0]
        network = view.network
        differing = []
        for state in view.during("running"):
            found = reached(
                network,
                view.configuration,
                space,
                lambda way, state=state: way.carries == "air" and view.passes_in(way, state),  # type: ignore[misc]
            )
            values = {
                name: view.pressures.range_of(name, state.name)[0] for name in found if network.spaces[name].source
            }
            if len(values) < 2:
                continue
            high, low = max(sorted(values), key=values.__getitem__), min(sorted(values), key=values.__getitem__)
            if values[high] - values[low] > self.requirement.within:
                differing.append((values[high] - values[low], state.name, high, low, found))
        if not differing:
            return
        apart, worst, high, low, found = max(differing, key=lambda each: each[0])
        ways = {way.name: way for way in network.ways}
        steps = (*found[high], *found[low])
        yield Breach(
            place=space,
            place_title=network.title_of(space),
            statement=f"open both to the {network.title_of(high)} and to the {network.title_of(low)}",
            witness=Witness(
                start=space,
                path=steps,
                readings=tuple(view.reading(name, worst) for name in (high, space, low)),
                quantity=Quantity(f"{high} minus {low}", apart, apart, self.requirement.within, "Pa"),
            ),
            state=worst,
            states=tuple(name for _, name, *_ in differing),
            cure=self.reachable.closing([ways[step.way] for step in steps], view.configuration) | self._air_path(view),
        )

    def _air_path(self, view: View) -> frozenset[tuple[str, str]]:
        return frozenset(
            (item, form)
            for item in view.network.air_path_items
            if item in self.reachable.forms
            for form in self.reachable.others(item, view.configuration)
        )
