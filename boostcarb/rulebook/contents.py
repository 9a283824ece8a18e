"""Requirements on what a space can hold."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.findings import Witness
from boostcarb.network.model import Network
from boostcarb.network.tracing import matching
from boostcarb.rulebook import schema
from boostcarb.rulebook.kind import Kind, Place
from boostcarb.rulebook.view import Breach, View
from boostcarb.solving.contents import AMBIENT, Content, Origin, is_fuel_source, is_spring, stream_into


class FreeOf(Kind[schema.FreeOf]):
    """A space into which nothing of some contents flows or breathes."""

    far = True

    @property
    def _unwanted(self) -> tuple[Content, ...]:
        return tuple(Content(name) for name in self.requirement.contents)

    def places(self, network: Network) -> list[Place]:
        """The spaces that the pattern covers."""
        return [(name,) for name in matching(self.requirement.space, network.spaces)]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Items of every way that could lead here, of the pressures along them, and those that let a bowl run over."""
        reachable = self.reachable
        names: set[str] = {item for item in network.air_path_items if item in network.items}
        upstream, queue = set(place), list(place)
        while queue:
            space = queue.pop()
            if space == AMBIENT or is_fuel_source(network.spaces[space]):
                continue
            if space not in place and is_spring(network, space, self._unwanted):
                continue
            before = set(stream_into(network, space))
            for way in filter(reachable.possible, network.ways_of[space]):
                before.add(way.other(space))
                names.update(item for item, _ in way.conditions)
                names.update(item for item in (way.inline, way.guard) if item is not None)
            queue += before - upstream
            upstream |= before
        for space in upstream:
            names |= reachable.pressure_scope(space, events=True)
        for name, item in network.items.items():
            if any(form.floods in upstream for form in item.forms.values()):
                names.add(name)
        return reachable.movable(names)

    def fails(self, view: View, place: Place) -> bool:
        """Whether any of them can get in."""
        return next(self._origins(view, place), None) is not None

    def _origins(self, view: View, place: Place) -> Iterator[Origin]:
        states = [state.name for state in view.during(self.requirement.during)]
        return view.contents.origins(place[0], self._unwanted, states)

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The shortest way in, with every state in which anything gets in by any way."""
        origins = list(self._origins(view, place))
        if not origins:
            return
        space, origin = place[0], origins[0]
        title = view.network.title_of(origin.start)
        held = origin.content.replace("_", " ")
        failing = {state for each in origins for state in each.states}
        worst = max(origin.states, key=lambda state: view.pressures.range_of(origin.start, state)[1])
        yield Breach(
            place=space,
            place_title=view.network.title_of(space),
            statement=f"can hold {held}" + (f", from the {title}" if origin.path else ""),
            witness=Witness(
                start=origin.start,
                path=origin.path,
                readings=tuple(view.reading(each, worst) for each in dict.fromkeys((origin.start, space))),
            ),
            state=worst,
            states=tuple(state.name for state in view.states if state.name in failing),
        )
