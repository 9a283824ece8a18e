"""Pressures of every state as bars from the atmosphere: to the left vacuum, to the right boost, each with its name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from boostcarb.quantities import UnitSystem
from boostcarb.report.wording import PASCALS, PRESSURE_UNIT
from boostcarb.sheet.document import Figure, listed
from boostcarb.sheet.drawing.pen import BOLD, box, drawing, line, text, wrap
from boostcarb.sheet.style import INK, TINT

WIDE, LEFT, RIGHT, TALLEST = 440.0, 222.0, 378.0, 860.0
TITLE, BAR, GAP, HEAD = 18.0, 17.0, 8.0, 34.0


@dataclass(frozen=True, slots=True)
class Bar:
    """A pressure, or the range it can have, with all spaces that have it. Pa absolute."""

    label: str
    low_pa_abs: float
    high_pa_abs: float


@dataclass(frozen=True, slots=True)
class Bars:
    """One operating state."""

    title: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class _Scale:
    low: float
    high: float
    atmosphere: float
    pascals: float

    def x(self, pascals: float) -> float:
        return LEFT + (RIGHT - LEFT) * (pascals - self.low) / (self.high - self.low)


def merged(named: Mapping[str, tuple[float, float]], same_pa: float = 150.0) -> tuple[Bar, ...]:
    """Spaces at one pressure share a bar, highest first."""
    kept: list[tuple[list[str], float, float]] = []
    for title, (low, high) in named.items():
        same = next((each for each in kept if abs(each[1] - low) < same_pa and abs(each[2] - high) < same_pa), None)
        if same is None:
            kept.append(([title], low, high))
        else:
            same[0].append(title)
    kept.sort(key=lambda each: (-each[2], -each[1]))
    return tuple(Bar(listed(titles), low, high) for titles, low, high in kept)


def pressure_figures(states: Sequence[Bars], atmosphere: float, system: UnitSystem) -> tuple[Figure, ...]:
    """The plot, in as many figures as its height asks for, all to one scale."""
    values = [atmosphere, *(v for each in states for bar in each.bars for v in (bar.low_pa_abs, bar.high_pa_abs))]
    margin = 0.03 * max(1.0, max(values) - min(values))
    scale = _Scale(min(values) - margin, max(values) + margin, atmosphere, PASCALS[PRESSURE_UNIT[system]])
    shares: list[list[Bars]] = [[]]
    used = HEAD
    for state in states:
        if shares[-1] and used + _high(state) > TALLEST:
            shares.append([])
            used = HEAD
        shares[-1].append(state)
        used += _high(state)
    caption = f"Pressures in the states, {PRESSURE_UNIT[system]} absolute"
    return tuple(
        _figure(f"{caption}, {index} of {len(shares)}" if shares[1:] else caption, f"pressures-{index}", share, scale)
        for index, share in enumerate(shares, 1)
        if share
    )


def _high(state: Bars) -> float:
    return TITLE + GAP + sum(BAR * len(_label(bar)) for bar in state.bars)


def _label(bar: Bar) -> tuple[str, ...]:
    return wrap(bar.label, LEFT - 22)


def _figure(caption: str, name: str, states: Sequence[Bars], scale: _Scale) -> Figure:
    parts: list[str] = []
    words: list[str] = []
    y = HEAD
    for state in states:
        parts.append(text(8, y + 12, state.title, bold=True))
        y += TITLE
        said = []
        for bar in state.bars:
            parts += _bar(bar, y, scale)
            y += BAR * len(_label(bar))
            said.append(f"{bar.label} {_value(bar, scale)}")
        words.append(f"{state.title}: {'; '.join(said)}")
        y += GAP
    axis = scale.x(scale.atmosphere)
    head = [
        text(axis, 14, "atmosphere", anchor="middle"),
        text(axis - 8, 28, "vacuum ←", anchor="end"),
        text(axis + 8, 28, "→ boost"),
        line(axis, 32, axis, y, width=1.2, dash="3 3"),
    ]
    return Figure(caption, drawing(WIDE, y + 4, caption, words, [*head, *parts], name), tuple(words))


def _bar(bar: Bar, y: float, scale: _Scale) -> Iterator[str]:
    """A range is a bar between its ends with the uncertain part open; a point is a bar from the atmosphere."""
    lines = _label(bar)
    for index, each in enumerate(lines):
        yield text(LEFT - 8, y + 12 + BAR * index, each, anchor="end")
    axis = scale.x(scale.atmosphere)
    low, high = scale.x(bar.low_pa_abs), scale.x(bar.high_pa_abs)
    if high - low > 1.0:
        yield box(low, y + 3, high - low, 10, dash="4 2")
    elif abs(high - axis) < 1.5:
        yield line(axis, y + 2, axis, y + 14, width=BOLD)
    else:
        fill = INK if high > axis else TINT
        yield box(min(axis, high), y + 3, abs(high - axis), 10, fill=fill)
    yield text(RIGHT + 6, y + 12, _value(bar, scale))


def _value(bar: Bar, scale: _Scale) -> str:
    low, high = (f"{each / scale.pascals:.1f}" for each in (bar.low_pa_abs, bar.high_pa_abs))
    return low if low == high else f"{float(low):.0f}-{float(high):.0f}"
