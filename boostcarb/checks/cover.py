"""The cheapest set of tests that shows every mistake any of them shows: exact."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from boostcarb.checks.model import Candidate, Mistake, Test
from boostcarb.planning.problem import Choice, Cost, Item, PlanningError, Problem, Step
from boostcarb.planning.selection import Selection

DO, SKIP = "do", "skip"


def undominated(tests: Iterable[Candidate], order: Sequence[str], extra: Mapping[str, int]) -> tuple[Candidate, ...]:
    """Tests of which no other shows as much, at no higher cost and with no more taken apart. Order of input: no matter.

    `order` and `extra` as of `cheapest_cover`. Of equals the one that comes earliest in assembly is kept.
    """
    place = {stage: index for index, stage in enumerate(order)}
    depth = {stage: sum(extra[other] for other in order[: index + 1]) for stage, index in place.items()}

    def best_first(each: Candidate) -> tuple[int, int, int, int, int, Test]:
        stage = each.test.stage
        return -len(each.shown), each.minutes, depth[stage], -place[stage], len(each.test.blocked), each.test

    numbers: dict[Mistake, int] = {}
    kept: list[tuple[int, Candidate]] = []
    for each in sorted(tests, key=best_first):
        mask = 0
        for mistake in each.shown:
            mask |= 1 << numbers.setdefault(mistake, len(numbers))
        if not any(
            mask & ~other == 0 and better.minutes <= each.minutes and depth[better.test.stage] <= depth[each.test.stage]
            for other, better in kept
        ):
            kept.append((mask, each))
    return tuple(each for _, each in kept)


def cheapest_cover(tests: Sequence[Candidate], order: Sequence[str], extra: Mapping[str, int]) -> tuple[Candidate, ...]:
    """The cheapest tests that together show all that any of them shows, in minutes with the strip-down they take.

    `order` has the stages as the carburetor comes apart; reaching one takes all before it, and `extra` is what each
    takes in minutes. Of equally cheap sets the one with the fewest tests, then the one that tests earliest in assembly.
    """
    place = {stage: index for index, stage in enumerate(order)}
    ranked = sorted(tests, key=lambda each: (place[each.test.stage], each.test))
    names = {f"{index:05d}": each for index, each in enumerate(ranked)}
    steps = [
        Step(stage, Cost(minutes=extra[stage]), frozenset(order[index - 1 : index]) if index else frozenset())
        for index, stage in enumerate(order)
    ]
    items = [
        Item(name, SKIP, {SKIP: Cost(), DO: Cost(minutes=each.minutes)}, {DO: frozenset({each.test.stage})})
        for name, each in names.items()
    ]
    selection = Selection(Problem(items, steps))
    for names_of_one in _needed(names):
        selection.add([Choice(name, DO) for name in sorted(names_of_one)])
    selected = selection.solve()
    if selected is None:
        raise PlanningError("no tests show what they show")
    return tuple(each for name, each in names.items() if selected.assignment[name] == DO)


def _needed(names: Mapping[str, Candidate]) -> list[frozenset[str]]:
    """For each mistake the tests that show it; one that another asks for anyway is left out."""
    by_mistake: dict[Mistake, set[str]] = {}
    for name, test in names.items():
        for mistake in test.shown:
            by_mistake.setdefault(mistake, set()).add(name)
    distinct = sorted({frozenset(each) for each in by_mistake.values()}, key=lambda each: (len(each), sorted(each)))
    kept: list[frozenset[str]] = []
    for each in distinct:
        if not any(other <= each for other in kept):
            kept.append(each)
    return kept
