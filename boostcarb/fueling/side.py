"""All of the fuel side of one configuration, apart from the metering: one record for reports."""

from __future__ import annotations

from dataclasses import dataclass

from boostcarb.fueling.bowl import BowlUnderway, bowls
from boostcarb.fueling.capacity import Capacity, capacity
from boostcarb.fueling.demand import LambdaOf, demand, density_of
from boostcarb.fueling.evaporation import Evaporation, evaporation
from boostcarb.fueling.given import FROM_JOB, USUAL, Default, Given
from boostcarb.fueling.job_fuel import fuel_of
from boostcarb.fueling.pump import Shot, shots
from boostcarb.fueling.records import Input
from boostcarb.fueling.solved import Solved
from boostcarb.fueling.supply import Supply, supply
from boostcarb.fueling.targets import targets_of
from boostcarb.solving.situation import StateView


@dataclass(frozen=True, slots=True)
class FuelSide:
    """Carburetor size, supply, accelerator pumps, bowls under way, evaporation, and the defaults behind them."""

    capacity: Capacity
    supply: Supply
    shots: tuple[Shot, ...]
    bowls: tuple[BowlUnderway, ...]
    evaporation: Evaporation
    defaults: tuple[Default, ...]


def fuel_side(solved: Solved) -> FuelSide:
    """Compute all of it.

    Raises:
        BadDescription: a family without usual values for its fuel side.
    """
    given = Given(solved.job, solved.typical)
    fuel = fuel_of(solved.job)
    wanted = mixture_wanted(solved)
    parts = (
        capacity(solved),
        supply(solved, given, demand(solved, fuel, wanted)),
        tuple(shots(solved, given, density_of(fuel))),
        tuple(bowls(solved, given)),
        evaporation(solved, given, fuel, wanted),
    )
    return FuelSide(*parts, given.defaults)


def mixture_wanted(solved: Solved) -> LambdaOf:
    """The lambda wanted in each state, with its origin."""
    targets = targets_of(solved.job, ambient_pa_abs=solved.ambient_pa_abs)
    origin = FROM_JOB if any(target.given for target in targets.loads.values()) else USUAL

    def wanted(state: StateView) -> Input:
        return Input("lambda wanted", targets.in_state(state), "", origin)

    return wanted
