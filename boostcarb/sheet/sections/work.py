"""What to do: the list of changes, the drawings of the castings, where the hoses lead."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path

from boostcarb.report.wording import MODES, arrangement, count, minutes
from boostcarb.sheet.answers import Answers, Change
from boostcarb.sheet.document import Entries, Entry, Gallery, Paragraph, Part, Section, Table, listed
from boostcarb.sheet.drawing.castings import casting_figures
from boostcarb.sheet.drawing.hoses import Hose, hose_figures, hoses
from boostcarb.sheet.drawing.legend import legend
from boostcarb.sheet.sections.safety import caution_about


def anchor(number: int) -> str:
    """The name of a change in links."""
    return f"change-{number}"


def what_to_do(answers: Answers) -> Section | None:
    """Every change with a box to tick, by the kind of work."""
    plan = answers.plan
    if plan is None or not answers.changes:
        return None
    cost = plan.cost
    final = count(cost.irreversible, "change") + " that cannot be undone" if cost.irreversible else "all can be undone"
    lead = Paragraph(
        f"{count(len(plan.changes), 'change')}: {minutes(cost.minutes)} of work with the strip-down, "
        f"{count(cost.parts, 'part')}, {final}. The numbers are the same in every drawing and table."
    )
    parts = [
        Part(group, (Entries(tuple(_entry(answers, each) for each in changes), boxes=True),))
        for group, changes in groupby(answers.changes, key=lambda change: change.group)
    ]
    return Section("What to do", (lead, *parts))


def _entry(answers: Answers, change: Change) -> Entry:
    network = answers.network
    where = [network.castings[change.casting], network.stages[change.stage].title]
    where += [change.price] if change.price else []
    where += [f"step {step}"] if (step := answers.step_of.get(change.choice)) else []
    return Entry(
        f"{change.title}: {change.how}",
        str(change.number),
        change.marks,
        ("; ".join(where),),
        anchor(change.number),
    )


def drawings(answers: Answers) -> Section | None:
    """One drawing a casting."""
    figures = casting_figures(answers)
    if not figures:
        return None
    told = (
        "Drawings show what is joined to what, not where it lies in the casting. Bold lines with a number are changed; "
        "a number under a drawing is a change of something that is no passage. Sizes are of one hole; ~ marks one "
        "that is usual for the family: measure yours."
    )
    return Section("Drawings of the castings", (Paragraph(told), Gallery((legend(), *figures))))


def hose_map(answers: Answers) -> Section | None:
    """Where every line leads, before and after."""
    lines = hoses(answers)
    if not lines:
        return None
    figures = hose_figures(answers)
    table = Table(
        "Every line that leads somewhere",
        ("Line", "As found", "After the plan", "What stands in it", "Change"),
        tuple(_hose_row(hose) for hose in lines),
    )
    cautions = caution_about(answers, "leak of the bonnet", "a leak is a fire")
    return Section("Hose map", (*cautions, *((Gallery(figures),) if figures else ()), table))


def _hose_row(hose: Hose) -> tuple[str, ...]:
    numbers = listed([str(each) for each in hose.numbers])
    return (hose.title, hose.before, "stays" if hose.before == hose.after else hose.after, hose.inside, numbers)


def subtitle(answers: Answers) -> tuple[str, ...]:
    """What the sheet is about."""
    bench = answers.planned.bench
    job = bench.job
    title = f"{bench.family.family.title}, target {MODES[job.target]}, fuel {job.fuel}"
    lines = [", ".join([title, *arrangement(job)])]
    if bench.unused_finds:
        lines.append(f"not part of a {MODES[job.target]} set-up, so not used: {', '.join(bench.unused_finds)}")
    if bench.own is not None:
        lines.append(f"with your own data from {Path(bench.own.folder).name}")
        if bench.own.replaced:
            lines.append(f"YOURS IN PLACE OF OURS: {', '.join(bench.own.replaced)}")
    if answers.date:
        lines.append(f"Date: {answers.date}")
    return tuple(lines)
