"""The air balance of one state: what the throttle passes is what the engine swallows.

Each way of stating the balance has one unknown, and everything else follows from it in turn: the
air flow where the pressure ratio follows from the flow, the pressure ratio where the manifold
pressure is known.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from boostcarb.physics.gas import effective_area_for_flow
from boostcarb.states.carburetor_air import Opening
from boostcarb.states.charge_path import ChargePath
from boostcarb.states.engine_air import EngineAir
from boostcarb.states.root import find_root

RatioRule = Callable[[float], float]
"""Pressure ratio of the compressor from the air flow in kg/s."""

# No single compressor comes near it: beyond it the manifold pressure asked for is out of reach.
HIGHEST_TRIAL_RATIO: Final = 12.0
# Steps in which the largest of several balances is looked for, from above.
_STEP_DOWN: Final = 0.92
_LEAST_SHARE: Final = 1.0e-4


@dataclass(frozen=True, slots=True)
class Balance:
    """A solved air path: kg/s, Pa absolute, square meters; `residual` is relative to the air flow."""

    flow_kg_s: float
    pressure_ratio: float
    air_horn_pa_abs: float
    base_pa_abs: float
    manifold_pa_abs: float
    area_m2: float
    residual: float


@dataclass(frozen=True, slots=True)
class StateBalance:
    """The balances that can be asked of one state; `place` is its id."""

    path: ChargePath
    engine_air: EngineAir
    place: str

    def at_ratio(self, rule: RatioRule, *, opening: Opening, highest_pa_abs: float) -> Balance:
        """The balance with an opening and a pressure ratio that follows from the flow.

        `highest_pa_abs` is a pressure that the manifold cannot exceed. Where a turbo that lives on its
        own exhaust allows several balances, the one with most air. Raises: NotSolved.
        """
        high = self.engine_air.flow(manifold_pa_abs=highest_pa_abs, temperature_k=self.path.site.ambient_temperature_k)

        def surplus(flow: float) -> float:
            ratio = rule(flow)
            manifold = self._manifold(flow, ratio)
            return self._passed(opening, flow, ratio, manifold) - flow

        least = _LEAST_SHARE * high
        low = _STEP_DOWN * high
        while low > least and surplus(low) < 0.0:
            high, low = low, _STEP_DOWN * low
        flow = find_root(surplus, low if low > least else 0.0, high, place=self.place)
        ratio = rule(flow)
        return self._balance(flow, ratio, self._manifold(flow, ratio), opening)

    def at_pressure(self, target_pa_abs: float, *, opening: Opening, before_cooler: bool = False) -> Balance | None:
        """The balance with an opening and the pressure ratio that gives a pressure in the manifold, or
        ahead of the cooler; None when no pressure ratio gives it. Raises: NotSolved.
        """

        def trial(ratio: float) -> tuple[float, float]:
            flow = self._flow_at(target_pa_abs, ratio, before_cooler=before_cooler)
            loss = self.path.cooler_loss(flow) if before_cooler else 0.0
            return flow, target_pa_abs - loss

        def surplus(ratio: float) -> float:
            flow, manifold = trial(ratio)
            return self._passed(opening, flow, ratio, manifold) - flow

        low, high = 1.0, 1.5
        while surplus(high) < 0.0:
            low, high = high, 1.5 * high
            if low > HIGHEST_TRIAL_RATIO:
                return None
        ratio = find_root(surplus, low, high, place=self.place)
        flow, manifold = trial(ratio)
        return self._balance(flow, ratio, manifold, opening)

    def throttled_to(
        self, manifold_pa_abs: float, rule: RatioRule, *, highest_ratio: float, choke_area_m2: float
    ) -> Balance | None:
        """The balance with the throttle set so that the manifold has this pressure, or None when it
        would have to be higher above the throttle than it is, or the venturis, of `choke_area_m2` in
        all, choke. Raises: NotSolved.
        """

        def flow_at(ratio: float) -> float:
            return self.engine_air.flow(
                manifold_pa_abs=manifold_pa_abs, temperature_k=self.path.charge_temperature(ratio)
            )

        def surplus(ratio: float) -> float:
            return rule(flow_at(ratio)) - ratio

        ratio = 1.0
        if surplus(1.0) > 0.0:
            ratio = find_root(surplus, 1.0, highest_ratio, place=self.place)
        flow = flow_at(ratio)
        horn = self.path.air_horn(flow, ratio)
        base = self.path.base(flow, ratio, manifold_pa_abs)
        if base >= horn:
            return None
        temperature = self.path.air_horn_temperature(ratio)
        area = effective_area_for_flow(
            mass_flow_kg_s=flow,
            pressure_up_pa_abs=horn,
            pressure_down_pa_abs=base,
            temperature_k=temperature,
        )
        opening = Opening(area, choke_area_m2)
        if flow > opening.choked_flow(air_horn_pa_abs=horn, temperature_k=temperature):
            return None
        return self._balance(flow, ratio, manifold_pa_abs, opening)

    def _manifold(self, flow: float, ratio: float) -> float:
        return self.engine_air.manifold_for(flow_kg_s=flow, temperature_k=self.path.charge_temperature(ratio))

    def _flow_at(self, target: float, ratio: float, *, before_cooler: bool) -> float:
        temperature = self.path.charge_temperature(ratio)
        most = self.engine_air.flow(manifold_pa_abs=target, temperature_k=temperature)
        if not before_cooler or self.path.cooler_loss(most) == 0.0:
            return most

        def surplus(flow: float) -> float:
            manifold = self.engine_air.manifold_for(flow_kg_s=flow, temperature_k=temperature)
            return target - self.path.cooler_loss(flow) - manifold

        return find_root(surplus, 0.0, most, place=self.place)

    def _passed(self, opening: Opening, flow: float, ratio: float, manifold: float) -> float:
        return opening.passes(
            air_horn_pa_abs=self.path.air_horn(flow, ratio),
            base_pa_abs=self.path.base(flow, ratio, manifold),
            temperature_k=self.path.air_horn_temperature(ratio),
        )

    def _balance(self, flow: float, ratio: float, manifold: float, opening: Opening) -> Balance:
        swallowed = self.engine_air.flow(manifold_pa_abs=manifold, temperature_k=self.path.charge_temperature(ratio))
        passed = self._passed(opening, flow, ratio, manifold)
        return Balance(
            flow_kg_s=flow,
            pressure_ratio=ratio,
            air_horn_pa_abs=self.path.air_horn(flow, ratio),
            base_pa_abs=self.path.base(flow, ratio, manifold),
            manifold_pa_abs=manifold,
            area_m2=opening.effective_area_m2,
            residual=abs(passed - swallowed) / swallowed,
        )
