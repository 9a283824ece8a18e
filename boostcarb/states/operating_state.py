"""What an operating state is: the words in which a record of the catalogue says how the engine runs."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Mode(StrEnum):
    """How the engine gets its air."""

    naturally_aspirated = "naturally_aspirated"
    blow_through = "blow_through"
    draw_through = "draw_through"


class Speed(StrEnum):
    """Which engine speed a state is taken at."""

    stopped = "stopped"
    as_before = "as before"
    """That of the state which this one follows."""
    cranking = "cranking"
    idle = "idle"
    cruise = "cruise"
    torque_peak = "torque peak"
    full_boost = "full boost"
    """The lowest speed at which the turbo reaches its boost with the throttle wide open."""
    torque_peak_in_boost = "torque peak in boost"
    """The torque peak, or the full-boost speed where that is higher."""
    redline = "redline"


class Throttle(StrEnum):
    """Where the throttle stands."""

    any = "any"
    """It does not matter: nothing flows."""
    shut = "shut"
    """The opening found for the state `idle`, times `OperatingState.opening_factor`."""
    manifold = "manifold"
    """The opening that gives the manifold pressure named by `OperatingState.manifold`."""
    opening = "opening"
    """Primaries wide open, secondaries not yet."""
    wide_open = "wide open"


class ManifoldTarget(StrEnum):
    """Which manifold pressure a part-throttle state is taken at."""

    idle = "idle"
    cruise = "cruise"
    share_of_boost = "share of boost"
    """Ambient plus `OperatingState.boost_share` times the boost."""


class Secondaries(StrEnum):
    """Whether the secondary barrels flow."""

    shut = "shut"
    linkage = "linkage"
    """Open when a linkage opens them; a diaphragm would not lift them yet."""
    open = "open"


class Boost(StrEnum):
    """What the turbo does; naturally aspirated engines ignore it."""

    none = "none"
    not_yet = "not yet"
    """It still turns as in the state that this one follows."""
    spooled = "spooled"
    """It gives what the air flow lets it give, up to what the wastegate holds."""
    held = "held"
    """It still holds the pressure ratio of the state that this one follows."""


ALL_MODES: Final = frozenset(Mode)
BOOSTED: Final = frozenset({Mode.blow_through, Mode.draw_through})
NATURALLY_ASPIRATED: Final = frozenset({Mode.naturally_aspirated})


@dataclass(frozen=True, slots=True)
class OperatingState:
    """One way the engine runs, or stands, and how to find its air path.

    `needs_enrichment` is True where the mixture must be rich, False where it should be lean and
    None where it does not matter. `follows` names the state before; where several are named, the
    first that occurs in the mode counts. `toward_redline` moves the speed that share of the way from
    `speed` to the redline.
    """

    id: str
    title: str
    modes: frozenset[Mode] = ALL_MODES
    needs_enrichment: bool | None = None
    speed: Speed = Speed.stopped
    toward_redline: float = 0.0
    throttle: Throttle = Throttle.any
    opening_factor: float = 1.0
    manifold: ManifoldTarget | None = None
    boost_share: float = 0.0
    secondaries: Secondaries = Secondaries.shut
    boost: Boost = Boost.none
    follows: tuple[str, ...] = ()
    event: bool = False
    hot: bool = False
    only_diaphragm_secondaries: bool = False

    @property
    def running(self) -> bool:
        """Whether the engine turns."""
        return self.speed is not Speed.stopped

    @property
    def wide_open(self) -> bool:
        """Whether the throttle is wide open, so that a mechanical linkage holds the secondaries open."""
        return self.throttle is Throttle.wide_open

    def occurs_in(self, mode: Mode, *, diaphragm_secondaries: bool) -> bool:
        """Whether the state exists in a mode, for a carburetor with or without diaphragm secondaries.

        >>> cruise = OperatingState(id="cruise", title="cruise", modes=BOOSTED)
        >>> cruise.occurs_in(Mode.naturally_aspirated, diaphragm_secondaries=False)
        False
        """
        return mode in self.modes and (diaphragm_secondaries or not self.only_diaphragm_secondaries)
