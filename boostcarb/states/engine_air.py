"""How much air the engine swallows at one speed."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from boostcarb.physics.constants import GAMMA_AIR
from boostcarb.physics.cylinder import engine_air_flow, ideal_volumetric_efficiency_factor
from boostcarb.states.inputs import Engine, VolumetricEfficiency

# Any pressure: it cancels where it is used.
_ANY_PA: Final = 1.0e5


def volumetric_efficiency_at(given: VolumetricEfficiency, *, speed_rev_s: float) -> float:
    """Volumetric efficiency, a plain number, at a speed in revolutions a second.

    Straight lines between the given pairs, level outside them.

    >>> volumetric_efficiency_at(((20.0, 0.75), (40.0, 1.0)), speed_rev_s=30.0)
    0.875
    """
    if not isinstance(given, tuple):
        return given
    if speed_rev_s <= given[0][0]:
        return given[0][1]
    for (speed_a, value_a), (speed_b, value_b) in pairwise(given):
        if speed_rev_s <= speed_b:
            return value_a + (value_b - value_a) * (speed_rev_s - speed_a) / (speed_b - speed_a)
    return given[-1][1]


@dataclass(frozen=True, slots=True)
class EngineAir:
    """Air flow of an engine at one speed and site, both ways: from manifold pressure and back.

    Exhaust gas left in the cylinder is counted with an exhaust pressure of the ambient or the
    manifold pressure, whichever is higher: turbine back pressure about equals the boost (assumption).

    >>> air = EngineAir.at_speed(Engine(displacement_m3=0.005), speed_rev_s=50.0, ambient_pa_abs=101325.0)
    >>> flow = air.flow(manifold_pa_abs=60e3, temperature_k=290.0)
    >>> round(air.manifold_for(flow_kg_s=flow, temperature_k=290.0))
    60000
    """

    engine: Engine
    speed_rev_s: float
    ambient_pa_abs: float
    volumetric_efficiency: float
    residual_slope: float

    @classmethod
    def at_speed(cls, engine: Engine, *, speed_rev_s: float, ambient_pa_abs: float) -> EngineAir:
        """The engine at a speed in revolutions a second and an ambient pressure in Pa absolute."""
        # The ideal factor is 1 + slope * (1 - exhaust / intake): read the slope where that is -1.
        factor = ideal_volumetric_efficiency_factor(
            intake_pressure_pa_abs=_ANY_PA,
            exhaust_pressure_pa_abs=2.0 * _ANY_PA,
            compression_ratio=engine.compression_ratio,
            gamma=GAMMA_AIR,
        )
        return cls(
            engine=engine,
            speed_rev_s=speed_rev_s,
            ambient_pa_abs=ambient_pa_abs,
            volumetric_efficiency=volumetric_efficiency_at(engine.volumetric_efficiency, speed_rev_s=speed_rev_s),
            residual_slope=1.0 - factor,
        )

    def flow(self, *, manifold_pa_abs: float, temperature_k: float) -> float:
        """Air flow in kg/s from manifold pressure (Pa absolute) and temperature (K)."""
        factor = ideal_volumetric_efficiency_factor(
            intake_pressure_pa_abs=manifold_pa_abs,
            exhaust_pressure_pa_abs=max(self.ambient_pa_abs, manifold_pa_abs),
            compression_ratio=self.engine.compression_ratio,
            gamma=GAMMA_AIR,
        )
        return factor * self._clean_flow(manifold_pa_abs, temperature_k)

    def manifold_for(self, *, flow_kg_s: float, temperature_k: float) -> float:
        """Manifold pressure, Pa absolute, at which the engine takes this air flow (kg/s).

        The inverse of `flow`, exact, because the ideal factor makes flow a straight line in manifold
        pressure below ambient and proportional to it above.
        """
        clean = _ANY_PA * flow_kg_s / self._clean_flow(_ANY_PA, temperature_k)
        if clean >= self.ambient_pa_abs:
            return clean
        slope = self.residual_slope
        return (clean + slope * self.ambient_pa_abs) / (1.0 + slope)

    def _clean_flow(self, pressure_pa_abs: float, temperature_k: float) -> float:
        return engine_air_flow(
            displacement_m3=self.engine.displacement_m3,
            speed_rev_s=self.speed_rev_s,
            volumetric_efficiency=self.volumetric_efficiency,
            pressure_pa_abs=pressure_pa_abs,
            temperature_k=temperature_k,
        )
