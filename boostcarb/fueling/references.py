"""What the bowls get with each possible reference of the regulator: where they run dry and where they flood."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from boostcarb.fueling.demand import Demand
from boostcarb.fueling.given import FROM_STATES, Given
from boostcarb.fueling.needle import Seat, set_pressure
from boostcarb.fueling.records import Input, Worked
from boostcarb.fueling.solved import AIR_HORN, AMBIENT, MANIFOLD, Solved
from boostcarb.solving.situation import StateView

REFERENCES: Final = (AIR_HORN, AMBIENT, MANIFOLD, "compressor_outlet")
MOST_BOOST: Final = 2.0
"""How far beyond the job's boost the sweep looks: an overboost of twice the boost."""
_STEPS: Final = 200
_HALVINGS: Final = 60


@dataclass(frozen=True, slots=True)
class Reference:
    """One reference for the regulator.

    `starves_at` and `floods_at` are the manifold pressure over ambient at which, wide open at the redline, the first
    bowl gets too little or its needle is forced open; None where that does not come up to twice the boost.
    `starving` and `flooding` name the states in which it happens; `swept` is false where there is no boost to sweep.
    """

    space: str
    starving: tuple[str, ...]
    flooding: tuple[str, ...]
    starves_at: Worked | None
    floods_at: Worked | None
    swept: bool

    @property
    def right(self) -> bool:
        """Whether it serves in every state."""
        return not self.starving and not self.flooding


@dataclass(frozen=True, slots=True)
class _Sweep:
    """Wide open at the redline, all pressures in proportion to the boost; `share` 1 is the job's full boost.

    Fuel goes with the absolute pressure of the manifold.
    """

    solved: Solved
    state: StateView
    seat: Seat
    wanted: Demand

    def pressure(self, space: str, share: float) -> float:
        ambient = self.solved.ambient_pa_abs
        return ambient + share * (self.solved.range_of(space, self.state)[0] - ambient)

    def demand(self, share: float) -> float:
        full = self.wanted.of(self.seat.group, self.state.name)
        return full * self.pressure(MANIFOLD, share) / self.pressure(MANIFOLD, 1.0)

    def boost(self, share: float) -> float:
        return self.pressure(MANIFOLD, share) - self.solved.ambient_pa_abs


def references(solved: Solved, given: Given, found: Sequence[Seat], wanted: Demand) -> tuple[Reference, ...]:
    """Each space that the regulator could feel, whatever it feels now."""
    known = [space for space in REFERENCES if space in solved.pressures.spaces]
    return tuple(_reference(solved, given, found, wanted, space) for space in known)


def _reference(solved: Solved, given: Given, found: Sequence[Seat], wanted: Demand, space: str) -> Reference:
    setting = set_pressure(given)
    starving: dict[str, None] = {}
    flooding: dict[str, None] = {}
    for seat in found:
        for state in solved.running:
            bowl = solved.range_of(f"{seat.group}.bowl", state)
            feels = solved.range_of(space, state)
            needed = wanted.of(seat.group, state.name)
            if seat.passes(setting.value + feels[0] - bowl[1], wanted.fuel.density_kg_m3) < needed:
                starving[state.title] = None
            margin = seat.closing_margin(setting.value + feels[1] - bowl[0])
            if margin is not None and margin < 1.0:
                flooding[state.title] = None
    boosted = [state for state in solved.running if state.boosted and state.wide_open]
    starves_at = floods_at = None
    if boosted:
        sweeps = [_Sweep(solved, boosted[-1], seat, wanted) for seat in found]
        starves_at = _lowest([_starves(sweep, setting, space) for sweep in sweeps])
        floods_at = _lowest([_floods(sweep, setting, space) for sweep in sweeps])
    return Reference(space, tuple(starving), tuple(flooding), starves_at, floods_at, bool(boosted))


def _across(sweep: _Sweep, setting: Input, space: str, share: float) -> float:
    bowl = sweep.pressure(f"{sweep.seat.group}.bowl", share)
    return setting.value + sweep.pressure(space, share) - bowl


def _starves(sweep: _Sweep, setting: Input, space: str) -> Worked | None:
    density = sweep.wanted.fuel.density_kg_m3

    def short(share: float) -> bool:
        return sweep.seat.passes(_across(sweep, setting, space, share), density) < sweep.demand(share)

    share = _first(short)
    if share is None:
        return None
    inputs = (
        setting,
        Input(f"demand of the {sweep.seat.group} bowl there", sweep.demand(share), "kg/s", FROM_STATES),
        Input(sweep.seat.area.name, sweep.seat.area.value, "m2", FROM_STATES),
    )
    return Worked("boost from which the bowl runs dry", sweep.boost(share), "Pa",
                  "where needle flow = demand, pressures in proportion to boost", inputs, "Torricelli")  # fmt: skip


def _floods(sweep: _Sweep, setting: Input, space: str) -> Worked | None:
    def forced(share: float) -> bool:
        margin = sweep.seat.closing_margin(_across(sweep, setting, space, share))
        return margin is not None and margin < 1.0

    share = _first(forced)
    if share is None:
        return None
    return Worked("boost from which the needle is forced open", sweep.boost(share), "Pa",
                  "where (line - bowl) pi d^2 / 4 = float force, pressures in proportion to boost",
                  (setting, sweep.seat.float_force, sweep.seat.bore), "balance of forces on the needle")  # fmt: skip


def _first(fails: Callable[[float], bool]) -> float | None:
    """The least share of the boost at which something fails, or None."""
    step = MOST_BOOST / _STEPS
    number = next((number for number in range(_STEPS + 1) if fails(number * step)), None)
    if not number:
        return None if number is None else 0.0
    low, high = (number - 1) * step, number * step
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if fails(middle) else (middle, high)
    return high


def _lowest(found: Sequence[Worked | None]) -> Worked | None:
    return min((each for each in found if each is not None), key=lambda each: each.value, default=None)
