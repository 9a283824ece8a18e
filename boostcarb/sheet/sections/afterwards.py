"""What comes after the work: single faults, the way back, what was assumed."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.faults.outcome import Outcome
from boostcarb.findings import Severity
from boostcarb.report.fault_lines import alike, relief_text
from boostcarb.report.wording import DANGERS, assumed_text, count, form_text
from boostcarb.sheet.answers import Answers, Change
from boostcarb.sheet.document import Block, Entries, Entry, Paragraph, Part, Section, listed

RANKS = {
    Severity.stop: "One of these failing destroys the engine or endangers people",
    Severity.fix: "These do harm in the long run, or spoil the running",
}


def single_faults(answers: Answers) -> Section | None:
    """Each single fault that matters, worst first, by what it does and what the driver notices of it."""
    outcomes = answers.faulted.outcomes
    if not outcomes:
        return None
    parts: list[Part] = []
    for severity, title in RANKS.items():
        of_this = [each for each in outcomes if each.severity is severity]
        if of_this:
            parts.append(Part(f"{title}: {len(of_this)}", tuple(_lists(answers, of_this))))
    network = answers.faulted.bench.network
    ways = [(each.fault.title, relief_text(each.relief, network)) for each in outcomes if each.relief is not None]
    if ways:
        entries = tuple(Entry(title, lines=(way,)) for title, way in ways)
        parts.append(Part("Cheap ways to be rid of one", (Entries(entries),)))
    others = sum(1 for each in outcomes if each.severity not in RANKS)
    which = "as planned" if answers.faulted.as_planned else "as found"
    told = (
        f"{count(len(outcomes), 'single fault')} tried on the carburetor {which}; {others} of them are only felt, or "
        "do nothing that the rules can see, and are left out here."
    )
    return Section("If one thing fails", (Paragraph(told), *parts))


def _lists(answers: Answers, outcomes: list[Outcome]) -> Iterator[Block]:
    """A list for all that brings the same and is noticed by the same."""
    lists: dict[str, list[Entry]] = {}
    for group in alike(outcomes):
        first = group[0]
        worst = first.consequences[0]
        noticed, revealed = answers.faulted.signs[first.fault.name]
        others = "".join(f"; and {each.fault.title}" for each in group[1:])
        dangers = listed([DANGERS[each] for each in worst.endangers])
        when = answers.faulted.titles[worst.state] if worst.state is not None else "at once"
        label = f"{', '.join(first.effects)} ({dangers}). The driver notices: {noticed}"
        lines = (f"first: {when}. On the bench: {revealed}",)
        lists.setdefault(label, []).append(Entry(first.fault.title + others, lines=lines))
    for label, entries in lists.items():
        yield Paragraph(label[:1].upper() + label[1:], "label")
        yield Entries(tuple(entries))


def way_back(answers: Answers) -> Section | None:
    """Each change turned round, for going back to what was found, last change first."""
    if not answers.changes:
        return None
    can = [change for change in reversed(answers.changes) if not change.final]
    cannot = [change for change in answers.changes if change.final]
    parts = []
    if can:
        parts.append(Part("To turn round", (Entries(tuple(_undo(answers, each) for each in can), boxes=True),)))
    if cannot:
        entries = tuple(_undo(answers, each) for each in cannot)
        parts.append(Part("What cannot be undone", (Entries(entries),)))
    told = (
        "For going back to exactly what was found, with its faults. Keep every part that comes off. To make it right "
        "without the turbocharger, plan again with that target: that is another list."
    )
    return Section("The way back", (Paragraph(told), *parts))


def _undo(answers: Answers, change: Change) -> Entry:
    network = answers.network
    item = network.items[change.choice.item]
    labor = item.forms[item.found].labor
    back = form_text(network, item.name, item.found)
    if change.final:
        hint = f"closest: {labor.how}" if labor else "keep the drilled or machined piece as it is, or find another"
        return Entry(f"{change.title}: was {back}", str(change.number), ("CANNOT BE UNDONE",), (hint,))
    unsure = () if item.confirmed else ("found state only assumed",)
    lines = ((f"how: {labor.how}",) if labor else ()) + unsure
    return Entry(f"{change.title}: back to {back}", str(change.number), lines=lines)


def assumed(answers: Answers) -> Section:
    """What the job does not say and had to be assumed."""
    bench = answers.planned.bench
    entries = [Entry(assumed_text(each, answers.system)) for each in bench.defaults(answers.becomes)]
    entries += [Entry(f"{', '.join(titles)}: {note}") for note, titles in bench.state_notes(answers.becomes).items()]
    told = "Put your own values in the job file where you know better. Minutes and parts are estimates for comparing."
    return Section("Assumed", (Paragraph(told), Entries(tuple(entries))))
