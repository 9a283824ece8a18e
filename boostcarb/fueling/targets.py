"""Which mixture is wanted in which state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from boostcarb.description.job import Job
from boostcarb.errors import BadDescription, Problem
from boostcarb.solving.situation import StateView

LOADS = ("cruise", "wide_open", "boost")

# Lambda for cruise, for full load without boost and for full boost, each with its usual span: starting points,
# to be proved with a wideband (common practice, no source).
_GASOLINE = {"cruise": (1.0, 0.95, 1.05), "wide_open": (0.87, 0.84, 0.90), "boost": (0.78, 0.76, 0.82)}
_ALCOHOL = {**_GASOLINE, "boost": (0.78, 0.76, 0.85)}
_METHANOL = {"cruise": (0.95, 0.85, 1.0), "wide_open": (0.80, 0.75, 0.85), "boost": (0.72, 0.65, 0.80)}
USUAL: Mapping[str, Mapping[str, tuple[float, float, float]]] = {
    "gasoline": _GASOLINE, "E10": _GASOLINE, "custom": _GASOLINE,
    "E85": _ALCOHOL, "ethanol": _ALCOHOL, "methanol": _METHANOL,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Target:
    """A lambda that is wanted, the span that is usual for it, and whether the job gives it."""

    load: str
    value: float
    low: float
    high: float
    given: bool

    @property
    def unusual(self) -> bool:
        """Whether it lies outside the usual span."""
        return not self.low <= self.value <= self.high


@dataclass(frozen=True, slots=True)
class Targets:
    """The lambda wanted for each load; `full_boost_pa` is the boost over ambient at which the last one counts."""

    loads: Mapping[str, Target]
    full_boost_pa: float

    def in_state(self, state: StateView) -> float:
        """The lambda wanted in a state; in boost at part throttle on the line from wide open to full boost.

        The load grows with the manifold's pressure: where the wide-open mixture is enough at ambient pressure, full
        boost needs the boost mixture.
        """
        if state.needs_enrichment is not True:
            return self.loads["cruise"].value
        wide_open, boost = self.loads["wide_open"].value, self.loads["boost"].value
        if not state.boosted:
            return wide_open
        if state.wide_open or self.full_boost_pa <= 0.0:
            return boost
        pressures = state.result.pressures_pa_abs
        share = (pressures["manifold"] - pressures["ambient"]) / self.full_boost_pa
        return wide_open + min(1.0, max(0.0, share)) * (boost - wide_open)


def targets_of(job: Job, *, ambient_pa_abs: float) -> Targets:
    """The targets of a job: its own, else those usual for its fuel.

    Raises: BadDescription for a boost target leaner than that at full load without boost.
    """
    given = job.metering.targets
    loads = {}
    for load in LOADS:
        value, low, high = USUAL[job.fuel][load]
        own = getattr(given, load)
        loads[load] = Target(load, value if own is None else own, low, high, own is not None)
    lean, full = loads["boost"], loads["wide_open"]
    if lean.value > full.value and job.target != "naturally_aspirated":
        said = "as given" if full.given else "usual for this fuel"
        raise BadDescription(
            Problem(
                f"lambda {lean.value:.2f} in boost is leaner than {full.value:.2f}, {said}, at full load without "
                "boost; boost needs the richer mixture",
                field="metering.targets.boost" if lean.given else "metering.targets.wide_open",
            )
        )
    boost = job.charge.boost.absolute(ambient_pa_abs) - ambient_pa_abs if job.charge else 0.0
    return Targets(loads, 0.0 if job.target == "naturally_aspirated" else boost)
