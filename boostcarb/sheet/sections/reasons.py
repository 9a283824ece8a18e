"""Why: what comes back without a change, why nothing is cheaper, what is next best, or why there is no plan."""

from __future__ import annotations

from collections.abc import Iterable

from boostcarb.findings import Finding
from boostcarb.planning.problem import Choice, Cost, Excluded, Failure, Pin
from boostcarb.planning.search import Alternative, Impossible
from boostcarb.report.wording import (
    count,
    form_text,
    minutes,
    path_text,
    quantity_text,
    reading_text,
    severity_text,
    states_text,
)
from boostcarb.sheet.answers import Answers
from boostcarb.sheet.document import Entries, Entry, Paragraph, Part, Section


def why(answers: Answers) -> Section | None:
    """Each change with what comes back if it is left out."""
    if not answers.changes:
        return None
    entries = []
    seen: dict[tuple[str, str], int] = {}
    for change in answers.changes:
        lines: list[str] = []
        for failure in answers.planned.reasons[change.choice]:
            finding = failure.reason
            if isinstance(finding, Finding):
                before = seen.setdefault((finding.rule, finding.place), change.number)
                lines.append(_briefly(finding) if before != change.number else _told(answers, finding))
                if before != change.number:
                    lines[-1] += f" (as with {before})"
            else:
                lines.append(_other_reason(failure))
        entries.append(Entry(f"{change.title}: {change.becomes}", str(change.number), lines=tuple(lines)))
    told = "Leave any one of these out and this comes back."
    return Section("Why", (Paragraph(told), Entries(tuple(entries)), *_cheaper(answers)))


def _briefly(finding: Finding) -> str:
    return f"{severity_text(finding)} {finding.title}: {finding.place_title}"


def _told(answers: Answers, finding: Finding) -> str:
    """A finding in one line: what, where, in which state, and what shows it."""
    network = answers.network
    said = f"{_briefly(finding)}{', ' + finding.statement if finding.statement else ''}"
    witness = finding.witness
    more = [f"in: {states}"] if (states := states_text(finding, answers.titles)) else []
    if witness.quantity is not None:
        more.append(quantity_text(witness.quantity, network, answers.system))
    elif witness.readings:
        more.append("; ".join(reading_text(reading, network, answers.system) for reading in witness.readings))
    if witness.path and witness.start is not None:
        more.append(f"path: {path_text(witness.start, witness.path, network)}")
    return ". ".join([said, *more, f"rule: {finding.rule}"])


def _other_reason(failure: Failure) -> str:
    reason = failure.reason
    if isinstance(reason, Pin):
        return f"your choice: {reason.label}"
    if isinstance(reason, Excluded):
        return "cannot go together: " + " with ".join(f"{each.item}: {each.option}" for each in sorted(reason.choices))
    return str(reason)


def _cost(cost: Cost) -> str:
    final = count(cost.irreversible, "irreversible change") if cost.irreversible else "nothing irreversible"
    return f"{minutes(cost.minutes)}, {count(cost.parts, 'part')}, {final}"


def _named(answers: Answers, choices: Iterable[Choice]) -> list[str]:
    network = answers.network
    return [f"{network.items[c.item].title}: {form_text(network, c.item, c.option)}" for c in choices]


def _cheaper(answers: Answers) -> tuple[Part, ...]:
    plan = answers.plan
    if plan is None:
        return ()
    proof = plan.proof
    told = (
        f"Every set of changes that costs less than {_cost(proof.lower_bound)} leaves something that blocks. Proved "
        f"from {count(proof.clauses, 'requirement')} in {count(proof.rounds, 'round')}."
    )
    parts = [Part("Would anything cheaper do?", (Paragraph(told),), together=True)]
    if plan.alternatives:
        entries = tuple(_alternative(answers, other) for other in plan.alternatives)
        parts.append(Part("Next best, if you would rather not do one of these", (Entries(entries),), together=True))
    return tuple(parts)


def _alternative(answers: Answers, other: Alternative) -> Entry:
    mine, theirs = set(answers.plan.changes if answers.plan else ()), set(other.changes)
    lines = [f"instead: {each}" for each in _named(answers, sorted(theirs - mine))]
    lines += [
        f"leaves out {answers.number_of.get(choice.item, '')}. {said}"
        for choice, said in zip(sorted(mine - theirs), _named(answers, sorted(mine - theirs)), strict=True)
    ]
    return Entry(_cost(other.cost), lines=tuple(lines))


def still_to_know(answers: Answers) -> Section | None:
    """What the rules still say after the plan."""
    known = [each for each in answers.planned.remaining if answers.plan is None or not each.rule_is_about_looking]
    if not known:
        return None
    by_rule: dict[str, list[Finding]] = {}
    for finding in known:
        by_rule.setdefault(finding.rule, []).append(finding)
    entries = tuple(
        Entry(
            _told(answers, first),
            lines=(*(f"and {each.place_title}: {each.statement}" for each in others), f"what to do: {first.remedy}"),
        )
        for first, *others in by_rule.values()
    )
    title = "Still to know after the plan" if answers.plan is not None else "What is wrong as found"
    return Section(title, (Entries(entries),))


def no_plan(answers: Answers) -> Section | None:
    """Why there is no plan, and which choice to release."""
    outcome = answers.planned.outcome
    if not isinstance(outcome, Impossible):
        return None
    parts: list[Part] = []
    if outcome.pins:
        parts.append(Part("These choices of yours", (Entries(tuple(Entry(pin.label) for pin in outcome.pins)),)))
    clash = [
        Entry(
            _told(answers, failure.reason),
            lines=(f"would need: {'; or '.join(_named(answers, sorted(failure.clause))) or 'something not offered'}",),
        )
        for failure in outcome.core
        if isinstance(failure.reason, Finding)
    ]
    clash += [
        Entry("cannot go together: " + " with ".join(f"{c.item}: {c.option}" for c in sorted(each)))
        for each in outcome.exclusions
    ]
    if clash:
        title = "They clash with what must hold" if outcome.pins else "What cannot be cured"
        parts.append(Part(title, (Entries(tuple(clash)),)))
    if outcome.release:
        parts.append(Part("Release this", (Entries(tuple(Entry(pin.label) for pin in outcome.release)),)))
    if outcome.relaxed_plan is not None:
        told = Paragraph(f"Then a plan exists: {_cost(outcome.relaxed_plan.cost)}.")
        named = tuple(Entry(each) for each in _named(answers, outcome.relaxed_plan.changes))
        parts.append(Part("What would then do", (told, Entries(named))))
    return Section("Why there is no plan", tuple(parts))
