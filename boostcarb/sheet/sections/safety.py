"""What comes first: cautions, the verdict, what nobody has looked at, what was not judged."""

from __future__ import annotations

from itertools import groupby

from boostcarb.bench import Doubt
from boostcarb.report.cautions import cautions
from boostcarb.report.plan_text import unproved_text
from boostcarb.report.wording import count, form_text
from boostcarb.sheet.answers import Answers
from boostcarb.sheet.document import Blanks, Entries, Entry, Paragraph, Part, Section


def caution_about(answers: Answers, *words: str) -> tuple[Paragraph, ...]:
    """The cautions that hold any of these words, to be said again where they apply."""
    job = answers.planned.bench.job
    return tuple(
        Paragraph(said, "caution") for said in cautions(job.target, job.fuel) if any(word in said for word in words)
    )


def before_you_start(answers: Answers) -> Section:
    """All cautions, and room to sign."""
    job = answers.planned.bench.job
    told = tuple(Entry(said) for said in cautions(job.target, job.fuel))
    blanks = Blanks(("Work done by", "Checked by", *(() if answers.date else ("Date",))))
    return Section("Before you start", (Entries(told, cautions=True), blanks))


def verdict(answers: Answers) -> str:
    """The answer in a few lines."""
    planned = answers.planned
    if answers.plan is None:
        pins = bool(getattr(planned.outcome, "pins", ()))
        why = "with the choices you pinned" if pins else "what is wrong cannot be put right by any change known for it"
        return f"No plan exists{' ' if pins else ': '}{why}. Nothing on this sheet makes it safe to run."
    as_found = sum(1 for finding in planned.as_found if finding.blocks)
    left = [finding for finding in planned.remaining if finding.blocks]
    unproved = unproved_text(planned.bench.not_judged).replace("see NOT JUDGED", "see Not judged below")
    done = f"{count(len(answers.changes), 'change')} needed" if answers.changes else "No change needed"
    if as_found:
        done += f"; as found, {count(as_found, 'finding')} would block"
    if not left:
        return f"{done}. Nothing that the rules can see blocks afterwards{unproved}."
    unseen = sum(1 for finding in left if finding.rule_is_about_looking)
    others = len(left) - unseen
    told = [f"{count(unseen, 'item')} nobody has looked at"] if unseen else []
    told += [f"{count(others, 'finding')} that only another size or setting cures"] if others else []
    return f"{done}. Not clean yet: {' and '.join(told)}, listed below{unproved}."


def look_first(answers: Answers) -> Section | None:
    """What nobody has looked at, in the order of the strip-down; first what could change the verdict."""
    doubts = answers.planned.doubts
    if not doubts:
        return None
    serious = sum(1 for doubt in doubts if doubt.otherwise)
    network = answers.network
    told = f"{count(len(doubts), 'item')} taken for granted; {serious} could change the verdict. Look, then plan again."
    parts = []
    for stage, members in groupby(doubts, key=lambda doubt: network.items[doubt.item].stage):
        here = sorted(members, key=lambda doubt: not doubt.otherwise)
        entries = tuple(_doubt(answers, doubt) for doubt in here if doubt.otherwise)
        others = [network.items[doubt.item].title for doubt in here if not doubt.otherwise]
        if others:
            entries += (Entry(f"and, for completeness: {'; '.join(others)}"),)
        parts.append(Part(network.stages[stage].title, (Entries(entries, boxes=True),)))
    return Section("Look at these first", (Paragraph(told), *parts))


def _doubt(answers: Answers, doubt: Doubt) -> Entry:
    network = answers.network
    item = network.items[doubt.item]
    lines = [f"look: {item.look}"] if item.look else []
    for form, findings in doubt.otherwise.items():
        titles = "; ".join(dict.fromkeys(finding.title for finding in findings))
        lines.append(f"if {form_text(network, item.name, form)}: {titles}")
    return Entry(
        f"{item.title}; taken to be: {form_text(network, item.name, doubt.assumed)}",
        marks=("COULD CHANGE THE VERDICT",),
        lines=tuple(lines),
    )


def not_judged(answers: Answers) -> Section | None:
    """What the job does not let the rules judge, and what to give."""
    unjudged = answers.planned.bench.not_judged
    if not unjudged:
        return None
    entries = tuple(Entry(f"{each.what}: {', '.join(each.give).replace(', or ', ' or ')}") for each in unjudged)
    told = Paragraph("Not proved safe until you give this in the job file and plan again.")
    return Section("Not judged", (told, Entries(entries)))
