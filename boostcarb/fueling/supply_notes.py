"""What of the fuel supply blocks: a bowl that runs dry or floods, a fuel pump that falls short."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.description.job import Job
from boostcarb.fueling.needle import BowlSupply
from boostcarb.fueling.notes import Note
from boostcarb.fueling.side import FuelSide

FLOW = ("supply.regulator_pressure", "supply.needle_")
CLOSING = ("supply.regulator_pressure", "supply.float_force")
PUMP = ("supply.regulator_pressure", "supply.line.", "driving.launch")


def supply_notes(side: FuelSide, job: Job) -> Iterator[Note]:
    """One for each margin of the planned carburetor that is below 1, with the usual values it rests on."""
    supplied = {bowl.seat.group for bowl in side.supply.bowls}
    wanted = {group for groups in side.supply.demand.by_state.values() for group in groups}
    for group in sorted(wanted - supplied):
        yield Note(True, "planned", f"{group} needle and seat as planned: closed, no fuel reaches the bowl.")
    for bowl in side.supply.bowls:
        yield from _bowl(bowl, side, job)
    pump = side.supply.worst_pump
    if pump.margin is not None and pump.margin.value < 1.0:
        what = "its curve ends below the pressure it must make" if pump.beyond_curve else (
            f"it delivers {pump.margin.value:.2f} times the demand"
        )
        yield Note(True, "planned", f"Fuel pump as planned: {what} at {pump.title}.{_rests(_usual(side, PUMP))}")


def _bowl(bowl: BowlSupply, side: FuelSide, job: Job) -> Iterator[Note]:
    name = bowl.seat.title
    said = job.found.get(f"{bowl.seat.group}.needle_seat")
    bore = [] if said is not None and said.bore is not None else [f"found.{bowl.seat.group}.needle_seat.bore"]
    leanest, hardest = bowl.leanest, bowl.hardest
    if leanest is not None and leanest.margin is not None and leanest.margin.value < 1.0:
        text = f"{name} as planned: the bowl runs dry, {leanest.margin.value:.2f} times the demand at {leanest.title}."
        yield Note(True, "planned", text + _rests([*_usual(side, FLOW), *bore]))
    if hardest is not None and hardest.closing is not None and hardest.closing.value < 1.0:
        text = (
            f"{name} as planned: forced open, the float pushes {hardest.closing.value:.2f} times the push of the fuel "
            f"at {hardest.title}."
        )
        yield Note(True, "planned", text + _rests([*_usual(side, CLOSING), *bore]))


def _usual(side: FuelSide, starts: tuple[str, ...]) -> list[str]:
    return [default.path for default in side.defaults if default.path.startswith(starts)]


def _rests(paths: list[str]) -> str:
    return f" Rests on usual sizes, not on yours: {', '.join(paths)}." if paths else ""
