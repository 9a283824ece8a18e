"""One question: what is asked, where to look, what can be answered, and where the answer goes in a job."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

Answers = Mapping[str, str | None]
"""What was said, by the name of the question; None is: don't know."""

CAR = "car"
"""Stage of the questions before the strip-down."""

_NUMBER = re.compile(r"[-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?")
_BOOLEANS = {"true": True, "false": False}


@dataclass(frozen=True, slots=True)
class Choice:
    """One word that answers a question, what it means, and how a job file writes it.

    A rare one is taken when its word is typed, but not offered with a number.
    """

    word: str
    title: str
    as_built: bool = False
    written: str = ""
    rare: bool = False

    @property
    def in_file(self) -> str:
        """The word of a job file."""
        return self.written or self.word


@dataclass(frozen=True, slots=True)
class Question:
    """One question.

    Attributes:
        name: what the draft calls it.
        path: where the answer goes in a job; empty where it only steers the interview.
        stage: strip-down stage, or `car`.
        casting: on which casting, in words.
        title: what is asked for.
        look: where to look and what it looks like.
        choices: the words to choose from; none where a value or a text is wanted.
        example: a value as it would be typed.
        needed: whether a job cannot do without.
        otherwise: what is taken where nobody knows.
        is_text: whether the answer is words, even if it looks like a number.
        item: the passage, part or line whose form is asked for.
    """

    name: str
    path: tuple[str, ...]
    stage: str
    title: str
    casting: str = ""
    look: str = ""
    choices: tuple[Choice, ...] = ()
    example: str = ""
    needed: bool = False
    otherwise: str = ""
    is_text: bool = False
    item: str | None = None

    def typed(self, answer: str) -> str:
        """An answer as a job file writes it."""
        return next((choice.in_file for choice in self.choices if choice.word == answer), answer)

    def value(self, answer: str) -> object:
        """An answer as a job file would be read: a number, a yes or no, or a text."""
        text = self.typed(answer)
        if self.is_text:
            return text
        if _NUMBER.fullmatch(text):
            return float(text) if not text.lstrip("+-").isdigit() else int(text)
        return _BOOLEANS.get(text, text)

    @property
    def offered(self) -> tuple[Choice, ...]:
        """The choices that have a number."""
        return tuple(choice for choice in self.choices if not choice.rare)

    @property
    def as_built(self) -> str | None:
        """The word for the form that it had when new."""
        return next((choice.word for choice in self.choices if choice.as_built), None)


def misplaced(questions: Sequence[Question], answers: Answers) -> list[str]:
    """Names of questions with an answer that is none of their choices, such as one for another target."""
    return [
        question.name
        for question in questions
        if question.choices and answers.get(question.name) not in (None, *(choice.word for choice in question.choices))
    ]


def unanswered(questions: Sequence[Question], answers: Answers) -> list[Question]:
    """Questions nobody has answered yet, in order."""
    return [question for question in questions if question.name not in answers]
