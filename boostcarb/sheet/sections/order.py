"""The work step by step, with cautions where they apply and what gauges must show, and what to have in hand."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from boostcarb.network.model import Network
from boostcarb.quantities import UnitSystem, format_gauge, format_pressure
from boostcarb.report.wording import PRESSURE_UNIT, minutes
from boostcarb.sheet.answers import Answers
from boostcarb.sheet.document import Entries, Entry, Paragraph, Part, Section, Table, listed
from boostcarb.work.shopping import Line
from boostcarb.work.steps import Expected, Phase, Step

PHASES = {
    Phase.prepare: "Prepare",
    Phase.check_as_found: "Check as found",
    Phase.strip: "Strip down, each part off once",
    Phase.change: "Change: what can be undone first, what cannot after the last look",
    Phase.clean: "Clean",
    Phase.renew: "Renew and fit",
    Phase.check: "Check before anything is closed",
    Phase.reassemble: "Put together in reverse",
    Phase.reference_and_hoses: "References and hoses",
    Phase.first_start: "First start",
    Phase.prove: "Prove under load, in steps",
}


def order_of_work(answers: Answers) -> Section | None:
    """Every step with a box to tick."""
    order = answers.order
    if not order.steps:
        return None
    told = (
        f"{minutes(order.planned_minutes)} for the plan, each part off and back counted once; and "
        f"{minutes(order.extra_minutes)} for checks, cleaning, renewing, starting and proving."
    )
    parts = [
        Part(PHASES[phase], (Entries(tuple(_step(answers, step) for step in steps), boxes=True),))
        for phase, steps in groupby(order.steps, key=lambda step: step.phase)
    ]
    return Section("Order of work", (Paragraph(told), *parts))


def _step(answers: Answers, step: Step) -> Entry:
    network = answers.network
    numbers = [str(answers.number_of[each.item]) for each in step.changes if each.item in answers.number_of]
    where = [f"change {listed(numbers)}"] if numbers else []
    if step.changes and step.casting is not None:
        where.append(network.castings[step.casting])
    if step.changes and step.stage is not None:
        where.append(network.stages[step.stage].title)
    where += [minutes(step.minutes)] if step.minutes else []
    lines = ["; ".join(where)] if where else []
    for state, values in groupby(step.expected, key=lambda each: each.state):
        said = "; ".join(expected_text(each, network, answers.system) for each in values)
        lines.append(f"expect, {state}: {said}")
    return Entry(
        f"{step.title}: {step.text}",
        f"Step {step.number}",
        ("CANNOT BE UNDONE",) if step.irreversible else (),
        tuple(lines),
        cautions=step.cautions,
    )


def expected_text(value: Expected, network: Network, system: UnitSystem) -> str:
    """What a gauge must show if all is as computed."""
    name = network.title_of(value.what) if value.what in network.spaces else value.what
    if value.kind == "word":
        return f"{network.diaphragms[value.what].title.removeprefix('diaphragm of the ')} {value.word}"
    if value.kind == "lambda":
        return f"{name} {_span(f'{value.low:.2f}', f'{value.high:.2f}')}"
    if value.kind == "gauge":
        return f"{name} {_span(format_gauge(value.low, system), format_gauge(value.high, system))}"
    unit = PRESSURE_UNIT[system]
    return f"{name} over air horn {_span(format_pressure(value.low, unit), format_pressure(value.high, unit))}"


def _span(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"


def in_hand(answers: Answers) -> Section | None:
    """Parts, what is renewed, consumables, tools."""
    shopping = answers.order.shopping
    tables = (
        _table(answers, "Parts of the plan", [each for each in shopping.parts if each.for_changes]),
        _table(answers, "Renewed because it is opened", [each for each in shopping.parts if not each.for_changes]),
        _table(answers, "Consumables", shopping.consumables),
        _table(answers, "Tools", shopping.tools),
    )
    known = tuple(table for table in tables if table is not None)
    return Section("Parts and tools to have in hand", known) if known else None


def changes_named(answers: Answers, line: Line) -> str:
    """The numbers of the changes that something is for."""
    numbers = sorted(answers.number_of[item] for item in line.for_changes if item in answers.number_of)
    return ", ".join(str(each) for each in numbers)


def _table(answers: Answers, caption: str, lines: Iterable[Line]) -> Table | None:
    rows = tuple((each.name, str(each.quantity), changes_named(answers, each), each.note) for each in lines)
    return Table(caption, ("What", "Pieces", "Change", "Note"), rows) if rows else None
