"""Pressure against time of every space in a backfire, as an SVG drawing that does not need color."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from math import ceil, floor, log10

from boostcarb.network.model import Network
from boostcarb.quantities import UnitSystem
from boostcarb.report.wording import PASCALS, PRESSURE_UNIT
from boostcarb.transient.answer import BackfireAnswer, BackfireCase
from boostcarb.transient.pulse import Curve

WIDE, PANEL, LEFT, RIGHT, TOP, BOTTOM = 960, 380, 64, 300, 44, 44
LINE, SMALL = 15, 12
DASHES = ("", "9 4", "2 3", "9 3 2 3", "14 4", "5 2 1 2 1 2", "1 5", "18 3 2 3")
INKS = ("#111111", "#1f4e8c", "#8c2d04", "#2d6a2d", "#6a3d9a", "#555555", "#a61c5d", "#0b6e6e")
POINTS = 160
SAME_PA = 200.0


@dataclass(frozen=True, slots=True)
class _Axes:
    """From time and pressure to the drawing."""

    end_s: float
    low: float
    high: float
    top: float
    pascals: float

    def x(self, time_s: float) -> float:
        return LEFT + (WIDE - LEFT - RIGHT) * time_s / self.end_s

    def y(self, value: float) -> float:
        return self.top + TOP + (PANEL - TOP - BOTTOM) * (self.high - value) / (self.high - self.low)


def backfire_svg(title: str, network: Network, answer: BackfireAnswer, system: UnitSystem) -> str:
    """The drawing: one panel a backfire, lines told apart by their dashes and the names at their ends."""
    height = PANEL * len(answer.cases)
    spoken = "; ".join(_spoken(case) for case in answer.cases)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {height}" width="{WIDE}" height="{height}" '
        'role="img" aria-labelledby="title desc" font-family="sans-serif" font-size="12">',
        f'<title id="title">{_text(title)}: pressures in a backfire</title>',
        f'<desc id="desc">{_text(spoken)}</desc>',
        f'<rect width="{WIDE}" height="{height}" fill="#ffffff"/>',
    ]
    styles: dict[str, int] = {}
    for index, case in enumerate(answer.cases):
        parts += _panel(case, network, index * PANEL, system, styles)
    return "\n".join([*parts, "</svg>"]) + "\n"


def _text(text: str) -> str:
    """Text for XML: marked characters escaped, characters that XML cannot hold left out."""
    return escape("".join(each for each in text if each.isprintable()))


def _spoken(case: BackfireCase) -> str:
    said = "; ".join(f"{each.title}: {each.verdict}" for each in case.diaphragms) or "reaches no diaphragm"
    return f"{case.title}: {said}"


def _panel(
    case: BackfireCase, network: Network, top: float, system: UnitSystem, styles: dict[str, int]
) -> Iterator[str]:
    """One backfire. A space keeps the line that it was given in an earlier panel."""
    unit = PRESSURE_UNIT[system]
    pascals = PASCALS[unit]
    values = [value / pascals for curve in case.curves.values() for value in curve.pressures_pa_abs] or [0.0, 1.0]
    step = _step(max(values), 6)
    axes = _Axes(case.end_s, 0.0, step * ceil(1.02 * max(values) / step), top, pascals)
    yield f'<text x="{LEFT}" y="{top + 20:.0f}" font-size="15" font-weight="bold">{_text(case.title)}</text>'
    yield from _grid(axes, step, unit)
    lines = _merged(case.curves, network)
    places = _apart([axes.y(curve.at(case.end_s) / pascals) for _, curve in lines], top)
    for (name, curve), place in zip(lines, places, strict=True):
        index = styles.setdefault(name.partition(" (+")[0], len(styles))
        yield from _line(axes, curve, name, place, index)


def _line(axes: _Axes, curve: Curve, name: str, place: float, index: int) -> Iterator[str]:
    ink, dash = INKS[index % len(INKS)], DASHES[index % len(DASHES)]
    style = f'stroke="{ink}" stroke-width="1.8" fill="none"' + (f' stroke-dasharray="{dash}"' if dash else "")
    times = sorted({axes.end_s * i / POINTS for i in range(POINTS + 1)} | set(curve.corners))
    points = " ".join(
        f"{axes.x(time):.1f},{axes.y(curve.at(time) / axes.pascals):.1f}" for time in times if time <= axes.end_s
    )
    end = axes.y(curve.at(axes.end_s) / axes.pascals)
    x = WIDE - RIGHT
    yield f'<polyline points="{points}" {style}><title>{_text(name)}</title></polyline>'
    yield f'<path d="M{x},{end:.1f} L{x + 14},{place:.1f} L{x + 44},{place:.1f}" {style}/>'
    yield f'<text x="{x + 50}" y="{place + 4:.1f}" font-size="{SMALL}" fill="{ink}">{_text(name)}</text>'


def _grid(axes: _Axes, step: float, unit: str) -> Iterator[str]:
    right, bottom = WIDE - RIGHT, axes.y(axes.low)
    for index in range(round((axes.high - axes.low) / step) + 1):
        value = axes.low + index * step
        y = axes.y(value)
        yield f'<path d="M{LEFT},{y:.1f} H{right}" stroke="#cccccc"/>'
        yield f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{value:g}</text>'
    every = _step(1e3 * axes.end_s, 6)
    for index in range(floor(1e3 * axes.end_s / every + 1e-9) + 1):
        x = axes.x(1e-3 * index * every)
        yield f'<path d="M{x:.1f},{bottom:.1f} v5" stroke="#111111"/>'
        yield f'<text x="{x:.1f}" y="{bottom + 18:.1f}" text-anchor="middle">{index * every:g}</text>'
    yield f'<path d="M{LEFT},{bottom:.1f} H{right}" stroke="#111111"/>'
    yield f'<text x="{(LEFT + right) / 2:.0f}" y="{bottom + 34:.1f}" text-anchor="middle">time, ms</text>'
    yield f'<text x="{LEFT - 52}" y="{axes.y(axes.high) - 8:.1f}">{unit} abs</text>'


def _merged(curves: Mapping[str, Curve], network: Network) -> list[tuple[str, Curve]]:
    """Curves that cannot be told apart drawn once, with both names; highest first."""
    kept: list[tuple[list[str], Curve]] = []
    for name, curve in curves.items():
        end = curve.times_s[-1] or 1.0
        grid = [end * i / 40 for i in range(41)]
        same = next(
            (names for names, other in kept if all(abs(other.at(t) - curve.at(t)) < SAME_PA for t in grid)), None
        )
        if same is None:
            kept.append(([network.title_of(name)], curve))
        else:
            same.append(network.title_of(name))
    kept.sort(key=lambda each: -each[1].peak_pa_abs)
    return [(names[0] if len(names) == 1 else f"{names[0]} (+{len(names) - 1} alike)", curve) for names, curve in kept]


def _apart(wanted: Sequence[float], top: float) -> list[float]:
    """Heights of labels: as near to their lines as they go without covering each other."""
    order = sorted(range(len(wanted)), key=lambda index: wanted[index])
    placed = [0.0] * len(wanted)
    lowest = top + TOP
    for index in order:
        placed[index] = lowest = max(wanted[index], lowest)
        lowest += LINE
    overrun = max(0.0, lowest - LINE - (top + PANEL - BOTTOM))
    limit = top + PANEL - BOTTOM
    for index in reversed(order if overrun else []):
        placed[index] = limit = min(placed[index], limit)
        limit -= LINE
    return placed


def _step(span: float, about: int) -> float:
    """A round step: 1, 2 or 5 times a power of ten.

    >>> _step(470.0, 6)
    100.0
    """
    rough = span / about
    power = 10.0 ** floor(log10(rough))
    return next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= rough * 0.999)
