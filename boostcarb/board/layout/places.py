"""Rectangles of panels, boxes and bars, counted in pitches."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise

from boostcarb.board.layout.arrangement import AIR_HORN, BARS, BASE, MANIFOLD, Arrangement, Block
from boostcarb.board.layout.strands import Strand
from boostcarb.board.layout.titles import heading_width, line_width, space_size
from boostcarb.network.model import AMBIENT, Network

Rect = tuple[int, int, int, int]  # left, top, right, bottom
MARGIN, PAD, HEADING = 3, 1, 3
STACK_GAP = 3
BAR = 3
HOSE = 8  # a hose needs this much between two boxes, so that both its ends can be shown open
VENTS = 6  # above the top bar
SKY = 2


@dataclass(slots=True)
class Room:
    """How much is left free between things; grows until everything finds its way."""

    column: int = 5
    row: int = 3
    channel: int = 6

    def wider(self) -> Room:
        """The next larger one."""
        return Room(self.column + 1, self.row + 1, self.channel + 2)


@dataclass(slots=True)
class Places:
    """Where everything stands."""

    boxes: dict[str, Rect] = field(default_factory=dict)
    bars: dict[str, Rect] = field(default_factory=dict)
    panels: dict[str, Rect] = field(default_factory=dict)
    headings: list[Rect] = field(default_factory=list)
    sky: Rect | None = None
    aside: list[Rect] = field(default_factory=list)  # to the left and right of the carburetor
    width: int = 0
    height: int = 0


def sizes_of(network: Network, strands: list[Strand]) -> dict[str, tuple[int, int]]:
    """Width and height of every space as a box, in pitches."""
    lines = Counter(name for strand in strands if strand.host is None for name in (strand.a, strand.b))
    return {name: space_size(space.title, lines[name]) for name, space in network.spaces.items()}


class Placing:
    """Places the blocks of an arrangement."""

    def __init__(
        self, network: Network, arrangement: Arrangement, strands: list[Strand], room: Room, own: list[str]
    ) -> None:
        self.own = own
        self.network, self.arrangement, self.room = network, arrangement, room
        self.places = Places()
        self.size = sizes_of(network, strands)
        hosts = [strand.host for strand in strands if strand.host is not None]
        self.hoses = {frozenset((host.a, host.b)) for host in hosts}

    def placed(self) -> Places:
        """Every rectangle."""
        room, arrangement = self.room, self.arrangement
        hung = max((self._lying_height(block) for block in arrangement.hung), default=0)
        heights = [self._stack_height(stack) for stack in arrangement.stacks]
        if hung:
            heights[arrangement.center] += hung + room.row
        middle = max([*heights, 10])
        top = 1 + SKY + VENTS + (BAR + room.channel if AIR_HORN in self.network.spaces else 0)
        x = MARGIN
        spans: list[tuple[int, int]] = []
        for index, stack in enumerate(arrangement.stacks):
            width = max((self._width(block) for block in stack), default=0)
            height = middle
            if index == arrangement.center and hung:
                width = max(width, self._row_width(arrangement.hung))
                height = middle - hung - room.row
                self._row(arrangement.hung, x, x + width, top + height + room.row)
            if width:
                self._stack(stack, x, width, top, height)
                spans.append((x, x + width))
                x += width + room.column
        right = x - room.column if spans else MARGIN + 40
        bottom_row = self._row_width(arrangement.below) if arrangement.below else 0
        right = max(right, MARGIN + bottom_row)
        self._bars_and_bottom(top, middle, right)
        self.places.width = right + MARGIN
        first, last = self._carburetor_span(right)
        foot = self.places.height - 1
        self.places.aside = [(0, top, first - 1, foot), (last + 1, top, right + MARGIN, foot)]
        self.places.sky = (MARGIN, 1, right, 1 + SKY)
        return self.places

    def _bars_and_bottom(self, top: int, middle: int, right: int) -> None:
        room, places, spaces = self.room, self.places, self.network.spaces
        if AIR_HORN in spaces:
            places.bars[AIR_HORN] = (MARGIN, top - room.channel - BAR, right, top - room.channel)
        y = top + middle + room.channel
        if BASE in spaces:
            left_stack, right_stack = self._carburetor_span(right)
            places.bars[BASE] = (left_stack, y, right_stack, y + BAR)
            self._around_bars()
            y += BAR + room.channel
        if MANIFOLD in spaces:
            places.bars[MANIFOLD] = (MARGIN, y, right, y + BAR)
            y += BAR + room.channel
        if self.arrangement.below:
            self._row(self.arrangement.below, MARGIN, right, y)
            y += max(self._lying_height(block) for block in self.arrangement.below)
        places.height = y + MARGIN

    def _around_bars(self) -> None:
        """Panels of castings of the carburetor that hold no box, round the bar most of their ways end at."""
        for casting in self.own:
            bar = bar_of_casting(self.network, casting)
            if casting not in self.places.panels and bar == BASE:
                left, top, right, bottom = self.places.bars[bar]
                self._panel(casting, (left - 1, top - 2, right + 1, bottom + 1))
                break

    def _carburetor_span(self, right: int) -> tuple[int, int]:
        inner = [block for stack in self.arrangement.stacks[1:-1] for block in stack]
        rects = [self.places.panels[block.casting] for block in inner if block.casting in self.places.panels]
        if not rects:
            return MARGIN, right
        return min(rect[0] for rect in rects), max(rect[2] for rect in rects)

    def _column_width(self, column: list[str]) -> int:
        return max(self.size[name][0] for name in column)

    def _width(self, block: Block) -> int:
        gaps = self.room.column * (len(block.columns) - 1)
        wanted = sum(map(self._column_width, block.columns)) + gaps + 2 * PAD
        return max(wanted, heading_width(self.network.castings.get(block.casting, "")) + 1)

    def _column_height(self, column: list[str]) -> int:
        gaps = sum(self._gap(one, two) for one, two in pairwise(column))
        return sum(self.size[name][1] for name in column) + gaps

    def _block_height(self, block: Block) -> int:
        return HEADING + max(map(self._column_height, block.columns), default=0) + PAD

    def _stack_height(self, stack: list[Block]) -> int:
        return sum(map(self._block_height, stack)) + STACK_GAP * max(0, len(stack) - 1)

    def _lying_height(self, block: Block) -> int:
        return HEADING + max(self.size[name][1] for name in block.boxes()) + PAD - 1

    def _row_width(self, row: list[Block]) -> int:
        return sum(map(self._width, row)) + STACK_GAP * max(0, len(row) - 1)

    def _stack(self, stack: list[Block], x: int, width: int, top: int, height: int) -> None:
        spare = height - self._stack_height(stack)
        weight = sum(len(block.boxes()) for block in stack)
        y = top
        for index, block in enumerate(stack):
            own = self._block_height(block) + (spare * len(block.boxes())) // max(1, weight)
            bottom = top + height if index == len(stack) - 1 else y + own
            self._panel(block.casting, (x, y, x + width, bottom))
            self._columns(block, (x, y, x + width, bottom))
            y = bottom + STACK_GAP

    def _panel(self, casting: str, rect: Rect) -> None:
        if casting not in self.network.castings:
            return
        self.places.panels[casting] = rect
        width = min(line_width(self.network.castings[casting]), rect[2] - rect[0])
        self.places.headings.append((rect[0], rect[1], rect[0] + width, rect[1] + 2))

    def _columns(self, block: Block, panel: Rect) -> None:
        widths = [self._column_width(column) for column in block.columns]
        spare = panel[2] - panel[0] - 2 * PAD - sum(widths)
        x, gaps = panel[0] + PAD, len(widths) - 1
        if not gaps:
            x += spare // 2
        ends: list[int] = []
        for index, (column, width) in enumerate(zip(block.columns, widths, strict=True)):
            self._column(column, x, width, panel[1] + HEADING, panel[3] - PAD)
            if index in block.stream:
                ends += [x - 1, x + width + 1]
            x += width + ((spare * (index + 1)) // gaps - (spare * index) // gaps if gaps else 0)

        if ends and self.arrangement.stream is not None and block.casting != self.arrangement.stream:
            self._panel(self.arrangement.stream, (min(ends), panel[1], max(ends), panel[3]))

    def _column(self, column: list[str], x: int, width: int, top: int, bottom: int) -> None:
        spare = bottom - top - sum(self.size[name][1] for name in column)
        gaps = _shared_out(spare, [self._gap(one, two) for one, two in pairwise(column)])
        y = top if gaps else top + spare // 3
        for name, gap in zip(column, [*gaps, 0], strict=True):
            own, height = self.size[name]
            x0 = x + (width - own) // 2
            self.places.boxes[name] = (x0, y, x0 + own, y + height)
            y += height + gap

    def _gap(self, one: str, two: str) -> int:
        """Least distance of two boxes one above the other."""
        return max(self.room.row, HOSE if frozenset((one, two)) in self.hoses else 0)

    def _row(self, row: list[Block], left: int, right: int, top: int) -> None:
        """Lying blocks side by side; what is over is shared out between boxes."""
        boxes = sum(len(block.columns) for block in row)
        spare = right - left - self._row_width(row)
        height = max(map(self._lying_height, row))
        x, used = left, 0
        for index, block in enumerate(row):
            used += len(block.columns)
            end = right if index == len(row) - 1 else x + self._width(block) + (spare * len(block.columns)) // boxes
            self._panel(block.casting, (x, top, end, top + height))
            widths = [self.size[column[0]][0] for column in block.columns]
            free = end - x - 2 * PAD - sum(widths)
            at = x + PAD
            for number, (column, width) in enumerate(zip(block.columns, widths, strict=True)):
                share = len(widths)
                before = at + (free * (2 * number + 1)) // (2 * share) if share > 1 else at + free // 2
                y = top + HEADING
                self.places.boxes[column[0]] = (before, y, before + width, y + self.size[column[0]][1])
                at += width
            x = end + STACK_GAP


def _shared_out(spare: int, least: list[int]) -> list[int]:
    """Gaps as equal as what each needs at least lets them be.

    >>> _shared_out(20, [3, 8, 3])
    [6, 8, 6]
    """
    if not least:
        return []
    gaps = list(least)
    for _ in range(spare - sum(least)):
        smallest = min(range(len(gaps)), key=lambda index: gaps[index])
        gaps[smallest] += 1
    return gaps


def bar_of_casting(network: Network, casting: str) -> str | None:
    """The bar that most ways of a casting without boxes end at."""
    count = Counter(name for way in network.ways if way.casting == casting for name in (way.a, way.b) if name in BARS)
    best = count.most_common(1)
    return best[0][0] if best and best[0][0] != AMBIENT else None
