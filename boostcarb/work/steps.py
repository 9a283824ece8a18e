"""The records of an order of work."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from boostcarb.planning.problem import Choice
from boostcarb.work.shopping import Shopping


class Phase(StrEnum):
    """The phases of the work, in the order in which they are done."""

    prepare = "prepare"
    check_as_found = "check_as_found"
    strip = "strip"  # type: ignore[assignment]  # the word of the trade, though text has a method of that name
    change = "change"
    clean = "clean"
    renew = "renew"
    check = "check"
    reassemble = "reassemble"
    reference_and_hoses = "reference_and_hoses"
    first_start = "first_start"
    prove = "prove"


Kind = Literal["gauge", "difference", "lambda", "word"]
"""Of a value: Pa against the atmosphere, a difference in Pa, a lambda, or a word."""


@dataclass(frozen=True, slots=True)
class Expected:
    """What a gauge must show in a state if all is as computed; `word` for what is open or shut."""

    state: str
    what: str
    kind: Kind
    low: float = 0.0
    high: float = 0.0
    word: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do and to tick.

    `opens` and `closes` name the stage of the strip-down that it opens or closes; the minutes of what opens one include
    putting the part back.
    """

    number: int
    phase: Phase
    title: str
    text: str
    stage: str | None = None
    casting: str | None = None
    minutes: int = 0
    irreversible: bool = False
    changes: tuple[Choice, ...] = ()
    cautions: tuple[str, ...] = ()
    expected: tuple[Expected, ...] = ()
    opens: str | None = None
    closes: str | None = None

    @property
    def is_planned(self) -> bool:
        """Whether its minutes are part of what the plan costs: each part off and back once, and the changes."""
        return bool(self.changes) or self.opens is not None


@dataclass(frozen=True, slots=True)
class WorkOrder:
    """Everything to do, in order, and what to have in hand."""

    steps: tuple[Step, ...]
    shopping: Shopping

    @property
    def planned_minutes(self) -> int:
        """What the plan itself costs: each part off and back once, and the changes."""
        return sum(step.minutes for step in self.steps if step.is_planned)

    @property
    def extra_minutes(self) -> int:
        """What comes on top: checks, cleaning, renewing, starting and proving."""
        return sum(step.minutes for step in self.steps if not step.is_planned)
