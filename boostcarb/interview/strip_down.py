"""Questions about the carburetor, in the order in which it comes apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import chain

from boostcarb.interview.car import YES_NO, wants_sizes
from boostcarb.interview.extras import Extra, extras
from boostcarb.interview.question import Answers, Choice, Question
from boostcarb.interview.subject import Subject
from boostcarb.network.items import TIGHT
from boostcarb.network.model import ABSENT, INLINE, OPEN, PLUGGED, Item
from boostcarb.quantities import format_length, format_pressure

FOUND, REST = "found", "rest"
NAMED = 6
BENCH_WORDS = {"sound": PLUGGED, "leaking": OPEN}
"""What a joint is called on the bench, and in a job file."""
SIZE_WITHOUT_LOOK = {"restriction": "Drill shank or pin gauge; what just goes in.", "seat": "Drill shank or pin gauge."}


def strip_down_questions(answers: Answers, subject: Subject) -> list[Question]:
    """Every question about the carburetor that the answers so far leave open or have answered."""
    by_item: dict[str, list[Extra]] = {}
    for extra in extras(subject.groups):
        by_item.setdefault(extra.after, []).append(extra)
    questions = [
        chain(_item(item, answers, subject), _extras(by_item.get(item.name, []), item, answers, subject))
        for item in subject.order
        if item.name in subject.relevant - subject.settled and not ruled_out(item, answers, subject)
    ]
    order = {stage: index for index, stage in enumerate(subject.stages)}
    return sorted(chain.from_iterable(questions), key=lambda question: order[question.stage])


def the_rest(answers: Answers, subject: Subject) -> Iterator[Question]:
    """One question about everything on which no rule for this target hangs."""
    rest = unasked(answers, subject)
    if rest:
        named = "; ".join(item.title for item in rest[:NAMED])
        more = f"; and {len(rest) - NAMED} more" if len(rest) > NAMED else ""
        yield Question(
            REST,
            (),
            REST,
            f"take {len(rest)} more as built",
            look=f"No rule for this target hangs on them alone: {named}{more}.",
            choices=(replace(YES_NO[0], as_built=True), YES_NO[1]),
            otherwise="no; the file lists them as not looked at",
        )


def unasked(answers: Answers, subject: Subject) -> list[Item]:
    """Items that are there, but on which no rule for this target hangs."""
    items = (item for item in subject.order if item.name not in subject.relevant | subject.settled)
    return [item for item in items if not item.confirmed and not ruled_out(item, answers, subject)]


def settled(subject: Subject) -> list[Item]:
    """Items that the target itself says."""
    return [item for item in subject.order if item.name in subject.settled]


def ruled_out(item: Item, answers: Answers, subject: Subject) -> bool:
    """Whether an item cannot be there, after what was found; unknown parts are taken as built."""
    if item.kind == "inline":
        return not subject.stands_in(item.name, answers.get(question_of(item.name.removesuffix(INLINE))))
    for other, forms in item.conditions:
        needed_by = subject.bench.network.items[other]
        said = answers.get(question_of(other))
        if (said or needed_by.found) not in forms or ruled_out(needed_by, answers, subject):
            return True
    return False


def question_of(item: str) -> str:
    """Name of the question about an item."""
    return f"{FOUND}.{item}"


def _item(item: Item, answers: Answers, subject: Subject) -> Iterator[Question]:
    question = Question(
        name=question_of(item.name),
        path=(FOUND, item.name),
        stage=subject.stage_of(item.name),
        title=item.title,
        casting=subject.bench.network.castings[item.casting],
        look=_sentence(item.look or ""),
        choices=choices(item, subject),
        item=item.name,
    )
    yield question
    said = answers.get(question.name)
    valve = subject.valve(item.name, said)
    if valve is not None and valve.fixed is None:
        yield _follow_up(
            question,
            "setting",
            f"setting of the {item.title}",
            "Stamped on the valve, or read on a vacuum pump as it moves.",
            f"{format_pressure(abs(valve.setting_pa), 'inHg')}",
        )
    way = subject.sized.get(item.name)
    if way is not None and wants_sizes(answers) and said not in (None, ABSENT):
        title = f"bore of the {item.title}" + (f", each of {way.count}" if way.count > 1 else "")
        look = SIZE_WITHOUT_LOOK.get(way.kind, "Inside, where it is narrowest.")
        yield _follow_up(question, "bore", title, look, format_length(way.bore_m or 0.0))


def _sentence(text: str) -> str:
    """A text with a capital and a full stop."""
    return f"{text[:1].upper()}{text[1:].rstrip('.')}." if text else ""


def _follow_up(question: Question, field: str, title: str, look: str, usual: str) -> Question:
    return Question(
        name=f"{question.name}.{field}",
        path=(*question.path, field),
        stage=question.stage,
        title=title,
        casting=question.casting,
        look=look,
        example=usual,
        otherwise=f"not measured; {usual} is taken",
    )


def choices(item: Item, subject: Subject) -> tuple[Choice, ...]:
    """The forms of an item, the one it was built with first."""
    forms = {form: data.title for form, data in item.forms.items()}
    if item.kind == "passage":
        tight = any(way.item == item.name and way.kind in TIGHT for way in subject.bench.network.ways)
        if tight and item.found == PLUGGED:
            return tuple(Choice(word, "", as_built=form == item.found) for word, form in BENCH_WORDS.items())
        forms = _passage_forms(item)
    built = [item.found, *(form for form in forms if form != item.found)]
    return tuple(
        Choice(
            form,
            "" if forms[form] == form else forms[form],
            as_built=form == item.found,
            rare=form == ABSENT and item.kind == "passage" and item.found != ABSENT,
        )
        for form in built
    )


def _passage_forms(item: Item) -> dict[str, str]:
    if item.found == ABSENT:
        return {ABSENT: "never drilled", OPEN: "drilled and open", PLUGGED: "drilled and plugged"}
    return {OPEN: "", PLUGGED: "closed on purpose or by dirt", ABSENT: "not there at all"}


def _extras(of_item: list[Extra], item: Item, answers: Answers, subject: Subject) -> Iterator[Question]:
    form = answers.get(question_of(item.name)) or item.found
    for extra in of_item:
        if extra.margins and not subject.margins.intersection(extra.margins):
            continue
        if form in extra.not_with or (extra.measured and not wants_sizes(answers)):
            continue
        if extra.only_with and answers.get(extra.only_with[0]) != extra.only_with[1]:
            continue
        yield Question(
            name=extra.name,
            path=tuple(extra.name.split(".")),
            stage=subject.stage_of(item.name),
            title=extra.title,
            casting=subject.bench.network.castings[item.casting],
            look=extra.look,
            choices=extra.choices,
            example=extra.example,
            otherwise=extra.otherwise,
        )
