"""Verdicts are kept by the forms of the items that were looked at: a judge with a past judges like one without.

A larger campaign: `VERDICTS=40 .venv/bin/pytest -n 0 tests/rulebook/test_kept_verdicts.py`.
"""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest
from chosen_jobs import SCENARIOS

from boostcarb import pipeline
from boostcarb.network.model import Configuration, Network
from boostcarb.rulebook.judging import Judgement

JOBS = (
    "street_blow_through", "roadster_draw_through", "constant_depression_pair_blow_through",
    "step_up_pistons_blow_through_e85", "side_draught_in_pressure_box",
)  # fmt: skip
TIMES = int(os.environ.get("VERDICTS", "1"))
TRIED = 3


def neighbors(network: Network, rng: random.Random, count: int) -> list[Configuration]:
    """Configurations a few changes from each other, as a search and its clauses try them; some far from all."""
    names, found = sorted(network.items), network.found()
    configurations = [found]
    while len(configurations) <= count:
        far = rng.random() < 0.2
        base = dict(found if far else rng.choice(configurations))
        for name in rng.sample(names, rng.randint(20, 60) if far else rng.randint(1, 4)):
            base[name] = rng.choice(sorted(network.items[name].forms))
        configurations.append(base)
    return configurations[1:]


def plain(judged: tuple[tuple[Judgement, ...], ...]) -> list[list[tuple[object, ...]]]:
    return [[(each.finding, each.cure) for each in found] for found in judged]


@pytest.mark.parametrize("job", JOBS)
def test_a_judge_with_a_past_judges_like_one_without(job: str) -> None:
    path: Path = SCENARIOS / f"{job}.yaml"
    past = pipeline.set_up(pipeline.load(path), latent=True)
    rng = random.Random(job)
    for configuration in neighbors(past.network, rng, TRIED * TIMES):
        fresh = pipeline.set_up(pipeline.load(path), latent=True)
        judged = past.judge.each(configuration)
        assert plain(judged) == plain(fresh.judge.each(configuration))
        for index in range(len(fresh.judge.instances)):
            assert past.judge.fails(index, configuration) == bool(judged[index]), fresh.judge.instances[index].rule.id
