"""Sheets to test on, each made once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from chosen_jobs import FEW, plan_of

from boostcarb import pipeline
from boostcarb.quantities import UnitSystem
from boostcarb.sheet.answers import Answers
from boostcarb.work.order import work_order

SCENARIOS = Path(__file__).parents[2] / "scenarios"
HOSTILE = (
    "<script>alert(1)</script> & \"two' </title></svg>]]> | *b* `c` [x](javascript:1) ![y](http://z.example/p.png) "
    "<img src=x onerror=alert(2)>"
)


@cache
def made(name: str, system: UnitSystem = UnitSystem.METRIC) -> Answers:
    """The answers on a scenario."""
    if system is not UnitSystem.METRIC:
        return replace(made(name), system=system)
    read = pipeline.load(SCENARIOS / f"{name}.yaml")
    plan = plan_of(SCENARIOS / f"{name}.yaml")
    faulted, checks = pipeline.faults_after(plan, read), pipeline.bench_checks_after(plan, read)
    return Answers(plan, faulted, work_order(plan), checks, system)


@cache
def hostile_answers() -> Answers:
    """The street scenario with every title of the job and of its network full of markup."""
    answers = made("street_blow_through")
    bench = answers.planned.bench
    network = bench.network

    def bad(title: str) -> str:
        return f"{title} {HOSTILE}"

    worse = replace(
        network,
        spaces={k: replace(v, title=bad(v.title)) for k, v in network.spaces.items()},
        ways=tuple(replace(way, title=bad(way.title)) for way in network.ways),
        items={
            k: replace(v, title=bad(v.title), forms={f: replace(o, title=bad(o.title)) for f, o in v.forms.items()})
            for k, v in network.items.items()
        },
        castings={k: bad(v) for k, v in network.castings.items()},
        stages={k: replace(v, title=bad(v.title)) for k, v in network.stages.items()},
    )
    job = bench.job.model_copy(update={"job": HOSTILE})
    planned = replace(answers.planned, bench=replace(bench, network=worse, job=job))
    return replace(answers, planned=planned, date=HOSTILE)


@pytest.fixture
def answers_of() -> Callable[..., Answers]:
    """The answers on a scenario by its name."""
    return made


@pytest.fixture
def street() -> Answers:
    """A job with a plan that is clean."""
    return made("street_blow_through")


@pytest.fixture
def hostile() -> Answers:
    """The same with markup in every name."""
    return hostile_answers()


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """`answers` in a test stands for every scenario in turn."""
    if "answers" in metafunc.fixturenames:
        names = sorted({*FEW, "bought_blow_through_with_mistakes", "not_taken_apart_yet"})
        metafunc.parametrize("answers", names, indirect=True, ids=names)


@pytest.fixture
def answers(request: pytest.FixtureRequest) -> Answers:
    """The answers on one scenario after the other."""
    return made(request.param)
