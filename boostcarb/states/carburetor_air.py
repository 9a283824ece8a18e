"""The air side of a carburetor: how wide it is, and how hard its venturis pull."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from boostcarb.physics.constants import GAMMA_AIR
from boostcarb.physics.gas import (
    critical_pressure_ratio,
    effective_area_from_rating,
    orifice_mass_flow,
)
from boostcarb.physics.isentropic import throat_pressure
from boostcarb.states.inputs import Carburetor

PRIMARY: Final = "primary"
SECONDARY: Final = "secondary"
PRIMARIES_ONLY: Final = frozenset({PRIMARY})
BOTH_GROUPS: Final = frozenset({PRIMARY, SECONDARY})
"""Barrel groups of a carburetor that names none."""
# Any ratio below the critical one: what is below a choked throat does not matter.
_CHOKED: Final = 0.5


def group_areas(carburetor: Carburetor) -> dict[str, float]:
    """Venturi area of each barrel group of one carburetor, in square meters."""
    return {group.name: group.area_m2 for group in carburetor.barrels}


def all_groups(carburetor: Carburetor) -> frozenset[str]:
    """The barrel groups that the carburetor has.

    >>> sorted(all_groups(Carburetor(rated_flow_m3_s=0.1, primary_venturi_area_m2=1e-3)))
    ['primary']
    """
    return frozenset(group_areas(carburetor))


def first_groups(carburetor: Carburetor) -> frozenset[str]:
    """The barrel groups that open with the throttle, before all others.

    >>> sorted(first_groups(Carburetor(0.1, 1e-3, 1e-3, secondary_opening="mechanical")))
    ['primary']
    """
    return frozenset(group.name for group in carburetor.barrels if group.opening == "always")


def share_of(carburetor: Carburetor, group: str, *, flowing: frozenset[str]) -> float:
    """Share of the engine's air that goes through a group of one carburetor, by area; 0 for one that does not flow.

    >>> pair = Carburetor(rated_flow_m3_s=0.1, primary_venturi_area_m2=1e-3, count=2)
    >>> share_of(pair, "primary", flowing=all_groups(pair))
    0.5
    """
    areas = group_areas(carburetor)
    total = carburetor.count * sum(areas[each] for each in flowing)
    return areas[group] / total if group in flowing else 0.0


@dataclass(frozen=True, slots=True)
class Opening:
    """How far a carburetor stands open: effective areas in square meters.

    `effective_area_m2` is that of the whole way from air horn to base. `choke_area_m2` is that of the
    venturis that flow: whatever the pull below, they pass no more than their choked flow.
    """

    effective_area_m2: float
    choke_area_m2: float

    def choked_flow(self, *, air_horn_pa_abs: float, temperature_k: float) -> float:
        """The most air, in kg/s, that the venturis pass."""
        return orifice_mass_flow(
            effective_area_m2=self.choke_area_m2,
            pressure_1_pa_abs=air_horn_pa_abs,
            pressure_2_pa_abs=_CHOKED * air_horn_pa_abs,
            temperature_k=temperature_k,
        )

    def passes(self, *, air_horn_pa_abs: float, base_pa_abs: float, temperature_k: float) -> float:
        """Air flow in kg/s between two pressures in Pa absolute; negative when it flows back."""
        flow = orifice_mass_flow(
            effective_area_m2=self.effective_area_m2,
            pressure_1_pa_abs=air_horn_pa_abs,
            pressure_2_pa_abs=base_pa_abs,
            temperature_k=temperature_k,
        )
        if self.effective_area_m2 <= self.choke_area_m2:
            return flow
        return min(flow, self.choked_flow(air_horn_pa_abs=air_horn_pa_abs, temperature_k=temperature_k))


def choke_area(carburetor: Carburetor, *, flowing: frozenset[str]) -> float:
    """Effective area of the venturis that flow, in square meters, of all carburetors together."""
    areas = group_areas(carburetor)
    return carburetor.count * carburetor.venturi_coefficient * sum(areas[each] for each in flowing)


def wide_open(carburetor: Carburetor, *, flowing: frozenset[str]) -> Opening:
    """The opening with these groups wide open.

    The rating holds the venturis and the open throttle, so it is the area of the whole carburetor;
    with some groups shut it is their share of it by venturi area (assumption).

    >>> single = Carburetor(rated_flow_m3_s=0.28317, primary_venturi_area_m2=33.3e-4)
    >>> round(wide_open(single, flowing=PRIMARIES_ONLY).effective_area_m2 * 1e4, 2)
    31.96
    """
    area = effective_area_from_rating(
        volume_flow_m3_s=carburetor.rated_flow_m3_s, pressure_drop_pa=carburetor.rated_drop_pa
    )
    everything = all_groups(carburetor)
    # The rating is that of one carburetor; shares are those of the engine's air.
    share = carburetor.count * sum(share_of(carburetor, each, flowing=everything) for each in flowing)
    return Opening(share * carburetor.count * area, choke_area(carburetor, flowing=flowing))


def throat_pressures(
    carburetor: Carburetor,
    *,
    mass_flow_kg_s: float,
    air_horn_pa_abs: float,
    temperature_k: float,
    flowing: frozenset[str],
) -> dict[str, float]:
    """Pressure, Pa absolute, at every venturi and booster throat, from the air flow in kg/s.

    The booster multiplies the pull of its venturi, down to the pressure at which its own throat
    chokes. A group that does not flow stands at air horn pressure. Behind an air valve the pull is what the valve
    holds, less where the flow is too small to lift it, and more where it stands fully open.

    Raises: ValueError when the flow is more than the venturis pass.

    >>> single = Carburetor(rated_flow_m3_s=0.28317, primary_venturi_area_m2=33.3e-4)
    >>> found = throat_pressures(single, mass_flow_kg_s=0.23, air_horn_pa_abs=100.3e3,
    ...     temperature_k=288.15, flowing=PRIMARIES_ONLY)
    >>> {space: round(pressure, -2) for space, pressure in found.items()}
    {'primary.venturi_throat': 98000.0, 'primary.booster_throat': 95700.0}
    """
    pressures: dict[str, float] = {}
    for group in carburetor.barrels:
        throat = air_horn_pa_abs
        if group.name in flowing:
            # One speed through all venturis that flow: their throats have one pressure.
            area = choke_area(carburetor, flowing=flowing)

            def at(opening: float, area: float = area) -> float:
                return throat_pressure(
                    mass_flow_kg_s=mass_flow_kg_s,
                    effective_area_m2=opening * area,
                    pressure_pa_abs=air_horn_pa_abs,
                    temperature_k=temperature_k,
                )

            throat = at(1.0)
            if group.depression_pa is not None:
                most = Opening(group.rest_share * area, group.rest_share * area).choked_flow(
                    air_horn_pa_abs=air_horn_pa_abs, temperature_k=temperature_k
                )
                lifted = mass_flow_kg_s >= most or air_horn_pa_abs - at(group.rest_share) > group.depression_pa
                throat = min(throat, air_horn_pa_abs - group.depression_pa) if lifted else at(group.rest_share)
        pressures[f"{group.name}.venturi_throat"] = throat
        pressures[f"{group.name}.booster_throat"] = booster_throat_pressure(
            air_horn_pa_abs=air_horn_pa_abs, venturi_throat_pa_abs=throat, booster_gain=carburetor.booster_gain
        )
    return pressures


def booster_throat_pressure(*, air_horn_pa_abs: float, venturi_throat_pa_abs: float, booster_gain: float) -> float:
    """Pressure at the throat of a booster, Pa absolute: its gain times the venturi's pull, down to where it chokes.

    >>> booster_throat_pressure(air_horn_pa_abs=100e3, venturi_throat_pa_abs=98e3, booster_gain=2.0)
    96000.0
    """
    pull = booster_gain * (air_horn_pa_abs - venturi_throat_pa_abs)
    return max(air_horn_pa_abs - pull, critical_pressure_ratio(gamma=GAMMA_AIR) * air_horn_pa_abs)
