"""The cheapest selection under clauses that keep coming: exact, incremental, and one answer only.

Among equally cheap selections the one with the fewest changes wins; among those the first in order of
preference, item by item (see :attr:`~boostcarb.planning.problem.Item.preference`). The answer is therefore
decided by the problem and the clauses alone, not by the solver or the order in which clauses came.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

from boostcarb.planning.problem import Choice, Cost, Pin, Problem

SOLVER = "minicard"  # the fastest of those at hand, here by a factor of up to two
CONFLICTS = 5000  # by cores; who has more may have them without end, where branching on prices has not
EXACT = 2**50  # whole numbers of which floating point still adds up several without rounding


@dataclass(frozen=True, slots=True)
class Scale:
    """One whole number per cost, in the same order; exact for everything one problem can cost.

    Each factor exceeds the problem's total of what ranks below it, so nothing ever carries over.

    >>> scale = Scale(minutes=100, parts=10, changes=4)
    >>> scale.weight(Cost(1, 0, 0), changes=1) > scale.weight(Cost(0, 99, 9), changes=3)
    True
    >>> scale.cost(scale.weight(Cost(2, 40, 7), changes=3))
    Cost(irreversible=2, minutes=40, parts=7)
    """

    minutes: int
    parts: int
    changes: int

    @classmethod
    def of(cls, problem: Problem) -> Scale:
        """The scale on which every plan of a problem has its exact weight."""
        steps = [step.cost for step in problem.steps]
        dearest = [item.options.values() for item in problem.items]
        return cls(
            minutes=1 + sum(c.minutes for c in steps) + sum(max(c.minutes for c in o) for o in dearest),
            parts=1 + sum(c.parts for c in steps) + sum(max(c.parts for c in o) for o in dearest),
            changes=1 + len(problem.items),
        )

    def weight(self, cost: Cost, *, changes: int = 0) -> int:
        """The number for a cost spread over so many changes; fewer changes win a tie."""
        return ((cost.irreversible * self.minutes + cost.minutes) * self.parts + cost.parts) * self.changes + changes

    def cost(self, weight: int) -> Cost:
        """The cost a weight stands for."""
        above, parts = divmod(weight // self.changes, self.parts)
        irreversible, minutes = divmod(above, self.minutes)
        return Cost(irreversible, minutes, parts)


class Literals:
    """Numbers the choices and steps of a problem for a solver: true if positive, false if negative.

    An item with two options takes one number, any other one number an option.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.count = 0
        self._of: dict[Choice, int] = {}
        for item in problem.items:
            choices = [Choice(item.name, option) for option in item.preference]
            if len(choices) == 2:
                number = self.new()
                self._of |= {choices[0]: -number, choices[1]: number}
            else:
                self._of |= {choice: self.new() for choice in choices}
        self.steps = {step.name: self.new() for step in problem.steps}

    def new(self) -> int:
        """A number not used yet."""
        self.count += 1
        return self.count

    def of(self, choice: Choice) -> int:
        """The literal that is true when the choice is made; KeyError if the problem does not offer it."""
        return self._of[choice]

    def clause(self, choices: Iterable[Choice]) -> list[int]:
        """At least one of these choices."""
        return [self._of[choice] for choice in sorted(choices)]

    def exclusion(self, choices: Iterable[Choice]) -> list[int]:
        """Not all of these choices."""
        return [-literal for literal in self.clause(choices)]

    def pin(self, pin: Pin) -> list[int]:
        """One of the options the pin allows."""
        return self.clause(Choice(pin.item, option) for option in pin.options)

    def structure(self) -> Iterator[list[int]]:
        """Every item takes exactly one option."""
        for item in self.problem.items:
            literals = [self._of[Choice(item.name, option)] for option in item.preference]
            if len(literals) == 2:
                continue
            yield literals
            for index, first in enumerate(literals):
                for second in literals[index + 1 :]:
                    yield [-first, -second]

    def work(self) -> Iterator[list[int]]:
        """Every change brings the steps it requires, and every step those it comes after."""
        for item in self.problem.items:
            for option in item.preference:
                for step in sorted(item.requires.get(option, ())):
                    yield [-self._of[Choice(item.name, option)], self.steps[step]]
        for step_ in self.problem.steps:
            for before in sorted(step_.after):
                yield [-self.steps[step_.name], self.steps[before]]


class Selected(NamedTuple):
    """The cheapest assignment under the clauses so far, what it costs, and the pins it does not keep to."""

    assignment: dict[str, str]
    cost: Cost
    released: tuple[Pin, ...]


class Selection:
    """Cheapest assignment of a problem, again and again as clauses are added.

    With ``release_pins`` a pin may be broken: fewest pins broken comes before every cost.

    Each solve starts a fresh solver. What a solver carries over from one cost level to the next is only valid
    for the clauses it had, and without it the split weights of earlier rounds pile up until it stalls.

    >>> from boostcarb.planning.problem import FREE, Item
    >>> items = [Item(name, "old", {"old": FREE, "new": Cost(0, m, 0)}) for name, m in (("a", 9), ("b", 5))]
    >>> selection = Selection(Problem(items))
    >>> selection.add([Choice("a", "new"), Choice("b", "new")])
    >>> selection.solve().assignment
    {'a': 'old', 'b': 'new'}
    """

    def __init__(self, problem: Problem, *, release_pins: bool = False) -> None:
        self._problem = problem
        self._scale = Scale.of(problem)
        self._literals = literals = Literals(problem)
        self._weights = self._price()
        self._above_all = 1 + sum(self._weights.values())
        self._hard = [*literals.structure(), *literals.work()]
        self._hard += [literals.exclusion(choices) for choices in problem.exclusions]
        for pin in problem.pins:
            releases = [literals.new()] if release_pins else []
            self._hard.append(literals.pin(pin) + releases)
            self._weights |= dict.fromkeys(releases, self._above_all)
        # The solver gives no answer unless it has something to save.
        self._weights = self._weights or {literals.new(): 1}

    def add(self, clause: Collection[Choice]) -> None:
        """From now on at least one of these choices must be made; no choice at all makes it impossible."""
        self._hard.append(self._literals.clause(clause))

    def solve(self) -> Selected | None:
        """The cheapest assignment that meets every clause, or None if no assignment does."""
        if not all(self._hard):
            return None
        from boostcarb.planning.cores import ManyConflicts  # noqa: PLC0415 (commands that do not plan go without)

        try:
            return self._by_cores(CONFLICTS if 4 * sum(self._weights.values()) < EXACT else None)
        except ManyConflicts:
            return self._by_branching()

    def _by_cores(self, enough: int | None) -> Selected | None:
        from boostcarb.planning.cores import Cores  # noqa: PLC0415 (commands that do not plan go without)

        with Cores(self._hard, self._weights, self._literals.count, SOLVER, enough) as solver:
            if solver.compute() is None:
                return None
            return self._selected(self._preferred(solver), solver.cost)

    def _by_branching(self) -> Selected | None:
        from boostcarb.planning.branching import Branching  # noqa: PLC0415 (needs numpy, and is rarely needed)

        order = [
            [self._literals.of(Choice(item.name, option)) for option in item.preference]
            for item in self._problem.items
        ]
        found = Branching(self._hard, self._weights, order, SOLVER).solve()
        if found is None:
            return None
        true, weight = found
        items = zip(self._problem.items, order, true, strict=True)
        return self._selected({item.name: item.preference[of.index(one)] for item, of, one in items}, weight)

    def _selected(self, assignment: dict[str, str], weight: int) -> Selected:
        released = tuple(pin for pin in self._problem.pins if assignment[pin.item] not in pin.options)
        return Selected(assignment, self._scale.cost(weight % self._above_all), released)

    def _price(self) -> dict[int, int]:
        """What each literal costs when true."""
        weights = {
            self._literals.of(Choice(item.name, option)): self._scale.weight(item.options[option], changes=1)
            for item in self._problem.items
            for option in item.preference[1:]
        }
        steps = {self._literals.steps[step.name]: self._scale.weight(step.cost) for step in self._problem.steps}
        return weights | {literal: weight for literal, weight in steps.items() if weight}

    def _preferred(self, solver: Any) -> dict[str, str]:
        """The first of the cheapest assignments, item by item.

        The solver's assumptions after a solve hold in every cheapest model and in no other, so asking for
        one more choice under them asks whether a cheapest assignment makes that choice.
        """
        model = set(solver.model)
        fixed = list(solver.active_assumps())
        assignment: dict[str, str] = {}
        for item in self._problem.items:
            for option in item.preference:
                literal = self._literals.of(Choice(item.name, option))
                if literal not in model and solver.oracle.solve(assumptions=[*fixed, literal]):
                    model = set(solver.oracle.get_model())
                if literal in model:
                    fixed.append(literal)
                    assignment[item.name] = option
                    break
        return assignment
