"""From measured lambdas to what cannot be measured on the bench: the booster's gain, discharge coefficients.

One reading moves one factor, two or more move two if they can tell two apart; with more readings than factors the
squares of the errors are made least.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from boostcarb.errors import NotSolved
from boostcarb.fueling.metering import Factors


@dataclass(frozen=True, slots=True)
class Spread:
    """A factor that calibration can move: its usual span, and the span in which an answer is believed."""

    name: str
    title: str
    low: float
    high: float
    least: float
    most: float


# Spans: gain by booster shape; jets from sharp-edged to rounded, 0.70 to 0.85 about 0.8, and one jet from the next by
# 5 %; channels with their valve; bleeds 20 % (common practice, no source).
SPREADS: Final = {
    "booster_gain": Spread("booster_gain", "booster gain", 1.5, 3.0, 1.0, 5.0),
    "channels": Spread("channels", "discharge of the enrichment channels over that of the jets", 0.85, 1.15, 0.5, 2.0),
    "jets": Spread("jets", "discharge of jets and restrictions over what is usual", 0.88, 1.06, 0.5, 1.6),
    "bleeds": Spread("bleeds", "discharge of the air bleeds over what is usual", 0.8, 1.2, 0.3, 3.0),
}
CALIBRATED_SHARE: Final = 0.03
"""What a wideband and its place leave open after a calibration, as a share of lambda (common practice, no source)."""
TOLD_APART: Final = 0.01
"""Change of lambda, relative, that a second factor must make beyond the first over its usual span (half a wideband's
error) for readings to tell the two apart."""
STEP: Final = 1e-5
MOST_STEPS: Final = 60
CLOSE: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured lambda, where it was read, and how to compute it with given factors."""

    state: str
    title: str
    group: str | None
    measured: float
    computed: Callable[[Factors], float]
    full_load: bool = False


@dataclass(frozen=True, slots=True)
class Fitted:
    """One reading with the lambda computed for it before and after the calibration."""

    state: str
    title: str
    group: str | None
    measured: float
    before: float
    after: float

    @property
    def residual(self) -> float:
        """Computed less measured lambda."""
        return self.after - self.measured


@dataclass(frozen=True, slots=True)
class Calibration:
    """What was moved, to what, with the readings; `at_limit` names factors that stopped where belief ends."""

    factors: Factors
    moved: Mapping[str, float]
    readings: tuple[Fitted, ...]
    at_limit: tuple[str, ...]
    one_factor_only: bool
    has_full_load: bool
    """Whether a reading is of full load, where the transition circuit does not feed."""

    @property
    def unusual(self) -> tuple[str, ...]:
        """Factors that left their usual span, though still believed."""
        return tuple(
            name
            for name, value in self.moved.items()
            if name not in self.at_limit and not SPREADS[name].low <= value <= SPREADS[name].high
        )


def calibrate(start: Factors, readings: Sequence[Reading]) -> Calibration:
    """Move as many factors as the readings can tell apart, at most two. Raises: NotSolved."""
    names = _told_apart(start, readings)
    factors = _fit(start, readings, names)
    moved = {name: float(getattr(factors, name)) for name in names}
    limits = tuple(
        name
        for name, value in moved.items()
        if value <= SPREADS[name].least * (1 + 1e-6) or value >= SPREADS[name].most * (1 - 1e-6)
    )
    fitted = tuple(
        Fitted(each.state, each.title, each.group, each.measured, each.computed(start), each.computed(factors))
        for each in readings
    )
    one_only, full_load = len(readings) > 1 and len(names) == 1, any(each.full_load for each in readings)
    return Calibration(factors, moved, fitted, limits, one_only, full_load)


def _told_apart(start: Factors, readings: Sequence[Reading]) -> tuple[str, ...]:
    """The gain, and the factor whose effect over its usual span differs most from what the gain could do."""
    effects = {name: _effect(start, readings, spread) for name, spread in SPREADS.items()}
    gain = effects["booster_gain"]
    size = math.fsum(each * each for each in gain)
    beyond = {}
    for name, effect in effects.items():
        share = math.fsum(a * b for a, b in zip(effect, gain, strict=True)) / size if size else 0.0
        beyond[name] = math.sqrt(math.fsum((a - share * b) ** 2 for a, b in zip(effect, gain, strict=True)))
    best = max(beyond, key=lambda name: beyond[name])
    if len(readings) < 2 or beyond[best] < TOLD_APART:
        return ("booster_gain",)
    return ("booster_gain", best)


def _effect(start: Factors, readings: Sequence[Reading], spread: Spread) -> list[float]:
    """Relative change of each reading's lambda over the factor's usual span."""
    span = math.log(spread.high / spread.low)
    return [span * slope for slope in _slopes(start, readings, spread.name)]


def _slopes(factors: Factors, readings: Sequence[Reading], name: str) -> list[float]:
    value = getattr(factors, name)
    up, down = (replace(factors, **{name: value * math.exp(step)}) for step in (STEP, -STEP))
    return [math.log(each.computed(up) / each.computed(down)) / (2.0 * STEP) for each in readings]


def _errors(factors: Factors, readings: Sequence[Reading]) -> list[float]:
    return [math.log(each.computed(factors) / each.measured) for each in readings]


def _fit(factors: Factors, readings: Sequence[Reading], names: tuple[str, ...]) -> Factors:
    """Gauss-Newton steps in the logarithms of the factors, halved until they help, inside the limits of belief."""
    errors = _errors(factors, readings)
    for _ in range(MOST_STEPS):
        step = _newton_step([_slopes(factors, readings, name) for name in names], errors)
        size, worth = 1.0, math.fsum(error * error for error in errors)
        while True:
            trial = _moved(factors, names, [size * each for each in step])
            trial_errors = _errors(trial, readings)
            if math.fsum(error * error for error in trial_errors) <= worth:
                break
            size *= 0.5
            if size < 1e-6:
                return factors
        change = max(abs(math.log(getattr(trial, name) / getattr(factors, name))) for name in names)
        factors, errors = trial, trial_errors
        if change < CLOSE:
            return factors
    raise NotSolved("the calibration of the metering", residual=max(abs(error) for error in errors))


def _newton_step(slopes: Sequence[Sequence[float]], errors: Sequence[float]) -> list[float]:
    """Least-squares step for one or two factors, by the normal equations."""

    def dot(a: Sequence[float], b: Sequence[float]) -> float:
        return math.fsum(x * y for x, y in zip(a, b, strict=True))

    first = slopes[0]
    if len(slopes) == 1:
        return [-dot(first, errors) / dot(first, first)]
    second = slopes[1]
    aa, ab, bb = dot(first, first), dot(first, second), dot(second, second)
    determinant = aa * bb - ab * ab
    ra, rb = dot(first, errors), dot(second, errors)
    return [-(bb * ra - ab * rb) / determinant, -(aa * rb - ab * ra) / determinant]


def _moved(factors: Factors, names: Sequence[str], step: Sequence[float]) -> Factors:
    values = {}
    for name, each in zip(names, step, strict=True):
        wanted = getattr(factors, name) * math.exp(max(-1.0, min(1.0, each)))
        values[name] = min(SPREADS[name].most, max(SPREADS[name].least, wanted))
    return replace(factors, **values)
