"""What the turbo makes: what the wastegate holds, or what the exhaust lets it make."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from boostcarb.errors import BadDescription, Problem
from boostcarb.states.balance import Balance, RatioRule, StateBalance
from boostcarb.states.carburetor_air import Opening
from boostcarb.states.charge_path import ChargePath
from boostcarb.states.inputs import Turbo

# Just reaching the boost counts as reaching it, rounding aside.
_ROUNDING: Final = 1.0e-9


@dataclass(frozen=True, slots=True)
class TurboAir:
    """A turbo in its air path, with the flow and pressure ratio at which it just reaches its boost.

    The pressure ratio above 1 that it can make grows with the square of the air flow: at a fixed
    turbine its power grows with the third power of the flow, and each kilogram of air gets its share
    (assumption). Its highest pressure ratio caps it.
    """

    path: ChargePath
    turbo: Turbo
    reference_flow_kg_s: float
    reference_ratio: float

    @classmethod
    def reaching_boost(cls, balance: StateBalance, turbo: Turbo, *, opening: Opening) -> TurboAir:
        """The turbo that reaches its boost in a balance taken at its full-boost speed, wide open.

        Raises: BadDescription when that takes more than its highest pressure ratio.
        """
        reached = held(balance, turbo, opening=opening)
        limit = turbo.maximum_pressure_ratio
        if reached is None or reached.pressure_ratio > limit:
            asked = "more than any compressor gives" if reached is None else f"{reached.pressure_ratio:.2f}"
            raise BadDescription(
                Problem(
                    "lower the boost or fit a larger compressor or carburetor: "
                    f"{turbo.boost_pa_gauge / 1e3:.0f} kPa at {60.0 * turbo.full_boost_speed_rev_s:.0f} rpm "
                    f"takes a pressure ratio of {asked}, the highest is {limit:.2f}",
                    field="turbo.boost_pa_gauge",
                )
            )
        return cls(balance.path, turbo, reached.flow_kg_s, reached.pressure_ratio)

    def available(self, flow: float) -> float:
        """The highest pressure ratio that an air flow in kg/s lets the turbo make."""
        rise = (self.reference_ratio - 1.0) * (flow / self.reference_flow_kg_s) ** 2
        return min(1.0 + rise, self.turbo.maximum_pressure_ratio)

    def made(self, flow: float) -> float:
        """The pressure ratio at a flow, where the wastegate senses a place ahead of the throttle;
        elsewhere as long as the wastegate is shut.
        """
        rule = wastegate_rule(self.path, self.turbo)
        return self.available(flow) if rule is None else min(self.available(flow), rule(flow))

    def spooled(self, balance: StateBalance, *, opening: Opening) -> Balance:
        """The balance with the boost that the wastegate holds, or less where the exhaust, or the highest
        pressure ratio, does not give it. Raises: NotSolved.
        """
        wastegate = held(balance, self.turbo, opening=opening)
        if wastegate is not None and wastegate.pressure_ratio <= self.available(wastegate.flow_kg_s) * (
            1.0 + _ROUNDING
        ):
            return wastegate
        return balance.at_ratio(self.made, opening=opening, highest_pa_abs=highest_pressure(self.path, self.turbo))

    def falls_short(self, found: Balance) -> bool:
        """Whether the place that the wastegate senses stays below the pressure it would hold."""
        sensed = {
            "compressor_outlet": self.path.compressor_outlet(found.flow_kg_s, found.pressure_ratio, found.base_pa_abs),
            "air_horn": found.air_horn_pa_abs,
            "manifold": found.manifold_pa_abs,
        }[self.turbo.wastegate_senses]
        return sensed < _target(self.path, self.turbo) * (1.0 - _ROUNDING)


def held(balance: StateBalance, turbo: Turbo, *, opening: Opening) -> Balance | None:
    """The balance with the wastegate's pressure where it senses it, whatever that asks of the turbo.

    None when no pressure ratio gives it. Raises: NotSolved.
    """
    rule = wastegate_rule(balance.path, turbo)
    target = _target(balance.path, turbo)
    if rule is not None:
        return balance.at_ratio(rule, opening=opening, highest_pa_abs=target)
    return balance.at_pressure(target, opening=opening, before_cooler=turbo.wastegate_senses == "compressor_outlet")


def wastegate_rule(path: ChargePath, turbo: Turbo) -> RatioRule | None:
    """Pressure ratio that gives the wastegate its pressure at each flow.

    None where it senses a place below the throttle, so that flow alone does not tell.
    """
    if not path.blows or turbo.wastegate_senses == "manifold":
        return None
    target = _target(path, turbo)
    senses_horn = turbo.wastegate_senses == "air_horn"

    def rule(flow: float) -> float:
        loss = path.cooler_loss(flow) if senses_horn else 0.0
        return (target + loss) / path.after_filter(flow)

    return rule


def highest_pressure(path: ChargePath, turbo: Turbo) -> float:
    """A pressure, Pa absolute, that nothing in the path exceeds."""
    return max(path.site.ambient_pa_abs * turbo.maximum_pressure_ratio, _target(path, turbo))


def _target(path: ChargePath, turbo: Turbo) -> float:
    return path.site.ambient_pa_abs + turbo.boost_pa_gauge
