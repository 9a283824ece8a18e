"""The lattice that routes run on, and what already stands on it.

Every node is taken once for lines that run across it and once for lines that run down it: two lines may cross at a
node, but neither lie on top of each other nor touch at a bend. Owners are counted from one; zero is free and a
negative number is taken for good.
"""

from __future__ import annotations

from boostcarb.board.layout.places import Places, Rect

BLOCKED = -1
ASIDE = ""  # stands for a casting: all that is beside the carburetor
RIGHT, DOWN, LEFT, UP = range(4)
Node = int


def _area(rect: Rect) -> int:
    return (rect[2] - rect[0]) * (rect[3] - rect[1])


def _within(rect: Rect, other: Rect) -> bool:
    inside = other[0] <= rect[0] and other[1] <= rect[1] and rect[2] <= other[2] and rect[3] <= other[3]
    return inside and rect != other


class Lattice:
    """Who runs where."""

    def __init__(self, places: Places) -> None:
        self.width, self.height = places.width + 1, places.height + 1
        size = self.width * self.height
        self.across, self.down = [0] * size, [0] * size
        self.step = (1, self.width, -1, -self.width)
        self.behind = bytearray(size)  # within a bar: only straight down
        self.hugs = bytearray(size)  # next to a box
        for x in range(self.width):
            self.block(x, 0)
            self.block(x, self.height - 1)
        for y in range(self.height):
            self.block(0, y)
            self.block(self.width - 1, y)
        self.panels = (ASIDE, *sorted(places.panels, key=lambda name: -_area(places.panels[name])))
        rects = places.panels.values()
        self.nested = {name for name, rect in places.panels.items() if any(_within(rect, other) for other in rects)}
        self.within = bytearray(size)  # which panel, counted from one; the inner one where panels are nested
        for rect in places.aside:
            self._fill(1, rect)
        for number, name in enumerate(self.panels[1:], start=2):
            self._fill(number, places.panels[name])
        for rect in places.boxes.values():
            self._box(rect)
        for rect in places.bars.values():
            self._bar(rect)
        for left, top, right, bottom in [*places.headings, *([places.sky] if places.sky else [])]:
            for y in range(top, bottom + 1):
                for x in range(left, right + 1):
                    self.block(x, y)

    def node(self, x: int, y: int) -> Node:
        """The node at a place."""
        return y * self.width + x

    def place(self, node: Node) -> tuple[int, int]:
        """Where a node is, in pitches."""
        return node % self.width, node // self.width

    def block(self, x: int, y: int) -> None:
        """Take a node for good."""
        node = self.node(x, y)
        self.across[node] = self.down[node] = BLOCKED

    def _fill(self, number: int, rect: Rect) -> None:
        left, top, right, bottom = rect
        for y in range(top, bottom + 1):
            row = y * self.width
            self.within[row + left : row + right + 1] = bytes([number]) * (right - left + 1)

    def _box(self, rect: Rect) -> None:
        left, top, right, bottom = rect
        for y in range(top - 1, bottom + 2):
            for x in range(left - 1, right + 2):
                if left <= x <= right and top <= y <= bottom:
                    self.block(x, y)
                else:
                    self.hugs[self.node(x, y)] = 1

    def _bar(self, rect: Rect) -> None:
        left, top, right, bottom = rect
        for x in range(left, right + 1):
            for y in range(top, bottom + 1):
                node = self.node(x, y)
                self.across[node] = BLOCKED
                self.behind[node] = 1
                if x in (left, right):
                    self.down[node] = BLOCKED
            for y in (top - 1, bottom + 1):
                self.hugs[self.node(x, y)] = 1

    def free(self, node: Node, owner: int = 0) -> bool:
        """Whether nothing else is at a node."""
        return self.across[node] in (0, owner) and self.down[node] in (0, owner)

    def take(self, nodes: list[Node], owner: int) -> None:
        """Lay a route: each node along its direction, bends both ways."""
        for index, node in enumerate(nodes):
            before = node - nodes[index - 1] if index else nodes[1] - node
            after = nodes[index + 1] - node if index + 1 < len(nodes) else before
            for step in (before, after):
                table = self.across if abs(step) == 1 else self.down
                if table[node] == 0:
                    table[node] = owner

    def clear(self, owner: int) -> None:
        """Take away all that an owner has laid."""
        for table in (self.across, self.down):
            for node, taken in enumerate(table):
                if taken == owner:
                    table[node] = 0

    def keep_clear(self, x2: int, y2: int, owner: int) -> None:
        """Keep others off a symbol whose center is at these half pitches."""
        for node in self.around(x2, y2):
            for table in (self.across, self.down):
                if table[node] == 0:
                    table[node] = owner

    def around(self, x2: int, y2: int) -> list[Node]:
        """Nodes that a symbol covers, with a margin."""
        return [
            self.node(x, y)
            for y in range((y2 - 2) // 2, (y2 + 3) // 2 + 1)
            for x in range((x2 - 2) // 2, (x2 + 3) // 2 + 1)
            if abs(2 * x - x2) <= 3 and abs(2 * y - y2) <= 3
        ]
