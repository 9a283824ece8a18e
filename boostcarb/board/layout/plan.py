"""The drawing of a carburetor and what stands round it, from its network alone."""

from __future__ import annotations

from collections.abc import Collection

from boostcarb.board.layout.arrangement import arranged
from boostcarb.board.layout.order import put_in_order
from boostcarb.board.layout.places import Places, Placing, Rect, Room, sizes_of
from boostcarb.board.layout.records import PITCH, Drawing, Membrane, Panel, Place, Point, Route
from boostcarb.board.layout.routing import Laid, NoRoom, Routing
from boostcarb.board.layout.strands import Strand, strands_of
from boostcarb.board.layout.symbols import Spot
from boostcarb.network.model import AMBIENT, Network

ATTEMPTS = 12


def drawing(network: Network, own_castings: Collection[str]) -> Drawing:
    """Where everything is drawn; `own_castings` are those of the carburetor itself.

    Depends on the network alone, not on a configuration: what is there as found only gets the calmer routes. Lengths
    in drawing units. Raises NoRoom where a way finds no route however far things are moved apart.
    """
    strands = strands_of(network)
    arrangement = arranged(network, own_castings)
    put_in_order(arrangement, strands, sizes_of(network, strands))
    room = Room()
    own = [casting for casting in network.castings if casting in set(own_castings)]
    for attempt in range(ATTEMPTS):
        places = Placing(network, arrangement, strands, room, own).placed()
        try:
            laid = Routing(places, strands).all()
        except NoRoom:
            if attempt == ATTEMPTS - 1:
                raise
            room = room.wider()
        else:
            break
    return _drawn(network, set(own_castings), places, strands, laid)


def _drawn(network: Network, own: set[str], places: Places, strands: list[Strand], laid: dict[str, Laid]) -> Drawing:
    boxes = {name: _place("box", rect) for name, rect in places.boxes.items()}
    bars = {name: _place("bar", rect) for name, rect in places.bars.items()}
    if AMBIENT in network.spaces and places.sky is not None:
        bars[AMBIENT] = _place("bar", places.sky)
    panels = {name: _panel(network, name, rect, own) for name, rect in places.panels.items()}
    routes: dict[str, Route] = {}
    membranes: dict[str, Membrane] = {}
    for strand in strands:
        points, spot = _points(laid[strand.name].nodes, places.width + 1), laid[strand.name].spot
        for way in strand.ways:
            forward = way.a == strand.a
            routes[way.name] = Route(points if forward else points[::-1], strand.vent, _symbol(spot, forward))
        for name in strand.diaphragms:
            x, y, angle = _symbol(spot, network.diaphragms[name].first == strand.a)
            membranes[name] = Membrane(x, y, angle, points)
    order = {name: {**boxes, **bars}[name] for name in network.spaces}
    return Drawing(places.width * PITCH, places.height * PITCH, panels, order, routes, membranes)


def _place(shape: str, rect: Rect) -> Place:
    left, top, right, bottom = (PITCH * value for value in rect)
    return Place(shape, left, top, right - left, bottom - top)


def _panel(network: Network, name: str, rect: Rect, own: set[str]) -> Panel:
    left, top, right, bottom = (PITCH * value for value in rect)
    return Panel(network.castings[name], left, top, right - left, bottom - top, name not in own)


def _points(nodes: list[int], width: int) -> tuple[Point, ...]:
    """The ends and bends of a route."""
    kept = [
        node
        for index, node in enumerate(nodes)
        if index in (0, len(nodes) - 1) or nodes[index + 1] - node != node - nodes[index - 1]
    ]
    return tuple((PITCH * (node % width), PITCH * (node // width)) for node in kept)


def _symbol(spot: Spot, forward: bool) -> tuple[int, int, int]:
    angle = 90 * spot.direction if forward else (90 * spot.direction + 180) % 360
    return PITCH * spot.x2 // 2, PITCH * spot.y2 // 2, angle
