"""Following signals through the network: reach, shortest paths, what closes and what would open one.

A path may pass through any space but a source: sources (the atmosphere, the air horn, the manifold) have the
pressure that the air path gives them, whatever leads there.
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from fnmatch import translate
from functools import cache

from boostcarb.findings import Step
from boostcarb.network.model import Configuration, Network, Way

WayFilter = Callable[[Way], bool]
DUCT = "duct"


def matching(pattern: str, names: Collection[str]) -> list[str]:
    """Names that a pattern such as `*.bowl` covers, sorted."""
    if "*" not in pattern:
        return [pattern] if pattern in names else []
    covers = _compiled(pattern)
    return sorted(name for name in names if covers(name))


@cache
def _compiled(pattern: str) -> Callable[[str], object]:
    """The rulebook has more patterns than the standard library keeps compiled."""
    return re.compile(translate(pattern)).match


def shortest_path(
    network: Network,
    configuration: Configuration,
    start: str,
    goal: str,
    keep: WayFilter = lambda way: True,
) -> tuple[Step, ...] | None:
    """Fewest ways from `start` to `goal` in the direction in which they pass, or None. Ties: by way name."""
    came: dict[str, tuple[str, str]] = {}
    queue = deque([start])
    seen = {start}
    while queue:
        space = queue.popleft()
        for way in network.ways_of[space]:
            into = way.other(space)
            if into in seen or not way.exists(configuration) or not keep(way):
                continue
            if way.b == space and way.is_one_way(configuration):
                continue
            if into != goal and network.spaces[into].source:
                continue
            seen.add(into)
            came[into] = (space, way.name)
            if into == goal:
                return _unwound(came, start, goal)
            queue.append(into)
    return None


def _unwound(came: dict[str, tuple[str, str]], start: str, goal: str) -> tuple[Step, ...]:
    steps: list[Step] = []
    space = goal
    while space != start:
        before, way = came[space]
        steps.append(Step(way, space))
        space = before
    return tuple(reversed(steps))


def disjoint_paths(
    network: Network,
    configuration: Configuration,
    start: str,
    goal: str,
    keep: WayFilter = lambda way: True,
    *,
    most: int = 4,
) -> Iterator[tuple[Step, ...]]:
    """Shortest paths that share no way, shortest first."""
    used: set[str] = set()
    for _ in range(most):
        path = shortest_path(network, configuration, start, goal, lambda way: way.name not in used and keep(way))
        if path is None:
            return
        yield path
        used.update(step.way for step in path)


def reached(
    network: Network,
    configuration: Configuration,
    start: str,
    keep: WayFilter = lambda way: True,
    *,
    against: bool = False,
    through_ducts: bool = False,
) -> dict[str, tuple[Step, ...]]:
    """Every space that a start reaches in the direction in which ways pass, with the shortest path there.

    With `against`, every space from which the start is reached: what it draws from. A source ends a path; with
    `through_ducts` a path goes on through sources joined to the start by ducts, as those stand at its pressure.
    """
    paths: dict[str, tuple[Step, ...]] = {start: ()}
    one_with_start = _joined_by_ducts(network, configuration, start, keep) if through_ducts else {start}
    queue = deque([start])
    while queue:
        space = queue.popleft()
        if space not in one_with_start and network.spaces[space].source:
            continue
        for way in network.ways_of[space]:
            into = way.other(space)
            if into in paths or not way.exists(configuration) or not keep(way):
                continue
            if way.is_one_way(configuration) and (way.a == space) == against:
                continue
            paths[into] = (*paths[space], Step(way.name, into))
            queue.append(into)
    return paths


@dataclass(frozen=True, slots=True)
class Reached:
    """Spaces that a start reaches, sources that end a path among them, and the items that decide on that."""

    spaces: frozenset[str]
    items: frozenset[str]


def reach(network: Network, configuration: Configuration, start: str, keep: WayFilter) -> Reached:
    """What a start reaches by ways of which `keep` must say the same in every configuration."""
    items: set[str] = set()
    spaces, queue = {start}, [start]
    while queue:
        space = queue.pop()
        if space != start and network.spaces[space].source:
            continue
        for way in filter(keep, network.ways_of[space]):
            items.update(way.items)
            into = way.other(space)
            if into in spaces or not way.exists(configuration):
                continue
            if way.a == space or not way.is_one_way(configuration):
                spaces.add(into)
                queue.append(into)
    return Reached(frozenset(spaces), frozenset(items))


def _joined_by_ducts(network: Network, configuration: Configuration, start: str, keep: WayFilter) -> set[str]:
    """The start and all spaces that open ducts make one with it, whatever else leads there."""
    joined = {start}
    queue = deque([start])
    while queue:
        space = queue.popleft()
        for way in network.ways_of[space]:
            into = way.other(space)
            if into in joined or way.kind != DUCT or not way.exists(configuration) or not keep(way):
                continue
            if not way.is_one_way(configuration):
                joined.add(into)
                queue.append(into)
    return joined


def region(network: Network, space: str, possible: WayFilter) -> frozenset[str]:
    """Spaces whose pressure could depend on each other: joined by ways that could exist, sources left out."""
    seen = {space}
    queue = deque([space])
    while queue:
        here = queue.popleft()
        if network.spaces[here].source:
            continue
        for way in network.ways_of[here]:
            into = way.other(here)
            if into not in seen and possible(way):
                seen.add(into)
                queue.append(into)
    return frozenset(seen)


def frontier(
    network: Network, configuration: Configuration, start: str, goal: str, keep: WayFilter, possible: WayFilter
) -> frozenset[str] | None:
    """Ways of which at least one must come to pass before `start` can reach `goal`; None if it does already.

    Those that could exist, do not pass now, and leave the part of the network that `start` reaches now. Ways into
    a source other than the goal are left out: no path goes on from there.
    """
    inside = set(reached(network, configuration, start, keep))
    if goal in inside:
        return None
    inside = {space for space in inside if space == start or not network.spaces[space].source}
    return frozenset(
        way.name
        for space in inside
        for way in network.ways_of[space]
        if way.other(space) not in inside
        and (way.other(space) == goal or not network.spaces[way.other(space)].source)
        and possible(way)
    )
