"""What a source reaches, as text: each space, the way there, its pressure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from boostcarb.answers import Reach, Traced
from boostcarb.bench import Bench
from boostcarb.quantities import UnitSystem
from boostcarb.report.wording import absolute, count, path_text
from boostcarb.report.wrapping import wrapped


def trace_text(bench: Bench, traced: Traced, system: UnitSystem) -> str:
    """The whole answer."""
    return "\n".join(_lines(bench, traced, system))


def _lines(bench: Bench, traced: Traced, system: UnitSystem) -> Iterator[str]:
    network = bench.network
    yield wrapped(f"{bench.job.job}: what feels the {network.title_of(traced.start)}, as found")
    in_state = f" in the state {traced.states[0].name} ({traced.states[0].title})" if len(traced.states) == 1 else ""
    yield wrapped(f"{count(len(traced.spaces), 'space')} by open ways{in_state}. A source ends a path.", first="  ")
    for space, found in traced.spaces.items():
        yield ""
        yield wrapped(network.title_of(space) + (" (source)" if network.spaces[space].source else ""), first="  ")
        yield wrapped(f"by: {path_text(traced.start, found.path, network)}", first="    ", rest="      ")
        if found.reach is not Reach.both:
            yield wrapped(found.reach.value, first="    ")
        yield from _pressures(traced, space, system)
        yield from _contents(traced, space)
    if not traced.spaces:
        yield wrapped("Nothing: every way out of it is closed.", first="  ")


def _pressures(traced: Traced, space: str, system: UnitSystem) -> Iterator[str]:
    rows = [(row, row.spaces[space]) for row in traced.states if space in row.spaces]
    if not rows:
        yield "    pressure: not computed (liquid fuel)"
    elif len(rows) == 1:
        _, here = rows[0]
        yield wrapped(
            f"pressure: {absolute(here.low_pa_abs, here.high_pa_abs, system)} abs, {here.nature}", first="    "
        )
    else:
        low, high = min(here.low_pa_abs for _, here in rows), max(here.high_pa_abs for _, here in rows)
        yield wrapped(f"pressure over all states: {absolute(low, high, system)} abs, {rows[0][1].nature}", first="    ")


def _contents(traced: Traced, space: str) -> Iterator[str]:
    """What it can hold while driving, and what a backfire adds to that."""
    by_state = traced.contents[space]
    events = traced.events if len(traced.states) > 1 else frozenset()
    driving = _words(held for state, held in by_state.items() if state not in events)
    added = [word for word in _words(by_state.values()) if word not in driving]
    more = f"; in a backfire also {', '.join(added)}" if added else ""
    yield wrapped(f"can hold: {', '.join(driving) or 'nothing'}{more}", first="    ", rest="      ")


def _words(contents: Iterable[tuple[str, ...]]) -> list[str]:
    return sorted({word.replace("_", " ") for held in contents for word in held})
