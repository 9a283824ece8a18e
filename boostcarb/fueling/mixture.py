"""What the metering says of a barrel group in a state: a mixture, or why there is none to give."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Status(StrEnum):
    """Whether the main circuit sets the mixture of a group in a state."""

    predicted = "set by the main circuit"
    shut = "this group's throttles are shut"
    idle = "idle circuit: its screws set the mixture, not predicted"
    starting = "the main circuit only just starts: the transition circuit sets the mixture, not predicted"
    no_fuel = "no fuel: the booster's pull does not lift the fuel out of the bowl"
    unknown = "nobody gave the bores of these jets, and they are not those that are usual"
    variable = "its jet opens with the air valve: the profile of its needle sets the mixture, not predicted"
    no_circuit = "no main circuit: a jet or nozzle is closed, or not described"


class Enrichment(StrEnum):
    """What the enrichment valves of a group do in a state."""

    none = "no valve"
    open = "open"
    shut = "shut"
    undecided = "open or shut"


@dataclass(frozen=True, slots=True)
class Pull:
    """What drives the main circuit of a group in a state. Pa absolute, K, kg/s, kg/m3.

    `reference_density_kg_m3` is that of the air for which the jets were right; `group_share` the group's part of the
    engine's air.
    """

    air_kg_s: float
    group_share: float
    air_horn_pa_abs: float
    venturi_throat_pa_abs: float
    air_horn_temperature_k: float
    air_density_kg_m3: float
    reference_density_kg_m3: float
    bowl_low_pa_abs: float
    bowl_high_pa_abs: float

    @property
    def lean_shift(self) -> float:
        """Factor by which the elementary carburetor runs leaner here than where its jets were right."""
        return float((self.air_density_kg_m3 / self.reference_density_kg_m3) ** 0.5)


@dataclass(frozen=True, slots=True)
class Point:
    """One solved flow of a main circuit: kg/s, Pa absolute, effective areas in m2; lambda and air-fuel ratio."""

    mixture: float
    air_fuel_ratio: float
    fuel_kg_s: float
    bleed_air_kg_s: float
    bowl_pa_abs: float
    booster_pa_abs: float
    well_pa_abs: float
    mixture_density_kg_m3: float
    main_area_m2: float
    power_area_m2: float
    bleed_area_m2: float
    nozzle_area_m2: float


@dataclass(frozen=True, slots=True)
class GroupMixture:
    """A barrel group in a state; leanest and richest differ where a valve or a pressure is not decided.

    `fuel_leaves_bleed`: the well stands above the air horn, so that fuel comes out of the high-speed bleed.
    """

    group: str
    state: str
    status: Status
    enrichment: Enrichment
    target: float
    pull: Pull | None = None
    leanest: Point | None = None
    richest: Point | None = None
    fuel_leaves_bleed: bool = False


@dataclass(frozen=True, slots=True)
class StateMixture:
    """All groups in a state, and the engine's whole mixture where every group that flows has one."""

    state: str
    title: str
    boosted: bool
    target: float
    lean_shift: float
    groups: tuple[GroupMixture, ...]
    leanest: float | None
    richest: float | None
