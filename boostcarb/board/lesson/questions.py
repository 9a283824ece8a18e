"""A lesson: questions of all kinds in turn, generated from what stands on the board."""

from __future__ import annotations

from random import Random

from boostcarb.board.lesson.changing import cures, follows, left_out, mixture
from boostcarb.board.lesson.drafting import Kind, put_together, question_record
from boostcarb.board.lesson.felt import feels, higher, moves, valve_open, valve_states_of
from boostcarb.board.lesson.ground import Ground
from boostcarb.board.lesson.holding import holds, tears
from boostcarb.board.lesson.spraying import sprayed
from boostcarb.board.question import Record
from boostcarb.board.study import Asked, Study

KINDS: dict[str, Kind] = {
    "valve": valve_open,
    "valve_state": valve_states_of,
    "moves": moves,
    "higher": higher,
    "feels": feels,
    "holds": holds,
    "spray": sprayed,
    "mixture": mixture,
    "tear": tears,
    "cure": cures,
    "follows": follows,
    "left_out": left_out,
}


def lesson_record(study: Study, asked: Asked, *, seed: int, count: int) -> Record:
    """Questions with choices, the right one and the reason; the same seed gives the same bytes.

    Fewer than `count` where the carburetor does not give as many. Only what the pressures decide is asked.

    Raises: BadDescription for an unknown mode, base, item or form; NotSolved.
    """
    ground = Ground.of(study, asked)
    rng = Random(f"lesson {seed} {asked.mode} {asked.base}")  # noqa: S311  no secret
    drafts = put_together(KINDS, ground, rng, count)
    questions = [question_record(draft, number, ground, rng) for number, draft in enumerate(drafts, 1)]
    return {"seed": seed, "mode": asked.mode, "base": asked.base, "questions": questions}
