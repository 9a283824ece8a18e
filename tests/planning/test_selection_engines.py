"""Both ways of selecting against trying everything and each other, and how costs and cores must behave."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning_cases import (
    Assignment,
    Case,
    assignments,
    broken_pins,
    changed,
    excluded,
    plain_cost,
    random_case,
    rank,
    ranked,
    seeded,
    shuffled,
)

from boostcarb.planning import selection as selecting
from boostcarb.planning.branching import Branching
from boostcarb.planning.problem import FREE, Choice, Cost, Item, Problem
from boostcarb.planning.search import Impossible, Plan, cheapest
from boostcarb.planning.selection import EXACT, SOLVER, Selected, Selection

seeds = st.integers(min_value=0, max_value=2**32 - 1)
some = settings(max_examples=40, deadline=None)


def random_clauses(seed: int, problem: Problem) -> list[list[Choice]]:
    rng = seeded(seed)
    choices = [Choice(item.name, option) for item in problem.items for option in item.preference]
    return [rng.sample(choices, rng.randint(1, min(4, len(choices)))) for _ in range(rng.randint(1, 6))]


def selected(
    problem: Problem, clauses: list[list[Choice]], *, conflicts: int, release: bool = False
) -> Selected | None:
    """The selection when the search by cores is allowed so many conflicts; with 0 it branches on prices."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(selecting, "CONFLICTS", conflicts)
        selection = Selection(problem, release_pins=release)
        for clause in clauses:
            selection.add(clause)
        return selection.solve()


def by_trying(problem: Problem, clauses: list[list[Choice]], *, release: bool) -> Assignment | None:
    possible = [
        assignment
        for assignment in assignments(problem)
        if all(any(assignment[choice.item] == choice.option for choice in clause) for clause in clauses)
        and not excluded(problem, assignment)
        and (release or not broken_pins(problem, assignment))
    ]
    return min(possible, key=lambda each: (len(broken_pins(problem, each)), *rank(problem, each)), default=None)


@pytest.mark.parametrize("conflicts", [0, 5000])
@pytest.mark.parametrize("release", [False, True])
def test_selection_is_the_one_found_by_trying_everything(conflicts: int, release: bool) -> None:
    for seed in range(60):
        problem = random_case(seeded(seed), pins=3).problem
        clauses = random_clauses(seed, problem)
        best = by_trying(problem, clauses, release=release)
        found = selected(problem, clauses, conflicts=conflicts, release=release)
        assert (found and found.assignment) == best, seed
        if found is not None and best is not None:
            assert (found.cost.irreversible, found.cost.minutes, found.cost.parts) == plain_cost(problem, best), seed
            assert found.released == broken_pins(problem, best), seed


def covering(seed: int, candidates: int, clauses: int, *, dearest: int) -> tuple[Problem, list[list[Choice]]]:
    rng = seeded(seed)
    items = [
        Item(f"i{n:03}", "old", {"old": FREE, "new": Cost(0, rng.randint(1, dearest), 0)}) for n in range(candidates)
    ]
    return Problem(items), [
        [Choice(item.name, "new") for item in rng.sample(items, rng.randint(2, 6))] for _ in range(clauses)
    ]


@pytest.mark.parametrize("dearest", [2, 9, 100])
def test_both_ways_of_selecting_agree_where_there_is_too_much_to_try(dearest: int) -> None:
    for seed in range(4):
        problem, clauses = covering(seed, 40, 50, dearest=dearest)
        branched = selected(problem, clauses, conflicts=0)
        assert branched is not None
        assert branched == selected(problem, clauses, conflicts=10**6), seed


def test_selection_that_cores_give_up_is_branched(monkeypatch: pytest.MonkeyPatch) -> None:
    solved: list[int] = []
    solve = Branching.solve

    def noted(branching: Branching) -> tuple[list[int], int] | None:
        solved.append(1)
        return solve(branching)

    monkeypatch.setattr(Branching, "solve", noted)
    problem, clauses = covering(1, 60, 90, dearest=100)
    few, many = (selected(problem, clauses, conflicts=number) for number in (1, 10**6))
    assert solved == [1]
    assert few == many


def test_weights_too_large_to_add_exactly_are_left_to_cores() -> None:
    big = Cost(0, 10**9, 10**9)
    problem = Problem([Item(name, "old", {"old": FREE, "new": big}) for name in "ab"])
    clause = [Choice("a", "new"), Choice("b", "new")]
    found = selected(problem, [clause], conflicts=0)
    assert found is not None
    assert found.assignment == {"a": "old", "b": "new"}
    with pytest.raises(ValueError, match="too large to be added exactly"):
        Branching([[1]], {1: EXACT}, [[1, -1]], SOLVER)


@some
@given(seeds)
def test_selection_depends_neither_on_the_order_of_clauses_nor_on_those_said_twice(seed: int) -> None:
    rng = seeded(seed)
    problem = random_case(rng).problem
    clauses = random_clauses(seed, problem)
    mixed = [rng.sample(clause, len(clause)) for clause in rng.sample(clauses * 2, 2 * len(clauses))]
    first, second = Selection(problem), Selection(shuffled(problem, rng))
    for clause in clauses:
        first.add(clause)
    for clause in mixed:
        second.add(clause)
    assert first.solve() == second.solve() == first.solve()


@some
@given(seeds)
def test_each_clause_more_costs_the_same_or_more(seed: int) -> None:
    problem = random_case(seeded(seed)).problem
    selection = Selection(problem)
    before = selection.solve()
    for clause in random_clauses(seed, problem):
        selection.add(clause)
        after = selection.solve()
        if after is not None:
            assert before is not None
            assert before.cost <= after.cost
        before = after


@some
@given(seeds)
def test_each_requirement_more_costs_the_same_or_more(seed: int) -> None:
    case = random_case(seeded(seed))
    less = Case(case.problem, case.requirements[:-1])
    whole, part = (cheapest(each.problem, each.oracle, alternatives=0) for each in (case, less))
    if isinstance(whole, Plan):
        assert isinstance(part, Plan)
        assert part.cost <= whole.cost


@some
@given(seeds)
def test_one_option_more_never_costs_more(seed: int) -> None:
    """An option that no requirement speaks of yet may only cure; it is offered at some price to the first item."""
    rng = seeded(seed)
    case = random_case(rng, pins=0)
    item = rng.choice(case.problem.items)
    more = replace(item, options={**item.options, "z": Cost(0, rng.randint(1, 3), 0)})
    others = [other for other in case.problem.items if other is not item]
    requirements = tuple(
        replace(
            each,
            accepted=each.accepted
            | {
                tuple("z" if name == item.name else option for name, option in zip(each.scope, chosen, strict=True))
                for chosen in each.accepted
            },
        )
        for each in case.requirements
    )
    larger = Case(Problem([*others, more], case.problem.steps, case.problem.exclusions), requirements)
    before, after = (cheapest(each.problem, each.oracle, alternatives=0) for each in (case, larger))
    if isinstance(before, Plan):
        assert isinstance(after, Plan)
        assert after.cost <= before.cost


@some
@given(seeds)
def test_without_some_of_its_changes_no_plan_is_acceptable(seed: int) -> None:
    """Not one change alone, as elsewhere, but any of them together: fewer changes never cost more."""
    case = random_case(seeded(seed))
    outcome = cheapest(case.problem, case.oracle, alternatives=0)
    if isinstance(outcome, Plan):
        acceptable = ranked(case)
        for number in range(1, len(outcome.changes) + 1):
            for dropped in combinations(outcome.changes, number):
                back = {choice.item: case.problem.item(choice.item).current for choice in dropped}
                assert {**outcome.assignment, **back} not in acceptable


@pytest.mark.parametrize("wanted", [6])
def test_many_alternatives_never_get_cheaper_and_never_hold_a_plan_before_them(wanted: int) -> None:
    seen = 0
    for seed in range(60):
        case = random_case(seeded(seed))
        outcome = cheapest(case.problem, case.oracle, alternatives=wanted)
        if isinstance(outcome, Impossible):
            continue
        plans = [outcome.assignment, *(other.assignment for other in outcome.alternatives)]
        left = ranked(case)
        for index, plan in enumerate(plans):
            assert plan == left[0], (seed, index)
            changes = changed(case.problem, plan)
            left = [other for other in left if not changes <= changed(case.problem, other)]
            seen += index > 2
        assert len(plans) == wanted + 1 or not left or not changes
    assert seen > 20


def test_no_smaller_set_of_pins_would_do() -> None:
    """Every smaller set of released pins, and every one as large whose plan is cheaper, is tried and leaves none."""
    seen = 0
    for seed in range(150):
        case = random_case(seeded(seed), pins=4)
        outcome = cheapest(case.problem, case.oracle)
        if isinstance(outcome, Plan) or outcome.relaxed_plan is None:
            continue
        seen += 1
        for number in range(len(outcome.release) + 1):
            for released in combinations(case.problem.pins, number):
                kept = [pin for pin in case.problem.pins if pin not in released]
                problem = Problem(case.problem.items, case.problem.steps, case.problem.exclusions, kept)
                plans = ranked(Case(problem, case.requirements))
                if number < len(outcome.release):
                    assert not plans, (seed, released)
                elif plans:
                    assert rank(problem, outcome.relaxed_plan.assignment) <= rank(problem, plans[0]), (seed, released)
    assert seen > 5
