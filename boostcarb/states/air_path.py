"""The pressures of the boundary spaces in every operating state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from boostcarb.errors import BadDescription, Problem
from boostcarb.states.balance import Balance
from boostcarb.states.carburetor_air import throat_pressures
from boostcarb.states.charge_path import ChargePath
from boostcarb.states.inputs import Backfire, Carburetor, Engine, Site, Turbo
from boostcarb.states.operating_state import Mode, OperatingState
from boostcarb.states.state_solver import Solved, StateSolver

SPIKED = ("manifold", "base")
"""The spaces that a backfire fills in every mode."""
SPIKED_IN_DRAW_THROUGH = (*SPIKED, "compressor_inlet", "compressor_outlet")
"""Those it fills where fuel goes through the compressor: the charge burns all the way to the throttle."""


@dataclass(frozen=True, slots=True)
class StateResult:
    """The air path of one operating state.

    Pressures in Pa absolute and temperatures in K by space; air flow in kg/s, speed in revolutions a
    second, effective area of carburetor and throttle in square meters. `residual` is how far the air
    balance is from closing, relative to the flow. A backfire carries the flow of the state before it.
    """

    state: OperatingState
    pressures_pa_abs: Mapping[str, float]
    temperatures_k: Mapping[str, float]
    mass_flow_kg_s: float
    pressure_ratio: float
    speed_rev_s: float
    throttle_area_m2: float
    flowing_groups: frozenset[str]
    residual: float
    assumptions: tuple[str, ...]


def boundary_states(
    mode: Mode,
    engine: Engine,
    carburetor: Carburetor,
    turbo: Turbo | None,
    site: Site,
    backfire: Backfire,
) -> tuple[StateResult, ...]:
    """Solve every operating state of a mode, in drive order.

    The turbo is left out of a naturally aspirated engine. Spaces that do not exist (a compressor
    without a turbo, secondary barrels that the carburetor does not have) are absent.

    Raises: BadDescription when the inputs do not go together or the boost is out of reach; NotSolved,
    naming the state, when a balance does not close.

    >>> engine = Engine(displacement_m3=0.005)
    >>> carburetor = Carburetor(rated_flow_m3_s=0.28, primary_venturi_area_m2=3.2e-3)
    >>> results = boundary_states(
    ...     Mode.naturally_aspirated, engine, carburetor, None, Site(), Backfire())
    >>> idle = next(each for each in results if each.state.id == "idle")
    >>> idle.pressures_pa_abs["manifold"]
    38325.0
    """
    if mode is Mode.naturally_aspirated:
        turbo = None
    else:
        _check_turbo(mode, engine, turbo)
    solver = StateSolver.of(mode, engine, carburetor, turbo, site)
    results: dict[str, StateResult] = {}
    for state in solver.states:
        if state.event:
            before = results[solver.followed(state).id]
            results[state.id] = _after_backfire(state, before, mode, backfire)
        elif state.running:
            results[state.id] = running_result(solver.solved(state), carburetor, solver.path)
        else:
            results[state.id] = _standing(state, carburetor, solver.path)
    return tuple(results.values())


def _check_turbo(mode: Mode, engine: Engine, turbo: Turbo | None) -> None:
    if turbo is None:
        raise BadDescription(Problem(f"describe the turbo: {mode} needs one", field="turbo"))
    if turbo.full_boost_speed_rev_s > engine.redline_speed_rev_s:
        raise BadDescription(
            Problem(
                "must not be above the redline: the engine would never see its boost",
                field="turbo.full_boost_speed_rev_s",
            )
        )
    if mode is Mode.draw_through and turbo.wastegate_senses == "air_horn":
        raise BadDescription(
            Problem(
                "connect the wastegate behind the compressor: in draw_through the air horn never sees "
                "boost, so the wastegate would stay shut and the boost run away",
                field="turbo.wastegate_senses",
            )
        )


def running_result(solved: Solved, carburetor: Carburetor, path: ChargePath) -> StateResult:
    """The pressures of the boundary spaces of a running state from its balance."""
    balance = solved.balance
    horn_temperature = path.air_horn_temperature(balance.pressure_ratio)
    pressures = {
        "ambient": path.site.ambient_pa_abs,
        "air_horn": balance.air_horn_pa_abs,
        **throat_pressures(
            carburetor,
            mass_flow_kg_s=balance.flow_kg_s,
            air_horn_pa_abs=balance.air_horn_pa_abs,
            temperature_k=horn_temperature,
            flowing=solved.flowing,
        ),
        "base": balance.base_pa_abs,
        "manifold": balance.manifold_pa_abs,
        **_compressor(balance, path),
    }
    return StateResult(
        state=solved.state,
        pressures_pa_abs=MappingProxyType(pressures),
        temperatures_k=_temperatures(
            path.site, air_horn=horn_temperature, manifold=path.charge_temperature(balance.pressure_ratio)
        ),
        mass_flow_kg_s=balance.flow_kg_s,
        pressure_ratio=balance.pressure_ratio,
        speed_rev_s=solved.speed_rev_s,
        throttle_area_m2=balance.area_m2,
        flowing_groups=solved.flowing,
        residual=balance.residual,
        assumptions=solved.assumptions,
    )


def _compressor(balance: Balance, path: ChargePath) -> dict[str, float]:
    if path.turbo is None:
        return {}
    flow, base = balance.flow_kg_s, balance.base_pa_abs
    return {
        "compressor_inlet": path.after_filter(flow) if path.blows else base,
        "compressor_outlet": path.compressor_outlet(flow, balance.pressure_ratio, base),
    }


def _temperatures(site: Site, *, air_horn: float, manifold: float) -> Mapping[str, float]:
    return MappingProxyType(
        {
            "ambient": site.ambient_temperature_k,
            "air_horn": air_horn,
            "manifold": manifold,
            "bay_cold": site.bay_cold_k,
            "bay_hot": site.bay_hot_k,
        }
    )


def _standing(state: OperatingState, carburetor: Carburetor, path: ChargePath) -> StateResult:
    """Everything at ambient pressure; after a drive, everything under the hood at soak temperature."""
    site = path.site
    ambient = site.ambient_pa_abs
    throats = throat_pressures(
        carburetor,
        mass_flow_kg_s=0.0,
        air_horn_pa_abs=ambient,
        temperature_k=site.ambient_temperature_k,
        flowing=frozenset(),
    )
    spaces = ["ambient", "air_horn", *throats, "base", "manifold"]
    if path.turbo is not None:
        spaces += ["compressor_inlet", "compressor_outlet"]
    inside = site.hot_soak_k if state.hot else site.ambient_temperature_k
    temperatures = dict(_temperatures(site, air_horn=inside, manifold=inside))
    if state.hot:
        temperatures |= {"bay_cold": inside, "bay_hot": inside}
    return StateResult(
        state=state,
        pressures_pa_abs=MappingProxyType(dict.fromkeys(spaces, ambient)),
        temperatures_k=MappingProxyType(temperatures),
        mass_flow_kg_s=0.0,
        pressure_ratio=1.0,
        speed_rev_s=0.0,
        throttle_area_m2=0.0,
        flowing_groups=frozenset(),
        residual=0.0,
        assumptions=(f"soaks at {inside - 273.15:.0f} °C",) if state.hot else (),
    )


def _after_backfire(state: OperatingState, before: StateResult, mode: Mode, backfire: Backfire) -> StateResult:
    """The highest pressures of a backfire: those before it times its peak ratio where charge burns."""
    spiked = SPIKED_IN_DRAW_THROUGH if mode is Mode.draw_through else SPIKED
    pressures = dict(before.pressures_pa_abs)
    for space in spiked:
        pressures[space] *= backfire.peak_ratio
    where = "between throttle and cylinders" if mode is Mode.draw_through else "in the manifold"
    return replace(
        before,
        state=state,
        pressures_pa_abs=MappingProxyType(pressures),
        assumptions=(
            *before.assumptions,
            f"backfire multiplies the pressure {where} by {backfire.peak_ratio:g} before any of it "
            f"gets away; all else as at {before.state.title}",
        ),
    )
