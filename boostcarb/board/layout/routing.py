"""Every strand its route and its symbol a place; what is there as found goes first and gets the calmest lines."""

from __future__ import annotations

from dataclasses import dataclass

from boostcarb.board.layout.lattice import ASIDE, Lattice, Node
from boostcarb.board.layout.places import Places, Rect
from boostcarb.board.layout.search import Port, cheapest, ports
from boostcarb.board.layout.strands import Strand, exclusive
from boostcarb.board.layout.symbols import Spot, nearest, spots, stretches
from boostcarb.errors import BoostcarbError

# Steps that are straight at the ends of a route, of a line that can come off, and of a vent.
STUB, LINE_STUB, VENT = 2, 3, 4
BETWEEN_SIGNS = 2
FOUND_UP_TO = 2  # kinds of turn


class NoRoom(BoostcarbError):
    """A strand found no way through or no place for its symbol."""

    def __init__(self, strand: Strand) -> None:
        self.strand = strand.name
        super().__init__(f"no room on the drawing for {strand.name}, from {strand.a} to {strand.b}")


@dataclass(frozen=True, slots=True)
class Laid:
    """The nodes of a strand from its `a`, and its symbol's place."""

    nodes: list[Node]
    spot: Spot


class Routing:
    """Lays strand after strand on the lattice."""

    def __init__(self, places: Places, strands: list[Strand]) -> None:
        self.places, self.strands = places, strands
        self.rects: dict[str, Rect] = {**places.boxes, **places.bars}
        self.lattice = Lattice(places)
        self.laid: dict[str, Laid] = {}
        self.owner = _owners(strands)
        self.hosts = {strand.host.name for strand in strands if strand.host is not None}

    def all(self) -> dict[str, Laid]:
        """Every strand; NoRoom where one cannot be laid."""
        turns = sorted(self.strands, key=self._turn)
        first = [strand for strand in turns if self._turn(strand)[0] < FOUND_UP_TO]
        for strand in first:
            self._lay(strand)
        for strand in first:
            # Once more, now that all the others of these are known: fewer crossings.
            if not strand.vent:
                self.lattice.clear(self.owner[strand.name])
                self._lay(strand)
        for strand in turns[len(first) :]:
            self._lay(strand)
        return self.laid

    def _lay(self, strand: Strand) -> None:
        if strand.host is not None:
            self.laid[strand.name] = self._open_end(strand, strand.host)
        else:
            self.laid[strand.name] = self._vent(strand) if strand.vent else self._route(strand)

    def _turn(self, strand: Strand) -> tuple[int, int, str, str]:
        """Diaphragms, then what is there as found, then what opens to the air, then the rest; short before long."""
        if strand.host is not None:
            return (2, 0, "", strand.name) if strand.host.found else (*self._turn(strand.host)[:3], strand.name)
        kind = 0 if strand.diaphragms and not strand.vent else 1 if strand.found else 2 if strand.vent else 3
        return kind, 0 if strand.vent else self._distance(strand), strand.name, ""

    def _distance(self, strand: Strand) -> int:
        a, b = self.rects[strand.a], self.rects[strand.b]
        across = max(0, b[0] - a[2], a[0] - b[2])
        return across + max(0, b[1] - a[3], a[1] - b[3])

    def _vent(self, strand: Strand) -> Laid:
        lattice, owner, rect = self.lattice, self.owner[strand.name], self.rects[strand.a]
        bar = strand.a in self.places.bars
        choices = [port for port in ports(lattice, rect, owner, VENT, bar, clear=True) if self._has_end(port, owner)]
        for port in sorted(choices, key=lambda port: (self._vent_cost(port, rect, bar), port.edge)):
            nodes = [port.edge + lattice.step[port.direction] * k for k in range(VENT + 1)]
            found = spots(lattice, nodes, owner, set(nodes))
            if found:
                spot = found[0]
                self._take(strand, nodes, spot)
                x, y = lattice.place(nodes[-1])
                lattice.keep_clear(2 * x, 2 * y, owner)
                return Laid(nodes, spot)
        raise NoRoom(strand)

    def _has_end(self, port: Port, owner: int) -> bool:
        """Whether there is room for the open-air sign at the end."""
        x, y = self.lattice.place(port.stub)
        return all(self.lattice.free(node, owner) for node in self.lattice.around(2 * x, 2 * y))

    def _vent_cost(self, port: Port, rect: Rect, bar: bool) -> int:
        """Sideways and outward first; on a bar, near its ends or evenly, away from the middle of the board."""
        x, _ = self.lattice.place(port.edge)
        outward = (port.direction == 0) == (2 * x > self.lattice.width)
        if bar:
            return abs(min(x - rect[0], rect[2] - x) - 3) + (30 if port.direction == 1 else 0)
        return port.cost + (0 if port.direction in (0, 2) and outward else 12 if port.direction in (0, 2) else 8)

    def _route(self, strand: Strand) -> Laid:
        owner = self.owner[strand.name]
        stub = LINE_STUB if strand.name in self.hosts else STUB
        home = self._home(strand)
        direct = self._direct(strand, owner)
        if direct is not None:
            return direct
        for from_a, from_b, clear_a, clear_b in (
            (stub, stub, False, False), (LINE_STUB, stub, True, False), (stub, LINE_STUB, False, True),
            (2, 1, False, False), (1, 1, False, False),
        ):  # fmt: skip
            starts = ports(self.lattice, self.rects[strand.a], owner, from_a, strand.a in self.places.bars, clear_a)
            goals = ports(self.lattice, self.rects[strand.b], owner, from_b, strand.b in self.places.bars, clear_b)
            if strand.a in self.places.bars and strand.b not in self.places.bars:
                nodes = cheapest(self.lattice, goals, starts, self.rects[strand.a], owner, home)
                nodes = nodes[::-1] if nodes else None
            else:
                nodes = cheapest(self.lattice, starts, goals, self.rects[strand.b], owner, home)
            if nodes is None:
                continue
            found = spots(self.lattice, nodes, owner, set(nodes))
            if found:
                spot = self._chosen(strand, nodes, found)
                self._take(strand, nodes, spot)
                return Laid(nodes, spot)
        raise NoRoom(strand)

    def _home(self, strand: Strand) -> set[str]:
        """Castings that a route belongs to: those of its ends and those it is drilled in."""
        home = {way.casting for way in strand.ways}
        for casting, panel in self.places.panels.items():
            if any(_inside(self.rects[name], panel) for name in (strand.a, strand.b)):
                home.add(casting)
        boxes = [self.rects[name] for name in (strand.a, strand.b) if name not in self.places.bars]
        if any(_inside(box, rect) for box in boxes for rect in self.places.aside):
            home.add(ASIDE)
        return home

    def _direct(self, strand: Strand, owner: int) -> Laid | None:
        """A straight route between facing edges, if one is free, with room for the symbol; nearest the middle."""
        a, b = self.rects[strand.a], self.rects[strand.b]
        lattice = self.lattice
        choices: list[tuple[int, list[Node], Spot]] = []
        for direction, low, high, start, end in _facing(a, b):
            vertical = direction & 1
            middle = (a[0] + a[2] + b[0] + b[2]) // 4 if vertical else (a[1] + a[3] + b[1] + b[3]) // 4
            for at in range(low + 1, high):
                edge = lattice.node(at, start) if vertical else lattice.node(start, at)
                nodes = [edge + lattice.step[direction] * k for k in range(abs(end - start) + 1)]
                if not all(lattice.free(node, owner) and not lattice.behind[node] for node in nodes[1:-1]):
                    continue
                found = spots(lattice, nodes, owner, set(nodes))
                if found:
                    choices.append((abs(at - middle), nodes, self._chosen(strand, nodes, found)))
        if not choices:
            return None
        _, nodes, spot = min(choices, key=lambda choice: choice[:2])
        self._take(strand, nodes, spot)
        return Laid(nodes, spot)

    def _chosen(self, strand: Strand, nodes: list[Node], found: list[Spot]) -> Spot:
        """Lines: near the part they serve. Others: the middle of the longest stretch with room."""
        if strand.name in self.hosts:
            x, y = self.lattice.place(nodes[0])
            return nearest(self.lattice, found, 2 * x, 2 * y)
        start, end, _ = max(stretches(self.lattice, nodes), key=self._length)
        (x0, y0), (x1, y1) = self.lattice.place(start), self.lattice.place(end)
        return nearest(self.lattice, found, x0 + x1, y0 + y1)

    def _length(self, stretch: tuple[Node, Node, int]) -> int:
        (x0, y0), (x1, y1) = self.lattice.place(stretch[0]), self.lattice.place(stretch[1])
        return abs(x0 - x1) + abs(y0 - y1)

    def _take(self, strand: Strand, nodes: list[Node], spot: Spot) -> None:
        owner = self.owner[strand.name]
        self.lattice.take(nodes, owner)
        self.lattice.keep_clear(spot.x2, spot.y2, owner)

    def _open_end(self, strand: Strand, host: Strand) -> Laid:
        """The first straight steps of the line's own route: where the hose hung, it is open."""
        whole = self.laid[host.name].nodes
        nodes = whole if strand.a == host.a else whole[::-1]
        straight = stretches(self.lattice, nodes)
        direction, steps = straight[0][2], self._length(straight[0])
        if len(straight) == 1:
            # A hose that is off is open at both ends: both signs need room on its one straight stretch.
            steps = (steps - BETWEEN_SIGNS) // 2
        if steps < LINE_STUB:
            return self._vent(strand)
        nodes = nodes[: min(steps, VENT) + 1]
        x, y = self.lattice.place(nodes[0])
        step = {0: (1, 0), 1: (0, 1), 2: (-1, 0), 3: (0, -1)}[direction]
        return Laid(nodes, Spot(2 * x + 3 * step[0], 2 * y + 3 * step[1], direction))


def _inside(one: Rect, two: Rect) -> bool:
    return two[0] <= one[0] and two[1] <= one[1] and one[2] <= two[2] and one[3] <= two[3]


def _facing(a: Rect, b: Rect) -> list[tuple[int, int, int, int, int]]:
    """Direction from a to b, the span both edges share, and where the edges are."""
    found = []
    low, high = max(a[0], b[0]), min(a[2], b[2])
    if high - low >= 2:
        if a[3] < b[1]:
            found.append((1, low, high, a[3], b[1]))
        elif b[3] < a[1]:
            found.append((3, low, high, a[1], b[3]))
    low, high = max(a[1], b[1]), min(a[3], b[3])
    if high - low >= 2:
        if a[2] < b[0]:
            found.append((0, low, high, a[2], b[0]))
        elif b[2] < a[0]:
            found.append((2, low, high, a[0], b[2]))
    return found


def _owners(strands: list[Strand]) -> dict[str, int]:
    """One owner for the strands of an item that are never there together: they may share their course."""
    owners: dict[str, int] = {}
    members: dict[int, list[Strand]] = {}
    for strand in strands:
        fitting = (owner for owner, others in members.items() if _never_together(strand, others))
        owner = next(fitting, len(members) + 1)
        owners[strand.name] = owner
        members.setdefault(owner, []).append(strand)
    return owners


def _never_together(strand: Strand, others: list[Strand]) -> bool:
    if strand.diaphragms or any(other.diaphragms for other in others):
        return False
    related = any(strand.items & other.items for other in others)
    return related and all(exclusive(strand.ways, other.ways) for other in others)
