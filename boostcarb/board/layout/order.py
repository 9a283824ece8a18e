"""The order of boxes within their columns and rows: what is joined stands close, so that lines are short."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations, permutations

from boostcarb.board.layout.arrangement import AIR_HORN, BARS, Arrangement, group_of
from boostcarb.board.layout.strands import Strand

SWEEPS = 4
ALL_ORDERS_UP_TO = 5
GAP = 4
FAR = 2  # stacks; lines over more of them run above all
IN_THE_WAY = 0.25
Pulls = Mapping[str, list[tuple[str, int]]]


def pulls_of(strands: list[Strand]) -> dict[str, list[tuple[str, int]]]:
    """For each space, what it is joined to and how strongly: diaphragms most, then what is there as found."""
    pulls: dict[str, list[tuple[str, int]]] = {}
    for strand in strands:
        if strand.vent:
            continue
        weight = 6 if strand.diaphragms else 3 if strand.found else 1
        pulls.setdefault(strand.a, []).append((strand.b, weight))
        pulls.setdefault(strand.b, []).append((strand.a, weight))
    return pulls


def put_in_order(arrangement: Arrangement, strands: list[Strand], sizes: Mapping[str, tuple[int, int]]) -> None:
    """Order the boxes of every column, then of the rows at the bottom, in place."""
    order = _Order(pulls_of(strands), {name: size[1] for name, size in sizes.items()}, arrangement)
    order.columns()
    _order_rows(arrangement, order.pulls)


class _Order:
    """Tops and bottoms of all boxes, from nothing at the top of the board's middle to one at its foot."""

    def __init__(self, pulls: Pulls, tall: Mapping[str, int], arrangement: Arrangement) -> None:
        self.pulls, self.tall, self.groups = pulls, tall, arrangement.groups
        blocks = [block for stack in arrangement.stacks for block in stack]
        self.all = [column for block in blocks for column in block.columns]
        still = [block.columns[index] for block in blocks for index in block.stream]
        self.movable = [column for column in self.all if not any(column is other for other in still)]
        self.stack = {
            name: index for index, stack in enumerate(arrangement.stacks) for block in stack for name in block.boxes()
        }
        self.span: dict[str, tuple[float, float]] = {
            AIR_HORN: (-0.2, -0.2), BARS[1]: (1.2, 1.2), BARS[2]: (1.4, 1.4),
        }  # fmt: skip
        for row, at in ((arrangement.hung, 1.1), (arrangement.below, 1.6)):
            for block in row:
                self.span.update(dict.fromkeys(block.boxes(), (at, at)))

    def columns(self) -> None:
        """Improve column after column until nothing gets shorter, then make the groups alike."""
        for column in self.all:
            self.spread(column)
        for _ in range(SWEEPS):
            changed = [self.improve(column) for column in self.movable]
            if not any(changed):
                break
        self.mirror()

    def spread(self, column: list[str]) -> None:
        """Where boxes come to stand when what is over is shared out between them."""
        height = sum(self.tall[name] for name in column) + GAP * len(column)
        at = GAP / 2
        for name in column:
            self.span[name] = (at / height, (at + self.tall[name]) / height)
            at += self.tall[name] + GAP

    def cost(self, column: list[str]) -> float:
        """Length of what hangs on a column, and how many boxes stand between a box and a bar."""
        own, total = set(column), 0.0
        for index, name in enumerate(column):
            top, bottom = self.span[name]
            for other, weight in self.pulls.get(name, ()):
                if other not in self.span:
                    continue
                high, low = self.span[other]
                total += weight * max(0.0, high - bottom, top - low) * (1.5 if other in own else 1.0)
                if abs(self.stack.get(name, 0) - self.stack.get(other, 0)) > FAR:
                    total += weight * top
                if other in BARS:
                    total += IN_THE_WAY * weight * (index if high < 0 else len(column) - 1 - index)
        return total

    def improve(self, column: list[str]) -> bool:
        """The best order of a column with all others as they are; whether it changed."""
        self.spread(column)
        best, before = self.cost(column), list(column)
        chosen = before
        for order in _orders(before):
            self.spread(order)
            cost = self.cost(order)
            if cost < best - 1e-9:
                best, chosen = cost, order
        column[:] = chosen
        self.spread(column)
        return chosen != before

    def mirror(self) -> None:
        """The same order in every group where the columns hold the same spaces."""
        known: dict[frozenset[str], dict[str, int]] = {}
        for column in self.movable:
            local = {name: name.partition(".")[2] for name in column if group_of(name, self.groups)}
            key = frozenset(local.values())
            if key and key in known:
                inside = sorted(local, key=lambda name: known[key][local[name]])
                column[:] = [inside.pop(0) if name in local else name for name in column]
                self.spread(column)
            else:
                known[key] = {part: index for index, part in enumerate(local.values())}


def _orders(column: list[str]) -> list[list[str]]:
    if len(column) <= ALL_ORDERS_UP_TO:
        return [list(order) for order in permutations(column)]
    tries = []
    for one, two in combinations(range(len(column)), 2):
        swapped = list(column)
        swapped[one], swapped[two] = swapped[two], swapped[one]
        tries.append(swapped)
    return tries


def _order_rows(arrangement: Arrangement, pulls: Pulls) -> None:
    across: dict[str, float] = {}
    for index, stack in enumerate(arrangement.stacks):
        for block in stack:
            for number, column in enumerate(block.columns):
                place = index + (number + 0.5) / len(block.columns)
                across.update(dict.fromkeys(column, place))
    for row in (arrangement.hung, arrangement.below):
        middle = {block.casting: _mean(block.boxes(), pulls, across, arrangement.center + 0.5) for block in row}
        row.sort(key=lambda block: (middle[block.casting], block.casting))
        for block in row:
            names = block.boxes()
            names.sort(key=lambda name: (_mean([name], pulls, across, arrangement.center + 0.5), name))
            _partners_side_by_side(names, pulls)
            block.columns = [[name] for name in names]
            across.update({name: arrangement.center + index / len(names) for index, name in enumerate(names)})


def _mean(names: list[str], pulls: Pulls, across: Mapping[str, float], otherwise: float) -> float:
    places = [(across[other], weight) for name in names for other, weight in pulls.get(name, ()) if other in across]
    total = sum(weight for _, weight in places)
    return sum(place * weight for place, weight in places) / total if total else otherwise


def _partners_side_by_side(names: list[str], pulls: Pulls) -> None:
    for name in list(names):
        for other, weight in pulls.get(name, ()):
            if weight == 6 and other in names and abs(names.index(name) - names.index(other)) > 1:
                names.remove(other)
                names.insert(names.index(name) + 1, other)
