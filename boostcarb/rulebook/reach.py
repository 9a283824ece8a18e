"""Requirements on paths: what must not be joined, what must be, what must be guarded."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import TypeVar

from boostcarb.findings import Quantity, Step, Witness
from boostcarb.network.model import Configuration, Diaphragm, Network, Way
from boostcarb.network.tracing import Reached, disjoint_paths, frontier, matching
from boostcarb.rulebook import schema
from boostcarb.rulebook.kind import Kind, Place
from boostcarb.rulebook.view import Breach, Choice, View, diaphragms_on, works_a_valve

P = TypeVar("P", schema.Isolated, schema.Connected)


class PathRequirement(Kind[P]):
    """Shared by requirements between two spaces: their places are pairs."""

    def places(self, network: Network) -> list[Place]:
        """Every pair of spaces that the patterns cover."""
        starts = matching(self.requirement.from_, network.spaces)
        goals = matching(self.requirement.to, network.spaces)
        return [(start, goal) for start in starts for goal in goals if start != goal]


class Isolated(PathRequirement[schema.Isolated]):
    """No open path from one space to the other, through spaces that are not sources."""

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Every movable item of a way that could exist, as any of them may lie on a path."""
        names = {item for way in network.ways if self._counts(way) for item, _ in way.conditions}
        names.update(way.inline for way in network.ways if way.inline and self._counts(way))
        for diaphragm in self._diaphragms(network, place):
            names |= diaphragm.items()
        return self.reachable.movable(names)

    def _diaphragms(self, network: Network, place: Place) -> list[Diaphragm]:
        pattern = self.requirement.if_valve_on
        return [] if pattern is None else diaphragms_on(network, place[0], pattern)

    def near(self, configuration: Configuration, place: Place) -> frozenset[str]:
        """Items of the ways at what the first space reaches now: a path must begin there."""
        names = set(self._reached(configuration, place[0]).items)
        for diaphragm in self._diaphragms(self.reachable.network, place):
            names |= diaphragm.items()
        return self.reachable.movable(names)

    def _reached(self, configuration: Configuration, start: str) -> Reached:
        kept = self.requirement.carries, frozenset(self.requirement.kinds or ())
        return self.reachable.reach(configuration, start, kept, self._counts)

    def _counts(self, way: Way) -> bool:
        kinds = self.requirement.kinds
        if self.requirement.carries == "air" and way.carries != "air":
            return False
        return kinds is None or way.kind in kinds

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """One breach for each of several paths that share no way."""
        start, goal = place
        network = view.network
        if goal not in self._reached(view.configuration, start).spaces:
            return  # as with most rules in most configurations: no path need be sought
        valves = [each for each in self._diaphragms(network, place) if works_a_valve(each, view.configuration)]
        if self.requirement.if_valve_on is not None and not valves:
            return
        ways = {way.name: way for way in network.ways}
        for path in disjoint_paths(network, view.configuration, start, goal, self._counts):
            on_path = [ways[step.way] for step in path]
            yield Breach(
                place=start if len(path) > 1 else on_path[0].item,
                place_title=network.title_of(start) if len(path) > 1 else on_path[0].title,
                statement=f"open to the {network.title_of(goal)}",
                witness=Witness(start=start, path=path),
                cure=self.reachable.closing(on_path, view.configuration) | self._without(valves, view),
            )

    def _without(self, valves: Sequence[Diaphragm], view: View) -> frozenset[Choice]:
        """Choices after which one of these diaphragms works no valve any more."""
        return frozenset(
            (item, form)
            for valve in valves
            for item in valve.items()
            for form in self.reachable.others(item, view.configuration)
            if not works_a_valve(valve, {**view.configuration, item: form})
        )


class Connected(PathRequirement[schema.Connected]):
    """An open path, passing both ways, of at least some effective area."""

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Items of the ways in the region of the first space."""
        return self.reachable.pressure_scope(place[0])

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """No path at all, or too narrow a one."""
        start, goal = place
        network, configuration = view.network, view.configuration

        def both_ways(way: Way) -> bool:
            return way.carries == "air" and not way.is_one_way(configuration)

        edge = frontier(network, configuration, start, goal, both_ways, self.reachable.possible_air)
        title = network.title_of(goal)
        if edge is not None:
            ways = [way for way in network.ways if way.name in edge]
            yield Breach(
                place=start,
                place_title=network.title_of(start),
                statement=f"not joined to the {title}",
                witness=Witness(start=start, items=view.item_forms(sorted({way.item for way in ways}))),
                cure=self.reachable.opening(ways, configuration),
            )
            return
        least = self.requirement.least_area
        if least is None or self._wide_enough(view, start, goal, least, both_ways):
            return
        path, area = _widest(network, view, start, goal)
        if area < least:
            yield Breach(
                place=start,
                place_title=network.title_of(start),
                statement=f"joined to the {title} by too narrow a way",
                witness=Witness(start=start, path=path, quantity=Quantity("effective area", area, area, least, "m2")),
            )

    @staticmethod
    def _wide_enough(view: View, start: str, goal: str, least: float, keep: Callable[[Way], bool]) -> bool:
        """Whether one way alone is enough, as it mostly is."""
        return any(
            way.other(start) == goal and way.area_m2 >= least and way.exists(view.configuration) and keep(way)
            for way in view.network.ways_of[start]
        )


def _widest(network: Network, view: View, start: str, goal: str) -> tuple[tuple[Step, ...], float]:
    """The path of largest effective area; areas in series add as 1/A^2."""
    import networkx as nx  # noqa: PLC0415  only a way that may be too narrow pays for it

    graph = nx.Graph()
    for way in network.existing(view.configuration):
        if way.carries != "air" or way.is_one_way(view.configuration):
            continue
        if any(network.spaces[end].source and end not in (start, goal) for end in (way.a, way.b)):
            continue
        resistance = 1 / way.area_m2**2
        if not graph.has_edge(way.a, way.b) or graph[way.a][way.b]["resistance"] > resistance:
            graph.add_edge(way.a, way.b, resistance=resistance, way=way.name)
    spaces: Sequence[str] = nx.shortest_path(graph, start, goal, weight="resistance")
    steps = [Step(graph[a][b]["way"], b) for a, b in pairwise(spaces)]
    total = sum(graph[a][b]["resistance"] for a, b in pairwise(spaces))
    return tuple(steps), 1 / math.sqrt(total)


class Guarded(Kind[schema.Guarded]):
    """Every open path from a space to a diaphragm's chamber passes a fitted backfire check."""

    def places(self, network: Network) -> list[Place]:
        """The diaphragms that the pattern covers."""
        return [(name,) for name in matching(self.requirement.diaphragm, network.diaphragms)]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Items of the chamber's region and of the diaphragm."""
        diaphragm = network.diaphragms[place[0]]
        chamber = getattr(diaphragm, self.requirement.to)
        return self.reachable.pressure_scope(chamber, events=True) | self.reachable.movable(diaphragm.items())

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """One breach for each unguarded path."""
        network, configuration = view.network, view.configuration
        diaphragm = network.diaphragms[place[0]]
        if not diaphragm.exists(configuration):
            return
        chamber = getattr(diaphragm, self.requirement.to)
        ways = {way.name: way for way in network.ways}

        def unguarded(way: Way) -> bool:
            return way.carries == "air" and not way.is_checked(configuration)

        others = {
            (item, form)
            for item in diaphragm.items()
            for form in self.reachable.others(item, configuration)
            if not diaphragm.exists({**configuration, item: form})
        }
        for path in disjoint_paths(network, configuration, self.requirement.from_, chamber, unguarded):
            on_path = [ways[step.way] for step in path]
            guards = sorted({way.guard for way in on_path if way.guard})
            yield Breach(
                place=diaphragm.name,
                place_title=diaphragm.title,
                statement=f"open to a backfire from the {network.title_of(self.requirement.from_)}",
                witness=Witness(start=self.requirement.from_, path=path, items=view.item_forms(guards)),
                cure=self.reachable.closing(on_path, configuration, guard=True) | others,
            )
