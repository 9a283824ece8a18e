"""How hard a carburetor's air side is used in a state, and the margins that rules hold against a limit.

Judged in every plan, and therefore apart from the rest of the fuel side.
"""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.fueling.records import Margin
from boostcarb.fueling.solved import AIR_HORN, Solved
from boostcarb.physics.gas import orifice_mass_flow
from boostcarb.solving.situation import StateView
from boostcarb.states.carburetor_air import all_groups, wide_open


def choke_margin(solved: Solved, state: StateView) -> float:
    """Choked air flow of the venturis that flow in a state over its air flow: 1 where they choke."""
    result = state.result
    opening = wide_open(solved.carburetor, flowing=state.flowing_groups)
    most = opening.choked_flow(
        air_horn_pa_abs=result.pressures_pa_abs[AIR_HORN], temperature_k=result.temperatures_k[AIR_HORN]
    )
    return most / result.mass_flow_kg_s


def rated_share(solved: Solved, state: StateView) -> float:
    """Air flow of a state over what the barrels that flow pass of this air, wide open, at the rated drop."""
    result, carburetor = state.result, solved.carburetor
    horn = result.pressures_pa_abs[AIR_HORN]
    rated = orifice_mass_flow(
        effective_area_m2=wide_open(carburetor, flowing=state.flowing_groups).effective_area_m2,
        pressure_1_pa_abs=horn,
        pressure_2_pa_abs=horn - carburetor.rated_drop_pa,
        temperature_k=result.temperatures_k[AIR_HORN],
    )
    return result.mass_flow_kg_s / rated


def all_open(solved: Solved, state: StateView) -> bool:
    """Whether every barrel group flows."""
    return state.flowing_groups == all_groups(solved.carburetor)


def air_margins(solved: Solved, quantity: str) -> Iterator[Margin]:
    """Margins of the air: `venturi_flow` in every state, `rated_flow` wide open with every barrel."""
    flowing = [state for state in solved.running if state.result.mass_flow_kg_s > 0.0]
    if quantity == "venturi_flow":
        for state in flowing:
            yield Margin(AIR_HORN, "carburetor", "choked flow over air flow", choke_margin(solved, state),
                         "its venturis choke: no more air goes through, however hard the engine pulls", state.name,
                         (AIR_HORN,))  # fmt: skip
        return
    for state in flowing:
        if state.wide_open and all_open(solved, state):
            yield Margin(AIR_HORN, "carburetor", "flow at the rated drop over air flow",
                         1.0 / rated_share(solved, state), "must pass more air than at its rated drop", state.name,
                         (AIR_HORN,))  # fmt: skip
