"""Sizes and mixtures as lines of text, for a plan as for the whole answer on fuel."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from boostcarb.drills import Drill
from boostcarb.fueling.circuit import Origin
from boostcarb.fueling.mixture import GroupMixture, StateMixture, Status
from boostcarb.fueling.model import Fueling
from boostcarb.fueling.sizes import Part, RichStart, Size
from boostcarb.quantities import UnitSystem, format_length
from boostcarb.report.states_text import Column, tables
from boostcarb.report.wrapping import wrapped

STARTING_POINT = (
    "Every size is a starting point: fit it, then verify with a wideband and pressure gauges, step by step, starting "
    "rich. No full boost before the mixture is proved in light boost."
)
CALLED = {"as_found": "as found", "proposed": "as proposed", "planned": "planned"}
SIGNS = {
    Status.shut: "-",
    Status.idle: "idle",
    Status.starting: "starts",
    Status.no_fuel: "NO FUEL",
    Status.unknown: "?",
    Status.variable: "needle",
    Status.no_circuit: "none",
}
SIGN_KEY = (
    ("idle", "idle circuit: its screws set the mixture; not predicted"),
    ("starts", "the main circuit only just starts, the transition circuit sets the mixture; not predicted"),
    ("NO FUEL", "the booster's pull does not lift the fuel out of the bowl"),
    ("?", "nobody gave the bores of these jets, and they are not those that are usual"),
    ("needle", "the jet opens with the air valve, the profile of its needle sets the mixture; not predicted"),
    ("none", "no main circuit: a jet or nozzle is closed, or not described"),
)


# --- sizes ------------------------------------------------------------------------------------------------------


def size_lines(sizes: Sequence[Size], stages: Sequence[Size], system: UnitSystem) -> Iterator[str]:
    """What to fit, with the drills round it."""
    if not sizes:
        yield wrapped("Nothing could be sized; see below.", first="  ")
    for size in sizes:
        yield from _size(size, system, "  [ ] ")
    if stages:
        yield wrapped("OR in two stages, so that full load before boost is not absurdly rich:", first="  ")
        for size in stages:
            yield from _size(size, system, "  [ ] ")


def _size(size: Size, system: UnitSystem, first: str) -> Iterator[str]:
    where = f"lambda {size.target:.2f}, {size.state_title}"
    if size.found.ring:
        yield from _ring(size, where, system, first)
        return
    valve = ", valve open" if size.enrichment_open else ""
    yield wrapped(
        f"{titled(size)}: {_drill(size.fit, system)}; computed "
        f"{format_length(size.bore_m, system)} for {where}{valve}", first=first,
    )  # fmt: skip
    if size.rich_start is not None:
        yield wrapped(_rich_start(size.rich_start, system), first="      ")
    compared = _compared(size, system)
    series: dict[str, list[str]] = {}
    for choice in size.drills:
        drill = choice.drill
        given = "no fuel" if choice.mixture is None else f"{choice.mixture:.2f}"
        # A metric drill's name is its diameter; others say theirs.
        name = drill.name if drill.series == "metric" else f"{drill.name} {format_length(drill.diameter_m, system)}"
        series.setdefault(drill.series, []).append(f"{name} {given}")
    yield wrapped(f"{compared}drills, next smaller, nearest, next larger, with their lambda:", first="      ")
    for name, drills in series.items():
        yield wrapped(f"{name}: {' | '.join(drills)}", first="        ", rest="          ")


def _ring(size: Size, where: str, system: UnitSystem, first: str) -> Iterator[str]:
    """A ring that a rod leaves in a jet: no drill makes it, a step of the rod does."""
    bore = format_length(size.fit.diameter_m, system)
    yield wrapped(f"{titled(size)}: the area of a round hole of {bore}, for {where}", first=first)
    if size.part is Part.main_jets:
        rule = "thick step of the rod = square root of (jet bore squared - that bore squared)"
    else:
        rule = "thin step of the rod = square root of (thick step squared - that bore squared)"
    yield wrapped(f"{_compared(size, system)}{rule}", first="      ")


def _compared(size: Size, system: UnitSystem) -> str:
    """The holes as they are now."""
    if size.part is Part.second_stage:
        return ""
    if size.area_ratio is None:
        return "now not known; "
    now = " (usual, not measured)" if size.found.origin is Origin.usual else ""
    return f"now {format_length(size.found.bore_m, system)}{now}: area times {size.area_ratio:.2f}; "


def _drill(drill: Drill, system: UnitSystem) -> str:
    """The drill by its name and its diameter, which is the name of a metric one."""
    diameter = format_length(drill.diameter_m, system)
    return drill.name if drill.name == diameter else f"{drill.name} ({diameter})"


def _rich_start(start: RichStart, system: UnitSystem) -> str:
    """The drill for the first run in boost."""
    if start.drill is None:
        return (
            "start with: no size is rich enough for sure, window or nozzle are too small for the lean end of gain and "
            "discharge; prove the mixture at the lowest boost first"
        )
    return (
        f"start with {_drill(start.drill, system)}: rich at the lean end of gain and discharge, as no lambda at full "
        "load is measured; prove cruise and full load without boost first, then come down by the wideband"
    )


def titled(size: Size) -> str:
    """What a size is of, and how many there are."""
    if size.found.ring:
        return f"{size.found.title}, {size.found.count} of them"
    return f"{size.group} {size.part.value}, {size.found.count} of them"


# --- mixtures ---------------------------------------------------------------------------------------------------


def lambda_lines(configurations: Mapping[str, Fueling]) -> Iterator[str]:
    """A row for every state that any configuration has: what is wanted, the lean shift, and what comes out."""
    found = {name: {state.state: state for state in fueling.table} for name, fueling in configurations.items()}
    planned = found["planned"]
    states = list(planned.values())
    columns = [
        Column("wanted", tuple(f"{state.target:.2f}" for state in states)),
        Column("lean\nshift", tuple(f"{state.lean_shift:.2f}" for state in states)),
    ]
    for name, table in found.items():
        groups = [group.group for group in states[0].groups] if states else []
        for group in groups:
            cells = tuple(_cell(table.get(state.state), group) for state in states)
            columns.append(Column(f"{CALLED[name]}\n{group}", cells))
        if len(groups) > 1:
            cells = tuple(_whole(table.get(state.state)) for state in states)
            columns.append(Column(f"{CALLED[name]}\nwhole", cells))
    yield from tables([state.title for state in states], columns, "lambda")
    shown = {cell for column in columns for cell in column.cells}
    yield wrapped(
        "lean shift: the same jets run leaner by this factor than where they were right, by the root of the air's "
        "density alone; an air bleed takes a little of it back.", first="  ",
    )  # fmt: skip
    for sign, text in SIGN_KEY:
        if sign in shown:
            yield wrapped(f"{sign}: {text}", first="  ")


def _cell(state: StateMixture | None, group: str) -> str:
    mixture = next((each for each in state.groups if each.group == group), None) if state else None
    return "" if mixture is None else _mixture(mixture)


def _mixture(mixture: GroupMixture) -> str:
    if mixture.leanest is None or mixture.richest is None:
        return SIGNS[mixture.status]
    return _span(mixture.richest.mixture, mixture.leanest.mixture)


def _whole(state: StateMixture | None) -> str:
    if state is None or state.leanest is None or state.richest is None:
        return ""
    return _span(state.richest, state.leanest)


def _span(low: float, high: float) -> str:
    a, b = f"{low:.2f}", f"{high:.2f}"
    return a if a == b else f"{a}-{b}"


NOT_CALIBRATED = (
    "No measured lambda in the job: the gain of the boosters alone can make full load a fifth leaner or richer than "
    "shown. Start with the next larger drill, measure, and put the reading in the job; `boostcarb fuel` shows the span."
)


def plan_fuel_lines(fueling: Fueling, system: UnitSystem, *, measured: bool) -> Iterator[str]:
    """The short part that goes with a plan; `measured` says whether the job has a lambda to go by."""
    if fueling.sizes and not measured:
        yield wrapped(NOT_CALIBRATED, first="  ")
    for group in fueling.sizes.values():
        for size in group.sizes:
            yield wrapped(
                f"{titled(size)}: {_drill(size.fit, system)}, for lambda {size.target:.2f}, {size.state_title}",
                first="  [ ] ",
            )  # fmt: skip
        for text in group.not_sized:
            yield wrapped(f"{text}.", first="  - ")
        if group.stages:
            bores = ", ".join(f"{size.part.value} {_drill(size.fit, system)}" for size in group.stages)
            yield wrapped(
                f"{group.group} barrels: lambda {group.single_stage_mixture:.2f} at full load before boost with one "
                f"stage; better in two: {bores}", first="  - ",
            )  # fmt: skip
    yield from lambda_lines({"planned": fueling})
    yield wrapped(f"{STARTING_POINT} `boostcarb fuel` has the details.", first="  ")
