"""Screw threads for plugs and fittings: tap drills, how deep, how long a plug.

Sizes are those of ISO 261 (coarse pitches), ISO 724 (basic minor diameter), ISO 2306 (drills before tapping), ASME
B1.1 (unified threads, class 2B) and ASME B1.20.1 (taper pipe threads).

>>> thread_for(3.0e-3).name, thread_for(3.0e-3).tap_drill
('M4', '3.3 mm')
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from boostcarb.drills import INCH_M, drill_diameter_m

ENGAGEMENT_DIAMETERS: Final = 1.5
"""Least length of thread in a plug, in diameters (common practice, no source)."""

CLEAN_UP_M: Final = 0.1e-3
"""What the tap drill must at least take off the bore, so that the thread stands in sound metal (assumption)."""

RUN_OUT_PITCHES: Final = 3.0
"""Threads that a second tap leaves unfinished at its end (common practice, no source)."""

WALL_M: Final = 1.5e-3
"""Least metal left beside a tapped hole and between a drill and the next passage (common practice, no source)."""

PLUG_LENGTHS_M: Final = tuple(mm * 1e-3 for mm in (2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 30))
"""Lengths in which socket set screws are made (ISO 4026)."""


@dataclass(frozen=True, slots=True)
class Thread:
    """A straight thread. `diameter_m` major, `pitch_m` pitch, `tap_drill` the drill's name, `drill_m` its diameter."""

    name: str
    diameter_m: float
    pitch_m: float
    tap_drill: str
    drill_m: float
    source: str

    @property
    def minor_m(self) -> float:
        """Basic minor diameter D1 = D - 1.082532 P, m (ISO 724; the same in ASME B1.1): the hole may not be smaller."""
        return self.diameter_m - 1.0825318 * self.pitch_m

    @property
    def share_of_full_thread(self) -> float:
        """How much of the full thread, of height 0.6495 P, the tap drill leaves.

        >>> round(unified("1/4-20").share_of_full_thread, 2)
        0.75
        """
        return (self.diameter_m - self.drill_m) / (1.2990381 * self.pitch_m)

    @property
    def engagement_m(self) -> float:
        """Least length of thread, m."""
        return ENGAGEMENT_DIAMETERS * self.diameter_m

    @property
    def plug_m(self) -> float:
        """Length of the shortest made set screw that has it, m.

        >>> round(metric("M4").plug_m * 1000)
        6
        """
        return next(length for length in PLUG_LENGTHS_M if length >= self.engagement_m - 1e-9)

    @property
    def tapped_m(self) -> float:
        """How deep to tap: the plug and the threads that the tap leaves unfinished, m."""
        return self.plug_m + RUN_OUT_PITCHES * self.pitch_m


@dataclass(frozen=True, slots=True)
class PipeThread:
    """A taper pipe thread, taper 1 in 16 on the diameter. Tap drills as a range: tables differ.

    `least_m` and `most_m` are drill diameters without a taper reamer, `hand_tight_m` the length of hand-tight
    engagement L1.
    """

    name: str
    diameter_m: float
    per_inch: float
    least_m: float
    most_m: float
    hand_tight_m: float

    @property
    def tap_drill(self) -> str:
        """The range of drills, in mm.

        >>> pipe("1/8-27").tap_drill
        '8.4 to 8.6 mm'
        """
        return f"{self.least_m * 1000:.1f} to {self.most_m * 1000:.1f} mm"


def _metric(size: float, pitch: float, drill: float) -> Thread:
    return Thread(f"M{size:g}", size * 1e-3, pitch * 1e-3, f"{drill:g} mm", drill * 1e-3, "ISO 261, ISO 2306")


def _unified(name: str, diameter: float, per_inch: int, drill: str) -> Thread:
    size = drill_diameter_m(drill)
    if size is None:
        raise ValueError(f"{name}: there is no drill {drill}")
    return Thread(name, diameter * INCH_M, INCH_M / per_inch, drill, size, "ASME B1.1")


METRIC: Final = (
    _metric(3, 0.5, 2.5),
    _metric(4, 0.7, 3.3),
    _metric(5, 0.8, 4.2),
    _metric(6, 1.0, 5.0),
    _metric(8, 1.25, 6.8),
    _metric(10, 1.5, 8.5),
    _metric(12, 1.75, 10.2),
)
"""Coarse threads, smallest first."""

UNIFIED: Final = (
    _unified("6-32", 0.138, 32, "#36"),
    _unified("8-32", 0.164, 32, "#29"),
    _unified("10-24", 0.190, 24, "#25"),
    _unified("10-32", 0.190, 32, "#21"),
    _unified("1/4-20", 0.250, 20, "#7"),
    _unified("1/4-28", 0.250, 28, "#3"),
    _unified("5/16-18", 0.3125, 18, "F"),
)
"""Coarse and fine threads for those who work in inches, by tap drill."""

PIPE: Final = (
    PipeThread("1/16-27", 0.3125 * INCH_M, 27, 6.1e-3, 6.4e-3, 0.160 * INCH_M),
    PipeThread("1/8-27", 0.405 * INCH_M, 27, 8.4e-3, 8.6e-3, 0.1615 * INCH_M),
    PipeThread("1/4-18", 0.540 * INCH_M, 18, 10.7e-3, 11.1e-3, 0.2278 * INCH_M),
)
"""Taper pipe threads, smallest first."""


def metric(name: str) -> Thread:
    """The metric thread of that name. Raises: KeyError."""
    return {thread.name: thread for thread in METRIC}[name]


def unified(name: str) -> Thread:
    """The unified thread of that name. Raises: KeyError."""
    return {thread.name: thread for thread in UNIFIED}[name]


def pipe(name: str) -> PipeThread:
    """The taper pipe thread of that name. Raises: KeyError."""
    return {thread.name: thread for thread in PIPE}[name]


def thread_for(bore_m: float, system: Literal["metric", "unified"] = "metric") -> Thread | None:
    """The smallest thread whose tap drill cleans up a bore; None where the bore is too wide for any.

    Args:
        bore_m: diameter of the passage, m.
        system: which table to choose from.

    >>> [thread_for(mm / 1000).name for mm in (1.0, 2.5, 3.0, 4.0, 7.0)]
    ['M3', 'M4', 'M4', 'M5', 'M10']
    """
    table = METRIC if system == "metric" else sorted(UNIFIED, key=lambda thread: thread.drill_m)
    return next((thread for thread in table if thread.drill_m >= bore_m + CLEAN_UP_M - 1e-9), None)


def pipe_for(bore_m: float) -> PipeThread | None:
    """The smallest taper pipe thread whose tap drill cleans up a bore, m; None where there is none."""
    return next((thread for thread in PIPE if thread.least_m >= bore_m + CLEAN_UP_M - 1e-9), None)
