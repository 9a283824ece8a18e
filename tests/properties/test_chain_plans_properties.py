"""Plans of generated carburetors held against every configuration, and against what any plan must do.

That the search is exact on random problems is in `tests/planning/test_search_properties.py`; six cases of the shipped
four-barrel are tried out in `tests/answers/test_plans.py`. Here the clauses come from the rulebook, on carburetors that
nobody looked at when it was written.
"""

from __future__ import annotations

import itertools
import json
import random
from typing import Any

from generated_carburetors import (
    MIXTURE_RULES,
    Made,
    carburetors,
    job_of,
    own_items,
    shipped,
    shuffled,
    tried,
)
from generated_families import PLAIN
from hypothesis import assume, event, given
from hypothesis import strategies as st

from boostcarb import pipeline
from boostcarb.answers import Planned
from boostcarb.bench import Bench
from boostcarb.description.job import State
from boostcarb.network.model import Network
from boostcarb.planning.search import Plan
from boostcarb.rulebook.judging import NO_CHANGE_CURES

MOST = 400
"""Configurations of one carburetor that are all tried."""


def planned(made: Made) -> tuple[Bench, Planned]:
    """The plan of a carburetor, and the carburetor judged by a judge that has not seen the search."""
    return made.bench(), pipeline.plan(made.bench(), alternatives=0)


def blocking(bench: Bench, configuration: dict[str, str]) -> set[tuple[str, str]]:
    """Rules and places that block and that a change can cure."""
    judge = bench.judge
    return {
        (each.finding.rule, each.finding.place)
        for each in judge.judgements(configuration)
        if each.finding.blocks
        and judge.instances[each.instance].rule.requirement.kind not in NO_CHANGE_CURES
    }


def spent(network: Network, configuration: dict[str, str]) -> tuple[int, int, int]:
    """Cost of a configuration, added up anew: each change, and every stage that they need, once."""
    irreversible = minutes = parts = 0
    stages: set[str] = set()
    for name, item in network.items.items():
        labor = item.forms[configuration[name]].labor
        if configuration[name] != item.found and labor is not None:
            irreversible, minutes = irreversible + labor.irreversible, minutes + labor.minutes
            parts += labor.parts
            stages.add(labor.stage)
    while more := {other for stage in stages for other in network.stages[stage].after} - stages:
        stages |= more
    return irreversible, minutes + sum(network.stages[name].minutes for name in stages), parts


def allowed(made: Made, bench: Bench, configuration: dict[str, str]) -> bool:
    """Whether no part is in a form that cannot go with another, as the family file says it."""
    for name, part in (made.family or {}).get("parts", {}).items():
        for other, forms in part["options"][configuration[name]].get("not_with", {}).items():
            if configuration[other] in forms:
                return False
    return True


@tried(12)
@given(carburetors(most_passages=4))
def test_no_configuration_costs_less_than_the_plan(made: Made) -> None:
    """All that the carburetor's own items allow are judged; what stands round it is pinned."""
    bench, answer = planned(made)
    free = [item for item in answer.problem.items if item.name in own_items(made)]
    count = 1
    for item in free:
        count *= len(item.options)
    assume(count <= MOST)
    best: tuple[int, int, int] | None = None
    found = bench.network.found()
    for forms in itertools.product(*(item.options for item in free)):
        trial = {**found, **{item.name: form for item, form in zip(free, forms, strict=True)}}
        cost = spent(bench.network, trial)
        if (best is None or cost < best) and allowed(made, bench, trial) and not blocking(bench, trial):
            best = cost
    event("no plan" if best is None else "a plan")
    assert isinstance(answer.outcome, Plan) == (best is not None)
    if isinstance(answer.outcome, Plan):
        cost = answer.outcome.cost
        assert (cost.irreversible, cost.minutes, cost.parts) == best
        assert spent(bench.network, answer.configuration) == best


def test_a_form_that_cannot_go_with_what_stays_is_changed() -> None:
    """The other part has one form only, so that nothing but this one can give way."""
    insert = {
        "title": "insert", "casting": "body", "stage": "on_engine", "as_built": "wrong",
        "options": {
            "wrong": {"title": "wrong", "not_with": {"main.main_jets": ["full"]}},
            "right": {"title": "right", "work": {"how": "fit it", "minutes": 5}},
        },
    }  # fmt: skip
    made = Made(PLAIN, job_of("naturally_aspirated", pinned={"accept": list(MIXTURE_RULES)}))
    outcome = pipeline.plan(made.with_entry("parts", "main.insert", insert).bench(), alternatives=0).outcome
    assert isinstance(outcome, Plan)
    assert outcome.changes == (("main.insert", "right"),)


anything = st.one_of(carburetors(), carburetors(around=True), shipped())


def with_plan(made: Made) -> tuple[Bench, Planned, Plan]:
    """A carburetor that has a plan."""
    bench, answer = planned(made)
    assume(isinstance(answer.outcome, Plan))
    assert isinstance(answer.outcome, Plan)
    return bench, answer, answer.outcome


@tried(5)
@given(anything)
def test_nothing_blocks_after_a_plan_and_each_change_is_needed(made: Made) -> None:
    bench, answer, plan = with_plan(made)
    event(f"{min(len(plan.changes), 4)} changes")
    assert not blocking(bench, answer.configuration)
    assert set(answer.reasons) == set(plan.changes)
    for change in plan.changes:
        without = {**answer.configuration, change.item: bench.network.items[change.item].found}
        broken = blocking(bench, without)
        assert broken or answer.problem.broken(without), change


@tried(4)
@given(anything)
def test_a_planned_carburetor_needs_no_plan(made: Made) -> None:
    _, answer, plan = with_plan(made)
    read = made.read()
    changes = {change.item: State.model_validate({"is": change.option}) for change in plan.changes}
    again = pipeline.plan(pipeline.set_up(read, pipeline.with_changes(read, changes)), alternatives=0)
    assert isinstance(again.outcome, Plan)
    assert again.outcome.changes == ()
    assert {(each.rule, each.place) for each in again.remaining} == {
        (each.rule, each.place) for each in answer.remaining
    }


@tried(3)
@given(anything)
def test_a_plan_that_is_proposed_passes_its_review(made: Made) -> None:
    """Nothing blocks that a change could cure, nothing is missing, and no change is needless or harmful."""
    _, answer, plan = with_plan(made)
    proposed = {change.item: change.option for change in plan.changes}
    review = pipeline.review(made.with_job(proposed=proposed).read())
    assert not blocking(review.bench, review.bench.network.found())
    assert {(each.rule, each.place) for each in review.findings} == {
        (each.rule, each.place) for each in answer.remaining
    }
    if review.completed is not None:
        assert isinstance(review.completed.outcome, Plan)
        assert review.completed.outcome.changes == ()
    for change in review.proposed:
        assert change.verdict == "needed" or answer.problem.broken(
            {**answer.configuration, change.item: change.before}
        ), (change.item, change.verdict)


def _with_another_option(draw: Any, made: Made) -> Made:
    """The same carburetor where something can be done that could not be done before."""
    assert made.family is not None
    work = {"how": "do it", "minutes": draw(st.integers(1, 30))}
    kind = draw(st.sampled_from(["passages", "parts", "lines"]))
    assume(made.family[kind])
    name = draw(st.sampled_from(sorted(made.family[kind])))
    entry = json.loads(json.dumps(made.family[kind][name]))
    if kind == "passages":
        change = draw(st.sampled_from(["close", "reopen", "drill"]))
        assume(change not in entry)
        entry[change] = work
        return made.with_entry(kind, name, entry)
    forms = entry["options" if kind == "parts" else "taps"]
    form = draw(st.sampled_from(sorted(forms)))
    assume("work" not in forms[form])
    forms[form]["work"] = work
    return made.with_entry(kind, name, entry)


@tried(7)
@given(st.data(), carburetors())
def test_more_that_can_be_done_never_makes_a_plan_dearer(data: st.DataObject, made: Made) -> None:
    more = _with_another_option(data.draw, made)
    few, many = (pipeline.plan(each.bench(), alternatives=0).outcome for each in (made, more))
    if isinstance(few, Plan):
        assert isinstance(many, Plan)
        assert many.cost <= few.cost
        event("cheaper" if many.cost < few.cost else "as dear")
    else:
        event("made possible" if isinstance(many, Plan) else "still no plan")


@tried(4)
@given(anything, st.randoms(use_true_random=False))
def test_a_change_that_is_ruled_out_is_not_made_and_nothing_gets_cheaper(made: Made, rng: random.Random) -> None:
    _, _, plan = with_plan(made)
    assume(plan.changes)
    change = rng.choice(sorted(plan.changes))
    pins = made.job.get("pinned", {})
    avoided = made.with_job(pinned={**pins, "avoid": {change.item: [change.option]}})
    outcome = pipeline.plan(avoided.bench(), alternatives=0).outcome
    if isinstance(outcome, Plan):
        assert outcome.cost >= plan.cost
        assert change not in outcome.changes


@tried(4)
@given(carburetors(), st.randoms(use_true_random=False))
def test_order_of_entries_in_the_files_does_not_matter_for_a_plan(made: Made, rng: random.Random) -> None:
    """Nor for findings, down to their words. Stages and castings stay: theirs is the order of the work."""
    one, two = (pipeline.plan(each.bench()) for each in (made, shuffled(made, rng)))
    assert one.as_found == two.as_found
    assert one.outcome == two.outcome
    assert one.reasons == two.reasons
    assert one.remaining == two.remaining
    assert one.states == two.states
