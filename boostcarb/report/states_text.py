"""Pressures and valves, state by state, as tables that fit a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from boostcarb.network.model import Network
from boostcarb.quantities import UnitSystem
from boostcarb.report.wording import PASCALS, PRESSURE_UNIT
from boostcarb.report.wrapping import width
from boostcarb.solving.table import DiaphragmRow, SpaceRow, StateRow

ALWAYS_SHOWN = ("air_horn", "base", "manifold")
ALSO_SHOWN = ("regulator.reference_side",)
GAP = 2


@dataclass(frozen=True, slots=True)
class Column:
    """One column: a heading of one or more lines, and a cell for each state."""

    title: str
    cells: tuple[str, ...]

    @property
    def width(self) -> int:
        return max(len(line) for line in (*self.title.split("\n"), *self.cells)) + GAP


def state_lines(network: Network, rows: Sequence[StateRow], system: UnitSystem) -> Iterator[str]:
    """Air horn, base, manifold and every chamber with a valve on it, with what the valve does."""
    if not rows:
        return
    unit = PRESSURE_UNIT[system]
    columns = [
        Column(_headed(name), tuple(_pressure(row.spaces[name], unit) for row in rows))
        for name in _spaces_shown(network, rows)
    ]
    columns += [
        Column(_headed(name), tuple(_valve(row.diaphragms.get(name)) for row in rows))
        for name, first in rows[0].diaphragms.items()
        if first.valve is not None
    ]
    yield from tables([row.title for row in rows], columns, f"{unit} absolute")
    if any(cell.strip().endswith("?") for column in columns for cell in column.cells):
        yield "  ? within the spread of the setting, or the pressure has a range: may be open or shut"


def _spaces_shown(network: Network, rows: Sequence[StateRow]) -> list[str]:
    first = rows[0]
    shown = [name for name in ALWAYS_SHOWN if name in first.spaces]
    if "base" in shown and all(row.spaces["base"] == row.spaces["manifold"] for row in rows):
        shown.remove("base")
    for name, row in first.diaphragms.items():
        if row.valve is not None:
            shown += [network.diaphragms[name].first, network.diaphragms[name].second]
    return [name for name in dict.fromkeys((*shown, *ALSO_SHOWN)) if name in first.spaces]


def _headed(name: str) -> str:
    """A name over two or three short lines.

    >>> _headed("primary.power_valve_chamber")
    'primary\\npower valve\\nchamber'
    """
    group, _, rest = name.partition(".")
    words = (rest or group).split("_")
    lines = [group] if rest else []
    line = ""
    for word in words:
        if line and len(line) + len(word) + 1 > 11:
            lines.append(line)
            line = word
        else:
            line = f"{line} {word}".strip()
    return "\n".join([*lines, line])


def _pressure(row: SpaceRow, unit: str) -> str:
    low, high = f"{row.low_pa_abs / PASCALS[unit]:.1f}", f"{row.high_pa_abs / PASCALS[unit]:.1f}"
    return low if low == high else f"{float(low):.0f} to {float(high):.0f}"


def _valve(row: DiaphragmRow | None) -> str:
    if row is None or row.valve is None:
        return "-"
    return "?" if row.valve == "undecided" else row.valve


def tables(titles: Sequence[str], columns: Sequence[Column], corner: str) -> Iterator[str]:
    """Split into as many tables as the width asks for; long state names are wrapped away, never cut."""
    stub = max(len(title) for title in (*titles, corner))
    stub = min(stub, max(18, width() // 2))
    start = 0
    while start < len(columns):
        stop, used = start, 2 + stub
        while stop < len(columns) and (stop == start or used + columns[stop].width <= width()):
            used += columns[stop].width
            stop += 1
        if start:
            yield ""
        yield from _one_table(titles, columns[start:stop], corner, stub)
        start = stop


def _one_table(titles: Sequence[str], columns: Sequence[Column], corner: str, stub: int) -> Iterator[str]:
    heads = [column.title.split("\n") for column in columns]
    tall = max(len(head) for head in heads)
    for line in range(tall):
        cells = ""
        for column, head in zip(columns, heads, strict=True):
            offset = line - (tall - len(head))
            cells += (head[offset] if offset >= 0 else "").rjust(column.width)
        yield ("  " + (corner if line == tall - 1 else "").ljust(stub) + cells).rstrip()
    for index, title in enumerate(titles):
        chunks = _chunks(title, stub)
        yield from (f"  {chunk}" for chunk in chunks[:-1])
        cells = "".join(column.cells[index].rjust(column.width) for column in columns)
        yield f"  {chunks[-1].ljust(stub)}{cells}".rstrip()


def _chunks(title: str, stub: int) -> list[str]:
    lines = textwrap.wrap(title, stub)
    return [lines[0], *(f" {line}" for line in lines[1:])] if lines else [""]
