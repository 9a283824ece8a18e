"""The sheet: which sections it has, in which order."""

from __future__ import annotations

from collections.abc import Callable

from boostcarb.sheet.answers import Answers
from boostcarb.sheet.document import Document, Section
from boostcarb.sheet.sections import afterwards, bench, numbers, order, reasons, safety, work

SECTIONS: tuple[Callable[[Answers], Section | None], ...] = (
    safety.before_you_start,
    reasons.no_plan,
    safety.look_first,
    work.what_to_do,
    work.drawings,
    work.hose_map,
    order.in_hand,
    order.order_of_work,
    bench.bench_checks,
    numbers.fuel,
    numbers.pressures,
    safety.not_judged,
    reasons.still_to_know,
    afterwards.single_faults,
    reasons.why,
    afterwards.way_back,
    afterwards.assumed,
)
"""What stands on the sheet, in the order in which it is needed at the bench."""


def sheet(answers: Answers) -> Document:
    """The whole sheet of a job."""
    sections = tuple(section for each in SECTIONS if (section := each(answers)) is not None)
    return Document(answers.planned.bench.job.job, work.subtitle(answers), safety.verdict(answers), sections)
