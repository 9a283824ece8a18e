"""What a sheet is made from: every answer about one job, and the numbers by which its changes go."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from boostcarb.answers import Faulted, Planned
from boostcarb.checks.model import BenchChecks
from boostcarb.network.model import Configuration, Labor, Network
from boostcarb.planning.problem import Choice
from boostcarb.planning.search import Plan
from boostcarb.quantities import UnitSystem
from boostcarb.report.plan_text import GROUPS, group_of
from boostcarb.report.wording import form_text, minutes
from boostcarb.work.steps import WorkOrder


@dataclass(frozen=True, slots=True)
class Change:
    """One change of the plan with the number by which every part of the sheet calls it."""

    number: int
    group: str
    choice: Choice
    title: str
    how: str
    becomes: str
    stage: str
    casting: str
    labor: Labor | None
    looked_at: bool

    @property
    def final(self) -> bool:
        """Whether it cannot be undone."""
        return self.labor is not None and self.labor.irreversible

    @property
    def marks(self) -> tuple[str, ...]:
        """What must not be missed about it."""
        unseen = "NOT LOOKED AT: LOOK BEFORE YOU CUT" if self.final else "NOT LOOKED AT"
        return (*(() if self.looked_at else (unseen,)), *(("CANNOT BE UNDONE",) if self.final else ()))

    @property
    def price(self) -> str:
        """Its bench time, without the strip-down."""
        return minutes(self.labor.minutes) if self.labor else ""


@dataclass(frozen=True)
class Answers:
    """Everything a sheet tells about one job."""

    planned: Planned
    faulted: Faulted
    order: WorkOrder
    checks: BenchChecks | None = None
    system: UnitSystem = UnitSystem.METRIC
    date: str = ""

    @property
    def network(self) -> Network:
        """The carburetor and what stands round it."""
        return self.planned.bench.network

    @property
    def plan(self) -> Plan | None:
        """The plan, if there is one."""
        return self.planned.outcome if isinstance(self.planned.outcome, Plan) else None

    @cached_property
    def found(self) -> Configuration:
        """The configuration as found."""
        return self.network.found()

    @cached_property
    def becomes(self) -> Configuration:
        """The configuration after the plan."""
        return self.planned.configuration

    @cached_property
    def titles(self) -> dict[str, str]:
        """Operating states in words."""
        return {row.name: row.title for row in self.planned.states}

    @cached_property
    def changes(self) -> tuple[Change, ...]:
        """The changes in the order of the work list of `plan`, numbered through."""
        if self.plan is None:
            return ()
        stages = list(self.network.stages)
        ordered = sorted(
            self.plan.changes,
            key=lambda c: (GROUPS.index(self._group(c)), stages.index(self.network.stage_of(*c)), c),
        )
        return tuple(self._change(number, choice) for number, choice in enumerate(ordered, 1))

    @cached_property
    def number_of(self) -> Mapping[str, int]:
        """The number of the change of an item."""
        return {change.choice.item: change.number for change in self.changes}

    @cached_property
    def step_of(self) -> Mapping[Choice, int]:
        """The step of the work in which a change is made."""
        return {choice: step.number for step in self.order.steps for choice in step.changes}

    def _change(self, number: int, choice: Choice) -> Change:
        item = self.network.items[choice.item]
        labor = item.forms[choice.option].labor
        becomes = form_text(self.network, choice.item, choice.option)
        return Change(
            number=number,
            group=self._group(choice),
            choice=choice,
            title=item.title,
            how=labor.how if labor else becomes,
            becomes=becomes,
            stage=self.network.stage_of(*choice),
            casting=item.casting,
            labor=labor,
            looked_at=item.confirmed,
        )

    def _group(self, change: Choice) -> str:
        return group_of(self.network.items[change.item], change.option)
