"""Needle and seat of each bowl: what flows in, and whether the float can still shut it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from boostcarb.errors import NotSolved
from boostcarb.fueling.demand import Demand, density_of
from boostcarb.fueling.given import FROM_NETWORK, FROM_STATES, Given
from boostcarb.fueling.records import Input, Worked
from boostcarb.fueling.solved import AMBIENT, Solved
from boostcarb.physics.liquid import liquid_orifice_mass_flow, needle_seat_effective_area
from boostcarb.solving.situation import StateView

REFERENCE_SIDE: Final = "regulator.reference_side"
REGULATOR: Final = "fuel_regulator"
NO_REFERENCE: Final = "fixed"
LEAST_FLOW: Final = 1.3
"""What needle and seat must pass over the demand (common practice, no source)."""
LEAST_CLOSING: Final = 2.5
"""What the float must push with over the push of the fuel (common practice, no source)."""
STOPPED_PUMP: Final = "hot_soak"
"""The state in which the fuel pump does not run."""


@dataclass(frozen=True, slots=True)
class Seat:
    """Needle and seat of one bowl: bore, effective area with the needle lifted, force that shuts it."""

    group: str
    bore: Input
    holes: int
    area: Worked
    float_force: Input
    title: str = "needle and seat"

    @property
    def bore_area_m2(self) -> float:
        """Area on which the fuel pushes the needle open."""
        return 0.25 * math.pi * self.bore.value**2

    def passes(self, difference_pa: float, density_kg_m3: float) -> float:
        """Fuel flow in kg/s at fuel line minus bowl; none when the bowl is at the higher pressure."""
        if difference_pa <= 0.0:
            return 0.0
        return self.holes * liquid_orifice_mass_flow(
            effective_area_m2=self.area.value,
            pressure_1_pa_abs=difference_pa,
            pressure_2_pa_abs=0.0,
            density_kg_m3=density_kg_m3,
        )

    def closing_margin(self, difference_pa: float) -> float | None:
        """Closing force of the float over the push of the fuel; None where nothing pushes."""
        return self.float_force.value / (difference_pa * self.bore_area_m2) if difference_pa > 0.0 else None


@dataclass(frozen=True, slots=True)
class NeedleState:
    """One bowl in one state. `margin` is flow over demand, None without demand; `closing` None where nothing pushes."""

    state: str
    title: str
    difference: Worked
    flow: Worked
    demand: Worked | None
    margin: Worked | None
    closing: Worked | None


@dataclass(frozen=True, slots=True)
class BowlSupply:
    """One bowl over all states, with the state that leaves least and the one that is hardest to shut."""

    seat: Seat
    states: tuple[NeedleState, ...]

    @property
    def leanest(self) -> NeedleState | None:
        """The state with the least flow for its demand, of several the one with the most demand."""
        fed = [
            (each.margin.value, -each.demand.value, each.state, each)
            for each in self.states
            if each.margin is not None and each.demand is not None
        ]
        return min(fed)[-1] if fed else None

    @property
    def hardest(self) -> NeedleState | None:
        """The state in which the fuel pushes hardest against the float."""
        pushed = [each for each in self.states if each.closing is not None]
        return min(pushed, key=lambda each: each.closing.value if each.closing else 0.0, default=None)


def seats(solved: Solved, given: Given) -> Iterator[Seat]:
    """Needle and seat of every bowl that has one."""
    lift = given.number("supply.needle_lift", "lift of the needle", "m")
    cone = given.number("supply.needle_cone", "cone of the needle", "rad")
    discharge = given.number("supply.needle_discharge", "discharge coefficient of needle and seat", "")
    force = given.number("supply.float_force", "closing force of float and lever", "N")
    for way in solved.ways_of_kind("needle_seat"):
        if way.bore_m is None:
            raise NotSolved("the fuel supply (a needle seat without a bore)", places=(way.name,))
        bore = Input(f"bore of the {way.title}", way.bore_m, "m", FROM_NETWORK)
        area = needle_seat_effective_area(
            seat_diameter_m=bore.value, lift_m=lift.value, cone_angle_rad=cone.value,
            discharge_coefficient=discharge.value,
        )  # fmt: skip
        worked = Worked(f"effective area of the {way.title}", area, "m2",
                        "Cd x the smaller of pi d^2 / 4 and pi d lift sin(cone / 2)", (bore, lift, cone, discharge),
                        "geometry")  # fmt: skip
        yield Seat(way.name.partition(".")[0], bore, way.count, worked, force, way.title)


def felt_by_regulator(solved: Solved) -> str:
    """The space whose pressure the regulator adds to its own: the atmosphere where it has no reference port."""
    return AMBIENT if solved.form(REGULATOR) == NO_REFERENCE else REFERENCE_SIDE


def reference_range(solved: Solved, state: StateView) -> tuple[float, float]:
    """Lowest and highest pressure of what the regulator feels, Pa absolute."""
    return solved.range_of(felt_by_regulator(solved), state)


def set_pressure(given: Given) -> Input:
    """Set pressure of the regulator over its reference."""
    return given.number("supply.regulator_pressure", "regulator set pressure", "Pa")


def bowl_supply(solved: Solved, given: Given, seat: Seat, wanted: Demand) -> BowlSupply:
    """One bowl's needle and seat in every state in which the fuel pump runs."""
    states = [state for state in solved.states if not state.event and state.name != STOPPED_PUMP]
    return BowlSupply(seat, tuple(_needle_state(solved, given, seat, wanted, state) for state in states))


def _needle_state(solved: Solved, given: Given, seat: Seat, wanted: Demand, state: StateView) -> NeedleState:
    reference, bowl = reference_range(solved, state), solved.range_of(f"{seat.group}.bowl", state)
    setting = set_pressure(given)
    low, high = (setting.value + reference[0] - bowl[1], setting.value + reference[1] - bowl[0])
    inputs = (
        setting,
        Input("reference of the regulator, absolute", reference[0], "Pa", FROM_STATES),
        Input(f"{seat.group} bowl, absolute", bowl[1], "Pa", FROM_STATES),
    )
    difference = Worked("fuel line minus bowl", low, "Pa", "set pressure + reference - bowl", inputs)
    density = density_of(wanted.fuel)
    across = Input(difference.name, low, "Pa", FROM_STATES)
    flow = Worked("flow through needle and seat", seat.passes(low, density.value), "kg/s",
                  "area x sqrt(2 density (line - bowl))",
                  (Input(seat.area.name, seat.area.value, "m2", FROM_NETWORK), density, across),
                  "Torricelli")  # fmt: skip
    asked = wanted.by_state.get(state.name, {}).get(seat.group)
    margin = None
    if asked is not None and asked.value > 0.0:
        margin = Worked("needle flow over demand", flow.value / asked.value, "", "flow / demand",
                        (Input(flow.name, flow.value, "kg/s", FROM_STATES),
                         Input(asked.name, asked.value, "kg/s", FROM_STATES)))  # fmt: skip
    return NeedleState(state.name, state.title, difference, flow, asked, margin, _closing(seat, high))


def _closing(seat: Seat, high: float) -> Worked | None:
    margin = seat.closing_margin(high)
    if margin is None:
        return None
    push = Input("fuel line minus bowl, highest", high, "Pa", FROM_STATES)
    return Worked("closing force over the push of the fuel", margin, "", "float force / ((line - bowl) pi d^2 / 4)",
                  (seat.float_force, push, seat.bore), "balance of forces on the needle")  # fmt: skip
