"""The network as a graph of general graph libraries, and back: spaces are nodes, ways and diaphragms are edges.

What general tools show stands in plain attributes; the rest, from items to the strip-down, in attributes that hold
JSON. Nothing is lost: `network_of(graph_of(network)) == network`.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any, Final, get_type_hints

import networkx as nx

from boostcarb.errors import BadDescription, Problem
from boostcarb.network.codec import plain, record
from boostcarb.network.model import OPEN, PLUGGED, Diaphragm, Form, Item, Network, Space, Stage, Way
from boostcarb.suggest import suggest

FORMAT: Final = "boostcarb network 1"
WAY, DIAPHRAGM = "way", "diaphragm"
FIRST_STAGE: Final = "on_engine"
_WHOLE: Final = (
    "items", "stages", "castings", "aliases", "circuits", "group_titles", "carburetors", "air_path_items", "boxed",
)  # fmt: skip
"""What of a network is no node and no edge."""
_WAY_ENDS: Final = ("name", "a", "b")
_DIAPHRAGM_ENDS: Final = ("name", "first", "second")


def graph_of(network: Network) -> nx.MultiDiGraph[str]:
    """A network as a graph; edges lead from `a` to `b`, and say whether they are open as found."""
    graph: nx.MultiDiGraph[str] = nx.MultiDiGraph(format=FORMAT)
    for field in _WHOLE:
        graph.graph[field] = json.dumps(plain(getattr(network, field)))
    for name, space in network.spaces.items():
        graph.add_node(name, **_attributes(space, ("name",)))
    found = network.found()
    for way in network.ways:
        state = {"element": WAY, "open_as_found": way.exists(found)}
        graph.add_edge(way.a, way.b, key=way.name, **state, **_attributes(way, _WAY_ENDS))
    for wall in network.diaphragms.values():
        state = {"element": DIAPHRAGM, "there_as_found": wall.exists(found)}
        graph.add_edge(wall.first, wall.second, key=wall.name, **state, **_attributes(wall, _DIAPHRAGM_ENDS))
    return graph


def _attributes(each: Space | Way | Diaphragm, left_out: tuple[str, ...]) -> dict[str, Any]:
    """Fields as attributes: what is no text, number or truth value as JSON; what is not there is left out."""
    values = {name: value for name, value in plain(each).items() if name not in left_out and value is not None}
    return {name: json.dumps(value) if isinstance(value, list | dict) else value for name, value in values.items()}


def network_of(graph: nx.MultiDiGraph[str]) -> Network:
    """The network that a graph holds, checked. A plain drawing will do: nodes, and edges with an `area_m2`.

    Raises:
        BadDescription: nodes, edges or attributes that do not fit; every one is named.
    """
    problems: list[Problem] = []
    spaces = {str(name): _read(Space, str(name), _with_name(name, values), problems)
              for name, values in graph.nodes(data=True)}  # fmt: skip
    ways, walls = [], []
    for a, b, key, values in graph.edges(keys=True, data=True):
        name = str(values.get("name", key if isinstance(key, str) else f"{a}_to_{b}_{key}"))
        if values.get("element", WAY) == DIAPHRAGM:
            walls.append(_read(Diaphragm, name, {**values, "name": name, "first": a, "second": b}, problems))
        else:
            ways.append(_read(Way, name, {**_drawn(name, values), "name": name, "a": a, "b": b}, problems))
    whole = _whole(graph.graph, ways, spaces, problems)
    if problems:
        raise BadDescription(problems)
    ordered = tuple(sorted(ways, key=lambda way: way.name))
    network = Network(
        spaces=spaces, ways=ordered, diaphragms={wall.name: wall for wall in sorted(walls, key=lambda wall: wall.name)},
        ways_of={name: tuple(way for way in ordered if name in (way.a, way.b)) for name in spaces}, **whole,
    )  # fmt: skip
    problems = list(_wrong(network))
    if problems:
        raise BadDescription(problems)
    return network


def _with_name(name: Any, values: Mapping[str, Any]) -> dict[str, Any]:
    drawn = {"title": str(name).replace("_", " "), "casting": "body", "holds": "air", "source": False}
    return {**drawn, "volume_m3": None, **values, "name": str(name)}


def _drawn(name: str, values: Mapping[str, Any]) -> dict[str, Any]:
    """A way with what a plain drawing leaves out."""
    drawn = {
        "title": name.replace("_", " "), "kind": "bore", "carries": "air", "casting": "body", "stage": FIRST_STAGE,
        "item": name, "conditions": json.dumps([[name, [OPEN]]]),
    }  # fmt: skip
    return {**drawn, **values}


_NOT_KEPT: Final = ("element", "open_as_found", "there_as_found", "id")


def _read(kind: Any, name: str, values: Mapping[str, Any], problems: list[Problem]) -> Any:
    data = {field: _parsed(value) for field, value in values.items() if field not in _NOT_KEPT}
    try:
        return record(kind, data)
    except ValueError as error:
        problems.append(Problem(str(error), field=name))
        return None


def _parsed(value: Any) -> Any:
    """An attribute that holds JSON as what it says; any other as it is."""
    if isinstance(value, str) and value[:1] in "[{":
        try:
            return json.loads(value)
        except (ValueError, RecursionError):
            return value
    return value


def _whole(
    attributes: Mapping[str, Any], ways: list[Way], spaces: Mapping[str, Space], problems: list[Problem]
) -> dict[str, Any]:
    """All that is no node and no edge; worked out for a plain drawing."""
    said: dict[str, Any] = {}
    hints = get_type_hints(Network)
    for field in _WHOLE:
        if field not in attributes:
            continue
        try:
            said[field] = record(hints[field], json.loads(str(attributes[field])))
        except (ValueError, RecursionError) as error:
            problems.append(Problem(str(error), field=field))
    there = [way for way in ways if way is not None]
    said.setdefault("items", {way.item: _item(way) for way in there})
    said.setdefault("stages", {FIRST_STAGE: Stage(FIRST_STAGE, "nothing off", 0, ())})
    castings = {way.casting for way in there} | {space.casting for space in spaces.values() if space is not None}
    said.setdefault("castings", {name: name.replace("_", " ") for name in sorted(castings)})
    said.setdefault("aliases", {})
    return said


def _item(way: Way) -> Item:
    forms = {OPEN: Form(OPEN), PLUGGED: Form(PLUGGED)}
    return Item(way.item, way.title, "passage", way.casting, way.stage, forms, OPEN, confirmed=False)


def _wrong(network: Network) -> Iterator[Problem]:
    """Names that lead nowhere or stand twice, and numbers that no hole can have."""
    for before, way in pairwise(network.ways):
        if before.name == way.name:
            yield Problem("names two ways; give each a name of its own", field=way.name)
    for way in network.ways:
        if not (math.isfinite(way.area_m2) and way.area_m2 > 0.0):
            yield Problem(f"found an area_m2 of {way.area_m2}; write one above 0, in square meters", field=way.name)
        if way.a == way.b:
            yield Problem(f"leads from {way.a!r} to itself; join two spaces", field=way.name)
        for needed in (way.item, way.inline):
            yield from _known(way.name, "item", needed, network.items)
        yield from _known(way.name, "stage", way.stage, network.stages)
        yield from _known(way.name, "space", way.gate.senses if way.gate else None, network.spaces)
        yield from _conditions(network, way.name, way.conditions)
    for wall in network.diaphragms.values():
        yield from _conditions(network, wall.name, wall.conditions)
        for needed in (wall.part, wall.tear):
            yield from _known(wall.name, "item", needed, network.items)
        yield from _known(wall.name, "space", wall.wets, network.spaces)
    for name, space in network.spaces.items():
        yield from _known(name, "space", space.same_as, network.spaces)
    for name, item in network.items.items():
        yield from _known(name, "form", item.found, item.forms)
        yield from _conditions(network, name, item.conditions)


def _conditions(network: Network, where: str, conditions: Any) -> Iterator[Problem]:
    """A form that its item cannot have in this mode is no mistake: the way is then never there."""
    for item, _ in conditions:
        yield from _known(where, "item", item, network.items)


def _known(where: str, what: str, name: str | None, known: Mapping[str, Any]) -> Iterator[Problem]:
    if name is not None and name not in known:
        yield Problem(f"unknown {what} {name!r}; {suggest(name, known)}", field=where)
