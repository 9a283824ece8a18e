"""What may be chosen, what it costs, and what may not be had together.

>>> drain = Item("drain", "open", {"open": Cost(0, 0, 0), "plugged": Cost(1, 20, 1)})
>>> Problem(items=[drain]).cost({"drain": "plugged"})
Cost(irreversible=1, minutes=20, parts=1)
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple, Protocol

from boostcarb.errors import BoostcarbError


class PlanningError(BoostcarbError):
    """The search was fed something that cannot be right: a defect, never bad input by the user."""


class Choice(NamedTuple):
    """One item takes one of its options."""

    item: str
    option: str


@dataclass(frozen=True, slots=True, order=True)
class Cost:
    """What a change costs; the first number that differs decides, however small the difference.

    Raises:
        ValueError: a number is negative.

    >>> Cost(0, 500, 9) < Cost(1, 0, 0)
    True
    >>> Cost(1, 20, 0) + Cost(0, 5, 2)
    Cost(irreversible=1, minutes=25, parts=2)
    """

    irreversible: int = 0
    minutes: int = 0
    parts: int = 0

    def __post_init__(self) -> None:
        if min(self.irreversible, self.minutes, self.parts) < 0:
            raise ValueError(f"a cost cannot be negative: {self}")

    def __add__(self, other: Cost) -> Cost:
        return Cost(self.irreversible + other.irreversible, self.minutes + other.minutes, self.parts + other.parts)


FREE = Cost(0, 0, 0)


@dataclass(frozen=True, slots=True)
class Item:
    """Something that takes exactly one of its options; it has ``current`` now, which costs nothing.

    ``requires`` names, per option, the shared steps of work that must be done to get it.

    Raises:
        ValueError: the current option is not among the options, costs something or requires work;
            another option costs nothing; ``requires`` names an option the item does not have.
    """

    name: str
    current: str
    options: Mapping[str, Cost]
    requires: Mapping[str, frozenset[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.current not in self.options:
            raise ValueError(f"{self.name}: the current option {self.current!r} is not among its options")
        for option, cost in self.options.items():
            if option == self.current and cost != FREE:
                raise ValueError(f"{self.name}: the current option {option!r} cannot cost {cost}")
            if option != self.current and cost == FREE:
                raise ValueError(f"{self.name}: the option {option!r} must cost something")
        for option, steps in self.requires.items():
            if option not in self.options:
                raise ValueError(f"{self.name}: work is required for {option!r}, not one of its options")
            if option == self.current and steps:
                raise ValueError(f"{self.name}: the current option {option!r} cannot require work")

    @property
    def preference(self) -> tuple[str, ...]:
        """The options, the one preferred among equally cheap plans first: current, then by name."""
        return (self.current, *sorted(option for option in self.options if option != self.current))


@dataclass(frozen=True, slots=True)
class Step:
    """Work shared by several changes and done once; ``after`` names the steps it cannot be done without."""

    name: str
    cost: Cost = FREE
    after: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Pin:
    """The user allows an item these options only; ``label`` is how the user said it."""

    item: str
    options: frozenset[str]
    label: str


@dataclass(frozen=True, slots=True)
class Excluded:
    """The reason of a failure: these choices may not hold together."""

    choices: frozenset[Choice]


@dataclass(frozen=True, slots=True)
class Failure:
    """Every acceptable assignment contains at least one of the choices in ``clause``.

    An empty clause says that nothing can cure it. ``reason`` is the oracle's own, handed back untouched.
    """

    clause: frozenset[Choice]
    reason: object


class Oracle(Protocol):
    """Judges assignments. Must give the same answer for the same assignment."""

    def failures(self, assignment: Mapping[str, str]) -> Sequence[Failure]:
        """What an assignment (item -> option, every item) fails; nothing if it is acceptable.

        The assignment itself must satisfy none of the returned clauses.
        """


class Progress(Protocol):
    """Told after each round of the search."""

    def __call__(self, *, rounds: int, clauses: int, failures: int) -> None:
        """Rounds so far, clauses known before this round, failures found in it."""


@dataclass(frozen=True, slots=True)
class Problem:
    """All that may be chosen, in one canonical order whatever order it was given in.

    Raises:
        ValueError: a name is used twice or is unknown, steps wait for each other, an exclusion is empty,
            or a pin allows nothing.
    """

    items: Sequence[Item]
    steps: Sequence[Step] = ()
    exclusions: Sequence[frozenset[Choice]] = ()
    pins: Sequence[Pin] = ()
    _item: Mapping[str, Item] = field(init=False, repr=False, compare=False)
    _step: Mapping[str, Step] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        fixed: dict[str, object] = {
            "items": tuple(sorted(self.items, key=lambda item: item.name)),
            "steps": tuple(sorted(self.steps, key=lambda step: step.name)),
            "exclusions": tuple(sorted(set(self.exclusions), key=sorted)),
            "pins": tuple(sorted(set(self.pins), key=lambda pin: (pin.item, sorted(pin.options), pin.label))),
            "_item": {item.name: item for item in self.items},
            "_step": {step.name: step for step in self.steps},
        }
        for name, value in fixed.items():
            object.__setattr__(self, name, value)
        self._check()

    def _check(self) -> None:
        _check_unique("item", [item.name for item in self.items])
        _check_unique("step", [step.name for step in self.steps])
        for item in self.items:
            for option, names in item.requires.items():
                _check_known(f"{item.name}={option}", "step", names, self._step)
        for step in self.steps:
            _check_known(step.name, "step", step.after, self._step)
        try:
            TopologicalSorter({step.name: step.after for step in self.steps}).prepare()
        except CycleError as error:
            raise ValueError(f"steps wait for each other: {' -> '.join(error.args[1])}") from error
        for exclusion in self.exclusions:
            if not exclusion:
                raise ValueError("an exclusion without choices forbids everything")
            self.check_choices("exclusion", exclusion)
        for pin in self.pins:
            if not pin.options:
                raise ValueError(f"pin {pin.label!r} allows nothing")
            self.check_choices(f"pin {pin.label!r}", [Choice(pin.item, option) for option in pin.options])

    def check_choices(self, where: str, choices: Iterable[Choice]) -> None:
        """Raise ValueError unless every choice is one this problem offers."""
        for choice in choices:
            _check_known(where, "item", [choice.item], self._item)
            _check_known(where, f"option of {choice.item}", [choice.option], self._item[choice.item].options)

    def item(self, name: str) -> Item:
        """The item of that name; KeyError if there is none."""
        return self._item[name]

    def current(self) -> dict[str, str]:
        """The assignment before any change."""
        return {item.name: item.current for item in self.items}

    def changes(self, assignment: Mapping[str, str]) -> tuple[Choice, ...]:
        """The choices that differ from the current ones, sorted."""
        return tuple(
            Choice(item.name, assignment[item.name]) for item in self.items if assignment[item.name] != item.current
        )

    def work(self, assignment: Mapping[str, str]) -> tuple[str, ...]:
        """Names of the steps its changes require, directly or by way of other steps, sorted."""
        waiting = [
            name
            for choice in self.changes(assignment)
            for name in self._item[choice.item].requires.get(choice.option, ())
        ]
        done: set[str] = set()
        while waiting:
            name = waiting.pop()
            if name not in done:
                done.add(name)
                waiting.extend(self._step[name].after)
        return tuple(sorted(done))

    def cost(self, assignment: Mapping[str, str]) -> Cost:
        """What its changes cost, each shared step counted once."""
        own = (self._item[item].options[option] for item, option in self.changes(assignment))
        shared = (self._step[name].cost for name in self.work(assignment))
        return sum((*own, *shared), start=FREE)

    def others(self, choice: Choice) -> frozenset[Choice]:
        """The same item's other options."""
        options = self._item[choice.item].options
        return frozenset(Choice(choice.item, option) for option in options if option != choice.option)

    def broken(self, assignment: Mapping[str, str]) -> tuple[Failure, ...]:
        """The pins (reason: the :class:`Pin`) and exclusions (:class:`Excluded`) it does not keep to."""
        pins = (
            Failure(frozenset(Choice(pin.item, option) for option in pin.options), pin)
            for pin in self.pins
            if assignment[pin.item] not in pin.options
        )
        exclusions = (
            Failure(frozenset().union(*map(self.others, exclusion)), Excluded(exclusion))
            for exclusion in self.exclusions
            if all(assignment[choice.item] == choice.option for choice in exclusion)
        )
        return (*pins, *exclusions)


def _check_unique(what: str, names: Sequence[str]) -> None:
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ValueError(f"{what} given twice: {', '.join(twice)}")


def _check_known(where: str, what: str, names: Iterable[str], known: Collection[str]) -> None:
    unknown = sorted(name for name in names if name not in known)
    if unknown:
        raise ValueError(f"{where}: no such {what}: {', '.join(unknown)}")
