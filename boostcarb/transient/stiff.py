"""Filling and venting of joined chambers over time: mass and energy of each, integrated with a stiff method.

Each chamber is one volume of perfect gas with one pressure and one temperature:

    dm/dt = sum of flows in
    V dp/dt = gamma R (sum of flows in times the temperature they come from)      without heat to the walls
    V dp/dt = R T (sum of flows in)                                               walls keep the temperature

The flows are those of `boostcarb.physics.gas.laminar_flow_function`, the law of the steady balance. Without heat to the
walls is the default: in milliseconds the gas gives off little, and the pressure comes out higher, on the safe side.

A backfire check is open, on its way to its seat, or shut. The integration stops where one changes and goes on.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from boostcarb.errors import NotSolved
from boostcarb.physics.constants import GAMMA_AIR, GAS_CONSTANT_AIR
from boostcarb.physics.gas import laminar_flow_function
from boostcarb.transient.chambers import Opening, Piece
from boostcarb.transient.checks import CLOSING_PA, CLOSING_TIME_S, LEAK_SHARE, STILL_CLOSING_PA
from boostcarb.transient.pulse import Curve

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

METHOD: Final = "LSODA"
RELATIVE, ABSOLUTE = 1e-6, 1e-7
"""Tolerances of the integration; pressures are in units of `SCALE_PA`, masses in shares of the starting mass."""

SCALE_PA: Final = 1e5
STEPS_AT_LEAST: Final = 5
"""Least number of steps between two corners of the sources."""

MOST_CHANGES: Final = 200
"""Openings and closings of checks after which an integration is given up."""

WHAT = "the backfire"

Temperature = Callable[[str, float], float]
"""Temperature of a source, K, at a pressure, Pa absolute."""


@dataclass(frozen=True, slots=True)
class Setting:
    """How checks behave, and whether the walls take heat. s; `heat` False: none."""

    closing_s: float = CLOSING_TIME_S
    leak_share: float = LEAK_SHARE
    isothermal: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """Pressures of the chambers of a piece over time, Pa absolute, shape (times,); when each check shut, s."""

    times_s: NDArray[np.float64]
    pressures_pa_abs: Mapping[str, NDArray[np.float64]]
    masses_kg: Mapping[str, NDArray[np.float64]]
    shut_at_s: Mapping[str, float]


class _Check:
    """One working check while time passes."""

    OPEN, CLOSING, SHUT = range(3)

    def __init__(self, index: int, opening: Opening, setting: Setting) -> None:
        self.index, self.opening, self.setting = index, opening, setting
        self.mode, self.seats_at_s = self.OPEN, math.inf

    def level(self) -> float:
        """Reverse difference at which it next changes by itself."""
        return (CLOSING_PA, STILL_CLOSING_PA, 0.0)[self.mode]

    def change(self, time_s: float) -> None:
        """Past its level: start to close, or fall open."""
        if self.mode == self.OPEN:
            self.mode, self.seats_at_s = self.CLOSING, time_s + self.setting.closing_s
        else:
            self.mode, self.seats_at_s = self.OPEN, math.inf

    def seat(self) -> None:
        """It has reached its seat."""
        self.mode, self.seats_at_s = self.SHUT, math.inf


@dataclass
class Integration:
    """One piece between its sources, from starting pressures of its chambers, Pa absolute, at a temperature, K."""

    piece: Piece
    sources: Mapping[str, Curve]
    source_k: Temperature
    start_pa_abs: Mapping[str, float]
    chamber_k: float
    setting: Setting = field(default_factory=Setting)

    def __post_init__(self) -> None:
        self._names = self.piece.names
        number = {name: index for index, name in enumerate(self._names)}
        self._outside = self.piece.sources
        number |= {name: len(self._names) + index for index, name in enumerate(self._outside)}
        self._ends = [(number[each.a], number[each.b]) for each in self.piece.openings]
        self._volumes = [chamber.volume_m3 for chamber in self.piece.chambers]
        self._start_kg = [
            self.start_pa_abs[name] * volume / (GAS_CONSTANT_AIR * self.chamber_k)
            for name, volume in zip(self._names, self._volumes, strict=True)
        ]
        self._checks = [
            _Check(index, each, self.setting)
            for index, each in enumerate(self.piece.openings)
            if each.check is not None
        ]
        self._areas = [each.area_m2 for each in self.piece.openings]

    def run(self, end_s: float) -> Run:
        """Integrate from 0 to an end, s.

        Raises:
            NotSolved: naming the chambers, where the integration fails or checks flutter without end.
        """
        corners = sorted({end_s} | {t for curve in self.sources.values() for t in curve.corners if 0.0 < t < end_s})
        now = [self.start_pa_abs[name] / SCALE_PA for name in self._names] + [1.0] * len(self._names)
        times, states = [0.0], [list(now)]
        shut: dict[str, float] = {}
        time, changes = 0.0, 0
        while time < end_s:
            self._update(time, now, shut)
            until = min(next(t for t in corners if t > time), *(check.seats_at_s for check in self._checks), math.inf)
            reached, found, fired = self._segment(time, until, now)
            times += reached
            states += found
            time, now = times[-1], states[-1]
            changes += len(fired)
            for check in fired:
                check.change(time)
            if changes > MOST_CHANGES:
                raise NotSolved(WHAT, places=self._names)
        return self._as_run(times, states, shut)

    def _update(self, time: float, now: Sequence[float], shut: dict[str, float]) -> None:
        """Move the checks that are due, and set the areas that follow from it."""
        pressures = self._pressures(time, now)
        for check in self._checks:
            if check.mode == check.OPEN and self._reverse(check, pressures) >= CLOSING_PA:
                check.change(time)
            if time >= check.seats_at_s:
                check.seat()
                shut.setdefault(str(check.opening.check), time)
            share = self.setting.leak_share if check.mode == check.SHUT else 1.0
            self._areas[check.index] = check.opening.area_m2 * share

    def _segment(
        self, start: float, end: float, now: Sequence[float]
    ) -> tuple[list[float], list[list[float]], list[_Check]]:
        """Integrate until the end or until a check changes: times after the start, the states there, which changed."""
        from scipy.integrate import solve_ivp  # noqa: PLC0415  slow to load; only a backfire pays

        try:
            solved: Any = solve_ivp(
                self._rates,
                (start, end),
                list(now),
                method=METHOD,
                rtol=RELATIVE,
                atol=ABSOLUTE,
                max_step=(end - start) / STEPS_AT_LEAST,
                events=[self._event(check) for check in self._checks] or None,
            )
        except (ValueError, ArithmeticError) as error:
            raise NotSolved(WHAT, places=self._names) from error
        if not solved.success or not bool((solved.y > 0.0).all()):
            raise NotSolved(WHAT, places=self._names)
        fired = [check for check, at in zip(self._checks, solved.t_events or (), strict=False) if at.size]
        return solved.t[1:].tolist(), solved.y[:, 1:].T.tolist(), fired

    def _event(self, check: _Check) -> Callable[[float, Sequence[float]], float]:
        def beyond(time: float, state: Sequence[float]) -> float:
            return self._reverse(check, self._pressures(time, state)) - check.level()

        beyond.terminal = True  # type: ignore[attr-defined]
        beyond.direction = 1.0 if check.mode == check.OPEN else -1.0  # type: ignore[attr-defined]
        return beyond

    def _reverse(self, check: _Check, pressures: Sequence[float]) -> float:
        a, b = self._ends[check.index]
        return pressures[b] - pressures[a]

    def _pressures(self, time: float, state: Sequence[float]) -> list[float]:
        free = [value * SCALE_PA for value in state[: len(self._names)]]
        return free + [self.sources[name].at(time) for name in self._outside]

    def _temperatures(self, pressures: Sequence[float], state: Sequence[float]) -> list[float]:
        count = len(self._names)
        outside = [self.source_k(name, pressures[count + i]) for i, name in enumerate(self._outside)]
        if self.setting.isothermal:
            return [self.chamber_k] * count + outside
        masses = (share * start for share, start in zip(state[count:], self._start_kg, strict=True))
        return [
            p * v / (m * GAS_CONSTANT_AIR) for p, v, m in zip(pressures, self._volumes, masses, strict=False)
        ] + outside

    def _rates(self, time: float, state: Sequence[float]) -> list[float]:
        """Rates of pressure and mass of every chamber, scaled."""
        count = len(self._names)
        pressures = self._pressures(time, state)
        temperatures = self._temperatures(pressures, state)
        mass, heat = [0.0] * (count + len(self._outside)), [0.0] * (count + len(self._outside))
        for (a, b), each, area in zip(self._ends, self.piece.openings, self._areas, strict=True):
            up, down = (a, b) if pressures[a] >= pressures[b] else (b, a)
            if each.one_way and up == b:
                continue
            psi = laminar_flow_function(pressure_ratio=pressures[down] / pressures[up])
            flow = area * pressures[up] * psi / math.sqrt(GAS_CONSTANT_AIR * temperatures[up])
            carried = flow * temperatures[up]
            mass[up] -= flow
            mass[down] += flow
            heat[up] -= carried
            heat[down] += carried
        if self.setting.isothermal:
            rise = [GAS_CONSTANT_AIR * self.chamber_k * value for value in mass]
        else:
            rise = [GAMMA_AIR * GAS_CONSTANT_AIR * value for value in heat]
        return [
            *(value / volume / SCALE_PA for value, volume in zip(rise, self._volumes, strict=False)),
            *(value / start for value, start in zip(mass, self._start_kg, strict=False)),
        ]

    def _as_run(self, times: list[float], states: list[list[float]], shut: Mapping[str, float]) -> Run:
        import numpy as np  # noqa: PLC0415  loaded with the integration

        table, count = np.array(states), len(self._names)
        return Run(
            times_s=np.array(times),
            pressures_pa_abs={name: table[:, i] * SCALE_PA for i, name in enumerate(self._names)},
            masses_kg={name: table[:, count + i] * self._start_kg[i] for i, name in enumerate(self._names)},
            shut_at_s=dict(shut),
        )
