"""Random small problems, oracles made of tables, and the same answers by trying every assignment."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from random import Random
from typing import Any

from boostcarb.planning.explain import shrink
from boostcarb.planning.problem import FREE, Choice, Cost, Failure, Item, Pin, Problem, Step

Assignment = dict[str, str]


@dataclass(frozen=True)
class Requirement:
    """Holds for the listed combinations of options of its items and for no other."""

    name: str
    scope: tuple[str, ...]
    accepted: frozenset[tuple[str, ...]]

    def holds(self, assignment: Mapping[str, str]) -> bool:
        return tuple(assignment[item] for item in self.scope) in self.accepted


class TableOracle:
    """Judges by requirements. Its clauses are as long as can be, or shrunk."""

    def __init__(self, problem: Problem, requirements: Sequence[Requirement], *, limit: int = 64) -> None:
        self.requirements = tuple(requirements)
        self.options = {item.name: tuple(item.options) for item in problem.items}
        self.limit = limit
        self.asked = 0

    def failures(self, assignment: Mapping[str, str]) -> list[Failure]:
        self.asked += 1
        return [
            Failure(self._clause(requirement, assignment), requirement.name)
            for requirement in self.requirements
            if not requirement.holds(assignment)
        ]

    def accepts(self, assignment: Mapping[str, str]) -> bool:
        return all(requirement.holds(assignment) for requirement in self.requirements)

    def _clause(self, requirement: Requirement, assignment: Mapping[str, str]) -> frozenset[Choice]:
        def fails(other: Mapping[str, str]) -> bool:
            return not requirement.holds(other)

        return shrink(assignment, requirement.scope, fails, self.options, limit=self.limit)


@dataclass(frozen=True)
class Case:
    problem: Problem
    requirements: tuple[Requirement, ...]

    @property
    def oracle(self) -> TableOracle:
        return TableOracle(self.problem, self.requirements)


def seeded(seed: int) -> Random:
    """Repeatable random numbers."""
    return Random(seed)


def random_case(rng: Random, *, pins: int = 1) -> Case:
    """Three to seven items with one to three options, a few shared steps, exclusions, pins, requirements."""
    steps = _random_steps(rng)
    items = [_random_item(rng, f"item{n}", [step.name for step in steps]) for n in range(rng.randint(3, 7))]
    choices = [Choice(item.name, option) for item in items for option in sorted(item.options)]
    exclusions = [frozenset(rng.sample(choices, 2)) for _ in range(rng.randint(0, 2))]
    pinned = [_random_pin(rng, rng.choice(items), n) for n in range(rng.randint(0, pins))]
    requirements = [_random_requirement(rng, items, n) for n in range(rng.randint(1, 5))]
    return Case(Problem(items, steps, exclusions, pinned), tuple(requirements))


def _random_cost(rng: Random) -> Cost:
    # Small numbers, so that ties and carries between the three are frequent.
    return Cost(rng.choice([0, 0, 0, 1]), rng.randint(0, 2), rng.randint(0, 1))


def _random_steps(rng: Random) -> list[Step]:
    names = [f"step{n}" for n in range(rng.randint(0, 4))]
    return [
        Step(name, _random_cost(rng), frozenset(rng.sample(names[:n], rng.randint(0, min(n, 2)))))
        for n, name in enumerate(names)
    ]


def _random_item(rng: Random, name: str, steps: Sequence[str]) -> Item:
    others = ["b", "c"][: rng.choice([0, 1, 1, 1, 2, 2])]
    rng.shuffle(others)
    options = {"a": FREE}
    for option in others:
        cost = _random_cost(rng)
        options[option] = Cost(parts=1) if cost == FREE else cost
    requires = {option: frozenset(rng.sample(list(steps), rng.randint(0, min(2, len(steps))))) for option in others}
    return Item(name, "a", options, requires)


def _random_pin(rng: Random, item: Item, number: int) -> Pin:
    options = sorted(item.options)
    return Pin(item.name, frozenset(rng.sample(options, rng.randint(1, len(options)))), f"pin{number}")


def _random_requirement(rng: Random, items: Sequence[Item], number: int) -> Requirement:
    scope = rng.sample(list(items), rng.randint(1, 3))
    combinations = list(product(*(sorted(item.options) for item in scope)))
    if rng.random() < 0.5:
        changed = rng.randint(1, len(scope))
        accepted = [c for c in combinations if sum(option != "a" for option in c) >= changed]
    else:
        accepted = [c for c in combinations if rng.random() < 0.5]
    if not accepted and rng.random() < 0.8:
        accepted = [rng.choice(combinations)]
    return Requirement(f"rule{number}", tuple(item.name for item in scope), frozenset(accepted))


def assignments(problem: Problem) -> Iterator[Assignment]:
    names = [item.name for item in problem.items]
    for options in product(*(item.options for item in problem.items)):
        yield dict(zip(names, options, strict=True))


def plain_cost(problem: Problem, assignment: Mapping[str, str]) -> tuple[int, int, int]:
    """The cost by adding up, apart from the package's own way."""
    costs = []
    needed: set[str] = set()
    for item in problem.items:
        option = assignment[item.name]
        costs.append(item.options[option])
        needed |= item.requires.get(option, frozenset())
    for _ in problem.steps:
        needed |= {before for step in problem.steps if step.name in needed for before in step.after}
    costs += [step.cost for step in problem.steps if step.name in needed]
    return (sum(c.irreversible for c in costs), sum(c.minutes for c in costs), sum(c.parts for c in costs))


def changed(problem: Problem, assignment: Mapping[str, str]) -> set[tuple[str, str]]:
    return {(i.name, assignment[i.name]) for i in problem.items if assignment[i.name] != i.current}


def rank(problem: Problem, assignment: Mapping[str, str]) -> tuple[object, ...]:
    """What decides between two plans: cost, number of changes, preference item by item."""
    order = [item.preference.index(assignment[item.name]) for item in problem.items]
    return (plain_cost(problem, assignment), len(changed(problem, assignment)), order)


def excluded(problem: Problem, assignment: Mapping[str, str]) -> bool:
    return any(all(assignment[i] == o for i, o in exclusion) for exclusion in problem.exclusions)


def broken_pins(problem: Problem, assignment: Mapping[str, str]) -> tuple[Pin, ...]:
    return tuple(pin for pin in problem.pins if assignment[pin.item] not in pin.options)


def ranked(case: Case, *, ignore_pins: bool = False) -> list[Assignment]:
    """Every acceptable assignment, the best first; with pins ignored, those that break fewest come first."""
    acceptable = [
        assignment
        for assignment in assignments(case.problem)
        if case.oracle.accepts(assignment)
        and not excluded(case.problem, assignment)
        and (ignore_pins or not broken_pins(case.problem, assignment))
    ]

    def key(assignment: Assignment) -> tuple[object, ...]:
        return (len(broken_pins(case.problem, assignment)), *rank(case.problem, assignment))

    return sorted(acceptable, key=key)


def next_bests(case: Case, wanted: int) -> list[Assignment]:
    """The best assignment and then the best ones that leave out a change of each before."""
    found: list[Assignment] = []
    left = ranked(case)
    while left and len(found) < wanted:
        best = left[0]
        found.append(best)
        changes = changed(case.problem, best)
        left = [other for other in left if not changes <= changed(case.problem, other)]
    return found


def shuffled(problem: Problem, rng: Random) -> Problem:
    """The same problem, everything given in another order."""

    def mixed(things: Sequence[Any]) -> list[Any]:
        return rng.sample(list(things), len(things))

    items = [replace(item, options=dict(mixed(list(item.options.items())))) for item in problem.items]
    return Problem(mixed(items), mixed(problem.steps), mixed(problem.exclusions), mixed(problem.pins))
