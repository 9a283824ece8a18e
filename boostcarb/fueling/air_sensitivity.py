"""What drives the main circuits when the air side is off: first-order changes round the solved states.

The air path and the passages are solved again for every input a standard deviation up and down; in between, and for
several inputs at once, the logarithms of air flow, pressure, temperature and pull change in proportion (central
differences). What groups flow and what valves do is held as solved. Against the air path solved again for random
samples of all inputs at once, lambda agrees within 0.15 %.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from boostcarb.errors import BadDescription, NotSolved
from boostcarb.fueling.circuit import Circuit
from boostcarb.fueling.metering import Metering
from boostcarb.fueling.mixture import Pull
from boostcarb.fueling.spreads import Spread
from boostcarb.solving.air_inputs import AirPathInputs
from boostcarb.solving.situation import Situation
from boostcarb.states.air_path import boundary_states
from boostcarb.states.inputs import Backfire, Carburetor, Engine, Site, Turbo
from boostcarb.states.operating_state import Mode

Floats = NDArray[np.float64]
Lane = tuple[str, str]
"""A state and a barrel group."""

LEAST_PULL_PA: Final = 1e-6
AIR_SIDE: Final = (
    "volumetric_efficiency", "rated_flow", "venturi_coefficient", "ambient_temperature", "boost",
    "compressor_efficiency", "cooler_effectiveness",
)  # fmt: skip
"""The inputs that the air path is solved again for."""


@dataclass(frozen=True, slots=True)
class _Air:
    """What the air path is solved from."""

    engine: Engine
    carburetor: Carburetor
    turbo: Turbo | None
    site: Site


@dataclass(frozen=True, slots=True)
class Pulls:
    """What drives the lanes, one row a sample, one column a lane: kg/s, Pa absolute, K."""

    air_kg_s: Floats
    horn_pa_abs: Floats
    temperature_k: Floats
    venturi_pull_pa: Floats
    bowl_low_pa_abs: Floats
    bowl_high_pa_abs: Floats


@dataclass(frozen=True)
class AirSensitivity:
    """The lanes' drive as solved, its slope over every air-side input, and where a slope is one-sided."""

    lanes: tuple[Lane, ...]
    names: tuple[str, ...]
    base: Floats
    slopes: Floats
    notes: tuple[str, ...]

    def pulls(self, deviations: Floats) -> Pulls:
        """The drive under deviations, one row a sample, one column for each name."""
        flat = self.slopes.reshape(len(self.names), self.base.size)
        moved = self.base + (deviations @ flat).reshape(-1, *self.base.shape)
        air, horn, temperature, pull = (np.exp(moved[:, :, column]) for column in range(4))
        return Pulls(air, horn, temperature, pull, horn + moved[:, :, 4], horn + moved[:, :, 5])


def air_sensitivity(
    metering: Metering, circuits: Mapping[str, Circuit], lanes: Sequence[Lane], spreads: Sequence[Spread]
) -> AirSensitivity:
    """Solve the air path again for every spread of the air side, a standard deviation up and down.

    Raises: NotSolved where an input cannot be moved either way.
    """
    base = _features(metering, circuits, lanes)
    names, slopes, notes = [], [], []
    for spread in spreads:
        if spread.name not in AIR_SIDE:
            continue
        step = sum(spread.deviations) / 2.0
        sides: list[Floats] = []
        for change in (-step, step):
            try:
                moved = _features(air_changed(metering, {spread.name: change}), circuits, lanes)
            except BadDescription as error:
                moved = np.full_like(base, np.nan)
                way = "down" if change < 0.0 else "up"
                notes.append(f"{spread.title}: cannot go {way} ({error.problems[0].message}); one side taken for both")
            sides.append(moved)
        slope, one_sided = _slope(base, sides[0], sides[1], step)
        lost = [lane for lane, row in zip(lanes, slope, strict=True) if np.isnan(row).any()]
        if lost:
            raise NotSolved(f"the mixture's dependence on {spread.title}", places=tuple(state for state, _ in lost))
        if one_sided and not any(note.startswith(spread.title) for note in notes):
            notes.append(f"{spread.title}: other barrel groups flow on one side in some state; the other side taken")
        names.append(spread.name)
        slopes.append(slope)
    stacked = np.array(slopes) if slopes else np.zeros((0, *base.shape))
    return AirSensitivity(tuple(lanes), tuple(names), base, stacked, tuple(notes))


def _slope(base: Floats, low: Floats, high: Floats, step: float) -> tuple[Floats, bool]:
    """Central differences, one-sided where only one side is known."""
    central = (high - low) / (2.0 * step)
    one = np.where(np.isnan(high), (base - low) / step, (high - base) / step)
    return np.where(np.isnan(central), one, central), bool(np.isnan(central).any())


def air_changed(metering: Metering, deviations: Mapping[str, float]) -> Metering:
    """The metering with its air path and passages solved again under deviations of air-side inputs.

    Raises: BadDescription for inputs that do not go together; NotSolved.
    """
    solved = metering.solved
    air = _air(solved.inputs)
    for name, deviation in deviations.items():
        air = _CHANGES[name](air, deviation)
    mode = Mode(solved.job.target)
    results = boundary_states(mode, air.engine, air.carburetor, air.turbo, air.site, Backfire())
    situation = Situation(solved.network, results, solved.inputs)
    pressures = situation.pressures(solved.configuration)
    return replace(metering, solved=replace(solved, states=situation.views, pressures=pressures))


def _features(metering: Metering, circuits: Mapping[str, Circuit], lanes: Sequence[Lane]) -> Floats:
    """One row a lane: what changes in proportion; not a number where the group does not flow."""
    states = {state.name: state for state in metering.states}
    rows = []
    for name, group in lanes:
        state = states.get(name)
        if state is None or group not in state.flowing_groups:
            rows.append([np.nan] * 6)
        else:
            rows.append(_row(metering.pull(state, circuits[group])))
    return np.array(rows, dtype=np.float64).reshape(-1, 6)


def _row(pull: Pull) -> list[float]:
    horn = pull.air_horn_pa_abs
    venturi = max(horn - pull.venturi_throat_pa_abs, LEAST_PULL_PA)
    logarithms = np.log([pull.air_kg_s, horn, pull.air_horn_temperature_k, venturi])
    return [*map(float, logarithms), pull.bowl_low_pa_abs - horn, pull.bowl_high_pa_abs - horn]


# --- moving one input -------------------------------------------------------------------------------------------


def _air(inputs: AirPathInputs) -> _Air:
    return _Air(inputs.engine, inputs.carburetor, inputs.turbo, inputs.site)


def _filling(air: _Air, deviation: float) -> _Air:
    given, factor = air.engine.volumetric_efficiency, float(np.exp(deviation))
    moved = given * factor if isinstance(given, float | int) else tuple((speed, ve * factor) for speed, ve in given)
    return replace(air, engine=replace(air.engine, volumetric_efficiency=moved))


def _rated_flow(air: _Air, deviation: float) -> _Air:
    """The venturis stay as they are: what is off is what the whole carburetor passes."""
    rated = air.carburetor.rated_flow_m3_s * float(np.exp(deviation))
    return replace(air, carburetor=replace(air.carburetor, rated_flow_m3_s=rated))


def _venturis(air: _Air, deviation: float) -> _Air:
    moved = air.carburetor.venturi_coefficient * float(np.exp(deviation))
    return replace(air, carburetor=replace(air.carburetor, venturi_coefficient=moved))


def _ambient(air: _Air, deviation: float) -> _Air:
    warm = air.site.ambient_temperature_k + deviation
    hot = max(air.site.hot_soak_k, warm)
    return replace(air, site=replace(air.site, ambient_temperature_k=warm, hot_soak_k=hot))


def _boost(air: _Air, deviation: float) -> _Air:
    turbo = _turbo(air)
    return replace(air, turbo=replace(turbo, boost_pa_gauge=turbo.boost_pa_gauge * float(np.exp(deviation))))


def _compressor(air: _Air, deviation: float) -> _Air:
    turbo = _turbo(air)
    return replace(air, turbo=replace(turbo, efficiency=min(1.0, turbo.efficiency * float(np.exp(deviation)))))


def _cooler(air: _Air, deviation: float) -> _Air:
    turbo = _turbo(air)
    if turbo.cooler is None:
        raise ValueError("no cooler to move the effectiveness of")
    moved = min(1.0, turbo.cooler.effectiveness * float(np.exp(deviation)))
    return replace(air, turbo=replace(turbo, cooler=replace(turbo.cooler, effectiveness=moved)))


def _turbo(air: _Air) -> Turbo:
    if air.turbo is None:
        raise ValueError("no turbo to move the boost of")
    return air.turbo


_CHANGES: Final[Mapping[str, Callable[[_Air, float], _Air]]] = {
    "volumetric_efficiency": _filling,
    "rated_flow": _rated_flow,
    "venturi_coefficient": _venturis,
    "ambient_temperature": _ambient,
    "boost": _boost,
    "compressor_efficiency": _compressor,
    "cooler_effectiveness": _cooler,
}
