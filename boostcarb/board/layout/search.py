"""The cheapest route over the lattice: short, straight, few crossings, not crowded.

A* over nodes and directions. Costs are whole numbers, so that equal routes are told apart the same way every time.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from heapq import heappop, heappush

from boostcarb.board.layout.lattice import BLOCKED, Lattice, Node
from boostcarb.board.layout.places import Rect

STEP, SHARED, BEND, CROSSING, CROWDED, HUGGING, BEHIND, FOREIGN = 10, 6, 45, 80, 14, 6, 4, 5
THROUGH_THE_STREAM = 20
CROSSABLE = 2  # steps: a straight start of this length may be crossed at its end


@dataclass(frozen=True, slots=True)
class Port:
    """Where a route may leave a rectangle: node on the edge, direction outward, node after the straight start."""

    edge: Node
    direction: int
    stub: Node
    length: int
    cost: int = 0


def cheapest(
    lattice: Lattice, starts: list[Port], goals: list[Port], target: Rect, owner: int, home: Collection[str]
) -> list[Node] | None:
    """Nodes from the edge of the one to the edge of the other, or nothing where there is no way through.

    `home`: castings that the route belongs to; it had better keep out of all others.
    """
    return _Search(lattice, goals, target, owner, home).run(starts)


class _Search:
    """One search. A state is a node and the direction it was entered in; below zero, the goal reached from it."""

    def __init__(self, lattice: Lattice, goals: list[Port], target: Rect, owner: int, home: Collection[str]) -> None:
        self.abroad = bytes([0, *(_dislike(name, lattice) * (name not in home) for name in lattice.panels)])
        self.lattice, self.owner, self.target = lattice, owner, target
        self.wanted: dict[Node, Port] = {port.stub: port for port in reversed(goals)}
        shares = owner in lattice.across or owner in lattice.down
        self.least = min(STEP, SHARED) if shares else STEP
        self.best: dict[int, int] = {}
        self.came: dict[int, int] = {}
        self.first: dict[int, Port] = {}
        self.closed: set[int] = set()
        self.queue: list[tuple[int, int]] = []

    def run(self, starts: list[Port]) -> list[Node] | None:
        """From any of the starts."""
        for start in starts:
            state = start.stub * 4 + start.direction
            if self._reach(state, start.cost + STEP * start.length, self._rest(start.stub, start.direction)):
                self.first[state] = start
        while self.queue:
            _, state = heappop(self.queue)
            if state < 0:
                return self._traced(-state - 1)
            if state not in self.closed:
                self.closed.add(state)
                self._go_on(state)
        return None

    def _reach(self, state: int, cost: int, rest: int) -> bool:
        known = self.best.get(state)
        if known is not None and known <= cost:
            return False
        self.best[state] = cost
        heappush(self.queue, (cost + rest, state))
        return True

    def _rest(self, node: Node, direction: int) -> int:
        """Never more than what is still to pay."""
        left, top, right, bottom = self.target
        y, x = divmod(node, self.lattice.width)
        across = left - x if x < left else x - right if x > right else 0
        along = top - y if y < top else y - bottom if y > bottom else 0
        turns = along if direction & 1 == 0 else across
        return self.least * (across + along) + (BEND if turns or (across and along) else 0)

    def _go_on(self, state: int) -> None:
        lattice, owner = self.lattice, self.owner
        node, direction = state >> 2, state & 3
        cost = self.best[state]
        goal = self.wanted.get(node)
        if goal is not None and _may_enter(lattice, node, direction, goal, owner):
            bend = 0 if direction == (goal.direction + 2) % 4 else BEND
            self._reach(-state - 1, cost + goal.cost + STEP * goal.length + bend, 0)
        for turned in _turns(lattice, node, direction, owner):
            follows = node + lattice.step[turned]
            after = follows * 4 + turned
            if after in self.closed:
                continue
            extra = _entering(lattice, follows, turned, owner)
            if extra < 0:
                continue
            extra += self.abroad[lattice.within[follows]]
            if self._reach(after, cost + extra + (0 if turned == direction else BEND), self._rest(follows, turned)):
                self.came[after] = state
                self.first.pop(after, None)

    def _traced(self, state: int) -> list[Node]:
        step = self.lattice.step
        goal = self.wanted[state >> 2]
        nodes = [goal.stub - step[goal.direction] * k for k in range(1, goal.length + 1)]
        back = [state >> 2]
        while state not in self.first:
            state = self.came[state]
            back.append(state >> 2)
        start = self.first[state]
        back += [start.stub - step[start.direction] * k for k in range(1, start.length + 1)]
        return back[::-1] + nodes


def _dislike(casting: str, lattice: Lattice) -> int:
    return THROUGH_THE_STREAM if casting in lattice.nested else FOREIGN


def _turns(lattice: Lattice, node: Node, direction: int, owner: int) -> tuple[int, ...]:
    if lattice.behind[node] or not lattice.free(node, owner):
        return (direction,)
    return (direction, (direction + 1) % 4, (direction + 3) % 4)


def _may_enter(lattice: Lattice, node: Node, direction: int, port: Port, owner: int) -> bool:
    inward = (port.direction + 2) % 4
    if direction == inward:
        return True
    return direction != port.direction and lattice.free(node, owner)


def _entering(lattice: Lattice, node: Node, direction: int, owner: int) -> int:
    """What a step to a node costs; less than nothing where it is not allowed."""
    if direction & 1:
        own, other, side = lattice.down, lattice.across, 1
    else:
        own, other, side = lattice.across, lattice.down, lattice.width
    if own[node] not in (0, owner):
        return -1
    cost = SHARED if own[node] == owner else STEP
    taken = other[node]
    if taken == BLOCKED and not lattice.behind[node]:
        return -1
    if taken > 0 and taken != owner:
        cost += CROSSING
    for beside in (own[node - side], own[node + side]):
        if beside > 0 and beside != owner:
            cost += CROWDED
    if lattice.behind[node]:
        cost += BEHIND
    elif lattice.hugs[node]:
        cost += HUGGING
    return cost


def ports(lattice: Lattice, rect: Rect, owner: int, length: int, bar: bool, clear: bool = False) -> list[Port]:
    """Where a route may leave a rectangle, its first `length` steps straight; `clear`: with room for a symbol."""
    left, top, right, bottom = rect
    found = []
    sides = [((x, y), direction) for x in range(left + 1, right) for y, direction in ((top, 3), (bottom, 1))]
    if not bar or right - left < 40:
        sides += [((x, y), direction) for y in range(top + 1, bottom) for x, direction in ((left, 2), (right, 0))]
    middle_x, middle_y = (left + right) // 2, (top + bottom) // 2
    for (x, y), direction in sides:
        edge = lattice.node(x, y)
        step = lattice.step[direction]
        if bar and direction & 1 and lattice.down[edge] not in (0, owner):
            continue
        crossed = length == CROSSABLE and not clear and _crosses(lattice, edge + step * length, direction, owner)
        whole = length if not crossed else length - 1
        if all(_free_stub(lattice, edge + step * k, direction, owner, clear) for k in range(1, whole + 1)):
            off = CROSSING if crossed else 0
            off += 0 if bar else 2 * (abs(x - middle_x) if direction & 1 else abs(y - middle_y))
            near = _crowding(lattice, edge + step, direction, owner)
            found.append(Port(edge, direction, edge + step * length, length, off + near))
    return found


def _crowding(lattice: Lattice, node: Node, direction: int, owner: int) -> int:
    table, side = (lattice.down, 1) if direction & 1 else (lattice.across, lattice.width)
    return CROWDED * sum(table[node + way] > 0 and table[node + way] != owner for way in (side, -side))


def _crosses(lattice: Lattice, node: Node, direction: int, owner: int) -> bool:
    """Whether a single foreign line runs across here."""
    own, other = (lattice.down, lattice.across) if direction & 1 else (lattice.across, lattice.down)
    return own[node] in (0, owner) and other[node] > 0 and other[node] != owner


def _free_stub(lattice: Lattice, node: Node, direction: int, owner: int, clear: bool) -> bool:
    if node < lattice.width or node >= len(lattice.across) - lattice.width or not lattice.free(node, owner):
        return False
    if not clear:
        return True
    side = 1 if direction & 1 else lattice.width
    return lattice.free(node + side, owner) and lattice.free(node - side, owner)
