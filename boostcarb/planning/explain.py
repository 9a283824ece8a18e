"""Why a change is needed, why no plan exists, and how little of a failure must be said to be true."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
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
    depends: Callable[[Mapping[str, str]], Iterable[str]] | None = None,
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

    What a failure depends on may itself change with the assignment: behind a closed way lies nothing until the way
    opens. ``depends`` names the items for any assignment; those of every combination in the box join ``scope``, so
    that the clause stays valid.

    Raises:
        ValueError: it does not fail as assigned, or an assigned option is not among the options.

    >>> options = {"a": ["no", "yes"], "b": ["no", "yes"], "c": ["no", "yes"]}
    >>> as_is = {"a": "no", "b": "no", "c": "no"}
    >>> shrink(as_is, ["a", "b", "c"], lambda choice: choice["b"] == "no", options)
    frozenset({Choice(item='b', option='yes')})
    """
    box = _Box(assignment, scope, fails, options, limit, depends)
    if not box.holds():
        raise ValueError("nothing to shrink: the assignment does not fail")
    for whole in (True, False):
        done: set[str] = set()
        while left := [item for item in box.scope if item not in done]:
            item = left[0]
            done.add(item)
            others = tuple(option for option in sorted(options[item]) if option != assignment[item])
            for extra in [others] if whole else [(option,) for option in others]:
                box.grow(item, extra)
    return box.outside()


Combination = frozenset[tuple[str, str]]
"""An assignment, as the options that it has otherwise than the one that is shrunk."""


class _Box:
    """Options of each item over all combinations of which a failure is known to persist."""

    def __init__(
        self,
        assignment: Mapping[str, str],
        scope: Sequence[str],
        fails: Callable[[Mapping[str, str]], bool],
        options: Mapping[str, Sequence[str]],
        limit: int,
        depends: Callable[[Mapping[str, str]], Iterable[str]] | None,
    ) -> None:
        self._assignment, self._fails, self._options = assignment, fails, options
        self._limit, self._depends = limit, depends
        self._inside: dict[str, tuple[str, ...]] = {}
        self._tried: dict[Combination, bool] = {}
        self._add(scope)

    @property
    def scope(self) -> tuple[str, ...]:
        """Every item that the failure depends on somewhere in the box, in the order in which they came in."""
        return tuple(self._inside)

    def outside(self) -> frozenset[Choice]:
        """The options of the scope that are not in the box."""
        return frozenset(
            Choice(item, option)
            for item, inside in self._inside.items()
            for option in self._options[item]
            if option not in inside
        )

    def holds(self) -> bool:
        """Whether it fails as assigned: that is the box to begin with."""
        return self._take_in([frozenset()])

    def grow(self, item: str, options: Sequence[str]) -> None:
        """Take in further options of an item if the failure persists with all of them; else the box stays as it is."""
        inside = self._inside[item]
        added = tuple(option for option in options if option not in inside)
        larger = {**self._inside, item: inside + added}
        if not added or prod(map(len, larger.values())) > self._limit:
            return
        if self._take_in(list(self._combinations({**self._inside, item: added}))):
            self._inside[item] = inside + added

    def _take_in(self, new: Sequence[Combination]) -> bool:
        """Whether the failure persists in all of these; what it depends on there joins the scope then."""
        if not all(map(self._persists, new)):
            return False
        if self._depends is not None:
            for combination in new:
                self._add(self._depends({**self._assignment, **dict(combination)}))
        return True

    def _add(self, items: Iterable[str]) -> None:
        for item in items:
            if item not in self._inside:
                if self._assignment[item] not in self._options[item]:
                    raise ValueError(f"{item}: {self._assignment[item]!r} is not among its options")
                self._inside[item] = (self._assignment[item],)

    def _combinations(self, box: Mapping[str, tuple[str, ...]]) -> Iterator[Combination]:
        """Every combination, as what it has otherwise than the assignment."""
        moved = [item for item, inside in box.items() if inside != (self._assignment[item],)]
        pairs = [[(item, option) for option in box[item]] for item in moved]
        assigned = self._assignment.items()
        for chosen in product(*pairs):
            yield frozenset(pair for pair in chosen if pair not in assigned)

    def _persists(self, combination: Combination) -> bool:
        if combination not in self._tried:
            self._tried[combination] = self._fails({**self._assignment, **dict(combination)})
        return self._tried[combination]
