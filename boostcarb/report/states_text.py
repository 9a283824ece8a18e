"""Pressures and valves, state by state, as a table that fits a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from boostcarb.network.model import Network
from boostcarb.quantities import UnitSystem
from boostcarb.report.wording import PRESSURE_UNIT, width, wrapped
from boostcarb.solving.table import SpaceRow, StateRow

PASCALS = {"kPa": 1000.0, "psi": 6894.757293168361}
ALWAYS_SHOWN = ("air_horn", "base", "manifold")
TITLE_WIDTH = 38
MARKS = {"open": "open", "shut": "shut", "undecided": "?"}


def state_lines(network: Network, rows: Sequence[StateRow], system: UnitSystem) -> Iterator[str]:
    """Air horn, base, manifold and every chamber with a valve on it; then the valves."""
    if not rows:
        return
    unit = PRESSURE_UNIT[system]
    spaces = _spaces_shown(network, rows)
    columns = [("state", TITLE_WIDTH)] + [(_short(name), max(9, len(_short(name)) + 1)) for name in spaces]
    yield from _tables(rows, columns, spaces, unit)
    yield from _valve_lines(network, rows)


def _spaces_shown(network: Network, rows: Sequence[StateRow]) -> list[str]:
    shown = [name for name in ALWAYS_SHOWN if name in rows[0].spaces]
    if "base" in shown and all(row.spaces["base"] == row.spaces["manifold"] for row in rows):
        shown.remove("base")
    for name in rows[0].diaphragms:
        diaphragm = network.diaphragms[name]
        shown += [end for end in (diaphragm.first, diaphragm.second) if rows[0].diaphragms[name].valve]
    shown += [name for name in ("regulator.reference_side",) if name in rows[0].spaces]
    return [name for name in dict.fromkeys(shown) if name in rows[0].spaces]


def _short(name: str) -> str:
    return {"regulator.reference_side": "regulator"}.get(name, name.replace("_", " ").replace(".", " "))


def _tables(
    rows: Sequence[StateRow], columns: list[tuple[str, int]], spaces: list[str], unit: str
) -> Iterator[str]:
    """Split into as many tables as the width asks for."""
    room = width() - 2 - TITLE_WIDTH
    start = 0
    while start < len(spaces):
        taken, used = [], 0
        for index in range(start, len(spaces)):
            need = columns[index + 1][1] + (4 if _has_range(rows, spaces[index]) else 0)
            if taken and used + need > room:
                break
            taken.append((spaces[index], columns[index + 1][0], need))
            used += need
        yield "  " + f"kPa abs".replace("kPa", unit).ljust(TITLE_WIDTH) + "".join(title.rjust(need) for _, title, need in taken)
        for row in rows:
            cells = "".join(_cell(row.spaces[name], unit).rjust(need) for name, _, need in taken)
            yield "  " + row.title[: TITLE_WIDTH - 1].ljust(TITLE_WIDTH) + cells
        yield ""
        start += len(taken)


def _has_range(rows: Sequence[StateRow], space: str) -> bool:
    return any("-" in _cell(row.spaces[space], "kPa") for row in rows)


def _cell(row: SpaceRow, unit: str) -> str:
    low, high = f"{row.low_pa_abs / PASCALS[unit]:.1f}", f"{row.high_pa_abs / PASCALS[unit]:.1f}"
    return low if low == high else f"{float(low):.0f}-{float(high):.0f}"


def _valve_lines(network: Network, rows: Sequence[StateRow]) -> Iterator[str]:
    for name, first in rows[0].diaphragms.items():
        if first.valve is None:
            continue
        groups: dict[str, list[str]] = {}
        for row in rows:
            state = row.diaphragms.get(name)
            if state is not None and state.valve is not None:
                groups.setdefault(state.valve, []).append(row.title)
        text = "; ".join(f"{MARKS.get(valve, valve)}: {', '.join(titles)}" for valve, titles in sorted(groups.items()))
        yield wrapped(f"{network.diaphragms[name].title} - {text}", first="  ", rest="    ")
