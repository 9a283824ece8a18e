"""Bench tests as plain data for JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from boostcarb.checks.model import (
    AIR_MOST_PA,
    HAND_VACUUM_PA,
    HOLD_S,
    LOSS_PA,
    UNIT_PA,
    BenchAnswer,
    BenchChecks,
    Check,
    Hole,
    Mistake,
    Outcome,
)
from boostcarb.report.checks_text import SAFETY
from boostcarb.report.records import job_record, schema_name

Record = dict[str, Any]


def checks_record(checks: BenchChecks) -> Record:
    """The answer of `bench`."""
    answer = checks.answer
    castings = checks.bench.network.castings
    return {
        "schema": schema_name("bench"),
        "job": job_record(checks.bench),
        "as_planned": checks.as_planned,
        "has_plan": checks.has_plan,
        "safety": list(SAFETY),
        "limits": {
            "air_most_pa_gauge": AIR_MOST_PA,
            "whole_inside_pa_gauge": UNIT_PA,
            "hand_vacuum_pa": HAND_VACUUM_PA,
            "loss_pa": LOSS_PA,
            "hold_s": HOLD_S,
        },
        "minutes": answer.minutes,
        "mistakes_tried": answer.mistakes,
        "tests_compared": answer.tried,
        "stages": [asdict(stage) for stage in answer.stages.values()],
        "tests": [_check(each, answer, castings) for each in answer.checks],
        "not_shown": [
            {**_mistake(each.mistake), "look": each.look, "changes_a_passage": each.passage} for each in answer.unseen
        ],
        "spray": [
            {"stage": route.stage, "at": _hole(answer.holes[route.hole], castings), "changed": route.changed}
            | {
                label: None if exits is None else [_hole(answer.holes[name], castings) for name in exits]
                for label, exits in (("as_found", route.before), ("tested", route.after))
            }
            for route in answer.routes
        ],
    }


def _check(check: Check, answer: BenchAnswer, castings: Mapping[str, str]) -> Record:
    test = check.test
    return {
        "stage": test.stage,
        "kind": test.kind.value,
        "at": [_hole(answer.holes[name], castings) for name in test.at],
        "hold_shut": [_hole(answer.holes[name], castings) for name in test.blocked],
        "minutes": check.minutes,
        "must": _outcome(check.sound, answer, castings),
        "otherwise": [
            {
                "shows": _outcome(each.outcome, answer, castings),
                "one_of": [_mistake(mistake) for mistake in each.mistakes],
            }
            for each in check.deviations
        ],
        "shows_first": [mistake.name for mistake in check.first_for],
    }


def _outcome(outcome: Outcome, answer: BenchAnswer, castings: Mapping[str, str]) -> Record:
    return {
        "comes_out_at": [_hole(answer.holes[name], castings) for name in outcome.exits],
        "holds": outcome.holds,
        "moves": list(outcome.moves),
    }


def _hole(hole: Hole, castings: Mapping[str, str]) -> Record:
    return {"hole": hole.name, "title": hole.title, "casting": castings.get(hole.casting, hole.casting)}


def _mistake(mistake: Mistake) -> Record:
    return {"mistake": mistake.name, "title": mistake.title, "not_made": mistake.not_made}
