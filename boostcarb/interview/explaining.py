"""More about a question, for who asks: its forms, and what goes wrong with each."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.errors import BadDescription, NotSolved
from boostcarb.interview.extras import extras
from boostcarb.interview.question import Answers, Question
from boostcarb.interview.questions import Questions
from boostcarb.interview.strip_down import BENCH_WORDS
from boostcarb.interview.subject import Subject, consequences

RULES_SHOWN = 3


def explained(question: Question, questions: Questions, answers: Answers) -> Iterator[str]:
    """Paragraphs: what the answer is for, and which rules fail with which form."""
    subject = questions.subject(answers)
    if question.item is not None:
        yield from _forms(question, questions, answers)
    elif subject is not None:
        titles = _judged_by(question, subject)
        if titles:
            yield f"It decides: {'; '.join(titles)}."
    if question.example:
        yield "Any words." if question.is_text else f"Written as in a job file: {question.example}."
    if question.needed:
        yield "The job file needs it."
    elif question.otherwise:
        yield f"Enter: {question.otherwise}."
    else:
        yield "Enter: don't know. It is written down as not looked at, and no plan is clean before somebody has looked."


def _forms(question: Question, questions: Questions, answers: Answers) -> Iterator[str]:
    try:
        bench = questions.bench(answers)
        by_form = consequences(bench, question.item) if bench is not None and question.item is not None else {}
    except (BadDescription, NotSolved):
        by_form = {}
    for choice in question.choices:
        fails = list(
            dict.fromkeys(finding.title for finding in by_form.get(BENCH_WORDS.get(choice.word, choice.word), ()))
        )
        more = f"; and {len(fails) - RULES_SHOWN} more" if len(fails) > RULES_SHOWN else ""
        said = f"{choice.word}: {choice.title}" if choice.title else choice.word
        yield f"{said}. With it: {'; '.join(fails[:RULES_SHOWN])}{more}." if fails else f"{said}."
    if by_form and not any(by_form.values()):
        yield "As far as is known, none of these is wrong on its own; together with other finds it may be."


def _judged_by(question: Question, subject: Subject) -> tuple[str, ...]:
    extra = next((each for each in extras(subject.groups) if each.name == question.name), None)
    return subject.matters(extra.margins) if extra is not None and extra.margins else ()
