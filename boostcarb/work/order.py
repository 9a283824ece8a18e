"""The order of work: each part off once, work grouped by casting, what cannot be undone after the last check.

    prepare > check as found > strip down, looking at each stage > change: bare metal first, then the last look, then
    what cannot be undone > clean > renew > check > reassemble in reverse > references and hoses > first start > prove

Minutes of strip-down and changes are those of the plan and add up to its cost. Those of all other steps are counted
apart (assumption: usual times of a builder who has done it before).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from boostcarb.answers import Planned
from boostcarb.errors import BoostcarbError
from boostcarb.network.model import OPEN, Configuration, Network, Way
from boostcarb.planning.problem import Choice
from boostcarb.planning.search import Plan
from boostcarb.quantities import format_pressure
from boostcarb.solving.table import StateRow
from boostcarb.work.methods import Means, Method, methods, ways_worked_on
from boostcarb.work.placing import Place, in_order, is_start, place_of, strip_order
from boostcarb.work.preparing import BENCH, duct_test, first_steps, leak_test, look_steps
from boostcarb.work.proving import proving_steps, start_steps
from boostcarb.work.renewals import PUTTING_BACK, TAKING_OFF, Renewal, renewals
from boostcarb.work.shopping import Line, Shopping, shopping_for
from boostcarb.work.steps import Expected, Phase, Step, WorkOrder
from boostcarb.work.wording import back_text, off_text, part_text

__all__ = ["Expected", "Line", "Phase", "Shopping", "Step", "WorkOrder", "WrongOrder", "executed", "work_order"]

CLEANING, RENEWING, CHECKING, LAST_LOOK = 20, 10, 10, 15
"""Minutes a casting is cleaned, a stage renewed, a casting checked, and for the last look (assumption)."""

LEAST_PA = 500.0
"""Pressure across a passage below which there is nothing to hold (assumption)."""

BATH = (
    "No diaphragm, float or seal in the bath; zinc no longer than ten minutes in an ultrasonic one. Flush every "
    "passage toward the outside, dry with air, look along each by lamp or pin: no chip may stay."
)
OPENED = (Means.drilled, Means.drilled_and_tapped, Means.cleared)
SEAMS = "Of a material that suits {fuel}; the old ones go in the bin. Lay out now what goes in at reassembly."


class WrongOrder(BoostcarbError):
    """A step asks for a stage that is not open, or opens or closes one out of turn: a defect, never bad input."""

    def __init__(self, step: Step, why: str) -> None:
        self.step = step
        super().__init__(f"step {step.number}, {step.title}: {why}")


def work_order(planned: Planned) -> WorkOrder:
    """Everything to do for a plan, in order; nothing where there is no plan."""
    if not isinstance(planned.outcome, Plan):
        return WorkOrder((), Shopping())
    job = _Job(planned, planned.outcome)
    steps = tuple(replace(step, number=number) for number, step in enumerate(_steps(job), 1))
    network = planned.bench.network
    changes = [change for step in steps for change in step.changes]
    shopping = shopping_for(network, planned.bench.job, changes, job.methods, job.renewals)
    return WorkOrder(steps, shopping)


def executed(order: WorkOrder, network: Network, configuration: Configuration) -> dict[str, str]:
    """The configuration after all steps of an order.

    Raises:
        WrongOrder: a step asks for a stage that is not open, or opens or closes one out of turn.
    """
    after, opened = dict(configuration), list[str]()
    start = {name for name in network.stages if is_start(network, name)}
    for step in order.steps:
        if step.opens is not None:
            if missing := set(network.stages[step.opens].after) - start - set(opened):
                raise WrongOrder(step, f"{', '.join(sorted(missing))} must come first")
            opened.append(step.opens)
        if step.stage is not None and step.stage not in start and step.stage not in opened:
            raise WrongOrder(step, f"needs {step.stage}, which is not open")
        if step.closes is not None:
            if opened[-1:] != [step.closes]:
                raise WrongOrder(step, f"closes {step.closes} while {opened[-1:]} is open")
            opened.pop()
        after.update({change.item: change.option for change in step.changes})
    return after


@dataclass(frozen=True)
class _Job:
    """A plan with what its steps are made from, each worked out once."""

    planned: Planned
    plan: Plan

    @property
    def network(self) -> Network:
        return self.planned.bench.network

    @cached_property
    def strip(self) -> list[str]:
        return strip_order(self.network, self.plan.steps)

    @cached_property
    def castings(self) -> frozenset[str]:
        """Castings of the carburetor itself."""
        return frozenset(self.planned.bench.family.family.castings)

    @cached_property
    def ways(self) -> dict[Choice, Way]:
        """The passages that changes close or open."""
        return ways_worked_on(self.network, self.plan.changes)

    @cached_property
    def events(self) -> frozenset[str]:
        """States that are backfires."""
        return frozenset(view.name for view in self.planned.bench.view(self.planned.configuration).states if view.event)

    @cached_property
    def methods(self) -> dict[Choice, Method]:
        return methods(self.network, self.planned.bench.job, self.plan.changes)

    @cached_property
    def renewals(self) -> tuple[Renewal, ...]:
        return tuple(renewals(self.network, self.strip, self.plan.changes, self.planned.configuration))

    @cached_property
    def placed(self) -> dict[Place, list[Choice]]:
        """Changes by place; without a stage of its own to close, a seam is renewed like any part."""
        places: dict[Place, list[Choice]] = {place: [] for place in Place}
        for change in self.plan.changes:
            place = place_of(self.network.items[change.item], change.option, self.network, self.castings)
            if place is Place.closing and self.network.stage_of(*change) not in self.strip:
                place = Place.fit
            places[place].append(change)
        return {place: in_order(changes, self.network) for place, changes in places.items()}

    @cached_property
    def cut_castings(self) -> list[str]:
        """Castings of the carburetor in which metal is worked, in the order of the work."""
        worked = [*self.placed[Place.bare_metal], *self.placed[Place.cut]]
        castings = (self.network.items[change.item].casting for change in worked)
        return [casting for casting in dict.fromkeys(castings) if casting in self.castings]


def _steps(job: _Job) -> Iterator[Step]:
    yield from first_steps(job.planned, job.strip)
    yield from _strip(job)
    yield from _change(job)
    yield from _clean(job)
    yield from _renew(job)
    yield from _check(job)
    yield from _reassemble(job)
    yield from _changes(job, Place.hoses, Phase.reference_and_hoses)
    yield from duct_test(job.planned)
    yield from start_steps(job.planned)
    yield from _changes(job, Place.first_start, Phase.first_start)
    yield from proving_steps(job.planned)


def _strip(job: _Job) -> Iterator[Step]:
    for stage in job.strip:
        found = job.network.stages[stage]
        text = job.network.stages[stage].taking_off or TAKING_OFF
        yield Step(0, Phase.strip, off_text(found), text, stage=stage, minutes=found.minutes, opens=stage)
        yield from look_steps(job.planned, [stage], Phase.strip)


def _change(job: _Job) -> Iterator[Step]:
    yield from _changes(job, Place.bare_metal, Phase.change)
    yield from _changes(job, Place.around, Phase.change)
    cuts = job.placed[Place.cut]
    if not cuts:
        return
    titles = "; ".join(job.network.items[change.item].title for change in cuts)
    yield Step(
        0,
        Phase.change,
        "Last look before you cut",
        f"What comes next cannot be undone: {titles}. Wash the bare castings and look for cracks, corrosion and worn "
        "threads: a casting that is scrap needs no hole. Everything tried so far must have held. If anything was found "
        "other than the job says, write it there and plan again: the cut may not be needed.",
        minutes=LAST_LOOK,
    )
    yield from _changes(job, Place.cut, Phase.change)


def _clean(job: _Job) -> Iterator[Step]:
    for casting in job.cut_castings:
        yield Step(
            0,
            Phase.clean,
            f"Clean the {job.network.castings[casting]}",
            BATH if casting == job.cut_castings[0] else "In the same way.",
            casting=casting,
            minutes=CLEANING,
            cautions=("Eye protection; no air on a casting that holds fuel.",)
            if casting == job.cut_castings[0]
            else (),
        )


def _renew(job: _Job) -> Iterator[Step]:
    told = False
    for stage in job.strip:
        here = [each for each in job.renewals if each.stage == stage]
        if here:
            listed = "; ".join(f"{each.quantity} x {each.name}" for each in here)
            yield Step(
                0,
                Phase.renew,
                f"Renew at the {part_text(job.network.stages[stage])}",
                f"{listed}." if told else f"{listed}. {SEAMS.format(fuel=job.planned.bench.job.fuel)}",
                stage=stage,
                minutes=RENEWING,
            )
            told = True
    yield from _changes(job, Place.fit, Phase.renew)


def _check(job: _Job) -> Iterator[Step]:
    for casting in job.cut_castings:
        here = [
            change
            for change in job.ways
            if job.network.items[change.item].casting == casting and job.methods[change].means is not Means.gasket
        ]
        if here:
            yield Step(
                0,
                Phase.check,
                f"Blow through the {job.network.castings[casting]}",
                _proof(job, here),
                casting=casting,
                minutes=CHECKING,
                cautions=("Dry casting, air at no more than 50 kPa (7 psi), eye protection.",),
            )


def _proof(job: _Job, changes: Sequence[Choice]) -> str:
    opened = [change for change in changes if job.methods[change].means in OPENED]
    closed = [change for change in changes if change not in opened]
    groups = (
        (closed, "Closed; nothing may pass from either side, under soapy water"),
        (opened, "Open; air and cleaner pass freely, and come out nowhere else"),
    )
    return " ".join(
        f"{text}: {'; '.join(job.network.items[change.item].title for change in here)}."
        for here, text in groups
        if here
    )


def _reassemble(job: _Job) -> Iterator[Step]:
    closing = job.placed[Place.closing]
    for stage in reversed(job.strip):
        here = [change for change in closing if job.network.stage_of(*change) == stage]
        yield from _change_steps(job, here, Phase.reassemble)
        if stage == BENCH:
            yield from leak_test(job.planned)
        text = job.network.stages[stage].putting_back or PUTTING_BACK
        yield Step(0, Phase.reassemble, back_text(job.network.stages[stage]), text, stage=stage, closes=stage)


def _changes(job: _Job, place: Place, phase: Phase) -> Iterator[Step]:
    yield from _change_steps(job, job.placed[place], phase)


def _change_steps(job: _Job, changes: Sequence[Choice], phase: Phase) -> Iterator[Step]:
    for change in changes:
        item = job.network.items[change.item]
        form = item.forms[change.option]
        labor, method = form.labor, job.methods.get(change)
        text = _sentence(labor.how if labor is not None else form.title)
        if method is not None:
            text += f" {method.how}{_across(job, change)}"
            text += f" In other threads: {method.instead}." if method.instead is not None else ""
        yield Step(
            0,
            phase,
            item.title,
            text,
            stage=job.network.stage_of(*change),
            casting=item.casting,
            minutes=labor.minutes if labor is not None else 0,
            irreversible=labor is not None and labor.irreversible,
            changes=(change,),
            cautions=tuple(_cautions(labor is not None and labor.irreversible, item.confirmed, method)),
        )


def _across(job: _Job, change: Choice) -> str:
    """What a closed passage must hold: the largest pressure across it, and that of a backfire."""
    way = job.ways[change]
    if change.option == OPEN:
        return ""
    drops = [(_drop(row, way), row) for row in job.planned.states]
    worst, state = max(
        ((drop, row) for drop, row in drops if row.name not in job.events),
        key=lambda pair: pair[0],
        default=(0.0, None),
    )
    backfire = max((drop for drop, row in drops if row.name in job.events), default=0.0)
    if state is None or max(worst, backfire) < LEAST_PA:
        return ""
    text = (
        f" It must hold {_pressure(worst)} ({state.title})" if worst >= LEAST_PA else " It must hold nothing in a drive"
    )
    return f"{text} and {_pressure(backfire)} in a backfire." if backfire > worst else f"{text}."


def _drop(row: StateRow, way: Way) -> float:
    one, other = row.spaces[way.a], row.spaces[way.b]
    return max(one.high_pa_abs - other.low_pa_abs, other.high_pa_abs - one.low_pa_abs)


def _pressure(pressure_pa: float) -> str:
    return f"{format_pressure(pressure_pa)} or {format_pressure(pressure_pa, 'psi')}"


def _cautions(irreversible: bool, confirmed: bool, method: Method | None) -> Iterator[str]:
    if irreversible:
        yield "Cannot be undone." if confirmed else "Cannot be undone, and nobody has looked: look before you cut."
    if method is not None and method.never_alone:
        yield f"Never the only barrier: {', '.join(method.never_alone)}."


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."
