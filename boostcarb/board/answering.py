"""Which question goes to which part of the board."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from boostcarb.board.answer import answer_record
from boostcarb.board.dial import dial_record
from boostcarb.board.lesson.hunt import hunt_record
from boostcarb.board.lesson.questions import lesson_record
from boostcarb.board.question import Question, Record
from boostcarb.board.repair import job_record, repair_record
from boostcarb.board.requests import (
    ForAnswer,
    ForDial,
    ForHunt,
    ForLesson,
    ForScene,
    ForSpray,
    ForTrace,
    Kind,
    read_request,
)
from boostcarb.board.scene import scene_record
from boostcarb.board.signals import spray_record, trace_record
from boostcarb.board.study import Asked, Study


def questions(study: Study) -> dict[str, Question]:
    """All questions by their paths."""

    def asks(kind: type[Kind], work: Callable[[Study, Kind], Record], *, newest_only: bool = False) -> Question:
        return Question(lambda body: partial(work, study, read_request(kind, body)), newest_only)

    return {
        "/scene": asks(ForScene, _scene),
        "/answer": asks(ForAnswer, lambda study, asked: answer_record(study, _asked(asked)), newest_only=True),
        "/dial": asks(ForDial, _dial, newest_only=True),
        "/trace": asks(ForTrace, _trace),
        "/spray": asks(ForSpray, _spray),
        "/repair": asks(ForAnswer, lambda study, asked: repair_record(study, _asked(asked))),
        "/job": asks(ForAnswer, lambda study, asked: job_record(study, _asked(asked))),
        "/lesson": asks(ForLesson, _lesson),
        "/hunt": asks(ForHunt, _hunt),
    }


def opened(study: Study, mode: str) -> Record:
    """What a page needs to show a mode: its scene, and the answer of every base."""
    bases = {base: answer_record(study, Asked(mode, base, {})) for base in study.bases(mode)}
    return {"scene": scene_record(study, mode), "bases": bases}


def _asked(request: ForAnswer) -> Asked:
    return Asked(request.mode, request.base, request.changes)


def _scene(study: Study, request: ForScene) -> Record:
    return opened(study, request.mode)


def _dial(study: Study, request: ForDial) -> Record:
    asked = _asked(request)
    return dial_record(study, asked, boost_pa=request.boost_pa, throttle=request.throttle, rpm=request.rpm)


def _trace(study: Study, request: ForTrace) -> Record:
    return trace_record(study, _asked(request), request.space, request.state)


def _spray(study: Study, request: ForSpray) -> Record:
    return spray_record(study, _asked(request), space=request.space, way=request.way)


def _lesson(study: Study, request: ForLesson) -> Record:
    asked = Asked(request.mode, request.base, {})
    return lesson_record(study, asked, seed=request.seed, count=request.count)


def _hunt(study: Study, request: ForHunt) -> Record:
    return hunt_record(study, Asked(request.mode, request.base, {}), seed=request.seed)
