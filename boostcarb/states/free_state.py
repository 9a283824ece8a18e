"""An engine at any throttle, speed and boost: the air path between the operating states of the catalogue."""

from __future__ import annotations

from dataclasses import replace

from boostcarb.errors import BadDescription, NotSolved, Problem
from boostcarb.states.air_path import StateResult, running_result
from boostcarb.states.balance import StateBalance
from boostcarb.states.carburetor_air import Opening, all_groups, first_groups, wide_open
from boostcarb.states.catalogue import IDLE
from boostcarb.states.engine_air import EngineAir
from boostcarb.states.inputs import Carburetor, Engine, Site, Turbo
from boostcarb.states.operating_state import Mode, OperatingState, Speed, Throttle
from boostcarb.states.state_solver import GREATEST_RESIDUAL, Solved, StateSolver

FREE = "dialed"
"""Name of the state."""

WIDE_OPEN_FROM = 0.99
"""Share of the throttle's travel from which it counts as wide open."""

CRUISE_AIR_SHARE = 0.85
"""Share of the atmosphere's pressure in the manifold above which the mixture must be rich (assumption)."""


def free_state(
    mode: Mode,
    engine: Engine,
    carburetor: Carburetor,
    turbo: Turbo | None,
    site: Site,
    *,
    speed_rev_s: float,
    throttle: float,
    boost_pa_gauge: float = 0.0,
) -> StateResult:
    """The air path with the throttle held somewhere.

    Args:
        mode: how the engine gets its air.
        engine, carburetor, turbo, site: as for the states of the catalogue; the turbo is left out where it has none.
        speed_rev_s: engine speed, revolutions a second, above 0 and at most the redline.
        throttle: from 0, where it stands at idle, to 1, wide open. Equal steps widen the way by equal factors, as
            a hand finds the pedal: most of it is decided in the first third (assumption). The groups that open
            later flow from where the first ones alone no longer suffice.
        boost_pa_gauge: what the wastegate holds where it senses, Pa over the atmosphere.

    Raises:
        BadDescription: outside these bounds, or a boost out of reach.
        NotSolved: a balance that does not close.

    >>> engine, carburetor = Engine(displacement_m3=0.005), Carburetor(0.28, primary_venturi_area_m2=3.2e-3)
    >>> wide = free_state(Mode.naturally_aspirated, engine, carburetor, None, Site(), speed_rev_s=50.0, throttle=1.0)
    >>> light = free_state(Mode.naturally_aspirated, engine, carburetor, None, Site(), speed_rev_s=50.0, throttle=0.4)
    >>> light.pressures_pa_abs["manifold"] < 0.7 * wide.pressures_pa_abs["manifold"]
    True
    """
    if not 0.0 < speed_rev_s <= engine.redline_speed_rev_s:
        raise BadDescription(Problem(f"is {60 * speed_rev_s:.0f}; give a speed up to the redline", field="rpm"))
    if not 0.0 <= throttle <= 1.0:
        raise BadDescription(Problem(f"is {throttle:g}; give 0 (shut) to 1 (wide open)", field="throttle"))
    if turbo is not None:
        turbo = replace(turbo, boost_pa_gauge=boost_pa_gauge)
    solver = StateSolver.of(mode, engine, carburetor, turbo, site)
    shut = solver.solved(next(each for each in solver.states if each.id == IDLE)).balance.area_m2
    flowing, opening = _opening(carburetor, shut, throttle)
    air = EngineAir.at_speed(engine, speed_rev_s=speed_rev_s, ambient_pa_abs=site.ambient_pa_abs)
    balance = StateBalance(solver.path, air, FREE)
    if solver.turbo_air is not None:
        found = solver.turbo_air.spooled(balance, opening=opening)
    else:
        found = balance.at_ratio(lambda _flow: 1.0, opening=opening, highest_pa_abs=site.ambient_pa_abs)
    if not found.residual <= GREATEST_RESIDUAL:
        raise NotSolved("the air balance", places=(FREE,), residual=found.residual)
    state = OperatingState(
        id=FREE,
        title="as dialed",
        needs_enrichment=found.manifold_pa_abs > CRUISE_AIR_SHARE * site.ambient_pa_abs,
        speed=Speed.cruise,
        throttle=Throttle.wide_open if throttle >= WIDE_OPEN_FROM else Throttle.opening,
    )
    return running_result(Solved(state, found, speed_rev_s, flowing, ()), carburetor, solver.path)


def _opening(carburetor: Carburetor, shut_m2: float, throttle: float) -> tuple[frozenset[str], Opening]:
    """The groups that flow, and how wide the way is."""
    everything = all_groups(carburetor)
    whole = wide_open(carburetor, flowing=everything)
    area = shut_m2 * (whole.effective_area_m2 / shut_m2) ** throttle
    first = wide_open(carburetor, flowing=first_groups(carburetor))
    if area <= first.effective_area_m2:
        return first_groups(carburetor), Opening(area, first.choke_area_m2)
    return everything, Opening(area, whole.choke_area_m2)
