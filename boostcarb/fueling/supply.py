"""The fuel supply of a configuration: needles, pump and line, the regulator's reference, a dead-head line."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from boostcarb.fueling.demand import Demand
from boostcarb.fueling.fuel_pump import PumpNeed, pump_needs
from boostcarb.fueling.given import FROM_STATES, Given
from boostcarb.fueling.needle import (
    REGULATOR,
    BowlSupply,
    Seat,
    bowl_supply,
    reference_range,
    seats,
    set_pressure,
)
from boostcarb.fueling.records import Input, Worked
from boostcarb.fueling.references import Reference, references
from boostcarb.fueling.solved import Solved

REFERENCE_LINE: Final = "regulator.reference_line"
RISING: Final = "rising_rate"

LEAST_HOLD: Final = 1.0
"""What the float must push with over the push of a line that has kept its boost."""

TRAPPED_M3: Final = (1e-6, 3e-6)
"""Fuel that a dead-head line gives back when its pressure falls by a boost: lines and hose (estimate)."""


@dataclass(frozen=True, slots=True)
class DeadHead:
    """A line without a return after the throttle has shut from boost.

    `group` is the bowl whose needle holds worst. `across` is line minus bowl once the bowl has fallen back; `closing`
    the float's force over its push (None where nothing pushes); `rises` how much the level then rises, least and most.
    """

    group: str
    across: Worked
    closing: Worked | None
    rises: tuple[Worked, ...]


@dataclass(frozen=True, slots=True)
class Supply:
    """The fuel supply: demand by state, each bowl, pump, each reference, and the dead-head line if it is one."""

    demand: Demand
    regulator: str
    reference: str
    set_pressure: Input
    bowls: tuple[BowlSupply, ...]
    pump: tuple[PumpNeed, ...]
    references: tuple[Reference, ...]
    returns: bool
    dead_head: DeadHead | None

    @property
    def worst_pump(self) -> PumpNeed:
        """The state with the least margin of the pump, or without a curve the one with most flow times pressure."""
        rated = [need for need in self.pump if need.margin is not None]
        if rated:
            return min(rated, key=lambda need: (need.margin.value if need.margin else 0.0, -need.demand.value))
        return max(self.pump, key=lambda need: need.demand.value * need.pressure_in_launch.value)


def supply(solved: Solved, given: Given, wanted: Demand) -> Supply:
    """Judge the supply of a configuration in every state."""
    found = tuple(seats(solved, given))
    returns = given.word("supply.return_line", "return line") == "yes"
    return Supply(
        demand=wanted,
        regulator=solved.form(REGULATOR),
        reference=solved.form(REFERENCE_LINE),
        set_pressure=set_pressure(given),
        bowls=tuple(bowl_supply(solved, given, seat, wanted) for seat in found),
        pump=tuple(pump_needs(solved, given, wanted)),
        references=references(solved, given, found, wanted),
        returns=returns,
        dead_head=None if returns else dead_head(solved, given, found),
    )


def dead_head(solved: Solved, given: Given, found: Iterable[Seat]) -> DeadHead | None:
    """The line keeps the pressure of full boost while the bowls fall to that of the overrun: the worst of the seats."""
    each = [held for seat in found if (held := _held(solved, given, seat)) is not None]
    return min(each, key=lambda held: held.closing.value if held.closing else math.inf, default=None)


def _held(solved: Solved, given: Given, seat: Seat) -> DeadHead | None:
    boosted = [state for state in solved.running if state.boosted and state.wide_open]
    after = solved.state("overrun")
    if not boosted or after is None:
        return None
    before = boosted[-1]
    setting = set_pressure(given)
    held = Input(f"reference at {before.title}, absolute", reference_range(solved, before)[1], "Pa", FROM_STATES)
    bowl = Input(f"{seat.group} bowl at {after.title}, absolute", solved.range_of(f"{seat.group}.bowl", after)[0],
                 "Pa", FROM_STATES)  # fmt: skip
    across = Worked("dead-head line minus bowl after lift-off", setting.value + held.value - bowl.value, "Pa",
                    "set pressure + reference in boost - bowl after", (setting, held, bowl),
                    "the line holds what no return lets off")  # fmt: skip
    margin = seat.closing_margin(across.value)
    closing = None
    if margin is not None:
        closing = Worked("closing force over the push of the held pressure", margin, "",
                         "float force / (across pi d^2 / 4)",
                         (seat.float_force, Input(across.name, across.value, "Pa", FROM_STATES), seat.bore),
                         "balance of forces on the needle")  # fmt: skip
    length = given.number(f"bowls.{seat.group}.length", f"length of the {seat.group} bowl", "m")
    width = given.number(f"bowls.{seat.group}.width", f"width of the {seat.group} bowl", "m")
    rises = tuple(
        Worked("rise of the level in one bowl", volume / (length.value * width.value), "m",
               "fuel given back / (length x width)",
               (Input("fuel given back by line and hose", volume, "m3", "estimate"), length, width), "geometry")
        for volume in TRAPPED_M3
    )  # fmt: skip
    return DeadHead(seat.group, across, closing, rises)
