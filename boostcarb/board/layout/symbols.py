"""Where symbols stand: on a straight stretch of their route, clear of bends, boxes, bars and of all other lines."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from boostcarb.board.layout.lattice import Lattice, Node

PASSING = 2  # pitches from a symbol's center to the closest line beside it
SHUT = 40
REACH = 3  # half pitches that a symbol needs along its line to both sides


@dataclass(frozen=True, slots=True)
class Spot:
    """The center of a symbol in half pitches, and the direction of the line there."""

    x2: int
    y2: int
    direction: int


def stretches(lattice: Lattice, nodes: list[Node]) -> list[tuple[Node, Node, int]]:
    """Straight stretches of a route: first node, last node, direction."""
    found: list[tuple[Node, Node, int]] = []
    for here, there in pairwise(nodes):
        direction = lattice.step.index(there - here)
        if found and found[-1][2] == direction:
            found[-1] = (found[-1][0], there, direction)
        else:
            found.append((here, there, direction))
    return found


def spots(lattice: Lattice, nodes: list[Node], owner: int, among: set[Node]) -> list[Spot]:
    """Every place along a route where a symbol is clear; `among`: nodes of the route itself."""
    found = []
    for start, end, direction in stretches(lattice, nodes):
        (x0, y0), (x1, y1) = lattice.place(start), lattice.place(end)
        length = 2 * (abs(x1 - x0) + abs(y1 - y0))
        dx, dy = (x1 > x0) - (x1 < x0), (y1 > y0) - (y1 < y0)
        for along in range(REACH, length - REACH + 1):
            spot = Spot(2 * x0 + dx * along, 2 * y0 + dy * along, direction)
            if is_clear(lattice, spot, owner, among, (start, end)):
                found.append(spot)
    return found


def is_clear(lattice: Lattice, spot: Spot, owner: int, among: set[Node], edges: tuple[Node, Node]) -> bool:
    """Whether nothing foreign is under a symbol. What bounds the stretch may be a box that the route ends at."""
    bounds = [lattice.place(node) for node in edges]
    for node in lattice.around(spot.x2, spot.y2):
        if lattice.behind[node]:
            x, y = lattice.place(node)
            if not _on_bound(spot, (x, y), bounds):
                return False
            continue
        for table in (lattice.across, lattice.down):
            taken = table[node]
            if taken > 0 and taken != owner:
                return False
            if taken < 0 and not _on_bound(spot, lattice.place(node), bounds):
                return False
    return True


def _on_bound(spot: Spot, place: tuple[int, int], bounds: list[tuple[int, int]]) -> bool:
    axis = spot.direction & 1
    center = (spot.x2, spot.y2)[axis]
    return any(place[axis] == bound[axis] for bound in bounds) and abs(2 * place[axis] - center) >= REACH


def nearest(lattice: Lattice, choices: list[Spot], x2: int, y2: int) -> Spot:
    """The one closest to a place, but rather farther off than where it would shut a passage for other lines."""

    def cost(spot: Spot) -> tuple[int, int, int]:
        shut = SHUT if _shuts(lattice, spot) else 0
        return abs(spot.x2 - x2) + abs(spot.y2 - y2) + shut, spot.y2, spot.x2

    return min(choices, key=cost)


def _shuts(lattice: Lattice, spot: Spot) -> bool:
    """Whether nothing could pass beside a symbol, on either side."""
    side = 1 if spot.direction & 1 else lattice.width
    table = lattice.down if spot.direction & 1 else lattice.across
    node = lattice.node(spot.x2 // 2, spot.y2 // 2)
    return all(table[node + way * PASSING] != 0 for way in (side, -side))
