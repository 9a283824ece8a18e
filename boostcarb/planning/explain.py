"""Why a change is needed, why no plan exists, and how little of a failure must be said to be true."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

from boostcarb.planning.problem import Choice, Failure, Oracle, Pin, PlanningError, Problem
from boostcarb.planning.selection import SOLVER, Literals


class NeedlessChangeError(PlanningError):
    """A plan said to be cheapest holds a change that nothing needs: the oracle contradicts itself."""

    def __init__(self, change: Choice) -> None:
        self.change = change
        super().__init__(f"nothing fails without {change.item}={change.option}, so the plan is not the cheapest")


def needed_because(
    problem: Problem, assignment: Mapping[str, str], oracle: Oracle
) -> dict[Choice, tuple[Failure, ...]]:
    """For each change of a cheapest plan: what fails when that change alone is not made.

    Pins and exclusions that would be broken come first, with the
    :class:`~boostcarb.planning.problem.Pin` or :class:`~boostcarb.planning.problem.Excluded` as reason.

    Raises:
        NeedlessChangeError: nothing fails without a change. Cannot happen for a plan found by
            :func:`~boostcarb.planning.search.cheapest` with the same oracle: every change costs something.

    >>> from boostcarb.planning.problem import Cost, Item
    >>> class Oracle:
    ...     def failures(self, assignment):
    ...         cured = assignment["drain"] == "plugged"
    ...         return [] if cured else [Failure(frozenset({Choice("drain", "plugged")}), "air gets in")]
    >>> drain = Item("drain", "open", {"open": Cost(), "plugged": Cost(minutes=20)})
    >>> needed = needed_because(Problem([drain]), {"drain": "plugged"}, Oracle())
    >>> [failure.reason for failure in needed[Choice("drain", "plugged")]]
    ['air gets in']
    """
    needed: dict[Choice, tuple[Failure, ...]] = {}
    for change in problem.changes(assignment):
        without = {**assignment, change.item: problem.item(change.item).current}
        back = (*problem.broken(without), *oracle.failures(without))
        if not back:
            raise NeedlessChangeError(change)
        needed[change] = back
    return needed


@dataclass(frozen=True, slots=True)
class Core:
    """Failures, exclusions and pins that cannot all be met; without any one of them the rest can."""

    failures: tuple[Failure, ...]
    exclusions: tuple[frozenset[Choice], ...]
    pins: tuple[Pin, ...]


def conflict(problem: Problem, learned: Iterable[Failure]) -> Core:
    """The core of an impossible problem: drop what can be dropped, pins first, then the longest clauses.

    No pin is in the core if the rest is impossible without any pin.

    Raises:
        PlanningError: all of it together can be met.
    """
    literals = Literals(problem)
    pins = [(pin, literals.pin(pin)) for pin in problem.pins]
    exclusions = [(choices, literals.exclusion(choices)) for choices in problem.exclusions]
    shortest_first = sorted(learned, key=lambda failure: (len(failure.clause), sorted(failure.clause)))
    failures = [(failure, literals.clause(failure.clause)) for failure in reversed(shortest_first)]
    kept = _minimal_core(literals, [clause for _, clause in (*pins, *exclusions, *failures)], first=len(pins))
    offset = len(pins) + len(exclusions)
    return Core(
        failures=tuple(failure for n, (failure, _) in enumerate(failures, offset) if n in kept)[::-1],
        exclusions=tuple(choices for n, (choices, _) in enumerate(exclusions, len(pins)) if n in kept),
        pins=tuple(pin for n, (pin, _) in enumerate(pins) if n in kept),
    )


def _minimal_core(literals: Literals, clauses: Sequence[list[int]], *, first: int) -> set[int]:
    """Indices of clauses that contradict each other, none to spare; without the first ones if possible."""
    from pysat.solvers import Solver  # noqa: PLC0415 (commands that do not plan go without)

    switches = [literals.new() for _ in clauses]
    index_of = {switch: index for index, switch in enumerate(switches)}
    guarded = [[*clause, -switch] for clause, switch in zip(clauses, switches, strict=True)]
    with Solver(name=SOLVER, bootstrap_with=[*literals.structure(), *guarded]) as solver:

        def contradiction(indices: Iterable[int]) -> set[int] | None:
            if solver.solve(assumptions=[switches[index] for index in sorted(indices)]):
                return None
            return {index_of[switch] for switch in solver.get_core() or ()}

        everything = range(len(clauses))
        kept = contradiction(everything[first:])
        if kept is None:
            kept = set(everything)
        if contradiction(kept) is None:
            raise PlanningError("asked why there is no plan, but what was learned leaves one")
        for index in everything:
            if index in kept:
                smaller = contradiction(kept - {index})
                kept = kept if smaller is None else smaller
    return kept


def shrink(
    assignment: Mapping[str, str],
    scope: Sequence[str],
    fails: Callable[[Mapping[str, str]], bool],
    options: Mapping[str, Sequence[str]],
    limit: int = 64,
) -> frozenset[Choice]:
    """A short clause that every assignment curing a failure satisfies, given what the failure depends on.

    The failure is shown to persist on a whole box of assignments: every item of ``scope`` ranges over some of
    its options, among them the assigned one. The clause offers the options outside the box. It is valid: an
    assignment that satisfies none of its choices lies, on ``scope``, inside the box; the failure depends on
    ``scope`` alone; so that assignment fails.

    The box starts as the assignment itself and grows only when every new combination has been tried and
    fails: first by all options of an item (which drops the item from the clause), then by single options, in
    the order of ``scope``. So name the items least likely to matter first. The box never holds more than
    ``limit`` combinations, and no combination is tried twice.

    Raises:
        ValueError: it does not fail as assigned, or an assigned option is not among the options.

    >>> options = {"a": ["no", "yes"], "b": ["no", "yes"], "c": ["no", "yes"]}
    >>> as_is = {"a": "no", "b": "no", "c": "no"}
    >>> shrink(as_is, ["a", "b", "c"], lambda choice: choice["b"] == "no", options)
    frozenset({Choice(item='b', option='yes')})
    """
    scope = tuple(dict.fromkeys(scope))
    tried: dict[tuple[str, ...], bool] = {}

    def still_fails(box: Mapping[str, Sequence[str]]) -> bool:
        for combination in product(*(box[item] for item in scope)):
            if combination not in tried:
                tried[combination] = fails({**assignment, **dict(zip(scope, combination, strict=True))})
            if not tried[combination]:
                return False
        return True

    for item in scope:
        if assignment[item] not in options[item]:
            raise ValueError(f"{item}: {assignment[item]!r} is not among its options")
    box: dict[str, tuple[str, ...]] = {item: (assignment[item],) for item in scope}
    if not still_fails(box):
        raise ValueError("nothing to shrink: the assignment does not fail")
    left_out = {item: tuple(o for o in sorted(options[item]) if o != assignment[item]) for item in scope}
    growth = [(item, left_out[item]) for item in scope]
    growth += [(item, (option,)) for item in scope for option in left_out[item]]
    for item, extra in growth:
        added = tuple(option for option in extra if option not in box[item])
        size = prod(len(box[name]) for name in scope if name != item)
        if added and size * (len(box[item]) + len(added)) <= limit and still_fails({**box, item: added}):
            box[item] += added
    return frozenset(Choice(item, option) for item in scope for option in options[item] if option not in box[item])
