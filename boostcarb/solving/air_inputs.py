"""A job in the terms of the air path, with the defaults that fill its gaps."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from boostcarb.assumed import Assumed
from boostcarb.description.family import Flow
from boostcarb.description.job import Job
from boostcarb.errors import BadDescription, Problem
from boostcarb.network.model import COOLER, WASTEGATE, Configuration
from boostcarb.physics.atmosphere import standard_pressure, standard_temperature
from boostcarb.solving.pressures import Sealing
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
    Barrels,
    Carburetor,
    Cooler,
    Engine,
    GroupOpening,
    Site,
    Turbo,
    WastegateSense,
)

COLDEST_START_K = 258.15
"""Coldest start that is assumed where the job says nothing (assumption: -15 degC)."""

ASSEMBLED_AT_K = 293.15
"""Temperature of the bench where the job says nothing (assumption: 20 degC)."""

JOB_FIELDS = {
    "turbo.boost_pa_gauge": "charge.boost",
    "turbo.full_boost_speed_rev_s": "charge.full_boost_speed",
    "turbo.wastegate_senses": "found.wastegate_line",
    "turbo.maximum_pressure_ratio": "charge.maximum_pressure_ratio",
    "turbo.efficiency": "charge.compressor_efficiency",
    "turbo.filter_loss_pa": "charge.filter_loss",
    "turbo.cooler.effectiveness": "charge.cooler.effectiveness",
    "turbo.cooler.rated_loss_pa": "charge.cooler.pressure_loss",
    "engine.idle_manifold_pa_gauge": "engine.idle_manifold",
    "engine.cruise_manifold_pa_gauge": "engine.cruise_manifold",
    "engine.redline_speed_rev_s": "engine.redline_speed",
    "engine.displacement_m3": "engine.displacement",
    "carburetor.rated_flow_m3_s": "flow.rated_flow",
    "carburetor.rated_drop_pa": "flow.rated_drop",
    "site.hot_soak_k": "site.hot_soak",
    "site.ambient_pa_abs": "site.ambient_pressure",
    "site.ambient_temperature_k": "site.ambient_temperature",
}
"""Where a job says what the air path calls otherwise."""


def in_job_terms(problem: Problem) -> Problem:
    """A problem of the air path, named by the field of the job that it comes from."""
    return replace(problem, field=JOB_FIELDS.get(problem.field or "", problem.field))


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
                    Problem(
                        "an ambient pressure is absolute: write, for example, '98 kPa abs'",
                        field="site.ambient_pressure",
                    )
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
        groups = [
            Barrels(group, areas[group], self._opening_of(group), venturis.depression, venturis.at_rest)
            for group, venturis in self.flow.venturis.items()
        ]
        several = self.job.carburetors
        return Carburetor.of_groups(
            groups,
            rated_flow_m3_s=rated,
            rated_drop_pa=drop,
            booster_gain=self.flow.booster_gain,
            count=several.count if several else 1,
        )

    def _opening_of(self, group: str) -> GroupOpening:
        """What opens a barrel group, with the part that decides it in the form it has."""
        later = self.flow.opening.get(group)
        if later is None:
            return "always"
        form = self.configuration.get(later.part) if later.part else None
        return "vacuum" if form in later.by_vacuum else "mechanical"

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

    def defaults(self) -> tuple[Assumed, ...]:
        """What the job does not say and is therefore assumed."""
        job, site, engine = self.job, self.job.site, self.job.engine
        pressure = site.altitude if site.ambient_pressure is None else site.ambient_pressure
        said: list[tuple[object, Assumed]] = [
            (engine.volumetric_efficiency, Assumed("volumetric efficiency {}", VOLUMETRIC_EFFICIENCY, "fraction")),
            (engine.compression_ratio, Assumed("compression ratio {}", COMPRESSION_RATIO, "number")),
            (engine.idle_manifold, Assumed("manifold at idle {}", IDLE_MANIFOLD_PA_GAUGE, "gauge")),
            (engine.cruise_manifold, Assumed("manifold at cruise {}", CRUISE_MANIFOLD_PA_GAUGE, "gauge")),
            (job.flow, Assumed("rated flow {}, as usual for the family", self.flow.rated_flow, "flow")),
            (pressure, Assumed("site at the pressure of sea level, {}", self.site.ambient_pa_abs, "absolute")),
            (site.coldest_start, Assumed("coldest start at {}", COLDEST_START_K, "temperature")),
            (site.hot_soak, Assumed("chambers as hot as {} after a hot soak", self.site.hot_soak_k, "temperature")),
            (site.assembled_at, Assumed("assembled at {}", ASSEMBLED_AT_K, "temperature")),
        ]
        return tuple(assumed for given, assumed in (*said, *self._charge_defaults()) if given is None)

    def _charge_defaults(self) -> Iterator[tuple[object, Assumed]]:
        charge = self.job.charge
        if charge is None or self.turbo is None:
            return
        yield charge.compressor_efficiency, Assumed("compressor efficiency {}", COMPRESSOR_EFFICIENCY, "fraction")
        yield (
            charge.filter_loss,
            Assumed("loss of filter and intake pipe {} at full load", FILTER_LOSS_PA, "difference"),
        )
        ratio = Assumed("compressor good for a pressure ratio of {}", MAXIMUM_PRESSURE_RATIO, "number")
        yield charge.maximum_pressure_ratio, ratio
        if self.turbo.cooler is not None:
            cooler = charge.cooler
            effectiveness = Assumed("cooler effectiveness {}", COOLER_EFFECTIVENESS, "fraction")
            yield cooler.effectiveness if cooler else None, effectiveness
            yield (
                cooler.pressure_loss if cooler else None,
                Assumed("cooler loss {} at full load", COOLER_LOSS_PA, "difference"),
            )


_WASTEGATE: Mapping[str, WastegateSense] = {
    "compressor_outlet": "compressor_outlet",
    "air_horn": "air_horn",
    "manifold": "manifold",
}


def _or(value: float | None, default: float) -> float:
    return default if value is None else value
