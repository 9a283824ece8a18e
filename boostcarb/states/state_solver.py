"""From a record of the catalogue to its air balance."""

from __future__ import annotations

from dataclasses import dataclass, field

from boostcarb.errors import NotSolved
from boostcarb.states.balance import Balance, RatioRule, StateBalance
from boostcarb.states.carburetor_air import (
    Opening,
    all_groups,
    choke_area,
    first_groups,
    wide_open,
)
from boostcarb.states.catalogue import IDLE, states_for
from boostcarb.states.charge_path import ChargePath
from boostcarb.states.engine_air import EngineAir
from boostcarb.states.inputs import Carburetor, Engine, Site, Turbo
from boostcarb.states.notes import air_valve_notes, choke_notes, throttle_notes, turbo_notes
from boostcarb.states.operating_state import (
    Boost,
    ManifoldTarget,
    Mode,
    OperatingState,
    Secondaries,
    Speed,
    Throttle,
)
from boostcarb.states.turbo_air import TurboAir, held, highest_pressure

GREATEST_RESIDUAL = 1.0e-9
"""Largest part of the air flow that a balance may miss by."""


def _unboosted(_flow: float) -> float:
    return 1.0


@dataclass(frozen=True, slots=True)
class Solved:
    """A running state with its balance."""

    state: OperatingState
    balance: Balance
    speed_rev_s: float
    flowing: frozenset[str]
    assumptions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StateSolver:
    """Solves the running states of one mode, each once."""

    states: tuple[OperatingState, ...]
    path: ChargePath
    engine: Engine
    carburetor: Carburetor
    turbo_air: TurboAir | None
    _solved: dict[str, Solved] = field(default_factory=dict)

    @classmethod
    def of(cls, mode: Mode, engine: Engine, carburetor: Carburetor, turbo: Turbo | None, site: Site) -> StateSolver:
        """A solver with the flow at which losses are rated and the turbo's reference point found.

        Raises: BadDescription when the boost is out of reach; NotSolved.
        """
        opening = wide_open(carburetor, flowing=all_groups(carburetor))

        def balance(path: ChargePath, speed: float, place: str) -> StateBalance:
            air = EngineAir.at_speed(engine, speed_rev_s=speed, ambient_pa_abs=site.ambient_pa_abs)
            return StateBalance(path, air, place)

        unrated = ChargePath.of(mode, engine, turbo, site)
        at_redline = balance(unrated, engine.redline_speed_rev_s, "rated flow")
        path = unrated.rated_at(_rated_flow(at_redline, turbo, opening))
        turbo_air = None
        if turbo is not None:
            reference = balance(path, turbo.full_boost_speed_rev_s, "full-boost speed")
            turbo_air = TurboAir.reaching_boost(reference, turbo, opening=opening)
        states = states_for(mode, diaphragm_secondaries=carburetor.secondary_opening == "vacuum")
        return cls(states, path, engine, carburetor, turbo_air)

    def followed(self, state: OperatingState) -> OperatingState:
        """The state before this one: the first of those it names that occurs in this mode."""
        return next(each for name in state.follows for each in self.states if each.id == name)

    def solved(self, state: OperatingState) -> Solved:
        """The balance of a running state. Raises: NotSolved."""
        if state.id not in self._solved:
            found = self._solve(state)
            if not found.balance.residual <= GREATEST_RESIDUAL:
                raise NotSolved("the air balance", places=(state.id,), residual=found.balance.residual)
            self._solved[state.id] = found
        return self._solved[state.id]

    def _solve(self, state: OperatingState) -> Solved:
        speed = self._speed(state)
        air = EngineAir.at_speed(self.engine, speed_rev_s=speed, ambient_pa_abs=self.path.site.ambient_pa_abs)
        balance = StateBalance(self.path, air, state.id)
        if state.throttle is Throttle.manifold:
            found, flowing = self._throttled(state, balance)
        else:
            flowing = self._flowing(state)
            found = self._open(state, balance, self._opening(state, flowing))
        return Solved(state, found, speed, flowing, self._assumptions(state, found, flowing))

    def _assumptions(self, state: OperatingState, found: Balance, flowing: frozenset[str]) -> tuple[str, ...]:
        notes = throttle_notes(state, found, target_pa_abs=self._manifold_target(state))
        limit = choke_area(self.carburetor, flowing=flowing)
        notes += choke_notes(found, self.path, choke_area_m2=limit)
        notes += air_valve_notes(state, self.carburetor, flowing=flowing)
        if self.turbo_air is not None:
            before = self.followed(state).title if state.follows else ""
            notes += turbo_notes(state, found, self.turbo_air, before=before)
        return notes

    def _throttled(self, state: OperatingState, balance: StateBalance) -> tuple[Balance, frozenset[str]]:
        """The throttle set to the state's manifold pressure, or wide open where that is not enough."""
        target = self._manifold_target(state)
        rule, highest = self._rule(state), self._highest_ratio()
        for flowing in (first_groups(self.carburetor), all_groups(self.carburetor)):
            limit = wide_open(self.carburetor, flowing=flowing)
            found = balance.throttled_to(target, rule, highest_ratio=highest, choke_area_m2=limit.choke_area_m2)
            if found is not None and found.area_m2 <= limit.effective_area_m2:
                return found, flowing
        return self._open(state, balance, limit), flowing

    def _open(self, state: OperatingState, balance: StateBalance, opening: Opening) -> Balance:
        """The balance with a given opening and what the turbo does in the state."""
        if self.turbo_air is not None and state.boost is Boost.spooled:
            return self.turbo_air.spooled(balance, opening=opening)
        highest = self._highest_ratio() * self.path.site.ambient_pa_abs
        return balance.at_ratio(self._rule(state), opening=opening, highest_pa_abs=highest)

    def _rule(self, state: OperatingState) -> RatioRule:
        """Pressure ratio from flow, as long as the wastegate holds nothing below the throttle."""
        if self.turbo_air is None or state.boost is Boost.none:
            return _unboosted
        if state.boost is Boost.spooled:
            return self.turbo_air.made
        ratio = self.solved(self.followed(state)).balance.pressure_ratio
        return lambda _flow: ratio

    def _highest_ratio(self) -> float:
        return 1.0 if self.turbo_air is None else self.turbo_air.turbo.maximum_pressure_ratio

    def _speed(self, state: OperatingState) -> float:
        engine = self.engine
        full_boost = engine.torque_peak_speed_rev_s
        if self.turbo_air is not None:
            full_boost = self.turbo_air.turbo.full_boost_speed_rev_s
        speed = {
            Speed.stopped: 0.0,
            Speed.cranking: engine.crank_speed_rev_s,
            Speed.idle: engine.idle_speed_rev_s,
            Speed.cruise: engine.cruise_speed_rev_s,
            Speed.torque_peak: engine.torque_peak_speed_rev_s,
            Speed.full_boost: full_boost,
            Speed.torque_peak_in_boost: max(engine.torque_peak_speed_rev_s, full_boost),
            Speed.redline: engine.redline_speed_rev_s,
        }[state.speed]
        return speed + state.toward_redline * (engine.redline_speed_rev_s - speed)

    def _manifold_target(self, state: OperatingState) -> float:
        if state.manifold is ManifoldTarget.idle:
            return self.engine.idle_manifold_pa_abs
        if state.manifold is ManifoldTarget.cruise:
            return self.engine.cruise_manifold_pa_abs
        boost = 0.0 if self.turbo_air is None else self.turbo_air.turbo.boost_pa_gauge
        return self.path.site.ambient_pa_abs + state.boost_share * boost

    def _flowing(self, state: OperatingState) -> frozenset[str]:
        """The groups that stand open: those behind a linkage follow it, those behind a pressure the state names."""
        followed = {
            Secondaries.open: ("always", "mechanical", "vacuum"),
            Secondaries.linkage: ("always", "mechanical"),
            Secondaries.shut: ("always",),
        }[state.secondaries]
        return frozenset(group.name for group in self.carburetor.barrels if group.opening in followed)

    def _opening(self, state: OperatingState, flowing: frozenset[str]) -> Opening:
        if state.throttle is Throttle.shut:
            idle = self.solved(next(each for each in self.states if each.id == IDLE))
            area = state.opening_factor * idle.balance.area_m2
            return Opening(area, choke_area(self.carburetor, flowing=flowing))
        return wide_open(self.carburetor, flowing=flowing)


def _rated_flow(balance: StateBalance, turbo: Turbo | None, opening: Opening) -> float:
    """Air flow in kg/s wide open at the redline, at the highest pressure ratio if the boost takes more."""
    path = balance.path
    if turbo is None:
        ambient = path.site.ambient_pa_abs
        return balance.at_ratio(_unboosted, opening=opening, highest_pa_abs=ambient).flow_kg_s
    limit = turbo.maximum_pressure_ratio
    reached = held(balance, turbo, opening=opening)
    if reached is not None and reached.pressure_ratio <= limit:
        return reached.flow_kg_s
    return balance.at_ratio(
        lambda _flow: limit, opening=opening, highest_pa_abs=highest_pressure(path, turbo)
    ).flow_kg_s
