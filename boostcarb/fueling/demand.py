"""Fuel that each bowl must be given in each state: its share of the air over the mixture wanted there."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from boostcarb.fueling.given import FROM_STATES
from boostcarb.fueling.records import Input, Worked
from boostcarb.fueling.solved import Solved
from boostcarb.physics.fuels import Fuel
from boostcarb.solving.situation import StateView
from boostcarb.states.carburetor_air import share_of

LambdaOf = Callable[[StateView], Input]
"""The mixture wanted in a state, with its origin."""


def density_of(fuel: Fuel) -> Input:
    """Density of the fuel, with where it is from."""
    return Input(f"density of {fuel.name}", fuel.density_kg_m3, "kg/m3", fuel.sources["density_kg_m3"].text)


@dataclass(frozen=True, slots=True)
class Demand:
    """Fuel by state and bowl of one carburetor, kg/s; a bowl is named after its barrel group, or the first of them.

    Bowls whose groups do not flow are left out. `carburetors` feed the engine together.
    """

    fuel: Fuel
    by_state: Mapping[str, Mapping[str, Worked]]
    carburetors: int = 1

    def of(self, group: str, state: str) -> float:
        """Fuel of one bowl in a state, kg/s."""
        worked = self.by_state.get(state, {}).get(group)
        return worked.value if worked else 0.0

    def total(self, state: str) -> float:
        """Fuel of all bowls of all carburetors in a state, kg/s."""
        return self.carburetors * sum(worked.value for worked in self.by_state.get(state, {}).values())


def demand(solved: Solved, fuel: Fuel, lambda_of: LambdaOf) -> Demand:
    """Fuel that every bowl gives off in every state in which the engine runs."""
    by_state: dict[str, dict[str, Worked]] = {}
    stoichiometric = Input(f"stoichiometric air-fuel ratio of {fuel.name}", fuel.stoichiometric_air_fuel_ratio, "",
                           fuel.sources["composition"].text)  # fmt: skip
    for state in solved.running:
        wanted = lambda_of(state)
        air = Input("air flow", state.result.mass_flow_kg_s, "kg/s", FROM_STATES)
        by_state[state.name] = {}
        shares: dict[str, float] = {}
        for group in sorted(state.flowing_groups):
            bowl = solved.network.circuit(group).bowl.partition(".")[0]
            shares[bowl] = shares.get(bowl, 0.0) + share_of(solved.carburetor, group, flowing=state.flowing_groups)
        for group, each in shares.items():
            share = Input(f"share of the {group} venturis", each, "", FROM_STATES)
            by_state[state.name][group] = Worked(
                f"fuel through the {group} bowl",
                air.value * share.value / (wanted.value * stoichiometric.value),
                "kg/s",
                "air flow x share / (lambda x stoichiometric ratio)",
                (air, share, wanted, stoichiometric),
                "conservation of mass",
            )
    return Demand(fuel, by_state, solved.network.carburetors)
