"""Numbers: pressures and valves in every state, and what the jets must become."""

from __future__ import annotations

from collections.abc import Sequence

from boostcarb.drills import Drill
from boostcarb.fueling.mixture import GroupMixture, StateMixture, Status
from boostcarb.fueling.sizes import Size
from boostcarb.quantities import UnitSystem, format_length
from boostcarb.report.fuel_lines import NOT_CALIBRATED, SIGN_KEY, SIGNS, STARTING_POINT, titled
from boostcarb.report.plan_text import SIZES_ELSEWHERE
from boostcarb.report.wording import PASCALS, PRESSURE_UNIT, each_of
from boostcarb.sheet.answers import Answers
from boostcarb.sheet.document import Blanks, Block, Entries, Entry, Gallery, Paragraph, Part, Section, Table, listed
from boostcarb.sheet.drawing.pressures import Bars, merged, pressure_figures
from boostcarb.sheet.sections.safety import caution_about
from boostcarb.solving.table import DiaphragmRow, SpaceRow, StateRow

MAIN = ("air_horn", "base", "manifold")
REFERENCE = "regulator.reference_side"
ATMOSPHERE = "ambient"
SAME_PA = 150.0
"""Pressures nearer than this are drawn as one."""


# --- pressures --------------------------------------------------------------------------------------------------


def shown_spaces(answers: Answers) -> list[str]:
    """The spaces that matter most: what the carburetor stands between, and both sides of every valve."""
    rows = answers.planned.states
    if not rows:
        return []
    first = rows[0]
    names = [name for name in MAIN if name in first.spaces]
    if "base" in names and all(row.spaces["base"] == row.spaces["manifold"] for row in rows):
        names.remove("base")
    for name, row in first.diaphragms.items():
        if row.valve is not None:
            names += [answers.network.diaphragms[name].first, answers.network.diaphragms[name].second]
    return [name for name in dict.fromkeys((*names, REFERENCE)) if name in first.spaces]


def pressures(answers: Answers) -> Section | None:
    """The plot and the table."""
    rows = answers.planned.states
    if not rows:
        return None
    names = shown_spaces(answers)
    unit = PRESSURE_UNIT[answers.system]
    title_of = answers.network.title_of
    valves = [name for name, row in rows[0].diaphragms.items() if row.valve is not None]
    head = ("State", *map(title_of, names), *(answers.network.diaphragms[name].title for name in valves))
    table = Table(
        f"Pressures, {unit} absolute, and valves",
        head,
        tuple(
            (
                row.title,
                *(pressure_text(row.spaces[name], answers.system) for name in names),
                *(_valve(row.diaphragms.get(name)) for name in valves),
            )
            for row in rows
        ),
        width="wide",
    )
    which = "planned carburetor" if answers.plan is not None else "carburetor as found"
    told = Paragraph(f"In the {which}. A range means that the past of a closed space decides.")
    return Section("Pressures in every state", (told, *_plot(answers, names), table))


def _plot(answers: Answers, names: Sequence[str]) -> tuple[Block, ...]:
    """Bars of all states but backfires; what is always at one pressure is drawn once."""
    planned = answers.planned
    events = {state.name for state in planned.bench.view(answers.becomes).states if state.event}
    calm = [row for row in planned.states if row.name not in events]
    if not calm:
        return ()
    kept: dict[str, list[str]] = {}
    for name in names:
        same = next((other for other in kept if all(_alike(row, name, other) for row in calm)), None)
        kept.setdefault(same or name, []).append(answers.network.title_of(name))
    states = [Bars(row.title, merged({titles[0]: _span(row, name) for name, titles in kept.items()})) for row in calm]
    figures = pressure_figures(states, calm[0].spaces[ATMOSPHERE].low_pa_abs, answers.system)
    together = [f"{first} stands for {listed(others)} too" for first, *others in kept.values() if others]
    told = "; ".join(["Bars start at the atmosphere; backfires are left out", *together])
    return (Gallery(figures), Paragraph(f"{told}."))


def _alike(row: StateRow, one: str, other: str) -> bool:
    return all(abs(a - b) < SAME_PA for a, b in zip(_span(row, one), _span(row, other), strict=True))


def _span(row: StateRow, name: str) -> tuple[float, float]:
    return row.spaces[name].low_pa_abs, row.spaces[name].high_pa_abs


def pressure_text(row: SpaceRow, system: UnitSystem) -> str:
    """A pressure or a range of it, without its unit."""
    pascals = PASCALS[PRESSURE_UNIT[system]]
    low, high = f"{row.low_pa_abs / pascals:.1f}", f"{row.high_pa_abs / pascals:.1f}"
    return low if low == high else f"{float(low):.0f} to {float(high):.0f}"


def _valve(row: DiaphragmRow | None) -> str:
    if row is None or row.valve is None:
        return "-"
    return "open or shut" if row.valve == "undecided" else row.valve


# --- fuel -------------------------------------------------------------------------------------------------------


def fuel(answers: Answers) -> Section:
    """Sizes and mixtures where the job gives bores or a reading; else what to measure."""
    bench = answers.planned.bench
    cautions = caution_about(answers, "lean mixture", "starting points")
    network = answers.network
    groups = [group for group, names in sorted(network.circuits.items()) if names.jets in network.items]
    blanks = Blanks(tuple(f"{group} main jets as measured" for group in groups))
    if answers.plan is None or not bench.judges_mixture:
        return Section("Fuel numbers", (*cautions, Paragraph(SIZES_ELSEWHERE.replace("`", "")), blanks))
    fueling = answers.planned.fueling
    blocks: list[Block | Part] = [*cautions]
    sizes = [size for group in fueling.sizes.values() for size in group.sizes]
    if sizes and not bench.job.metering.measured:
        blocks.append(Paragraph(NOT_CALIBRATED.replace("`", "")))
    if sizes:
        blocks.append(_sizes(f"Fit these{each_of(answers.network)}", sizes, answers.system))
    stages = [size for group in fueling.sizes.values() for size in group.stages]
    if stages:
        caption = "Or in two stages, so that full load before boost is not too rich"
        blocks.append(_sizes(caption, stages, answers.system))
    unsized = [Entry(text) for group in fueling.sizes.values() for text in group.not_sized]
    if unsized:
        blocks.append(Entries(tuple(unsized)))
    blocks += _mixtures(fueling.table)
    blocks.append(Paragraph(STARTING_POINT))
    return Section("Fuel numbers", tuple(blocks))


def _sizes(caption: str, sizes: Sequence[Size], system: UnitSystem) -> Table:
    head = ("What", "Drill", "Computed", "For lambda", "In")
    return Table(caption, head, tuple(
        (
            titled(size),
            "no drill: a step of the rod" if size.found.ring else _drill(size.fit, system),
            format_length(size.bore_m, system),
            f"{size.target:.2f}",
            size.state_title,
        )
        for size in sizes
    ))  # fmt: skip


def _drill(drill: Drill, system: UnitSystem) -> str:
    diameter = format_length(drill.diameter_m, system)
    return drill.name if drill.name == diameter else f"{drill.name} ({diameter})"


def _mixtures(states: Sequence[StateMixture]) -> list[Block | Part]:
    if not states:
        return []
    groups = [each.group for each in states[0].groups]
    rows = tuple((s.title, f"{s.target:.2f}", *(_lambda(s, group) for group in groups)) for s in states)
    shown = {cell for row in rows for cell in row}
    key = tuple(Entry(f"{sign}: {text}") for sign, text in SIGN_KEY if sign in shown)
    table = Table("Lambda in the planned carburetor", ("State", "Wanted", *groups), rows, width="wide")
    return [table, *([Entries(key)] if key else [])]


def _lambda(state: StateMixture, group: str) -> str:
    mixture = next((each for each in state.groups if each.group == group), None)
    return "" if mixture is None else _mixture(mixture)


def _mixture(mixture: GroupMixture) -> str:
    if mixture.status in SIGNS and (mixture.leanest is None or mixture.richest is None):
        return SIGNS[mixture.status]
    if mixture.leanest is None or mixture.richest is None:
        return SIGNS[Status.unknown]
    low, high = f"{mixture.richest.mixture:.2f}", f"{mixture.leanest.mixture:.2f}"
    return low if low == high else f"{low}-{high}"
