"""What a judged rule says: which rule, where, in which state, with which value against which limit, and the witness."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """How bad a finding is. `stop` and `fix` block a clean verdict, `advise` does not."""

    stop = "stop"
    fix = "fix"
    advise = "advise"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a path: through a way into a space."""

    way: str
    into: str


@dataclass(frozen=True, slots=True)
class Reading:
    """Pressure of a space in the finding's state, lowest and highest, Pa absolute, and why it has it."""

    space: str
    low_pa_abs: float
    high_pa_abs: float
    nature: str


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value that was held against a limit. A difference in Pa, an effective area in m2, a time in s."""

    name: str
    low: float
    high: float
    limit: float
    unit: str


@dataclass(frozen=True, slots=True)
class Witness:
    """What shows it: the open path, the pressures, the parts."""

    start: str | None = None
    path: tuple[Step, ...] = ()
    readings: tuple[Reading, ...] = ()
    quantity: Quantity | None = None
    items: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule broken at one place. `states` lists every state in which it is; `state` is the worst."""

    rule: str
    title: str
    severity: Severity
    endangers: tuple[str, ...]
    place: str
    place_title: str
    statement: str
    state: str | None
    states: tuple[str, ...]
    witness: Witness
    remedy: str
    rule_is_about_looking: bool = False
    accepted: bool = False

    @property
    def blocks(self) -> bool:
        """Whether it blocks a clean verdict: `stop` and `fix` do, unless the builder accepts a `fix`."""
        return self.severity is not Severity.advise and not self.accepted

    @property
    def key(self) -> tuple[str, str, tuple[Step, ...]]:
        """Identity across configurations: rule, place and path."""
        return (self.rule, self.place, self.witness.path)


@dataclass(frozen=True, slots=True)
class NotJudged:
    """What rules leave unjudged for want of data, and the fields of the job that would give it.

    `subject` is what must not pass as proved in a verdict; None for what is only listed.
    """

    rules: tuple[str, ...]
    subject: str | None
    what: str
    give: tuple[str, ...]


SEVERITY_ORDER = {Severity.stop: 0, Severity.fix: 1, Severity.advise: 2}


def ordered(findings: list[Finding]) -> list[Finding]:
    """Worst first, then by rule and place."""
    return sorted(
        findings, key=lambda f: (SEVERITY_ORDER[f.severity], f.rule, f.place, [s.way for s in f.witness.path])
    )
