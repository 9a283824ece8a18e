"""Plans small enough to check by hand, and everything that must be refused."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from itertools import count

import pytest

from boostcarb.errors import BudgetSpent
from boostcarb.planning.explain import NeedlessChangeError, conflict, needed_because, shrink
from boostcarb.planning.problem import (
    FREE,
    Choice,
    Cost,
    Excluded,
    Failure,
    Item,
    Pin,
    PlanningError,
    Problem,
    Step,
)
from boostcarb.planning.search import Impossible, Plan, WrongClauseError, cheapest
from boostcarb.planning.selection import Scale


def clause(*choices: str) -> frozenset[Choice]:
    return frozenset(Choice(*choice.split("=")) for choice in choices)


class Clauses:
    """An oracle that knows its clauses, and shows a limited number of failures at a time."""

    def __init__(self, *clauses: frozenset[Choice], at_a_time: int = 100) -> None:
        self.clauses = clauses
        self.at_a_time = at_a_time

    def failures(self, assignment: Mapping[str, str]) -> Sequence[Failure]:
        failing = [c for c in self.clauses if not any(assignment[i] == o for i, o in c)]
        return [Failure(c, f"rule {self.clauses.index(c)}") for c in failing][: self.at_a_time]


def two_way(name: str, cost: Cost, *steps: str) -> Item:
    return Item(name, "old", {"old": FREE, "new": cost}, {"new": frozenset(steps)} if steps else {})


def minutes(name: str, number: int, *steps: str) -> Item:
    return two_way(name, Cost(minutes=number), *steps)


def planned(problem: Problem, *clauses: frozenset[Choice], alternatives: int = 2) -> Plan:
    outcome = cheapest(problem, Clauses(*clauses), alternatives=alternatives)
    assert isinstance(outcome, Plan)
    return outcome


def names(changes: Sequence[Choice]) -> str:
    return " ".join(f"{choice.item}={choice.option}" for choice in changes)


def test_clause_speaks_of_what_an_option_brings_in() -> None:
    """Behind the door `a` lies `b`: the failure persists with the door open, unless `b` is changed as well."""
    options = {"a": ["shut", "open"], "b": ["wrong", "right"]}
    start = {"a": "shut", "b": "wrong"}

    def fails(assignment: Mapping[str, str]) -> bool:
        return not (assignment["a"] == "open" and assignment["b"] == "right")

    def depends(assignment: Mapping[str, str]) -> list[str]:
        return ["a", "b"] if assignment["a"] == "open" else ["a"]

    assert shrink(start, ["a"], fails, options, depends=depends) == clause("b=right")
    assert shrink(start, ["a"], fails, options, limit=1, depends=depends) == clause("a=open")


def test_nothing_wrong_needs_nothing_and_has_no_alternatives() -> None:
    plan = planned(Problem([minutes("a", 5)]))
    assert (plan.changes, plan.cost, plan.alternatives) == ((), FREE, ())
    assert (plan.proof.rounds, plan.proof.clauses) == (1, 0)


@pytest.mark.parametrize("items", [[], [Item("only", "one", {"one": FREE})]])
def test_nothing_to_choose(items: list[Item]) -> None:
    assert planned(Problem(items)).changes == ()
    outcome = cheapest(Problem(items), Clauses(frozenset()))
    assert outcome == Impossible((Failure(frozenset(), "rule 0"),), (), (), (), None)


def test_one_change_that_cures_two_failures_beats_two_cheaper_ones() -> None:
    problem = Problem([minutes("a", 5), minutes("b", 5), minutes("both", 9)])
    plan = planned(problem, clause("a=new", "both=new"), clause("b=new", "both=new"))
    assert names(plan.changes) == "both=new"
    assert [names(other.changes) for other in plan.alternatives] == ["a=new b=new"]


def test_irreversible_work_is_the_last_resort_and_parts_break_ties_of_time() -> None:
    problem = Problem(
        [
            two_way("drill", Cost(irreversible=1)),
            two_way("slow", Cost(minutes=10**9, parts=1)),
            two_way("slow_dear", Cost(minutes=10**9, parts=10**9)),
        ]
    )
    plan = planned(problem, clause("drill=new", "slow=new", "slow_dear=new"))
    assert names(plan.changes) == "slow=new"
    assert [names(other.changes) for other in plan.alternatives] == ["slow_dear=new", "drill=new"]


def test_scale_is_exact_where_the_small_numbers_add_up_to_more_than_a_large_one() -> None:
    items = [two_way(f"i{n}", Cost(n % 2, 7 * n, 11 * n)) for n in range(1, 30)]
    problem = Problem(items, [Step("s", Cost(0, 900, 900))])
    scale = Scale.of(problem)
    most = Cost(0, sum(7 * n for n in range(1, 30)) + 900, sum(11 * n for n in range(1, 30)) + 900)
    assert scale.weight(most, changes=29) < scale.weight(Cost(1, 0, 0))
    assert scale.weight(Cost(0, 0, most.parts), changes=29) < scale.weight(Cost(0, 1, 0))
    assert scale.cost(scale.weight(most, changes=29)) == most


def test_fewer_changes_win_among_equal_costs_then_the_first_by_name() -> None:
    problem = Problem([minutes("a", 2), minutes("b", 2), minutes("y", 1), minutes("z", 1)])
    plan = planned(problem, clause("a=new", "b=new", "y=new"), clause("a=new", "b=new", "z=new"))
    assert names(plan.changes) == "b=new"
    assert [names(other.changes) for other in plan.alternatives] == ["a=new", "y=new z=new"]


def test_shared_work_is_counted_once_with_what_comes_before_it() -> None:
    steps = [
        Step("lid off", Cost(minutes=30)),
        Step("bowl off", Cost(minutes=20), after=frozenset({"lid off"})),
    ]
    problem = Problem([minutes("a", 1, "bowl off"), minutes("b", 1, "bowl off"), minutes("alone", 45)], steps)
    once = planned(problem, clause("a=new", "alone=new"))
    assert names(once.changes) == "alone=new"
    shared = planned(problem, clause("a=new", "alone=new"), clause("b=new"))
    assert names(shared.changes) == "a=new b=new"
    assert shared.steps == ("bowl off", "lid off")
    assert shared.cost == Cost(minutes=52)


def test_exclusion_forces_the_dearer_way_and_is_named_as_the_reason() -> None:
    items = [minutes("a", 1), Item("b", "old", {"old": FREE, "x": Cost(minutes=2), "y": Cost(minutes=3)})]
    wanted = [clause("a=new"), clause("b=x", "b=y")]
    assert names(planned(Problem(items), *wanted).changes) == "a=new b=x"
    problem = Problem(items, exclusions=[clause("a=new", "b=x")])
    assert names(planned(problem, *wanted).changes) == "a=new b=y"


def test_reason_of_a_change_that_only_an_exclusion_or_a_pin_forces() -> None:
    together = clause("a=new", "b=old")
    pin = Pin("c", frozenset({"new"}), "I have that part")
    problem = Problem([minutes(name, 1) for name in "abc"], exclusions=[together], pins=[pin])
    oracle = Clauses(clause("a=new"))
    plan = planned(problem, clause("a=new"))
    needed = needed_because(problem, plan.assignment, oracle)
    reasons = {change.item: [failure.reason for failure in back] for change, back in needed.items()}
    assert reasons == {"a": ["rule 0"], "b": [Excluded(together)], "c": [pin]}
    assert needed[Choice("b", "new")][0].clause == clause("a=old", "b=new")


def test_plan_with_a_change_nothing_needs_is_refused() -> None:
    problem = Problem([minutes("a", 1), minutes("b", 1)])
    with pytest.raises(NeedlessChangeError, match="nothing fails without b=new") as raised:
        needed_because(problem, {"a": "new", "b": "new"}, Clauses(clause("a=new")))
    assert raised.value.change == Choice("b", "new")


def test_pins_that_forbid_a_cure_are_named_and_the_cheapest_of_them_released() -> None:
    pins = [
        Pin("a", frozenset({"old"}), "keep a"),
        Pin("b", frozenset({"old"}), "keep b"),
        Pin("c", frozenset({"old"}), "keep c"),
    ]
    problem = Problem([minutes("a", 9), minutes("b", 5), minutes("c", 1)], pins=pins)
    outcome = cheapest(problem, Clauses(clause("a=new", "b=new")))
    assert isinstance(outcome, Impossible)
    assert [failure.reason for failure in outcome.core] == ["rule 0"]
    assert [pin.label for pin in outcome.pins] == ["keep a", "keep b"]
    assert [pin.label for pin in outcome.release] == ["keep b"]
    assert outcome.relaxed_plan is not None
    assert names(outcome.relaxed_plan.changes) == "b=new"


def test_fewest_pins_are_released_even_if_that_costs_more() -> None:
    pins = [Pin(name, frozenset({"old"}), f"keep {name}") for name in "abc"]
    problem = Problem([minutes("a", 1), minutes("b", 1), two_way("c", Cost(5, 500, 5))], pins=pins)
    outcome = cheapest(problem, Clauses(clause("a=new", "c=new"), clause("b=new", "c=new")))
    assert isinstance(outcome, Impossible)
    assert [pin.label for pin in outcome.release] == ["keep c"]


def test_core_leaves_pins_out_when_releasing_them_is_no_help() -> None:
    items = [minutes("a", 1), minutes("b", 1)]
    problem = Problem(items, pins=[Pin("a", frozenset({"old"}), "keep a")])
    outcome = cheapest(problem, Clauses(clause("a=new"), clause("b=new"), clause("b=old"), at_a_time=1))
    assert isinstance(outcome, Impossible)
    assert [failure.reason for failure in outcome.core] == ["rule 1", "rule 2"]
    assert (outcome.pins, outcome.release, outcome.relaxed_plan) == ((), (), None)


def test_no_core_where_there_is_a_plan() -> None:
    with pytest.raises(PlanningError, match="leaves one"):
        conflict(Problem([minutes("a", 1)]), [Failure(clause("a=new"), "fine")])


class Says:
    """An oracle that always answers the same."""

    def __init__(self, *clauses: frozenset[Choice]) -> None:
        self.clauses = clauses

    def failures(self, assignment: Mapping[str, str]) -> Sequence[Failure]:
        return [Failure(c, "the rule") for c in self.clauses]


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        (clause("a=old", "b=new"), "already has a=old"),
        (clause("nobody=new"), "no such item: nobody"),
        (clause("a=newer"), "no such option of a: newer"),
    ],
)
def test_wrong_clause_is_refused(wrong: frozenset[Choice], why: str) -> None:
    problem = Problem([minutes("a", 1), minutes("b", 1)])
    with pytest.raises(WrongClauseError, match=why) as raised:
        cheapest(problem, Says(wrong))
    assert raised.value.failure == Failure(wrong, "the rule")


def test_oracle_that_repeats_itself_is_stopped_in_the_second_round() -> None:
    with pytest.raises(WrongClauseError, match="already has a=new"):
        cheapest(Problem([minutes("a", 1)]), Says(clause("a=new")))


def chain_of(number: int) -> tuple[Problem, Clauses]:
    problem = Problem([minutes(f"i{n}", n + 1) for n in range(number)])
    return problem, Clauses(*(clause(f"i{n}=new") for n in range(number)), at_a_time=1)


def test_budget_counts_judgements() -> None:
    problem, oracle = chain_of(4)
    plan = cheapest(problem, oracle, max_rounds=5)
    assert isinstance(plan, Plan)
    assert plan.proof.rounds == 5
    with pytest.raises(BudgetSpent, match="cheapest plan: no answer within 4 rounds"):
        cheapest(problem, oracle, max_rounds=4)


def test_budget_spent_on_alternatives_still_gives_the_proved_plan() -> None:
    problem = Problem([minutes("a", 1), minutes("b", 2), minutes("c", 3)])
    oracle = Clauses(clause("a=new", "b=new", "c=new"))
    plan = cheapest(problem, oracle, max_rounds=3)
    assert isinstance(plan, Plan)
    assert [names(other.changes) for other in plan.alternatives] == ["b=new"]
    assert not plan.alternatives_complete
    assert planned(problem, *oracle.clauses).alternatives_complete


def test_progress_is_told_after_each_round() -> None:
    problem, oracle = chain_of(2)
    told: list[tuple[int, int, int]] = []

    def progress(*, rounds: int, clauses: int, failures: int) -> None:
        told.append((rounds, clauses, failures))

    cheapest(problem, oracle, alternatives=0, progress=progress)
    assert told == [(1, 0, 1), (2, 1, 1), (3, 2, 0)]


def test_alternative_may_take_another_option_of_a_changed_item() -> None:
    item = Item("a", "old", {"old": FREE, "x": Cost(minutes=1), "y": Cost(minutes=2), "z": Cost(minutes=3)})
    plan = planned(Problem([item]), clause("a=x", "a=y", "a=z"), alternatives=9)
    assert names(plan.changes) == "a=x"
    assert [names(other.changes) for other in plan.alternatives] == ["a=y", "a=z"]
    assert plan.alternatives_complete


OPTIONS = {name: ["old", "new"] for name in "abcd"}
AS_IS = dict.fromkeys("abcd", "old")


def test_shrink_drops_what_cannot_cure_alone_or_together() -> None:
    def fails(assignment: Mapping[str, str]) -> bool:
        return assignment["c"] == "old" or assignment["a"] == assignment["b"] == "new"

    assert shrink(AS_IS, "abcd", fails, OPTIONS) == clause("c=new")


def test_shrink_keeps_both_of_two_that_cure_only_together_unless_one_says_enough() -> None:
    def fails(assignment: Mapping[str, str]) -> bool:
        return "old" in (assignment["a"], assignment["b"])

    assert shrink(AS_IS, "ab", fails, OPTIONS) == clause("b=new")
    assert shrink(AS_IS, "ba", fails, OPTIONS) == clause("a=new")


def test_shrink_leaves_out_single_options() -> None:
    options = {"a": ["x", "y", "z"]}
    assert shrink({"a": "x"}, "a", lambda assignment: assignment["a"] != "z", options) == clause("a=z")


def test_shrink_says_when_nothing_can_cure() -> None:
    assert shrink(AS_IS, "abc", lambda assignment: True, OPTIONS) == frozenset()


def test_shrink_tries_nothing_twice_and_keeps_to_its_limit() -> None:
    seen = []

    def fails(assignment: Mapping[str, str]) -> bool:
        seen.append(tuple(assignment.values()))
        return True

    assert shrink(AS_IS, "abcd", fails, OPTIONS, limit=4) == clause("c=new", "d=new")
    assert len(seen) == len(set(seen)) == 4
    seen.clear()
    assert shrink(AS_IS, "abcd", fails, OPTIONS, limit=1) == clause("a=new", "b=new", "c=new", "d=new")
    assert len(seen) == 1


def test_shrink_refuses_what_does_not_fail_or_is_not_on_offer() -> None:
    with pytest.raises(ValueError, match="does not fail"):
        shrink(AS_IS, "ab", lambda assignment: False, OPTIONS)
    with pytest.raises(ValueError, match="a: 'older' is not among its options"):
        shrink({"a": "older"}, "a", lambda assignment: True, OPTIONS)


A = Item("a", "old", {"old": FREE, "new": Cost(minutes=1)})
WRONG: list[tuple[Callable[[], object], str]] = [
    (lambda: Cost(minutes=-1), "cannot be negative"),
    (lambda: Item("a", "gone", {"old": FREE}), "'gone' is not among"),
    (lambda: Item("a", "old", {"old": Cost(minutes=1)}), "cannot cost"),
    (lambda: Item("a", "old", {"old": FREE, "new": FREE}), "'new' must cost something"),
    (lambda: Item("a", "old", {"old": FREE}, {"new": frozenset()}), "not one of its options"),
    (lambda: Item("a", "old", {"old": FREE}, {"old": frozenset({"s"})}), "cannot require work"),
    (lambda: Problem([A, A]), "item given twice: a"),
    (lambda: Problem([A], [Step("s"), Step("s")]), "step given twice: s"),
    (lambda: Problem([minutes("b", 1, "s")]), "b=new: no such step: s"),
    (lambda: Problem([A], [Step("s", after=frozenset({"t"}))]), "s: no such step: t"),
    (lambda: Problem([A], [Step("s", after=frozenset({"s"}))]), "wait for each other: s -> s"),
    (lambda: Problem([A], exclusions=[frozenset()]), "forbids everything"),
    (lambda: Problem([A], exclusions=[clause("b=new")]), "exclusion: no such item: b"),
    (lambda: Problem([A], exclusions=[clause("a=newer")]), "no such option of a: newer"),
    (lambda: Problem([A], pins=[Pin("a", frozenset(), "none")]), "'none' allows nothing"),
    (lambda: Problem([A], pins=[Pin("b", frozenset({"old"}), "keep b")]), "'keep b': no such item: b"),
    (lambda: Problem([A], pins=[Pin("a", frozenset({"x"}), "x")]), "no such option of a: x"),
]


@pytest.mark.parametrize(("build", "message"), WRONG, ids=list(map(str, range(len(WRONG)))))
def test_problem_that_makes_no_sense_is_refused(build: Callable[[], object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        build()


def test_solver_is_loaded_only_by_a_search() -> None:
    code = "import sys, boostcarb.planning.search; sys.exit('pysat' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_many_unrelated_problems_do_not_add_up() -> None:
    numbers = count()
    items = [Item(f"i{n:02}", "old", {"old": FREE, "new": Cost(minutes=next(numbers) + 1)}) for n in range(40)]
    oracle = Clauses(*(clause(f"i{n:02}=new", f"i{n + 1:02}=new") for n in range(0, 40, 2)), at_a_time=3)
    plan = cheapest(Problem(items), oracle, alternatives=0)
    assert isinstance(plan, Plan)
    assert len(plan.changes) == 20
    assert plan.cost == Cost(minutes=sum(range(1, 40, 2)))
