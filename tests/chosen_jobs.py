"""Scenarios that stand for all where trying every one would take too long: each family, mode and odd case once.

`tests/answers/test_scenarios.py` plans every one. Whoever needs the plan of a scenario gets it from here: it is made
once in a process.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from boostcarb import pipeline
from boostcarb.answers import Planned

SCENARIOS = Path(__file__).parents[1] / "scenarios"
FEW = (
    "back_to_naturally_aspirated",
    "constant_depression_pair_blow_through",
    "roadster_draw_through",
    "side_draught_in_pressure_box",
    "step_up_pistons_blow_through_e85",
    "street_blow_through",
)
CHOSEN = (
    *FEW,
    "bought_blow_through_with_mistakes",
    "fuel_side_blow_through",
    "not_taken_apart_yet",
    "proposal_dangerous_in_throttled_boost",
    "side_draughts_blow_through_methanol",
    "two_barrel_draw_through",
)
PATHS = sorted(SCENARIOS / f"{name}.yaml" for name in CHOSEN)


@cache
def plan_of(path: Path) -> Planned:
    """The plan of a job file, with its next best ones; nothing of it may be changed."""
    return pipeline.plan(pipeline.set_up(pipeline.load(path)))
