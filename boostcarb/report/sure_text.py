"""How sure lambda is, as text for the bench: percentiles state by state, what dominates, the spreads taken."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from boostcarb.fueling.spreads import Kind, Spread
from boostcarb.fueling.uncertainty import HowSure, Sure
from boostcarb.quantities import UnitSystem, format_length
from boostcarb.report.states_text import Column, tables
from boostcarb.report.wrapping import wrapped

FAHRENHEIT = 1.8
NAMED_SHARE = 0.05
"""Inputs with less of the variance are not named here; JSON has all above one in a hundred."""


def sure_lines(sure: HowSure, system: UnitSystem) -> Iterator[str]:
    """A row for every state whose mixture is predicted."""
    states = list(dict.fromkeys((row.state, row.title, row.wanted) for row in sure.rows))
    if not states:
        yield wrapped("In no state does a main circuit set the mixture.", first="  ")
        return
    rows = {(row.state, row.group): row for row in sure.rows}
    columns = [Column("wanted", tuple(f"{wanted:.2f}" for _, _, wanted in states))]
    for group in sorted({row.group for row in sure.rows}, key=lambda name: (name is None, name or "")):
        cells = tuple(_cell(rows.get((state, group))) for state, _, _ in states)
        columns.append(Column(f"{group or 'whole'}\n5 % 50 % 95 %", cells))
    yield from tables([title for _, title, _ in states], columns, "lambda")
    yield wrapped(
        f"5, 50, 95 %: so many in 100 of {sure.samples} samples (seed {sure.seed}) are richer. Sizes as fitted, every "
        "spread below at once.", first="  ",
    )  # fmt: skip
    yield from _dominated(sure)
    yield wrapped("Spreads, each holding 19 values in 20:", first="  ")
    for spread in sure.spreads:
        yield wrapped(f"{spread.title}: {_spread(spread, system)}; {spread.source}", first="    ", rest="      ")
    for note in sure.notes:
        yield wrapped(f"{note}.", first="  - ")


def _cell(row: Sure | None) -> str:
    if row is None:
        return ""
    ends = (row.low, row.middle, row.high)
    return " ".join("none" if end is None else f"{end:.2f}" for end in ends)


def _dominated(sure: HowSure) -> Iterator[str]:
    """The inputs that make the most of the spread; states with the same ones together."""
    groups: dict[tuple[tuple[str, bool], ...], list[Sure]] = {}
    for row in _widest(sure.rows):
        key = tuple((share.title, share.leaner) for share in row.shares if share.share >= NAMED_SHARE)
        groups.setdefault(key, []).append(row)
    for key, rows in groups.items():
        shares = ", ".join(_share(title, leaner, rows) for title, leaner in key) or "nothing that can be told apart"
        titles = "; ".join(row.title for row in rows) if len(groups) > 1 else "all states"
        yield wrapped(f"{titles}: most of the spread is from {shares}", first="  - ")
    for row in sure.rows:
        if row.no_fuel:
            called = f"{row.title}, {row.group} barrels" if row.group else row.title
            yield wrapped(f"{called}: no fuel in {row.no_fuel:.1%} of the samples", first="  - ")


def _widest(rows: Iterable[Sure]) -> Iterator[Sure]:
    """One row for each state: all groups together where there is one."""
    by_state: dict[str, Sure] = {}
    for row in rows:
        if row.state not in by_state or row.group is None:
            by_state[row.state] = row
    return iter(by_state.values())


def _share(title: str, leaner: bool, rows: Iterable[Sure]) -> str:
    found = [100.0 * share.share for row in rows for share in row.shares if share.title == title]
    low, high = f"{min(found):.0f}", f"{max(found):.0f}"
    span = low if low == high else f"{low} to {high}"
    return f"{title} {span} % (more of it: {'leaner' if leaner else 'richer'})"


def _spread(spread: Spread, system: UnitSystem) -> str:
    if spread.kind is Kind.open:
        return spread.kind.value
    if spread.kind is Kind.factor:
        return f"times {spread.low:.3g} to {spread.high:.3g}"
    return f"{_offset(spread.low, spread.unit, system)} to {_offset(spread.high, spread.unit, system)}"


def _offset(value: float, unit: str, system: UnitSystem) -> str:
    sign = "-" if value < 0.0 else "+"
    size = abs(value)
    if unit == "m":
        return f"{sign}{format_length(size, system, digits=3)}"
    if unit == "K":
        return f"{sign}{size:.3g} K" if system is UnitSystem.METRIC else f"{sign}{size * FAHRENHEIT:.3g} degF"
    return f"{sign}{100.0 * size:.3g} points"
