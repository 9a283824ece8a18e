"""GraphML out and in, and DOT out, for general graph tools.

GraphML is XML. What comes from outside is refused before it is parsed if it is too large, is not UTF-8, or has a
document type: an entity could otherwise grow to any size.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final
from xml.etree.ElementTree import ParseError

import networkx as nx

from boostcarb.errors import BadDescription, Problem
from boostcarb.network.graph import graph_of, network_of
from boostcarb.network.model import Network

SIZE_LIMIT: Final = 16 * 1024 * 1024
"""Largest GraphML file read, bytes."""
DEPTH_LIMIT: Final = 16
_FORBIDDEN: Final = re.compile(r"<!\s*(DOCTYPE|ENTITY)|<\?xml-stylesheet", re.IGNORECASE)
_ENCODING: Final = re.compile(r"<\?xml[^>]*encoding\s*=\s*['\"](?P<name>[^'\"]*)['\"]", re.IGNORECASE)
_TAG: Final = re.compile(r"<(/?)[A-Za-z][^<>]*?(/?)>")


def graphml_text(network: Network) -> str:
    """A network as GraphML."""
    return "\n".join(nx.generate_graphml(graph_of(network), named_key_ids=True)) + "\n"


def read_graphml(path: Path) -> Network:
    """The network that a GraphML file holds.

    Raises:
        BadDescription: it cannot be read, is no GraphML, or holds no network; every wrong node and edge is named.
    """
    text = _text(path)
    _refuse_bombs(text, path)
    try:
        graph = nx.parse_graphml(text, node_type=str, force_multigraph=True)
    except (nx.NetworkXException, ParseError, ValueError, KeyError, TypeError) as error:
        raise BadDescription(Problem(f"is no GraphML that can be read: {error}", path)) from error
    if not graph.is_directed():
        graph = graph.to_directed(as_view=False) if graph.number_of_edges() == 0 else _directed(graph)
    try:
        return network_of(graph)
    except BadDescription as error:
        raise BadDescription([Problem(each.message, path, None, each.field) for each in error.problems]) from error


def _directed(graph: nx.MultiGraph[str]) -> nx.MultiDiGraph[str]:
    """A drawing without directions: each edge once, as it was written."""
    directed: nx.MultiDiGraph[str] = nx.MultiDiGraph(**graph.graph)
    directed.add_nodes_from(graph.nodes(data=True))
    directed.add_edges_from(graph.edges(keys=True, data=True))
    return directed


def _text(path: Path) -> str:
    try:
        if not path.is_file():
            raise BadDescription(Problem("there is no such file; check the path", path))
        with path.open("rb") as stream:
            raw = stream.read(SIZE_LIMIT + 1)
    except OSError as error:
        raise BadDescription(Problem(f"cannot be read: {error.strerror or error}", path)) from error
    if len(raw) > SIZE_LIMIT:
        limit = SIZE_LIMIT // 1024 // 1024
        raise BadDescription(Problem(f"is larger than {limit} MiB; a network is much smaller", path))
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadDescription(Problem("is not UTF-8 text; save it as UTF-8", path)) from error


def _refuse_bombs(text: str, path: Path) -> None:
    encoding = _ENCODING.search(text[:200])
    if encoding is not None and encoding["name"].lower() not in ("utf-8", "utf8", "us-ascii"):
        raise BadDescription(Problem(f"says it is {encoding['name']}; save it as UTF-8", path))
    found = _FORBIDDEN.search(text)
    if found is not None:
        line = text.count("\n", 0, found.start()) + 1
        message = "has a document type or entities, which are not read; take that declaration out"
        raise BadDescription(Problem(message, path, line))
    depth = 0
    for tag in _TAG.finditer(text):
        depth += -1 if tag[1] else 0 if tag[2] else 1
        if depth > DEPTH_LIMIT:
            line = text.count("\n", 0, tag.start()) + 1
            raise BadDescription(Problem(f"is nested more than {DEPTH_LIMIT} deep; a network is flat", path, line))


# --- DOT --------------------------------------------------------------------------------------------------


def dot_text(network: Network) -> str:
    """A network in the DOT language: one box a casting, full lines for what is open as found, arrows one way only."""
    return "\n".join(_dot_lines(network)) + "\n"


def _dot_lines(network: Network) -> Iterator[str]:
    found = network.found()
    yield "digraph carburetor {"
    yield '  graph [rankdir=LR, fontname="Helvetica"];'
    yield '  node [shape=ellipse, fontname="Helvetica"];'
    for casting in sorted({space.casting for space in network.spaces.values()}):
        yield f"  subgraph {_quoted('cluster_' + casting)} {{"
        yield f"    label={_quoted(network.castings.get(casting, casting))};"
        for name, space in network.spaces.items():
            if space.casting == casting:
                shape = ", shape=box" if space.source else ""
                yield f"    {_quoted(name)} [label={_quoted(space.title)}{shape}];"
        yield "  }"
    for way in network.ways:
        style = "solid" if way.exists(found) else "dashed"
        arrow = "forward" if way.is_one_way(found) else "none"
        yield (
            f"  {_quoted(way.a)} -> {_quoted(way.b)} [id={_quoted(way.name)}, label={_quoted(way.title)}, "
            f"style={style}, dir={arrow}];"
        )
    for name, wall in network.diaphragms.items():
        style = "bold" if wall.exists(found) else "dotted"
        yield (
            f"  {_quoted(wall.first)} -> {_quoted(wall.second)} [id={_quoted(name)}, label={_quoted(wall.title)}, "
            f"style={style}, dir=none, color=blue];"
        )
    yield "}"


def _quoted(text: str) -> str:
    """A text as a DOT string.

    >>> print(_quoted("the 'top' one"))
    "the 'top' one"
    """
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\r", "").replace("\n", "\\n")
    return f'"{escaped}"'
