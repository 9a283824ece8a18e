"""The order of work as text for the bench: boxes to tick, what to have in hand, the values to expect."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from boostcarb.network.model import Network
from boostcarb.quantities import UnitSystem, format_gauge, format_pressure
from boostcarb.report.wording import PRESSURE_UNIT, count, minutes
from boostcarb.report.wrapping import wrapped
from boostcarb.work.shopping import Line
from boostcarb.work.steps import Expected, Phase, Step, WorkOrder

PHASES = {
    Phase.prepare: "PREPARE",
    Phase.check_as_found: "CHECK AS FOUND",
    Phase.strip: "STRIP DOWN  each part off once",
    Phase.change: "CHANGE  what can be undone first, what cannot after the last look",
    Phase.clean: "CLEAN",
    Phase.renew: "RENEW AND FIT",
    Phase.check: "CHECK  before anything is closed",
    Phase.reassemble: "REASSEMBLE  in reverse",
    Phase.reference_and_hoses: "REFERENCES AND HOSES",
    Phase.first_start: "FIRST START",
    Phase.prove: "PROVE UNDER LOAD  in steps",
}
INDENT = " " * 10


def work_order_lines(order: WorkOrder, network: Network, system: UnitSystem) -> Iterator[str]:
    """The whole order: times, what to have in hand, then every step."""
    if not order.steps:
        yield wrapped("No plan, so no order of work.", first="  ")
        return
    yield wrapped(
        f"ORDER OF WORK  {minutes(order.planned_minutes)} for the plan, each part off and back counted once, where "
        f"it comes off; and {minutes(order.extra_minutes)} for checks, cleaning, renewing, starting and proving"
    )
    yield ""
    yield "HAVE IN HAND"
    yield from _shopping("Parts of the plan", [line for line in order.shopping.parts if line.for_changes])
    yield from _shopping("Renewed because opened", [line for line in order.shopping.parts if not line.for_changes])
    yield from _shopping("Consumables", order.shopping.consumables)
    yield from _shopping("Tools", order.shopping.tools)
    for phase, steps in groupby(order.steps, key=lambda step: step.phase):
        yield ""
        yield PHASES[phase]
        for casting, members in groupby(steps, key=lambda step: step.casting if step.changes else None):
            if casting is not None:
                yield f"  {network.castings[casting]}"
            for step in members:
                yield from _step(step, network, system)


def _shopping(title: str, lines: Iterable[Line]) -> Iterator[str]:
    lines = list(lines)
    if lines:
        yield f"  {title}"
    for line in lines:
        note = f" ({line.note})" if line.note else ""
        yield wrapped(f"{line.name}{note}", first=f"  [ ] {line.quantity:>2} x ", rest=INDENT + " ")


def _step(step: Step, network: Network, system: UnitSystem) -> Iterator[str]:
    yield wrapped(f"{step.title}: {step.text}", first=f"  [ ] {step.number:>2}. ", rest=INDENT)
    stage = network.stages[step.stage] if step.changes and step.stage is not None else None
    notes = [stage.title] if stage is not None and stage.after else []
    notes += [minutes(step.minutes)] if step.minutes else []
    notes += ["CANNOT BE UNDONE"] if step.irreversible else []
    if notes:
        yield wrapped(f"({'; '.join(notes)})", first=INDENT)
    for caution in step.cautions:
        yield wrapped(caution, first=f"{INDENT}! ", rest=f"{INDENT}  ")
    for state, values in groupby(step.expected, key=lambda each: each.state):
        text = "; ".join(_values(values, network, system))
        yield wrapped(f"{state}: {text}", first=f"{INDENT}= ", rest=f"{INDENT}    ")


def _values(values: Iterable[Expected], network: Network, system: UnitSystem) -> Iterator[str]:
    """What a state must show; neighbors with the same value together."""
    for shown, alike in groupby(values, key=lambda each: _shown(each, system)):
        yield f"{', '.join(_named(each, network) for each in alike)} {shown}"


def _named(value: Expected, network: Network) -> str:
    if value.kind == "word":
        return network.diaphragms[value.what].title.removeprefix("diaphragm of the ")
    return network.title_of(value.what) if value.what in network.spaces else value.what


def _shown(value: Expected, system: UnitSystem) -> str:
    if value.kind == "word":
        return "open or shut" if value.word == "undecided" else value.word
    if value.kind == "lambda":
        return _range(f"{value.low:.2f}", f"{value.high:.2f}")
    if value.kind == "gauge":
        return _range(format_gauge(value.low, system), format_gauge(value.high, system))
    unit = PRESSURE_UNIT[system]
    return f"{_range(format_pressure(value.low, unit), format_pressure(value.high, unit))} over the air horn"


def _range(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"


def work_order_count(order: WorkOrder) -> str:
    """How many steps there are, and how many of them cannot be undone.

    >>> from boostcarb.work.shopping import Shopping
    >>> work_order_count(WorkOrder((), Shopping()))
    '0 steps, nothing irreversible'
    """
    final = sum(step.irreversible for step in order.steps)
    return f"{count(len(order.steps), 'step')}, {f'{final} that cannot be undone' if final else 'nothing irreversible'}"
