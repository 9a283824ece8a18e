"""Interviews held without a terminal: the answers come from a list, or from a function of the question."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from boostcarb import pipeline
from boostcarb.interview.answers import Draft, draft_path, resume
from boostcarb.interview.asking import Ending, Interview
from boostcarb.interview.question import Question
from boostcarb.interview.questions import Questions
from boostcarb.interview.subject import Workshop

TARGETS = ("naturally_aspirated", "blow_through", "draw_through")

CAR = {
    "job": "A small test job",
    "carburetor": "modular_four_barrel",
    "engine.displacement": "302 cu in",
    "engine.idle_speed": "850 rpm",
    "engine.cruise_speed": "2300 rpm",
    "engine.torque_peak_speed": "3600 rpm",
    "engine.redline_speed": "5600 rpm",
    "charge.boost": "8 psi",
    "charge.full_boost_speed": "3000 rpm",
}


@dataclass
class Desk:
    """Lines from a list; what was said is kept."""

    lines: Iterator[str]
    patient: bool = True
    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    read: int = 0

    def say(self, text: str = "", *, first: str = "", rest: str | None = None) -> None:
        self.said.append(first + text)

    def answer(self, prompt: str) -> str:
        try:
            line = next(self.lines)
        except StopIteration:
            raise EOFError from None
        self.read += 1
        return line

    def lines_read(self) -> int:
        return self.read

    @property
    def text(self) -> str:
        return "\n".join(self.said)


@dataclass
class Held:
    """One run of an interview."""

    ending: Ending
    desk: Desk
    file: Path
    questions: Questions
    draft: Draft


@dataclass
class Room:
    """Where interviews are held; questions are worked out once for all of them."""

    folder: Path
    workshop: Workshop

    def questions(self, name: str = "job.yaml") -> Questions:
        return Questions(self.workshop, self.folder / name)

    def hold(self, lines: Iterable[str], name: str = "job.yaml", *, patient: bool = True) -> Held:
        """An interview that starts, or goes on from its draft."""
        questions = self.questions(name)
        path = draft_path(questions.file)
        draft = resume(path, questions)[0] if path.exists() else Draft(path)
        desk = Desk(iter(lines), patient)
        return Held(Interview(questions, draft, desk).run(), desk, questions.file, questions, draft)

    def replying(self, reply: Callable[[Question], str], name: str = "job.yaml") -> tuple[Held, list[Question]]:
        """An interview in which each question is answered by a function."""
        questions = self.questions(name)
        draft, asked = Draft(draft_path(questions.file)), list[Question]()

        def lines() -> Iterator[str]:
            while True:
                question = interview._next(questions.asked(draft.answers))
                assert question is not None
                asked.append(question)
                yield reply(question)

        desk = Desk(lines(), patient=False)
        interview = Interview(questions, draft, desk)
        return Held(interview.run(), desk, questions.file, questions, draft), asked


def as_built(target: str, **said: str) -> Callable[[Question], str]:
    """Replies of a builder who finds everything as built and has measured nothing."""

    def reply(question: Question) -> str:
        if question.name in said:
            return said[question.name]
        if question.name == "target":
            return target
        return CAR.get(question.name, question.as_built or "")

    return reply


def unknown(target: str) -> Callable[[Question], str]:
    """Replies of a builder who knows his car and has not yet looked at anything."""
    return lambda question: target if question.name == "target" else CAR.get(question.name, "")


@pytest.fixture
def room(tmp_path: Path) -> Room:
    """A room with an empty folder."""
    return Room(tmp_path, Workshop(pipeline.library(None), pipeline.set_up))


@pytest.fixture
def car_lines() -> Callable[[str], list[str]]:
    """Lines that answer what is needed of the car and skip the rest of its stage."""

    def lines(target: str) -> list[str]:
        engine = [CAR[name] for name in CAR if name.startswith("engine.")]
        charge = [] if target == "naturally_aspirated" else [CAR["charge.boost"], CAR["charge.full_boost_speed"]]
        return [CAR["job"], CAR["carburetor"], target, *engine, "skip", *charge]

    return lines


@pytest.fixture(params=TARGETS)
def target(request: pytest.FixtureRequest) -> str:
    """Each target mode."""
    return str(request.param)


@pytest.fixture
def replies() -> dict[str, Callable[..., Callable[[Question], str]]]:
    """Builders: `as_built` finds everything so, `unknown` has not looked."""
    return {"as_built": as_built, "unknown": unknown}
