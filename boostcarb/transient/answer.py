"""What a backfire does to every diaphragm, and how fast signals are: records that reports write down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from boostcarb.network.model import Limit
from boostcarb.transient.inputs import Input
from boostcarb.transient.pulse import Curve


class Verdict(StrEnum):
    """What becomes of a diaphragm."""

    stands = "stands it without a check"
    protected = "protected: the check shuts in time"
    no_check = "EXCEEDS: no working check in the way"
    slow_check = "EXCEEDS: the check shuts too late"
    beyond_checks = "EXCEEDS: no check is quick enough"
    no_place = "EXCEEDS: no place for a check in its way"
    before = "EXCEEDS already without a backfire"
    not_known = "not known: nobody says what it stands"

    @property
    def exceeds(self) -> bool:
        """Whether it carries more than it stands."""
        return self.name not in ("stands", "protected", "not_known")


@dataclass(frozen=True, slots=True)
class Peak:
    """Largest difference first minus second, and second minus first, Pa, and when, s."""

    forward_pa: float
    forward_at_s: float
    reverse_pa: float
    reverse_at_s: float

    def over(self, limit: Limit) -> float:
        """How far the worse of the two is over its limit, Pa; negative: what is left."""
        return max(self.forward_pa - limit.forward_pa, self.reverse_pa - limit.reverse_pa)


@dataclass(frozen=True, slots=True)
class DiaphragmCase:
    """One diaphragm in one backfire.

    `before` is what it carries before it, `unchecked` without any check, `hottest` with burned gas in place of charge;
    `exceeds_at_s` is when it first carries more than its limit.
    """

    diaphragm: str
    title: str
    first: str
    second: str
    state: str
    limit: Limit | None
    before: Peak
    peak: Peak
    unchecked: Peak
    hottest: Peak
    exceeds_at_s: float | None
    verdict: Verdict

    @property
    def over_pa(self) -> float | None:
        """How far it is over its limit, Pa; negative: what is left."""
        return None if self.limit is None else self.peak.over(self.limit)

    @property
    def hottest_exceeds(self) -> bool:
        """Whether burned gas would overload it."""
        return self.limit is not None and self.hottest.over(self.limit) > 0.0


@dataclass(frozen=True, slots=True)
class ProtectionCase:
    """One place for a backfire check, and one diaphragm behind it, in one backfire.

    `in_time_s` is the longest closing time that still protects it: None where it needs no check, or where none does.
    """

    check: str
    title: str
    form: str
    works: bool
    diaphragm: str
    state: str
    with_it: Peak
    without_it: Peak
    limit: Limit | None
    shuts_at_s: float | None
    in_time_s: float | None

    @property
    def needed(self) -> bool | None:
        """Whether the diaphragm needs it; None where its limit is not known."""
        return None if self.limit is None else self.without_it.over(self.limit) > 0.0


@dataclass(frozen=True, slots=True)
class ReliefCase:
    """A relief valve on the manifold in one backfire: peaks in Pa absolute, when its plate opens, s."""

    fitted: bool
    state: str
    peak_without_pa_abs: float
    peak_with_pa_abs: float
    opens_at_s: float | None


@dataclass(frozen=True, slots=True)
class BackfireCase:
    """One backfire: how the pressures of spaces go, by space, and what it does."""

    state: str
    title: str
    before: str
    before_title: str
    end_s: float
    curves: Mapping[str, Curve]
    burning: tuple[str, ...]
    diaphragms: tuple[DiaphragmCase, ...]
    protections: tuple[ProtectionCase, ...]
    relief: ReliefCase | None


@dataclass(frozen=True, slots=True)
class Signal:
    """How long a signal takes from one state to another, s; infinite where it never arrives."""

    name: str
    title: str
    waits_for: str
    before_title: str
    after_title: str
    time_s: float


@dataclass(frozen=True, slots=True)
class BackfireAnswer:
    """Every backfire of a configuration, what it was computed with, and how fast its signals are."""

    cases: tuple[BackfireCase, ...]
    inputs: tuple[Input, ...]
    volumes_assumed: tuple[str, ...]
    torn: tuple[str, ...]
    signals: tuple[Signal, ...]

    @property
    def exceeding(self) -> tuple[DiaphragmCase, ...]:
        """Diaphragms that carry more than they stand, first to exceed first."""
        found = [each for case in self.cases for each in case.diaphragms if each.verdict.exceeds]
        return tuple(sorted(found, key=lambda each: (each.exceeds_at_s or 0.0, each.state, each.diaphragm)))

    @property
    def clean(self) -> bool:
        """Whether nothing exceeds its limit."""
        return not self.exceeding
