"""What a bench test is, what it shows, and what an answer is made of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from boostcarb.bench import Bench

AIR_MOST_PA = 50e3
"""Most pressure, gauge, of air put into a carburetor, always regulated (common practice, no source)."""

UNIT_PA = 20e3
"""Gauge pressure of the test of the whole inside: leaks show, and no plain diaphragm is hurt (assumption)."""

HAND_VACUUM_PA, LOSS_PA, HOLD_S = 30e3, 3e3, 60
"""What a hand pump draws, and what a chamber may lose in how long (common practice, no source)."""


class Kind(StrEnum):
    """How a test is done."""

    spray = "spray"
    air = "air"
    vacuum = "vacuum"
    pressure = "pressure"


@dataclass(frozen=True, slots=True)
class Hole:
    """An opening that somebody at the bench can see.

    `applied`: cleaner, air or a hand pump can be put to it. `blocked`: a finger or a cap can shut it.
    `item` and `space` say which way ends here, and at which space; of the open side of a space there is no item.
    `inner`: it opens into what the pressure test fills. `line`: a nipple under the hose of this line; nothing comes out
    of it, and a test at it goes without that line.
    """

    name: str
    title: str
    casting: str
    item: str | None
    space: str
    applied: bool
    blocked: bool
    inner: bool = False
    line: str | None = None


@dataclass(frozen=True, slots=True, order=True)
class Test:
    """Something put to holes of the carburetor at a stage, with others blocked. Names of holes, sorted."""

    __test__ = False

    stage: str
    kind: Kind
    at: tuple[str, ...]
    blocked: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, order=True)
class Outcome:
    """What a test shows: the holes it comes out of, or whether it holds and which diaphragms move."""

    exits: tuple[str, ...] = ()
    holds: bool | None = None
    moves: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Mistake:
    """One item in another form than it should have: a fault, a part fitted wrong, or a change not made."""

    item: str
    form: str
    title: str
    not_made: bool = False

    @property
    def name(self) -> str:
        """How it is called in records."""
        return f"{self.item}={self.form}"


@dataclass(frozen=True, slots=True)
class Candidate:
    """A test with what it costs and what it must show; `shown` is what each mistake shows instead."""

    test: Test
    minutes: int
    sound: Outcome
    shown: Mapping[Mistake, Outcome]


@dataclass(frozen=True, slots=True)
class Deviation:
    """What a test shows instead, and the mistakes of which any one does that."""

    outcome: Outcome
    mistakes: tuple[Mistake, ...]


@dataclass(frozen=True, slots=True)
class Check:
    """A test that is to be done: what must happen, and what it means if something else does."""

    test: Test
    minutes: int
    sound: Outcome
    deviations: tuple[Deviation, ...]
    first_for: tuple[Mistake, ...]


@dataclass(frozen=True, slots=True)
class Unseen:
    """A mistake that no bench test shows, and where to look instead; `passage`: it changes a way or a diaphragm."""

    mistake: Mistake
    look: str | None
    passage: bool


@dataclass(frozen=True, slots=True)
class Route:
    """Where cleaner sprayed into a hole comes out at a stage, before and after; None where the hole is not there."""

    stage: str
    hole: str
    before: tuple[str, ...] | None
    after: tuple[str, ...] | None

    @property
    def changed(self) -> bool:
        """Whether it comes out elsewhere afterwards."""
        return self.before != self.after


@dataclass(frozen=True, slots=True)
class StageTitle:
    """A stage at which tests are done, what is off then, and the strip-down it takes beyond the work, in minutes."""

    name: str
    title: str
    off: tuple[str, ...]
    on_engine: bool
    extra_minutes: int


@dataclass(frozen=True, slots=True)
class BenchAnswer:
    """The tests in the order in which they are done, what they show, and what none does.

    `holes` has every hole by its name, `stages` every stage as the carburetor comes apart; `mistakes` is how many that
    change a way or a diaphragm were tried, `tried` how many different tests show any, and `minutes` what the tests take
    with the strip-down beyond the work.
    """

    checks: tuple[Check, ...]
    unseen: tuple[Unseen, ...]
    routes: tuple[Route, ...]
    holes: Mapping[str, Hole]
    stages: Mapping[str, StageTitle]
    mistakes: int
    tried: int
    minutes: int


@dataclass(frozen=True)
class BenchChecks:
    """The bench tests of a job: of the planned carburetor, or of the one as found; `has_plan`: there is a plan."""

    bench: Bench
    as_planned: bool
    has_plan: bool
    answer: BenchAnswer
