"""Mixture of every barrel group in every state, from the air path, the solved pressures and the holes drilled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from boostcarb.fueling.circuit import Channel, Circuit, Origin
from boostcarb.fueling.mixture import Enrichment, GroupMixture, Point, Pull, StateMixture, Status
from boostcarb.fueling.solved import AIR_HORN, Solved
from boostcarb.fueling.targets import Targets
from boostcarb.physics.constants import GAS_CONSTANT_AIR
from boostcarb.physics.fuels import Fuel
from boostcarb.physics.liquid import column_pressure
from boostcarb.physics.metering import MainCircuitFlow, main_circuit
from boostcarb.solving.diaphragms import ValveState, difference, valve_state
from boostcarb.solving.situation import StateView
from boostcarb.states.carburetor_air import booster_throat_pressure, share_of
from boostcarb.states.operating_state import ManifoldTarget, Throttle

SPILL_HEIGHT_M = 0.008
"""From the fuel's level in the bowl up to the nozzle where the job gives none (common practice, no source)."""

STARTING_PULLS = 4.0
"""The main circuit counts as set going at this many times the pull that lifts the fuel to the nozzle (assumption)."""


@dataclass(frozen=True, slots=True)
class Factors:
    """What calibration can move: the booster's gain, and the discharge of jets, enrichment channels and bleeds as
    multiples of what is usual.
    """

    booster_gain: float
    jets: float = 1.0
    channels: float = 1.0
    bleeds: float = 1.0


@dataclass(frozen=True)
class Metering:
    """The metering of one solved configuration with one fuel; circuits are given with each question."""

    solved: Solved
    fuel: Fuel
    targets: Targets
    reference_density_kg_m3: float
    factors: Factors
    spill_height_m: float

    @cached_property
    def states(self) -> tuple[StateView, ...]:
        """The states in which a mixture burns: the engine turns, and not after a backfire."""
        return self.solved.running

    @cached_property
    def stoichiometric(self) -> float:
        """Air over fuel by mass at lambda 1."""
        return self.fuel.stoichiometric_air_fuel_ratio

    @cached_property
    def lift_pa(self) -> float:
        """Pull that it takes to lift the fuel to the nozzle."""
        return column_pressure(density_kg_m3=self.fuel.density_kg_m3, height_m=self.spill_height_m)

    def table(self, circuits: Mapping[str, Circuit]) -> tuple[StateMixture, ...]:
        """Every state, every group."""
        return tuple(self._state(state, circuits) for state in self.states)

    def _state(self, state: StateView, circuits: Mapping[str, Circuit]) -> StateMixture:
        groups = tuple(self.mixture(state, circuit) for circuit in circuits.values())
        flowing = [group for group in groups if group.status is not Status.shut]
        leanest, richest = whole_mixture(flowing)
        density = self._density(state)
        shift = (density / self.reference_density_kg_m3) ** 0.5
        target = self.targets.in_state(state)
        return StateMixture(state.name, state.title, state.boosted, target, shift, groups, leanest, richest)

    def mixture(self, state: StateView, circuit: Circuit) -> GroupMixture:
        """One group in one state."""
        group, target = circuit.group, self.targets.in_state(state)
        enrichment = self.enrichment(state, circuit)
        if group not in state.flowing_groups:
            return GroupMixture(group, state.name, Status.shut, enrichment, target)
        pull = self.pull(state, circuit)
        status = self.status(state, circuit, pull)
        if status is not Status.predicted:
            return GroupMixture(group, state.name, status, enrichment, target, pull)
        opened = {Enrichment.open: (True,), Enrichment.undecided: (False, True)}.get(enrichment, (False,))
        bowls = sorted({pull.bowl_low_pa_abs, pull.bowl_high_pa_abs})
        points = [self.point(state, circuit, pull, bowl, is_open) for is_open in opened for bowl in bowls]
        flowing = [point for point in points if point is not None]
        if len(flowing) < len(points):
            return GroupMixture(group, state.name, Status.no_fuel, enrichment, target, pull)
        flowing.sort(key=lambda point: point.mixture)
        leaves = any(point.well_pa_abs > pull.air_horn_pa_abs for point in flowing)
        return GroupMixture(
            group, state.name, Status.predicted, enrichment, target, pull, flowing[-1], flowing[0], leaves
        )

    def pull(self, state: StateView, circuit: Circuit) -> Pull:
        """What drives the circuit of a group that flows."""
        result, group = state.result, circuit.group
        share = share_of(self.solved.carburetor, group, flowing=state.flowing_groups)
        low, high = self.solved.range_of(self.solved.network.circuit(group).bowl, state)
        return Pull(
            air_kg_s=result.mass_flow_kg_s * share,
            group_share=share,
            air_horn_pa_abs=result.pressures_pa_abs[AIR_HORN],
            venturi_throat_pa_abs=result.pressures_pa_abs[f"{group}.venturi_throat"],
            air_horn_temperature_k=result.temperatures_k[AIR_HORN],
            air_density_kg_m3=self._density(state),
            reference_density_kg_m3=self.reference_density_kg_m3,
            bowl_low_pa_abs=low,
            bowl_high_pa_abs=high,
        )

    def _density(self, state: StateView) -> float:
        result = state.result
        return result.pressures_pa_abs[AIR_HORN] / (GAS_CONSTANT_AIR * result.temperatures_k[AIR_HORN])

    def booster_pressure(self, pull: Pull) -> float:
        """Pressure at the booster's throat, Pa absolute."""
        return booster_throat_pressure(
            air_horn_pa_abs=pull.air_horn_pa_abs,
            venturi_throat_pa_abs=pull.venturi_throat_pa_abs,
            booster_gain=self.factors.booster_gain,
        )

    def status(self, state: StateView, circuit: Circuit, pull: Pull) -> Status:
        """Whether the main circuit sets the mixture of a group that flows; not yet whether fuel comes."""
        if circuit.variable:
            return Status.variable
        if circuit.nozzle is None or circuit.main is None:
            return Status.no_circuit
        operating = state.result.state
        if circuit.main.origin is Origin.unknown:
            return Status.unknown
        if operating.throttle is Throttle.shut or operating.manifold is ManifoldTarget.idle:
            return Status.idle
        drawn = pull.air_horn_pa_abs - self.booster_pressure(pull)
        return Status.starting if drawn < STARTING_PULLS * self.lift_pa else Status.predicted

    def enrichment(self, state: StateView, circuit: Circuit) -> Enrichment:
        """What the group's valves do together: open where one is, undecided where one may be."""
        if not circuit.channels:
            return Enrichment.none
        states = [self._valve(state, channel.diaphragm.name) for channel in circuit.channels]
        if ValveState.undecided in states:
            return Enrichment.undecided
        return Enrichment.open if ValveState.open in states else Enrichment.shut

    def _valve(self, state: StateView, name: str) -> ValveState:
        diaphragm = self.solved.network.diaphragms[name]
        valve = diaphragm.valve(self.solved.configuration)
        if valve is None:
            return ValveState.shut
        return valve_state(valve, difference(diaphragm, self.solved.configuration, self.solved.pressures, state.name))

    def power_area(self, state: StateView, circuit: Circuit, *, undecided_open: bool) -> float:
        """Effective area of the channels whose valves are open in a state, m2."""
        factor = self.factors.jets * self.factors.channels
        channels = self.open_channels(state, circuit, undecided_open=undecided_open)
        return sum(channel.area_m2(factor) for channel in channels)

    def open_channels(self, state: StateView, circuit: Circuit, *, undecided_open: bool) -> tuple[Channel, ...]:
        """The channels whose valves are open in a state."""
        counting = {ValveState.open, ValveState.undecided} if undecided_open else {ValveState.open}
        return tuple(
            channel for channel in circuit.channels if self._valve(state, channel.diaphragm.name) in counting
        )

    def main_area(self, circuit: Circuit) -> float:
        """Effective area of the main jets, m2."""
        return self.factors.jets * circuit.main.area_m2 if circuit.main else 0.0

    def point(
        self, state: StateView, circuit: Circuit, pull: Pull, bowl_pa_abs: float, undecided_open: bool
    ) -> Point | None:
        """The flow with one bowl pressure; None where no fuel flows. Raises: NotSolved."""
        power = self.power_area(state, circuit, undecided_open=undecided_open)
        return self.point_of_areas(circuit, pull, bowl_pa_abs, self.main_area(circuit), power)

    def point_of_areas(
        self, circuit: Circuit, pull: Pull, bowl_pa_abs: float, main_area_m2: float, power_area_m2: float
    ) -> Point | None:
        """The same with given areas. Raises: NotSolved."""
        flow = self.flow(circuit, pull, bowl_pa_abs, main_area_m2, power_area_m2)
        if flow.fuel_kg_s <= 0.0:
            return None
        ratio = pull.air_kg_s / flow.fuel_kg_s
        return Point(
            mixture=ratio / self.stoichiometric,
            air_fuel_ratio=ratio,
            fuel_kg_s=flow.fuel_kg_s,
            bleed_air_kg_s=flow.bleed_air_kg_s,
            bowl_pa_abs=bowl_pa_abs,
            booster_pa_abs=self.booster_pressure(pull),
            well_pa_abs=flow.well_pressure_pa_abs,
            mixture_density_kg_m3=flow.mixture_density_kg_m3,
            main_area_m2=main_area_m2,
            power_area_m2=power_area_m2,
            bleed_area_m2=self._bleed_area(circuit),
            nozzle_area_m2=circuit.nozzle.area_m2 if circuit.nozzle else 0.0,
        )

    def flow(
        self, circuit: Circuit, pull: Pull, bowl_pa_abs: float, main_area_m2: float, power_area_m2: float
    ) -> MainCircuitFlow:
        """The law of the main circuit with this pull."""
        if circuit.nozzle is None:
            raise ValueError(f"{circuit.group}: a main circuit without a nozzle has no flow")
        return main_circuit(
            main_jet_effective_area_m2=main_area_m2,
            nozzle_effective_area_m2=circuit.nozzle.area_m2,
            bowl_pressure_pa_abs=bowl_pa_abs,
            air_horn_pressure_pa_abs=pull.air_horn_pa_abs,
            booster_pressure_pa_abs=self.booster_pressure(pull),
            air_temperature_k=pull.air_horn_temperature_k,
            fuel_density_kg_m3=self.fuel.density_kg_m3,
            spill_height_m=self.spill_height_m,
            power_effective_area_m2=power_area_m2,
            bleed_effective_area_m2=self._bleed_area(circuit),
        )

    def _bleed_area(self, circuit: Circuit) -> float:
        return self.factors.bleeds * circuit.bleed.area_m2 if circuit.bleed else 0.0


def whole_mixture(groups: Sequence[GroupMixture]) -> tuple[float | None, float | None]:
    """Leanest and richest lambda of all groups that flow together; none where one of them has none."""
    leanest = [(group.pull, group.leanest) for group in groups]
    richest = [(group.pull, group.richest) for group in groups]
    return _together(leanest), _together(richest)


def _together(points: Sequence[tuple[Pull | None, Point | None]]) -> float | None:
    air = fuel_for_one = 0.0
    for pull, point in points:
        if pull is None or point is None:
            return None
        air += pull.air_kg_s
        fuel_for_one += pull.air_kg_s / point.mixture
    return air / fuel_for_one if fuel_for_one else None

