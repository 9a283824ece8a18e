"""A drawing of boxes and the lines that leave them: one row a line, laid out so that it fits the width of a phone.

Every box stands once, on the left, as tall as its rows. A line between two boxes runs down a lane to its other end;
any other ends in a stub that says where it leads. Crossing lines are not joined.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from boostcarb.sheet.document import Figure, listed
from boostcarb.sheet.drawing.pen import BOLD, LEADING, THIN, badge, box, circle, drawing, line, text, texts, wrap
from boostcarb.sheet.drawing.symbols import Symbol, draw
from boostcarb.sheet.style import INK

WIDE, TALLEST = 440.0, 860.0
LEFT, BOX = 6.0, 104.0
START, MIDDLE, LANES, STUB = LEFT + BOX, 196.0, 292.0, 306.0
GAP, ARRIVAL = 10.0, 30.0


@dataclass(frozen=True, slots=True)
class Place:
    """A box: a space of this casting, or, drawn broken, one that lies elsewhere."""

    name: str
    title: str
    here: bool = True


@dataclass(frozen=True, slots=True)
class Rung:
    """A line from a box to another box or to a stub. `tag` says what is done to it, `numbers` by which changes.

    Where it leads nowhere, `to_title` says how it ends.
    """

    place: str
    title: str
    symbol: Symbol
    to: str
    to_title: str
    size: str = ""
    tag: str = ""
    numbers: tuple[int, ...] = ()
    broken: bool = False
    leads: bool = True

    @property
    def changed(self) -> bool:
        """Whether the plan changes it."""
        return bool(self.numbers)

    def words(self, from_title: str) -> str:
        """The line in words."""
        number = f"{listed([str(each) for each in self.numbers])}. " if self.numbers else ""
        tag = f"{self.tag}: " if self.tag else ""
        size = f" ({self.size})" if self.size else ""
        way = f"from {from_title}{' ' if self.leads else ', '}{self.end}"
        return f"{number}{tag}{self.title}{size}, {way}: {self.symbol.value}"

    @property
    def end(self) -> str:
        """Where it goes, or how it ends."""
        return f"to {self.to_title}" if self.leads else self.to_title


@dataclass(frozen=True, slots=True)
class Remark:
    """What is changed here but is no line."""

    number: int
    said: str


@dataclass(frozen=True, slots=True)
class _Block:
    """A box with the rows it starts and, above these, the rows that arrive."""

    place: Place
    rungs: tuple[Rung, ...]
    arriving: int = 0

    @property
    def high(self) -> float:
        rows = sum(_high(rung) for rung in self.rungs) + ARRIVAL * self.arriving
        return max(rows + 4, LEADING * len(_named(self.place)) + 12)


def _named(place: Place) -> tuple[str, ...]:
    return wrap(place.title, BOX - 12)


def _label(rung: Rung) -> tuple[str, ...]:
    return wrap(f"{rung.tag}: {rung.title}" if rung.tag else rung.title, WIDE - START - 22)


def _stub(rung: Rung) -> tuple[str, ...]:
    return wrap(rung.end, WIDE - STUB - 8)


def _high(rung: Rung) -> float:
    return LEADING * len(_label(rung)) + max(38, LEADING * len(_stub(rung)) + 12)


def ladder(
    caption: str, name: str, places: Sequence[Place], rungs: Sequence[Rung], remarks: Sequence[Remark] = ()
) -> tuple[Figure, ...]:
    """The drawing, in as many figures as its height asks for."""
    parts = list(_parts(_blocks(places, rungs)))
    figures = []
    for index, blocks in enumerate(parts):
        last = index == len(parts) - 1
        said = f"{caption}, {index + 1} of {len(parts)}" if parts[1:] else caption
        figures.append(_figure(said, f"{name}-{index + 1}", blocks, remarks if last else ()))
    return tuple(figures)


def _blocks(places: Sequence[Place], rungs: Sequence[Rung]) -> list[_Block]:
    """Boxes in an order in which joined ones are neighbors; lines to the next box last."""
    by_name = {place.name: place for place in places}
    order: list[str] = []
    for place in places:
        queue = [place.name]
        while queue:
            here = queue.pop()
            if here in order:
                continue
            order.append(here)
            joined = [r.to for r in rungs if r.place == here] + [r.place for r in rungs if r.to == here]
            queue += [each for each in reversed(joined) if each in by_name and each not in order]
    turned = [_downward(rung, order, by_name) for rung in rungs]
    blocks = []
    for here in order:
        own = [rung for rung in turned if rung.place == here]
        own.sort(key=lambda rung: order.index(rung.to) if rung.to in order else -1)
        blocks.append(_Block(by_name[here], tuple(own), sum(1 for rung in turned if rung.to == here)))
    return [block for block in blocks if block.rungs or block.arriving]


def _downward(rung: Rung, order: Sequence[str], places: dict[str, Place]) -> Rung:
    """The same line started at the upper of its two boxes."""
    if rung.to not in order or order.index(rung.to) > order.index(rung.place):
        return rung
    flipped = {Symbol.check: Symbol.check_back, Symbol.check_back: Symbol.check}
    return replace(
        rung,
        place=rung.to,
        to=rung.place,
        to_title=places[rung.place].title,
        symbol=flipped.get(rung.symbol, rung.symbol),
    )


def _parts(blocks: Sequence[_Block]) -> Iterator[list[_Block]]:
    """Blocks shared out to figures; what would join two figures becomes a stub."""
    if not blocks:
        yield []
        return
    shared: list[list[_Block]] = [[]]
    used = 0.0
    for block in (piece for each in blocks for piece in _pieces(each)):
        if shared[-1] and used + block.high > TALLEST:
            shared.append([])
            used = 0.0
        shared[-1].append(block)
        used += block.high + GAP
    for part in shared:
        yield [replace(block, arriving=_arriving(block, index, part)) for index, block in enumerate(part)]


def _arriving(block: _Block, index: int, part: Sequence[_Block]) -> int:
    """How many lines of the same figure end at a box; only its first piece takes them in."""
    name = block.place.name
    if any(other.place.name == name for other in part[:index]):
        return 0
    return sum(1 for other in part for rung in other.rungs if rung.to == name)


def _pieces(block: _Block) -> Iterator[_Block]:
    """A box too tall for one figure, in pieces."""
    rungs: list[Rung] = []
    place, arriving = block.place, block.arriving
    for rung in block.rungs:
        if rungs and _Block(place, (*rungs, rung), arriving).high > TALLEST:
            yield _Block(place, tuple(rungs), arriving)
            place = replace(block.place, title=f"{block.place.title}, continued")
            rungs, arriving = [], 0
        rungs.append(rung)
    yield _Block(place, tuple(rungs), arriving)


def _figure(caption: str, name: str, blocks: Sequence[_Block], remarks: Sequence[Remark]) -> Figure:
    parts: list[str] = []
    words: list[str] = []
    top = GAP
    arrivals: dict[str, list[float]] = {}
    for block in blocks:
        first = top + ARRIVAL / 2 + 4
        arrivals.setdefault(block.place.name, [first + ARRIVAL * index for index in range(block.arriving)])
        top += block.high + GAP
    bottom, lane, top = top, 0, GAP
    under: list[str] = []
    for block in blocks:
        parts += _box(block, top)
        y = top + 2 + ARRIVAL * block.arriving
        for rung in block.rungs:
            arrives = arrivals[rung.to].pop(0) if arrivals.get(rung.to) else None
            if arrives is not None:
                under += _lane(rung, _foot(rung, y, inner=True), arrives, LANES - 9 * (lane % 6))
            parts += _row(rung, y, LANES - 9 * (lane % 6) if arrives is not None else None)
            lane += arrives is not None
            words.append(rung.words(block.place.title))
            y += _high(rung)
        top += block.high + GAP
    parts = [*under, *parts]
    for remark in remarks:
        lines = wrap(remark.said, WIDE - 46)
        parts += [*badge(20, bottom + 12, str(remark.number)), *texts(38, bottom + 16, lines, bold=True)]
        bottom += LEADING * len(lines) + 12
        words.append(f"{remark.number}. {remark.said}")
    return Figure(caption, drawing(WIDE, bottom + 4, caption, words, parts, name), tuple(words))


def _box(block: _Block, top: float) -> Iterable[str]:
    place = block.place
    yield box(LEFT, top, BOX, block.high, width=2 if place.here else THIN, dash="" if place.here else "7 4")
    yield from texts(LEFT + 6, top + 18, _named(place), bold=place.here)


def _foot(rung: Rung, top: float, *, inner: bool) -> float:
    """The height at which its line runs."""
    stub = () if inner else _stub(rung)
    return top + LEADING * len(_label(rung)) + max(17, LEADING * len(stub) / 2 + 4)


def _lane(rung: Rung, y: float, arrives: float, lane: float) -> Iterator[str]:
    """The way of a line from its row down to the other box."""
    width, dash = (BOLD if rung.changed else THIN), ("4 4" if rung.broken else "")
    yield line(lane, y, lane, arrives, width=width, dash=dash)
    yield line(lane, arrives, START, arrives, width=width, dash=dash)
    yield circle(START, arrives, 3, fill=INK)


def _row(rung: Rung, top: float, lane: float | None) -> Iterator[str]:
    """One line with all that stands on it."""
    stub = _stub(rung) if lane is None else ()
    width = BOLD if rung.changed else THIN
    y = _foot(rung, top, inner=lane is not None)
    end = STUB - 8 if lane is None else lane
    yield line(START, y, end, y, width=width, dash="4 4" if rung.broken else "")
    yield circle(START, y, 3, fill=INK)
    if stub:
        yield circle(end, y, 3.5)
        yield from texts(STUB, y + 4 - LEADING * (len(stub) - 1) / 2, stub)
    yield from texts(START + 10, top + 13, _label(rung), bold=rung.changed)
    yield from draw(rung.symbol, MIDDLE, y, width)
    for index, each in enumerate(rung.numbers):
        yield from badge(START + 22 + 24 * index, y, str(each))
    if rung.size:
        yield text(MIDDLE + 18, y + 16, rung.size)
