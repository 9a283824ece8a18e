"""From the answers so far to all questions that matter, and to the job that the answers make."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from boostcarb.bench import Bench
from boostcarb.description.job import NOT_LOOKED_AT, Job
from boostcarb.description.library import ReadJob
from boostcarb.description.source import Document, validate
from boostcarb.errors import BadDescription, NotSolved, Problem
from boostcarb.interview.car import car_questions
from boostcarb.interview.question import Answers, Question, unanswered
from boostcarb.interview.strip_down import REST, settled, strip_down_questions, the_rest, unasked
from boostcarb.interview.subject import Subject, Workshop
from boostcarb.network.model import Item

MEASURED = ("metering", "measured")
_KEY = (
    "carburetor", "target", "fuel", "carburetors.count", "carburetors.plenum", "carburetors.bonnets",
    "carburetors.references", "enclosure",
)  # fmt: skip
"""Answers on which it hangs what there is to ask about."""


@dataclass
class Questions:
    """All questions of one interview. Keeps what is the same for a family, a target and a fuel."""

    workshop: Workshop
    file: Path
    _subjects: dict[tuple[str | None, ...], Subject] = field(default_factory=dict)

    def families(self) -> dict[str, str]:
        """Titles of the carburetor families, by name."""
        library = self.workshop.library
        return {name: library.family(name).family.title for name in library.families()}

    def asked(self, answers: Answers) -> list[Question]:
        """Every question that the answers make matter, answered or not; the car alone while it is not known.

        Raises:
            BadDescription, NotSolved: what is said of the car does not hold together.
        """
        car = car_questions(answers, self.families())
        subject = self.subject(answers)
        if subject is None:
            return car
        return [*car, *strip_down_questions(answers, subject), *the_rest(answers, subject)]

    def untold(self, answers: Answers) -> list[tuple[Item, str]]:
        """Items that nobody was asked about one by one, and what the file says of them."""
        subject = self.subject(answers)
        if subject is None:
            return []
        built = answers.get(REST) == "yes"
        return [
            *((item, item.found) for item in settled(subject)),
            *((item, item.found if built else NOT_LOOKED_AT) for item in unasked(answers, subject)),
        ]

    def subject(self, answers: Answers) -> Subject | None:
        """The carburetor that is asked about; None until enough is said of the car."""
        car = car_questions(answers, self.families())
        if any(question.needed and answers.get(question.name) is None for question in car):
            return None
        key = tuple(answers.get(name) for name in _KEY)
        if key not in self._subjects:
            of_car = {question.name: answers.get(question.name) for question in car}
            self._subjects[key] = Subject(self._set_up(job_data(car, of_car, self._family(answers), for_subject=True)))
        return self._subjects[key]

    def data(self, answers: Answers, *, whole: bool = False) -> dict[str, Any]:
        """The job that the answers make, as a file would be read; with `whole`, open questions are don't-knows."""
        data = job_data(self.asked(answers), answers, self._family(answers), whole=whole)
        if whole:
            data.setdefault("found", {}).update({item.name: {"is": word} for item, word in self.untold(answers)})
        return data

    def bench(self, answers: Answers) -> Bench | None:
        """The carburetor as said so far, ready to be judged; None while the car is not known.

        Raises:
            BadDescription, NotSolved: the answers do not hold together.
        """
        if self.subject(answers) is None:
            return None
        return self._set_up(self.data(answers))

    def wrong(self, answers: Answers) -> list[Problem]:
        """What is wrong with the answers, by field of the job; what is only missing is not wrong."""
        try:
            self._job(job_data(car_questions(answers, self.families()), answers, self._family(answers)))
            problems = []
        except BadDescription as error:
            problems = [problem for problem in error.problems if "is missing" not in problem.message]
        if problems:
            return problems
        try:
            self.bench(answers)
        except BadDescription as error:
            return [Problem(problem.message, field=problem.field) for problem in error.problems]
        except NotSolved as error:
            return [Problem(f"{error}; check boost, speeds and displacement")]
        return []

    def item(self, question: Question, answers: Answers) -> Item | None:
        """The item that a question asks for."""
        subject = self.subject(answers)
        return None if subject is None or question.item is None else subject.bench.network.items[question.item]

    def _family(self, answers: Answers) -> str:
        return answers.get("carburetor") or self.workshop.library.families()[0]

    def _job(self, data: dict[str, Any]) -> Job:
        return validate(Job, Document(self.file, data, {}))

    def _set_up(self, data: dict[str, Any]) -> Bench:
        document = Document(self.file, data, {})
        return self.workshop.set_up(ReadJob(document, validate(Job, document), self.workshop.library))


def job_data(
    questions: Sequence[Question], answers: Answers, family: str, *, whole: bool = False, for_subject: bool = False
) -> dict[str, Any]:
    """A job as a file would be read, from the answers to the questions that matter.

    Args:
        questions: those that matter.
        answers: what was said.
        family: the carburetor family.
        whole: items that nobody was asked about are written down as not looked at.
        for_subject: without readings, which bring items of their own.
    """
    data: dict[str, Any] = {"carburetor": family}
    for question in questions:
        answer = answers.get(question.name)
        if not question.path or (question.path[:2] == MEASURED and for_subject):
            continue
        if answer is not None:
            _put(data, question, question.value(answer))
        elif question.item is not None and (whole or question.name in answers):
            _put(data, question, NOT_LOOKED_AT)
    return data


def _put(data: dict[str, Any], question: Question, value: object) -> None:
    path = question.path
    if path[:2] == MEASURED:
        data.setdefault("metering", {}).setdefault("measured", []).append({"state": path[2], "lambda": value})
        return
    inside: Any = data
    for name in path[:-1]:
        inside = inside.setdefault(name, {})
    inside[path[-1]] = {"is": value} if question.item is not None else value


def left(questions: Sequence[Question], answers: Answers, stage: str) -> list[Question]:
    """Open questions of one stage."""
    return [question for question in unanswered(questions, answers) if question.stage == stage]


def by_name(questions: Sequence[Question]) -> Mapping[str, Question]:
    """Questions by their names."""
    return {question.name: question for question in questions}
