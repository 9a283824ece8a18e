"""What a typed line means as a reply to a question."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from boostcarb.errors import BadDescription, Problem
from boostcarb.interview.answers import LONGEST
from boostcarb.interview.question import Question
from boostcarb.suggest import suggest


class Command(Enum):
    """Words that are no answers."""

    explain = "?"
    back = "back"
    skip = "skip"
    built = "built"
    done = "done"
    leave = "leave"


DONT_KNOW = ("", "don't know", "dont know", "not looked at")
"""Lines that mean: nobody knows."""


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer as the draft keeps it; None is: don't know."""

    said: str | None


def understood(line: str, question: Question) -> Command | Answer:
    """What a line means. A word that the question offers is an answer, even where it is a command elsewhere.

    Raises:
        BadDescription: a word that is no choice, or could be several; a needed value left open.
    """
    text = " ".join(line.split())
    if not text.isprintable() or "\ufffd" in text or len(text) > LONGEST:
        raise wrong(question, f"found a line that is too long or no plain text; write at most {LONGEST} characters")
    offered = words_of_commands(question)
    for command in Command:
        if text.lower() == command.value and command.value not in offered:
            return command
    if text.lower() in DONT_KNOW:
        if question.needed:
            raise wrong(question, f"found nothing; this is needed: {_wanted(question)}, or leave to stop here")
        return Answer(None)
    return Answer(_choice(text, question) if question.choices else text)


def words_of_commands(question: Question) -> list[str]:
    """Words that the question offers as answers and that are commands at other questions."""
    words = {choice.word for choice in question.choices}
    return [command.value for command in Command if command.value in words]


def wrong(question: Question, message: str) -> BadDescription:
    """A reply that cannot be taken."""
    return BadDescription(Problem(message, field=question.name))


def _wanted(question: Question) -> str:
    if question.choices:
        return f"write a number from 1 to {len(question.offered)}, or its word"
    return f"write for example '{question.example}'"


def _choice(text: str, question: Question) -> str:
    words, numbered = [choice.word for choice in question.choices], question.offered
    if text.isdigit() and text.isascii():
        if not 1 <= int(text) <= len(numbered):
            raise wrong(question, f"found {text}; {_wanted(question)}")
        return numbered[int(text) - 1].word
    wanted = text.lower().replace(" ", "_")
    by_key = {word.lower().replace(" ", "_"): word for word in words}
    if wanted in by_key:
        return by_key[wanted]
    near = [word for key, word in by_key.items() if key.startswith(wanted)]
    if len(near) == 1:
        return near[0]
    if near:
        raise wrong(question, f"found {text!r}, which could be {' or '.join(near)}; write more of it")
    raise wrong(question, f"found {text!r}; {suggest(text, words)}")
