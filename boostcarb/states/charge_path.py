"""The air from the filter to the manifold, apart from engine and throttle: what each flow and
pressure ratio makes of pressure and temperature along the way.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from boostcarb.physics.charge import (
    compressor_outlet_temperature,
    cooler_outlet_temperature,
    cooler_pressure_loss,
)
from boostcarb.states.inputs import Engine, Site, Turbo
from boostcarb.states.operating_state import Mode

# A trial flow far above what the path carries would come out below zero; held here, such a trial
# fails the balance by a wide margin and so is never an answer.
_FLOOR_PA: Final = 1.0


@dataclass(frozen=True, slots=True)
class ChargePath:
    """Filter, compressor and cooler in the order of one mode.

    `rated_flow_kg_s` is the flow at which filter and cooler lose what they are rated at. None means
    that every flow is the rated one: so the rated flow itself is found.
    """

    mode: Mode
    site: Site
    turbo: Turbo | None
    rated_filter_loss_pa: float
    rated_cooler_loss_pa: float
    rated_flow_kg_s: float | None = None

    @classmethod
    def of(cls, mode: Mode, engine: Engine, turbo: Turbo | None, site: Site) -> ChargePath:
        """The path of a mode before its rated flow is known; without a turbo it has no compressor."""
        cooler = turbo.cooler if turbo is not None else None
        return cls(
            mode=mode,
            site=site,
            turbo=turbo,
            rated_filter_loss_pa=engine.air_cleaner_loss_pa if turbo is None else turbo.filter_loss_pa,
            rated_cooler_loss_pa=0.0 if cooler is None else cooler.rated_loss_pa,
        )

    def rated_at(self, flow_kg_s: float) -> ChargePath:
        """The same path with its rated flow."""
        return replace(self, rated_flow_kg_s=flow_kg_s)

    @property
    def blows(self) -> bool:
        """Whether the compressor is ahead of the carburetor."""
        return self.mode is Mode.blow_through

    def after_filter(self, flow: float) -> float:
        """Pressure behind the filter, Pa absolute, at a flow in kg/s."""
        return max(self.site.ambient_pa_abs - self._loss(self.rated_filter_loss_pa, flow), _FLOOR_PA)

    def cooler_loss(self, flow: float) -> float:
        """Pressure lost in the cooler, Pa, at a flow in kg/s."""
        return self._loss(self.rated_cooler_loss_pa, flow)

    def air_horn(self, flow: float, pressure_ratio: float) -> float:
        """Pressure above the carburetor, Pa absolute."""
        inlet = self.after_filter(flow)
        return max(pressure_ratio * inlet - self.cooler_loss(flow), _FLOOR_PA) if self.blows else inlet

    def base(self, flow: float, pressure_ratio: float, manifold: float) -> float:
        """Pressure below the throttle, Pa absolute, that leads to a manifold pressure."""
        if self.mode is Mode.draw_through:
            return (manifold + self.cooler_loss(flow)) / pressure_ratio
        return manifold

    def compressor_outlet(self, flow: float, pressure_ratio: float, base: float) -> float:
        """Pressure behind the compressor, Pa absolute."""
        return pressure_ratio * (self.after_filter(flow) if self.blows else base)

    def charge_temperature(self, pressure_ratio: float) -> float:
        """Temperature in the manifold, K: behind compressor and cooler. Evaporating fuel, which cools
        it, and warm walls, which heat it, are left out.
        """
        ambient = self.site.ambient_temperature_k
        if self.turbo is None:
            return ambient
        hot = compressor_outlet_temperature(
            inlet_temperature_k=ambient, pressure_ratio=pressure_ratio, efficiency=self.turbo.efficiency
        )
        if self.turbo.cooler is None:
            return hot
        return cooler_outlet_temperature(
            inlet_temperature_k=hot,
            coolant_temperature_k=ambient,
            effectiveness=self.turbo.cooler.effectiveness,
        )

    def air_horn_temperature(self, pressure_ratio: float) -> float:
        """Temperature above the carburetor, K."""
        return self.charge_temperature(pressure_ratio) if self.blows else self.site.ambient_temperature_k

    def _loss(self, rated_loss: float, flow: float) -> float:
        if self.rated_flow_kg_s is None:
            return rated_loss
        return cooler_pressure_loss(
            mass_flow_kg_s=flow, rated_mass_flow_kg_s=self.rated_flow_kg_s, rated_loss_pa=rated_loss
        )
