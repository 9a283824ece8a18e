"""In which order a clause is shortened, what is told while pins to release are sought, and what holds by default."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pytest

from boostcarb.planning.explain import shrink
from boostcarb.planning.problem import FREE, Choice, Cost, Failure, Item, Pin, Problem, Step
from boostcarb.planning.search import Impossible, Plan, cheapest
from boostcarb.planning.selection import Selection


def test_shrink_drops_whole_items_before_single_options() -> None:
    """Either a=z cures, or a=y together with b=new. Dropping b comes before taking in a=y alone."""
    options = {"a": ["x", "y", "z"], "b": ["old", "new"]}

    def fails(assignment: Mapping[str, str]) -> bool:
        return assignment["a"] != "z" and (assignment["a"], assignment["b"]) != ("y", "new")

    assert shrink({"a": "x", "b": "old"}, "ab", fails, options) == {Choice("a", "y"), Choice("a", "z")}


class OneCure:
    """Fails until the item is changed."""

    def failures(self, assignment: Mapping[str, str]) -> Sequence[Failure]:
        return [] if assignment["a"] == "new" else [Failure(frozenset({Choice("a", "new")}), "the rule")]


def test_progress_goes_on_while_pins_to_release_are_sought() -> None:
    item = Item("a", "old", {"old": FREE, "new": Cost(minutes=1)})
    told: list[tuple[int, int, int]] = []

    def progress(*, rounds: int, clauses: int, failures: int) -> None:
        told.append((rounds, clauses, failures))

    pinned = Problem([item], pins=[Pin("a", frozenset({"old"}), "keep a")])
    outcome = cheapest(pinned, OneCure(), progress=progress)
    assert isinstance(outcome, Impossible)
    assert [pin.label for pin in outcome.release] == ["keep a"]
    # The second search counts its own rounds, and starts from the clause that the first one learned.
    assert told == [(1, 0, 1), (1, 1, 0)]


def test_two_further_plans_are_looked_for_unless_more_are_asked_for() -> None:
    """Regression value: the command line says nothing of how many, so the default decides."""
    items = [Item(name, "old", {"old": FREE, "new": Cost(minutes=1)}) for name in "abcd"]

    class AnyCure:
        def failures(self, assignment: Mapping[str, str]) -> Sequence[Failure]:
            cures = frozenset(Choice(name, "new") for name in "abcd")
            return [] if "new" in assignment.values() else [Failure(cures, "the rule")]

    found = cheapest(Problem(items), AnyCure())
    more = cheapest(Problem(items), AnyCure(), alternatives=3)
    assert isinstance(found, Plan)
    assert isinstance(more, Plan)
    assert (len(found.alternatives), len(more.alternatives)) == (2, 3)


@pytest.mark.parametrize("name", ["irreversible", "minutes", "parts"])
def test_no_part_of_a_cost_is_negative(name: str) -> None:
    with pytest.raises(ValueError, match="cannot be negative"):
        Cost(**{name: -1})


def test_step_without_a_cost_is_free() -> None:
    item = Item("a", "old", {"old": FREE, "new": Cost(minutes=1)}, {"new": frozenset({"look"})})
    plan = cheapest(Problem([item], [Step("look")]), OneCure())
    assert isinstance(plan, Plan)
    assert (plan.steps, plan.cost) == (("look",), Cost(minutes=1))


def test_plain_search_keeps_to_the_pins() -> None:
    item = Item("a", "old", {"old": FREE, "new": Cost(minutes=1)})
    selection = Selection(Problem([item], pins=[Pin("a", frozenset({"old"}), "keep a")]))
    selection.add([Choice("a", "new")])
    assert selection.solve() is None
