"""What a backfire is computed with: what the job says, and documented defaults for the rest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from boostcarb.description.job import Backfire, Job
from boostcarb.errors import BadDescription, Problem
from boostcarb.solving.situation import Situation
from boostcarb.states.inputs import BACKFIRE_BOUND, BACKFIRE_PEAK_RATIO
from boostcarb.transient.checks import CLOSING_TIME_S, LEAK_SHARE
from boostcarb.transient.pulse import DURATION_S, RISE_S, Pulse
from boostcarb.transient.relief import RELIEF_AREA_M2, RELIEF_CRACK_SHARE, RELIEF_DELAY_S, Relief
from boostcarb.transient.stiff import Setting

DRAW_THROUGH = "draw_through"
NATURALLY_ASPIRATED = "naturally_aspirated"

THROUGH_COMPRESSOR = 1.0
"""Share of the rise that comes back through the compressor to the carburetor base in draw-through: all of it, as in the
operating states, where the charge burns as far as the throttle (assumption, safe side)."""

INTO_AIR_HORN = 0.0
"""Share of the rise that comes up the open throttle into the air horn. None is the safe side for a power valve: the
bowl does not rise with its chamber (assumption)."""

UnitKind = Literal["ratio", "duration", "fraction", "area", "volume", "absolute"]


@dataclass(frozen=True, slots=True)
class Input:
    """One input: name in the job file, words, value in SI, kind of quantity, whether the job says it, its reason."""

    name: str
    words: str
    value: float
    kind: UnitKind
    given: bool
    reason: str


@dataclass(frozen=True)
class BackfireInputs:
    """A backfire and what protects from it, for one job with one air path."""

    draw_through: bool
    pulse: Pulse
    setting: Setting
    through_compressor: float
    into_air_horn: float
    relief: Relief | None
    listed: tuple[Input, ...]

    @classmethod
    def of(cls, job: Job, situation: Situation, *, peak_ratio: float | None = None) -> BackfireInputs:
        """The job's section `backfire` with defaults in its gaps; a peak ratio given here goes before the job's.

        Raises:
            BadDescription: a peak ratio outside its bounds.
        """
        given = job.backfire or Backfire()
        if peak_ratio is not None:
            if not 1.0 <= peak_ratio <= BACKFIRE_BOUND:
                message = f"is {peak_ratio:g}; give 1 to {BACKFIRE_BOUND:g}, the bound of combustion in a closed space"
                raise BadDescription(Problem(message, field="--peak"))
            given = given.model_copy(update={"peak_ratio": peak_ratio})
        listed = _Listed(given)
        peak = listed.take(
            "peak_ratio",
            "peak over the pressure before it",
            BACKFIRE_PEAK_RATIO,
            "ratio",
            f"as in the states 'backfire at idle' and 'at full load'; twice to four times is usual, {BACKFIRE_BOUND:g} "
            "is the bound of combustion in a closed space",
        )
        rise = listed.take("rise", "time to the peak", RISE_S, "duration", "a flame crosses a plenum in 2 ms or more")
        duration = listed.take("duration", "whole duration", DURATION_S, "duration", "2 to 15 ms; the long end")
        closing = listed.take(
            "check_closing_time", "backfire checks shut in", CLOSING_TIME_S, "duration", "1 to 5 ms; 5 mm ball, 1 mm"
        )
        into_horn = listed.take(
            "into_air_horn", "share that comes up into the air horn", INTO_AIR_HORN, "fraction", "none is the safe side"
        )
        through = THROUGH_COMPRESSOR
        if job.target == DRAW_THROUGH:
            through = listed.take(
                "through_compressor",
                "share that comes back through the compressor",
                THROUGH_COMPRESSOR,
                "fraction",
                "the charge burns as far as the throttle",
            )
        relief = None if job.target == NATURALLY_ASPIRATED else _relief(job, situation, listed)
        return cls(
            draw_through=job.target == DRAW_THROUGH,
            pulse=Pulse(peak, rise, max(duration, 1.001 * rise)),
            setting=Setting(closing_s=closing, leak_share=LEAK_SHARE),
            through_compressor=through,
            into_air_horn=into_horn,
            relief=relief,
            listed=tuple(listed.inputs),
        )


class _Listed:
    """Takes values from the job or their defaults, and remembers which."""

    def __init__(self, given: Backfire) -> None:
        self.given = given
        self.inputs: list[Input] = []

    def take(self, name: str, words: str, default: float, kind: UnitKind, reason: str) -> float:
        """The job's value of a field, else the default."""
        said = getattr(self.given, name)
        value = default if said is None else float(said)
        self.inputs.append(Input(name, words, value, kind, said is not None, reason))
        return value


def _relief(job: Job, situation: Situation, listed: _Listed) -> Relief:
    ambient = situation.inputs.site.ambient_pa_abs
    turbo = situation.inputs.turbo
    boost = turbo.boost_pa_gauge if turbo is not None else 0.0
    crack = ambient + RELIEF_CRACK_SHARE * boost
    said = listed.given.relief_crack
    if said is not None:
        crack = said.absolute(ambient)
    volume = listed.take(
        "manifold_volume", "manifold and plenum", job.engine.displacement, "volume", "the engine's displacement"
    )
    area = listed.take("relief_area", "opening of the relief valve", RELIEF_AREA_M2, "area", "one 50 mm plate")
    delay = listed.take("relief_delay", "relief valve opens after", RELIEF_DELAY_S, "duration", "inertia of its plate")
    reason = "a fifth above full boost"
    listed.inputs.append(Input("relief_crack", "relief valve cracks at", crack, "absolute", said is not None, reason))
    return Relief(area, crack, delay, volume, ambient)
