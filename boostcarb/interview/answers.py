"""Answers kept in a draft beside the job file, so that an interview can be left at any time."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import Field, field_validator

from boostcarb.description.family import Strict
from boostcarb.description.saving import save_text
from boostcarb.description.source import Document, read_document, validate
from boostcarb.errors import BadDescription, Problem
from boostcarb.interview.questions import Questions, by_name
from boostcarb.interview.strip_down import FOUND, question_of
from boostcarb.interview.subject import Subject

VERSION = 1
SUFFIX = ".draft"
LONGEST = 200
"""Longest answer, characters."""


class DraftFile(Strict):
    """What a draft file may say."""

    draft: int
    answers: dict[str, str | None] = Field(default={}, description="by question, in the order of answering")

    @field_validator("draft")
    @classmethod
    def _of_this_version(cls, version: int) -> int:
        if version != VERSION:
            raise ValueError(
                f"is a draft of version {version}, and this program reads version {VERSION}; finish it with the "
                "program that wrote it, or start afresh with --fresh"
            )
        return version

    @field_validator("answers")
    @classmethod
    def _short(cls, answers: dict[str, str | None]) -> dict[str, str | None]:
        for name, said in answers.items():
            if said is not None and (len(said) > LONGEST or not said.isprintable() or not said.strip()):
                raise ValueError(f"the answer to {name} must be one line of at most {LONGEST} characters, or null")
        return answers


@dataclass
class Draft:
    """The answers of one interview, and the file that keeps them."""

    path: Path
    answers: dict[str, str | None] = field(default_factory=dict)

    def record(self, name: str, said: str | None) -> None:
        """Keep an answer; on return it is on disk."""
        self.answers[name] = said
        self.save()

    def save(self) -> None:
        """Write the draft in one step. Raises BadDescription where it cannot be written."""
        save_text(self.path, draft_text(self.answers), force=True)

    def remove(self) -> None:
        """The draft has served."""
        self.path.unlink(missing_ok=True)


def draft_path(file: Path) -> Path:
    """Where the draft of a job file is kept."""
    return file.with_name(file.name + SUFFIX)


def draft_text(answers: dict[str, str | None]) -> str:
    """A draft as a file."""
    lines = [
        "# Answers of an interview that is not finished. Go on with: boostcarb new, and the same file name.",
        "# null stands for: don't know.",
        f"draft: {VERSION}",
        "answers:" if answers else "answers: {}",
        *(f"  {name}: {_quoted(said)}" for name, said in answers.items()),
    ]
    return "\n".join(lines) + "\n"


def _quoted(said: str | None) -> str:
    return "null" if said is None else json.dumps(said, ensure_ascii=False)


def resume(path: Path, questions: Questions) -> tuple[Draft, tuple[str, ...]]:
    """Read a draft and check its answers.

    Returns:
        The draft, and the names in it that no question has any more; they stay in the file.

    Raises:
        BadDescription: it cannot be read, is of another version, or an answer is not right; with file and line.
    """
    document = read_document(path)
    answers = dict(validate(DraftFile, document).answers)
    problems = [_located(document, problem) for problem in questions.wrong(answers)]
    problems = problems or list(_wrong_words(document, answers, questions))
    if problems:
        raise BadDescription(problems)
    return Draft(path, answers), tuple(_unknown(answers, questions))


def _located(document: Document, problem: Problem) -> Problem:
    """A problem of the job at the line of the answer that it comes from."""
    name = problem.field or ""
    while name and ("answers", name) not in document.places:
        name = name.rpartition(".")[0]
    place = document.place(("answers", name) if name else ("answers",))
    return Problem(problem.message, place.file, place.line, f"answers.{problem.field}" if problem.field else "answers")


def _wrong_words(document: Document, answers: dict[str, str | None], questions: Questions) -> Iterator[Problem]:
    for name, question in by_name(questions.asked(answers)).items():
        said, words = answers.get(name), [choice.word for choice in question.choices]
        if said is not None and words and said not in words:
            yield _located(document, Problem(f"found {said!r}; write one of: {', '.join(words)}", field=name))


def _unknown(answers: dict[str, str | None], questions: Questions) -> Iterator[str]:
    """Names that are asked neither now nor with other answers, as far as that can be told."""
    asked = by_name(questions.asked(answers))
    subject = questions.subject(answers)
    for name in answers:
        if name not in asked and not _may_be_asked(name, subject):
            yield name


def _may_be_asked(name: str, subject: Subject | None) -> bool:
    if not name.startswith(f"{FOUND}."):
        return name.partition(".")[0] in _SECTIONS
    if subject is None:
        return True
    family, around = subject.bench.family.family, subject.bench.network
    known = {*family.passages, *family.parts, *family.lines, *around.items}
    return any(name == question_of(item) or name.startswith(f"{question_of(item)}.") for item in known)


_SECTIONS = frozenset(
    {"job", "carburetor", "target", "engine", "charge", "fuel", "fuel_detail", "site", "flow", "sizes", "driving",
     "rest", "metering", "supply", "pump", "bowls", "carburetors", "enclosure"}
)  # fmt: skip


def set_aside(path: Path) -> Path:
    """Move a draft out of the way under a name that is free, and say which."""
    number = 1
    while os.path.lexists(aside := path.with_name(f"{path.name}.{number}")):
        number += 1
    try:
        path.rename(aside)
    except OSError as error:
        raise BadDescription(Problem(f"cannot be moved aside: {error.strerror}", path)) from error
    return aside
