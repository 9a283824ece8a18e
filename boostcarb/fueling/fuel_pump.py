"""Fuel pump and line: the pressure the pump must make in each state, and whether it still delivers there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from boostcarb.description.supply import PumpPoint
from boostcarb.fueling.demand import Demand, density_of
from boostcarb.fueling.given import FROM_JOB, FROM_STATES, Given
from boostcarb.fueling.needle import reference_range, set_pressure
from boostcarb.fueling.records import Input, Worked
from boostcarb.fueling.solved import Solved
from boostcarb.physics.liquid import column_pressure, line_pressure_loss
from boostcarb.solving.situation import StateView

LINE_FITTINGS: Final = 3.0
"""Losses of filter, bends, entrance and exit over the dynamic pressure (estimate)."""

PUMP_MARGIN: Final = 1.2
"""What a fuel pump must deliver over the demand (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class PumpNeed:
    """What one state asks of the fuel pump.

    `delivered` and `margin` are None without a curve, and 0 where the pressure lies beyond its end: `beyond_curve`.
    """

    state: str
    title: str
    demand: Worked
    line_loss: Worked
    pressure: Worked
    pressure_in_launch: Worked
    delivered: Worked | None
    margin: Worked | None
    beyond_curve: bool


def flow_on_curve(curve: Sequence[PumpPoint], pressure_pa: float) -> tuple[float, bool]:
    """Flow of a pump in m3/s against a pressure, Pa, and whether that lies beyond its curve.

    Straight lines between points; below the first point no more than there; beyond the last nothing is proven, so none.

    >>> curve = [PumpPoint(pressure="0 kPa", flow="200 l/h"), PumpPoint(pressure="200 kPa", flow="100 l/h")]
    >>> flow, beyond = flow_on_curve(curve, 100e3)
    >>> round(flow * 3.6e6, 6), beyond
    (150.0, False)
    """
    if pressure_pa <= curve[0].pressure:
        return curve[0].flow, False
    if pressure_pa > curve[-1].pressure:
        return 0.0, True
    before, after = next((a, b) for a, b in pairwise(curve) if pressure_pa <= b.pressure)
    share = (pressure_pa - before.pressure) / (after.pressure - before.pressure)
    return before.flow + share * (after.flow - before.flow), False


def pump_needs(solved: Solved, given: Given, wanted: Demand) -> Iterator[PumpNeed]:
    """What every running state asks of the pump."""
    for state in solved.running:
        yield _need(solved, given, wanted, state)


def _need(solved: Solved, given: Given, wanted: Demand, state: StateView) -> PumpNeed:
    density = density_of(wanted.fuel)
    asked = _total(wanted, state)
    loss = _line_loss(given, wanted, asked)
    lift = given.number("supply.line.lift", "height of the carburetor above the tank's fuel", "m")
    head = column_pressure(density_kg_m3=density.value, height_m=lift.value)
    reference = reference_range(solved, state)[1] - solved.ambient_pa_abs
    setting = set_pressure(given)
    above = Input("reference of the regulator over ambient", reference, "Pa", FROM_STATES)
    lost = Input(loss.name, loss.value, "Pa", FROM_STATES)
    pressure = Worked("pressure at the pump, gauge", setting.value + reference + loss.value + head, "Pa",
                      "set pressure + reference + line loss + density g lift",
                      (setting, above, lost, lift, density), "balance along the line")  # fmt: skip
    length = given.number("supply.line.length", "length of the fuel line", "m")
    launch = given.number("driving.launch", "acceleration at launch", "m/s2")
    pushed = column_pressure(
        density_kg_m3=density.value, height_m=length.value, acceleration_m_s2=launch.value
    )
    in_launch = Worked("pressure at the pump in a launch, gauge", pressure.value + pushed, "Pa",
                       "pressure + density x acceleration x length (tank at the rear: the most)",
                       (Input(pressure.name, pressure.value, "Pa", FROM_STATES), density, launch, length),
                       "pressure along an accelerated column")  # fmt: skip
    delivered, margin, beyond = _delivered(given, in_launch, asked, density)
    return PumpNeed(state.name, state.title, asked, loss, pressure, in_launch, delivered, margin, beyond)


def _total(wanted: Demand, state: StateView) -> Worked:
    parts = wanted.by_state[state.name].values()
    inputs = tuple(Input(each.name, each.value, "kg/s", FROM_STATES) for each in parts)
    if wanted.carburetors > 1:
        count = Input("carburetors", wanted.carburetors, "", FROM_JOB)
        total = wanted.carburetors * sum(each.value for each in inputs)
        return Worked("fuel of all bowls", total, "kg/s", "carburetors x sum over the bowls", (count, *inputs))
    return Worked("fuel of all bowls", sum(each.value for each in inputs), "kg/s", "sum over the bowls", inputs)


def _line_loss(given: Given, wanted: Demand, asked: Worked) -> Worked:
    fuel = wanted.fuel
    bore = given.number("supply.line.bore", "bore of the fuel line", "m")
    length = given.number("supply.line.length", "length of the fuel line", "m")
    loss = line_pressure_loss(
        mass_flow_kg_s=asked.value, length_m=length.value, diameter_m=bore.value, density_kg_m3=fuel.density_kg_m3,
        viscosity_pa_s=fuel.viscosity_pa_s, loss_coefficient=LINE_FITTINGS,
    )  # fmt: skip
    return Worked(
        "loss of the fuel line", loss, "Pa", "(f L / D + fittings) density v^2 / 2",
        (Input(asked.name, asked.value, "kg/s", FROM_STATES), bore, length,
         density_of(fuel),
         Input("viscosity of the fuel", fuel.viscosity_pa_s, "Pa s", fuel.sources["viscosity_pa_s"].text),
         Input("losses of fittings and filter", LINE_FITTINGS, "", "estimate")),
        "Darcy and Weisbach; friction factor by Colebrook",
    )  # fmt: skip


def _delivered(
    given: Given, pressure: Worked, asked: Worked, density: Input
) -> tuple[Worked | None, Worked | None, bool]:
    supply = given.job.supply
    if supply is None or supply.pump is None:
        return None, None, False
    flow, beyond = flow_on_curve(supply.pump.curve, pressure.value)
    points = tuple(
        Input(f"flow at {point.pressure / 1e3:g} kPa", point.flow, "m3/s", FROM_JOB) for point in supply.pump.curve
    )
    against = Input(pressure.name, pressure.value, "Pa", FROM_STATES)
    delivered = Worked("delivered by the pump", flow * density.value, "kg/s", "flow on the curve x density",
                       (against, density, *points),
                       "the pump's curve, straight between its points, none beyond its end")  # fmt: skip
    if asked.value <= 0.0:
        return delivered, None, beyond
    margin = Worked("pump flow over demand", delivered.value / asked.value, "", "delivered / demand",
                    (Input(delivered.name, delivered.value, "kg/s", FROM_STATES),
                     Input(asked.name, asked.value, "kg/s", FROM_STATES)))  # fmt: skip
    return delivered, margin, beyond
