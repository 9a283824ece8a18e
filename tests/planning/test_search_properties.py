"""The search against trying every assignment, and what must hold for any problem."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning_cases import (
    Assignment,
    Case,
    Requirement,
    TableOracle,
    assignments,
    broken_pins,
    excluded,
    next_bests,
    plain_cost,
    random_case,
    ranked,
    seeded,
    shuffled,
)

from boostcarb.planning.explain import needed_because, shrink
from boostcarb.planning.problem import FREE, Choice, Cost, Excluded, Item, Pin, Problem
from boostcarb.planning.search import Alternative, Impossible, Plan, cheapest

seeds = st.integers(min_value=0, max_value=2**32 - 1)
many = settings(max_examples=120, deadline=None)


def cost_of(plan: Plan | Alternative) -> tuple[int, int, int]:
    return (plan.cost.irreversible, plan.cost.minutes, plan.cost.parts)


def found(case: Case, *, wanted: int = 3) -> list[Assignment]:
    outcome = cheapest(case.problem, case.oracle, alternatives=wanted - 1)
    if isinstance(outcome, Impossible):
        return []
    return [dict(outcome.assignment), *(dict(other.assignment) for other in outcome.alternatives)]


@pytest.mark.parametrize("block", range(10))
def test_best_and_next_best_plans_are_those_found_by_trying_everything(block: int) -> None:
    for seed in range(block * 40, block * 40 + 40):
        case = random_case(seeded(seed))
        assert found(case) == next_bests(case, 3), seed


@many
@given(seeds)
def test_plan_carries_its_proof_and_its_true_cost(seed: int) -> None:
    case = random_case(seeded(seed))
    outcome = cheapest(case.problem, case.oracle)
    if isinstance(outcome, Plan):
        assert outcome.proof.lower_bound == outcome.cost
        assert outcome.proof.clauses == len(outcome.learned)
        plans: list[Plan | Alternative] = [outcome, *outcome.alternatives]
        for plan in plans:
            assert cost_of(plan) == plain_cost(case.problem, plan.assignment)


@many
@given(seeds, st.sampled_from([1, 3, 64]))
def test_plan_does_not_depend_on_order_or_on_how_strong_the_clauses_are(seed: int, limit: int) -> None:
    rng = seeded(seed)
    case = random_case(rng)
    other = shuffled(case.problem, rng)
    oracle = TableOracle(other, rng.sample(case.requirements, len(case.requirements)), limit=limit)
    first, second = cheapest(case.problem, case.oracle), cheapest(other, oracle)
    assert type(first) is type(second)
    if isinstance(first, Plan) and isinstance(second, Plan):
        assert (first.assignment, first.changes, first.steps) == (
            second.assignment,
            second.changes,
            second.steps,
        )
        assert first.alternatives == second.alternatives


@many
@given(seeds)
def test_same_problem_in_another_order_is_answered_word_for_word(seed: int) -> None:
    rng = seeded(seed)
    case = random_case(rng, pins=3)
    other = Case(shuffled(case.problem, rng), case.requirements)
    assert cheapest(case.problem, case.oracle) == cheapest(other.problem, other.oracle)


@many
@given(seeds)
def test_same_clauses_are_learned_whatever_the_order_of_the_failures(seed: int) -> None:
    rng = seeded(seed)
    case = random_case(rng)
    other = Case(case.problem, tuple(rng.sample(case.requirements, len(case.requirements))))
    first, second = cheapest(case.problem, case.oracle), cheapest(other.problem, other.oracle)
    if isinstance(first, Plan):
        assert isinstance(second, Plan)
        assert first.proof == second.proof
        assert [failure.clause for failure in first.learned] == [failure.clause for failure in second.learned]
    else:
        assert isinstance(second, Impossible)
        assert [failure.clause for failure in first.core] == [failure.clause for failure in second.core]


@many
@given(seeds)
def test_fewer_options_never_cost_less(seed: int) -> None:
    rng = seeded(seed)
    case = random_case(rng, pins=0)
    full = cheapest(case.problem, case.oracle, alternatives=0)
    item = rng.choice(case.problem.items)
    gone = Choice(item.name, rng.choice(item.preference))
    if gone.option == item.current:
        return
    less = without_option(case, gone)
    reduced = cheapest(less.problem, less.oracle, alternatives=0)
    if isinstance(reduced, Plan):
        assert isinstance(full, Plan)
        assert full.cost <= reduced.cost


def without_option(case: Case, gone: Choice) -> Case:
    items = [
        replace(
            item,
            options={o: c for o, c in item.options.items() if Choice(item.name, o) != gone},
            requires={o: s for o, s in item.requires.items() if Choice(item.name, o) != gone},
        )
        for item in case.problem.items
    ]
    exclusions = [exclusion for exclusion in case.problem.exclusions if gone not in exclusion]
    return Case(Problem(items, case.problem.steps, exclusions), case.requirements)


@many
@given(seeds)
def test_fewer_pins_never_cost_more(seed: int) -> None:
    case = random_case(seeded(seed), pins=3)
    free = Case(replace_pins(case.problem, []), case.requirements)
    pinned = cheapest(case.problem, case.oracle, alternatives=0)
    unpinned = cheapest(free.problem, free.oracle, alternatives=0)
    if isinstance(pinned, Plan):
        assert isinstance(unpinned, Plan)
        assert unpinned.cost <= pinned.cost


def replace_pins(problem: Problem, pins: list[Pin]) -> Problem:
    return Problem(problem.items, problem.steps, problem.exclusions, pins)


@many
@given(seeds)
def test_what_was_planned_needs_no_plan(seed: int) -> None:
    case = random_case(seeded(seed))
    outcome = cheapest(case.problem, case.oracle, alternatives=0)
    if isinstance(outcome, Plan):
        items = [carried_out(item, outcome.assignment[item.name]) for item in case.problem.items]
        done = Problem(items, case.problem.steps, case.problem.exclusions, case.problem.pins)
        again = cheapest(done, TableOracle(done, case.requirements))
        assert isinstance(again, Plan)
        assert (again.changes, again.cost, again.alternatives) == ((), FREE, ())
        assert again.proof.rounds == 1


def carried_out(item: Item, option: str) -> Item:
    options = {other: Cost(minutes=1) if cost == FREE else cost for other, cost in item.options.items()}
    return Item(item.name, option, options | {option: FREE}, {**item.requires, option: frozenset()})


@many
@given(seeds)
def test_every_change_is_needed_and_says_why(seed: int) -> None:
    case = random_case(seeded(seed))
    outcome = cheapest(case.problem, case.oracle)
    if isinstance(outcome, Plan):
        plans: list[Plan | Alternative] = [outcome, *outcome.alternatives]
        for plan in plans:
            needed = needed_because(case.problem, plan.assignment, case.oracle)
            assert tuple(needed) == plan.changes
            for change, failures in needed.items():
                back = {**plan.assignment, change.item: case.problem.item(change.item).current}
                rules = {r.name for r in case.requirements if not r.holds(back)}
                assert {f.reason for f in failures if isinstance(f.reason, str)} == rules
                assert any(isinstance(f.reason, Excluded) for f in failures) == excluded(case.problem, back)
                assert {f.reason for f in failures if isinstance(f.reason, Pin)} == set(broken_pins(case.problem, back))


def meets(assignment: Assignment, core: Impossible, *, without: object = None) -> bool:
    """Whether an assignment meets a core, one member left out."""
    kept = [f for f in core.core if f is not without]
    pins = [pin for pin in core.pins if pin is not without]
    exclusions = [exclusion for exclusion in core.exclusions if exclusion is not without]
    return (
        all(any(assignment[i] == o for i, o in failure.clause) for failure in kept)
        and all(assignment[pin.item] in pin.options for pin in pins)
        and not any(all(assignment[i] == o for i, o in exclusion) for exclusion in exclusions)
    )


@pytest.mark.parametrize("block", range(10))
def test_impossible_is_explained_by_a_minimal_core_and_the_pins_to_release(block: int) -> None:
    seen = 0
    for seed in range(block * 60, block * 60 + 60):
        case = random_case(seeded(seed), pins=4)
        outcome = cheapest(case.problem, case.oracle)
        assert isinstance(outcome, Plan) == bool(ranked(case)), seed
        if isinstance(outcome, Plan):
            continue
        seen += 1
        everything = list(assignments(case.problem))
        assert not any(meets(a, outcome) for a in everything), seed
        for member in chain(outcome.core, outcome.pins, outcome.exclusions):
            assert any(meets(a, outcome, without=member) for a in everything), seed
        check_release(case, outcome)
    assert seen > 5


def check_release(case: Case, outcome: Impossible) -> None:
    relaxed = ranked(case, ignore_pins=True)
    if not relaxed:
        assert (outcome.release, outcome.relaxed_plan, outcome.pins) == ((), None, ())
        return
    assert outcome.relaxed_plan is not None
    assert outcome.relaxed_plan.assignment == relaxed[0]
    assert outcome.relaxed_plan.cost == outcome.relaxed_plan.proof.lower_bound
    assert outcome.release == broken_pins(case.problem, relaxed[0])
    assert outcome.pins
    kept = [pin for pin in case.problem.pins if pin not in outcome.release]
    released = Case(replace_pins(case.problem, kept), case.requirements)
    again = cheapest(released.problem, released.oracle)
    assert isinstance(again, Plan)
    assert again.assignment == outcome.relaxed_plan.assignment


@many
@given(seeds, st.sampled_from([1, 2, 5, 12, 64]), st.floats(0, 1))
def test_shrunk_clause_is_satisfied_by_every_assignment_that_cures_the_failure(
    seed: int, limit: int, share: float
) -> None:
    rng = seeded(seed)
    options = {f"i{n}": ["a", "b", "c"][: rng.randint(1, 3)] for n in range(rng.randint(1, 5))}
    items = [Item(n, "a", {o: Cost(minutes=o != "a") for o in of}) for n, of in options.items()]
    everything = list(assignments(Problem(items)))
    scope = tuple(rng.sample(sorted(options), rng.randint(1, len(options))))
    accepted = frozenset(tuple(a[item] for item in scope) for a in everything if rng.random() < share)
    requirement = Requirement("random", scope, accepted)
    for start in everything:
        if requirement.holds(start):
            continue
        clause = shrink(start, scope, lambda a: not requirement.holds(a), options, limit=limit)
        assert not any(start[i] == o for i, o in clause)
        assert {choice.item for choice in clause} <= set(scope)
        for other in everything:
            if requirement.holds(other):
                assert any(other[i] == o for i, o in clause), (start, other, clause)
