"""The sections: numbers as in `plan`, cautions where they apply, the way back, what is not looked at."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace

from boostcarb.quantities import UnitSystem
from boostcarb.report.cautions import cautions
from boostcarb.report.plan_text import plan_text
from boostcarb.sheet.answers import Answers
from boostcarb.sheet.document import Entries, Entry, Paragraph, Part, Section
from boostcarb.sheet.drawing.pressures import merged
from boostcarb.sheet.page import sheet
from boostcarb.sheet.sections.afterwards import single_faults, way_back
from boostcarb.sheet.sections.bench import bench_checks
from boostcarb.sheet.sections.numbers import pressures
from boostcarb.sheet.sections.order import order_of_work
from boostcarb.sheet.sections.reasons import no_plan, why
from boostcarb.sheet.sections.safety import caution_about, look_first
from boostcarb.sheet.sections.work import what_to_do
from boostcarb.work.shopping import Shopping
from boostcarb.work.steps import WorkOrder

AnswersOf = Callable[..., Answers]


def entries_of(section: Section | None) -> Iterator[Entry]:
    assert section is not None
    for block in section.blocks:
        for inner in block.blocks if isinstance(block, Part) else (block,):
            if isinstance(inner, Entries):
                yield from inner.entries


def test_numbers_are_those_of_the_plan(answers: Answers) -> None:
    text = " ".join(plan_text(answers.planned, UnitSystem.METRIC).split())
    for change in answers.changes:
        assert f"[ ] {change.number}. {' '.join(change.title.split())}" in text.replace("[ ]  ", "[ ] ")


def test_every_change_is_once_in_the_list_and_once_among_the_reasons(answers: Answers) -> None:
    wanted = [str(change.number) for change in answers.changes]
    if not wanted:
        assert what_to_do(answers) is None
        return
    assert [entry.number for entry in entries_of(what_to_do(answers))] == wanted
    reasons = [entry for entry in entries_of(why(answers)) if entry.number]
    assert [entry.number for entry in reasons] == wanted
    assert all(entry.lines for entry in reasons)


def test_what_cannot_be_undone_says_so_wherever_it_is(answers: Answers) -> None:
    final = {str(change.number) for change in answers.changes if change.final}
    for section in (what_to_do(answers), way_back(answers)):
        if section is not None:
            marked = {entry.number for entry in entries_of(section) if "CANNOT BE UNDONE" in entry.marks}
            assert marked == final


def test_the_way_back_has_every_change_once(answers: Answers) -> None:
    if answers.changes:
        numbers = sorted(int(entry.number) for entry in entries_of(way_back(answers)))
        assert numbers == [change.number for change in answers.changes]


def test_every_step_of_the_work_is_there_with_its_cautions(answers: Answers) -> None:
    if not answers.order.steps:
        assert order_of_work(answers) is None
        return
    entries = list(entries_of(order_of_work(answers)))
    assert [entry.number for entry in entries] == [f"Step {step.number}" for step in answers.order.steps]
    assert [entry.cautions for entry in entries] == [step.cautions for step in answers.order.steps]
    named = {int(n) for e in entries for line in e.lines[:1] for n in re.findall(r"^change (\d+)", line)}
    assert named == {change.number for change in answers.changes}


def test_cautions_said_again_are_there(street: Answers, answers_of: AnswersOf) -> None:
    for word in ("lean mixture", "starting points", "leak of the bonnet"):
        assert caution_about(street, word), word
    assert caution_about(answers_of("roadster_draw_through"), "a leak is a fire")
    job = street.planned.bench.job
    first = sheet(street).sections[0].blocks[0]
    assert isinstance(first, Entries)
    assert [entry.text for entry in first.entries] == list(cautions(job.target, job.fuel))


def test_what_nobody_has_looked_at_is_listed(answers_of: AnswersOf) -> None:
    answers = answers_of("not_taken_apart_yet")
    serious = [entry for entry in entries_of(look_first(answers)) if entry.marks]
    assert len(serious) == sum(1 for doubt in answers.planned.doubts if doubt.otherwise) > 0


def test_single_faults_that_matter_are_all_named(answers: Answers) -> None:
    said = " ".join(entry.text for entry in entries_of(single_faults(answers)))
    for outcome in answers.faulted.outcomes:
        if outcome.severity is not None and outcome.severity.value in ("stop", "fix"):
            assert outcome.fault.title in said


def test_units_of_the_us(answers_of: AnswersOf) -> None:
    metric, us = (pressures(answers_of("street_blow_through", system)) for system in UnitSystem)
    assert metric is not None
    assert us is not None
    assert "kPa" in str(metric)
    assert "psi" in str(us)
    assert "kPa" not in str(us)


def test_every_check_of_the_bench_is_there(answers: Answers) -> None:
    assert answers.checks is not None
    entries = [entry for entry in entries_of(bench_checks(answers)) if entry.number]
    assert [entry.number for entry in entries] == [f"Check {n}" for n, _ in enumerate(answers.checks.answer.checks, 1)]
    assert all(any(line.startswith("must: ") for line in entry.lines) for entry in entries)


def test_without_order_and_checks_the_rest_stands(street: Answers) -> None:
    bare = replace(street, checks=None, order=WorkOrder((), Shopping()))
    titles = [section.title for section in sheet(bare).sections]
    assert "Bench checks" not in titles
    assert "Order of work" not in titles
    assert "What to do" in titles


def test_no_plan_is_not_asked_for_where_there_is_one(street: Answers) -> None:
    assert no_plan(street) is None


def test_no_empty_section(answers: Answers) -> None:
    for section in sheet(answers).sections:
        assert section.blocks, section.title
        for block in section.blocks:
            if isinstance(block, Paragraph):
                assert block.text


def test_bars_of_one_pressure_are_one() -> None:
    (high, low) = merged({"a": (1e5, 1e5), "b": (1.5e5, 1.5e5), "c": (1e5 + 10, 1e5 + 10)})
    assert (high.label, low.label) == ("b", "a and c")
