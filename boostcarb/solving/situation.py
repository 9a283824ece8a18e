"""The operating states of a job with a configuration: the air path first, then a solver for the passages."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from boostcarb.description.family import Flow
from boostcarb.description.job import Job
from boostcarb.errors import BadDescription, Problem
from boostcarb.network.model import Configuration, Network
from boostcarb.physics.atmosphere import standard_pressure, standard_temperature
from boostcarb.quantities import (
    format_fraction,
    format_gauge,
    format_pressure,
    format_temperature,
    format_value,
    units,
)
from boostcarb.solving.pressures import Pressures, PressureSolver, Sealing, StateInput
from boostcarb.states.air_path import StateResult, boundary_states
from boostcarb.states.inputs import (
    COMPRESSION_RATIO,
    COMPRESSOR_EFFICIENCY,
    COOLER_EFFECTIVENESS,
    COOLER_LOSS_PA,
    CRUISE_MANIFOLD_PA_GAUGE,
    FILTER_LOSS_PA,
    HOT_SOAK_K,
    IDLE_MANIFOLD_PA_GAUGE,
    MAXIMUM_PRESSURE_RATIO,
    VOLUMETRIC_EFFICIENCY,
    Backfire,
    Carburetor,
    Cooler,
    Engine,
    SecondaryOpening,
    Site,
    Turbo,
    WastegateSense,
)
from boostcarb.states.operating_state import Boost, Mode

COOLER, WASTEGATE, SECONDARIES = "charge_cooler", "wastegate_line", "secondary.opening"
AIR_PATH_ITEMS = (COOLER, WASTEGATE, SECONDARIES)
"""Items whose form changes the air path, and with it the pressures of the sources."""

BOOST_MARGIN_PA = 500.0
"""A state counts as boosted when the turbo is up and the manifold is this much above the atmosphere."""

COLDEST_START_K = 258.15
"""Coldest start that is assumed where the job says nothing (assumption: -15 degC)."""

ASSEMBLED_AT_K = 293.15
"""Temperature of the bench where the job says nothing (assumption: 20 degC)."""


@dataclass(frozen=True, slots=True)
class StateView:
    """One operating state, as rules and reports see it."""

    name: str
    title: str
    needs_enrichment: bool | None
    event: bool
    running: bool
    wide_open: bool
    boosted: bool
    flowing_groups: frozenset[str]
    result: StateResult


class Situation:
    """All operating states for one form of the air path, and the solver for the passages in them."""

    def __init__(self, network: Network, results: tuple[StateResult, ...], inputs: AirPathInputs) -> None:
        site = inputs.site
        self.defaults = inputs.defaults()
        self.views = tuple(_view(result) for result in results)
        self.index = {view.name: index for index, view in enumerate(self.views)}
        names = set(self.index)
        state_inputs = [
            StateInput(
                name=result.state.id,
                sources_pa_abs=result.pressures_pa_abs,
                ambient_pa_abs=site.ambient_pa_abs,
                event=result.state.event,
                follows=next((name for name in result.state.follows if name in names), None),
            )
            for result in results
        ]
        self._solver = PressureSolver(network, state_inputs, inputs.sealing)

    def pressures(self, configuration: Configuration) -> Pressures:
        """Pressures of all spaces in all states."""
        return self._solver.solve(configuration)


class Situations:
    """Situations of one job, made when first asked for and kept."""

    def __init__(self, network: Network, job: Job, flow: Flow) -> None:
        self._network = network
        self._job = job
        self._flow = flow
        self._made: dict[tuple[str | None, ...], Situation] = {}

    def for_(self, configuration: Configuration) -> Situation:
        """The situation that goes with a configuration.

        Raises:
            BadDescription: engine, carburetor and boost do not go together.
            NotSolved: an air path that does not balance.
        """
        key = tuple(configuration.get(item) for item in AIR_PATH_ITEMS)
        if key not in self._made:
            inputs = AirPathInputs(self._job, self._flow, configuration)
            results = boundary_states(
                Mode(self._job.target), inputs.engine, inputs.carburetor, inputs.turbo, inputs.site, Backfire()
            )
            self._made[key] = Situation(self._network, results, inputs)
        return self._made[key]


@dataclass(frozen=True)
class AirPathInputs:
    """A job in the terms of the air path, with the defaults that fill its gaps."""

    job: Job
    flow: Flow
    configuration: Configuration

    @cached_property
    def site(self) -> Site:
        """Ambient pressure and temperature, measured or from the altitude, and the engine bay's range."""
        site = self.job.site
        altitude = site.altitude or 0.0
        ambient = standard_pressure(altitude_m=altitude)
        if site.ambient_pressure is not None:
            if site.ambient_pressure.reference != "absolute":
                raise BadDescription(
                    Problem("an ambient pressure is absolute: write, for example, '98 kPa abs'",
                            field="site.ambient_pressure")
                )
            ambient = site.ambient_pressure.value_pa
        temperature = site.ambient_temperature or standard_temperature(altitude_m=altitude)
        return Site(
            ambient_pa_abs=ambient,
            ambient_temperature_k=temperature,
            hot_soak_k=max(site.hot_soak or HOT_SOAK_K, temperature),
        )

    @cached_property
    def sealing(self) -> Sealing:
        """Pressure and temperature at which chambers were closed, and what they can see afterwards."""
        site = self.job.site
        altitude = site.assembled_altitude if site.assembled_altitude is not None else site.altitude
        at_home = self.site.ambient_pa_abs
        pressure = at_home if site.assembled_altitude is None else standard_pressure(altitude_m=altitude or 0.0)
        return Sealing(
            pressure_pa_abs=pressure,
            temperature_k=site.assembled_at or ASSEMBLED_AT_K,
            coldest_k=min(site.coldest_start or COLDEST_START_K, self.site.ambient_temperature_k),
            hottest_k=self.site.hot_soak_k,
        )

    @cached_property
    def engine(self) -> Engine:
        """The engine, with the trade's usual values where the job gives none."""
        engine = self.job.engine
        ambient = self.site.ambient_pa_abs
        readings = (engine.idle_manifold, engine.cruise_manifold)
        defaults = (IDLE_MANIFOLD_PA_GAUGE, CRUISE_MANIFOLD_PA_GAUGE)
        read_at = ambient if any(readings) else None
        idle, cruise = (
            level.absolute(ambient) - ambient if level is not None else default
            for level, default in zip(readings, defaults, strict=True)
        )
        extra = {"manifold_read_at_pa_abs": read_at} if read_at is not None else {}
        return Engine(
            displacement_m3=engine.displacement,
            idle_speed_rev_s=engine.idle_speed,
            cruise_speed_rev_s=engine.cruise_speed,
            torque_peak_speed_rev_s=engine.torque_peak_speed,
            redline_speed_rev_s=engine.redline_speed,
            volumetric_efficiency=engine.volumetric_efficiency or VOLUMETRIC_EFFICIENCY,
            compression_ratio=engine.compression_ratio or COMPRESSION_RATIO,
            idle_manifold_pa_gauge=idle,
            cruise_manifold_pa_gauge=cruise,
            **extra,
        )

    @cached_property
    def carburetor(self) -> Carburetor:
        """Rated flow and venturis: the job's, else the family's."""
        given = self.job.flow
        rated = given.rated_flow if given else self.flow.rated_flow
        drop = given.rated_drop if given and given.rated_drop else self.flow.rated_drop
        # Venturis grow with the rated flow: the family's sizes go with the family's rating.
        scale = rated / self.flow.rated_flow * math.sqrt(self.flow.rated_drop / drop)
        areas = {
            group: scale * venturis.count * math.pi / 4 * venturis.bore**2
            for group, venturis in self.flow.venturis.items()
        }
        secondary = areas.get("secondary", 0.0)
        opening: SecondaryOpening = "none"
        if secondary:
            opening = "vacuum" if self.configuration.get(SECONDARIES) == "vacuum" else "mechanical"
        return Carburetor(
            rated_flow_m3_s=rated,
            rated_drop_pa=drop,
            primary_venturi_area_m2=areas["primary"],
            secondary_venturi_area_m2=secondary,
            booster_gain=self.flow.booster_gain,
            secondary_opening=opening,
        )

    @cached_property
    def turbo(self) -> Turbo | None:
        """The charge system, or None for a naturally aspirated target."""
        charge = self.job.charge
        if self.job.target == "naturally_aspirated" or charge is None:
            return None
        ambient = self.site.ambient_pa_abs
        cooler = None
        if self.configuration.get(COOLER) == "fitted":
            given = charge.cooler
            cooler = Cooler(
                effectiveness=_or(given.effectiveness if given else None, COOLER_EFFECTIVENESS),
                rated_loss_pa=_or(given.pressure_loss if given else None, COOLER_LOSS_PA),
            )
        return Turbo(
            boost_pa_gauge=charge.boost.absolute(ambient) - ambient,
            full_boost_speed_rev_s=charge.full_boost_speed,
            wastegate_senses=_WASTEGATE.get(self.configuration.get(WASTEGATE, ""), "compressor_outlet"),
            efficiency=charge.compressor_efficiency or COMPRESSOR_EFFICIENCY,
            cooler=cooler,
            filter_loss_pa=_or(charge.filter_loss, FILTER_LOSS_PA),
            maximum_pressure_ratio=charge.maximum_pressure_ratio or MAXIMUM_PRESSURE_RATIO,
        )

    def defaults(self) -> tuple[str, ...]:
        """What the job does not say and is therefore assumed, in words."""
        job, site, engine, charge = self.job, self.job.site, self.job.engine, self.job.charge
        turbo = self.turbo
        said: list[tuple[object, str]] = [
            (engine.volumetric_efficiency, f"volumetric efficiency {format_fraction(VOLUMETRIC_EFFICIENCY)}"),
            (engine.compression_ratio, f"compression ratio {COMPRESSION_RATIO:g}"),
            (engine.idle_manifold, f"manifold at idle {format_gauge(IDLE_MANIFOLD_PA_GAUGE)}"),
            (engine.cruise_manifold, f"manifold at cruise {format_gauge(CRUISE_MANIFOLD_PA_GAUGE)}"),
            (job.flow, f"rated flow {format_value(units.VOLUME_FLOW, self.flow.rated_flow, 'cfm')} at "
                       f"{format_pressure(self.flow.rated_drop, 'inHg')}, as usual for the family"),
            (site.altitude if site.ambient_pressure is None else site.ambient_pressure, "site at sea level"),
            (site.coldest_start, f"coldest start at {format_temperature(COLDEST_START_K)}"),
            (site.hot_soak, f"chambers as hot as {format_temperature(self.sealing.hottest_k)} after a hot soak"),
            (site.assembled_at, f"assembled at {format_temperature(ASSEMBLED_AT_K)}"),
        ]
        if charge is not None and turbo is not None:
            said += [
                (charge.compressor_efficiency, f"compressor efficiency {format_fraction(COMPRESSOR_EFFICIENCY)}"),
                (charge.filter_loss, f"loss of filter and intake pipe {format_pressure(FILTER_LOSS_PA)} at full load"),
                (charge.maximum_pressure_ratio, f"compressor good for a pressure ratio of {MAXIMUM_PRESSURE_RATIO:g}"),
            ]
            if turbo.cooler is not None and (charge.cooler is None or charge.cooler.effectiveness is None):
                said.append((None, f"cooler effectiveness {format_fraction(COOLER_EFFECTIVENESS)}"))
            if turbo.cooler is not None and (charge.cooler is None or charge.cooler.pressure_loss is None):
                said.append((None, f"cooler loss {format_pressure(COOLER_LOSS_PA)} at full load"))
        return tuple(text for given, text in said if given is None)


_WASTEGATE: Mapping[str, WastegateSense] = {
    "compressor_outlet": "compressor_outlet",
    "air_horn": "air_horn",
    "manifold": "manifold",
}


def _or(value: float | None, default: float) -> float:
    return default if value is None else value


def _view(result: StateResult) -> StateView:
    state = result.state
    manifold, ambient = result.pressures_pa_abs["manifold"], result.pressures_pa_abs["ambient"]
    return StateView(
        name=state.id,
        title=state.title,
        needs_enrichment=state.needs_enrichment,
        event=state.event,
        running=state.running,
        wide_open=state.wide_open,
        boosted=not state.event and state.boost is not Boost.not_yet and manifold > ambient + BOOST_MARGIN_PA,
        flowing_groups=result.flowing_groups,
        result=result,
    )
