"""The operating states, one record each, in the order in which a drive meets them.

To add a state, add one `OperatingState` to `STATES`: say in which modes it occurs, how fast the
engine turns, where the throttle stands and what the turbo does. The air path needs no new code.
"""

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

        >>> state("secondary_call").occurs_in(Mode.blow_through, diaphragm_secondaries=False)
        False
        """
        return mode in self.modes and (diaphragm_secondaries or not self.only_diaphragm_secondaries)


IDLE: Final = "idle"
"""The state that tells how far a shut throttle stands open."""

# Cranking: the choke linkage holds the throttle open a little more than at idle (assumption).
CRANK_OPENING: Final = 1.5

STATES: Final[tuple[OperatingState, ...]] = (
    OperatingState(id="engine_off", title="engine off, fuel pump running"),
    OperatingState(
        id="crank",
        title="cranking",
        speed=Speed.cranking,
        throttle=Throttle.shut,
        opening_factor=CRANK_OPENING,
        boost=Boost.spooled,
    ),
    OperatingState(
        id=IDLE,
        title="idle",
        needs_enrichment=False,
        speed=Speed.idle,
        throttle=Throttle.manifold,
        manifold=ManifoldTarget.idle,
        boost=Boost.spooled,
    ),
    OperatingState(
        id="cruise",
        title="cruise",
        needs_enrichment=False,
        speed=Speed.cruise,
        throttle=Throttle.manifold,
        manifold=ManifoldTarget.cruise,
        boost=Boost.spooled,
    ),
    OperatingState(
        id="tip_in",
        title="throttle snapped open from cruise",
        needs_enrichment=True,
        speed=Speed.cruise,
        throttle=Throttle.opening,
        boost=Boost.not_yet,
        follows=("cruise",),
    ),
    OperatingState(
        id="wide_open_before_boost",
        title="wide open before the turbo makes boost",
        modes=BOOSTED,
        needs_enrichment=True,
        speed=Speed.cruise,
        throttle=Throttle.wide_open,
        secondaries=Secondaries.linkage,
        boost=Boost.not_yet,
        follows=("cruise",),
    ),
    OperatingState(
        id="part_throttle_boost_light",
        title="light boost at part throttle",
        modes=BOOSTED,
        needs_enrichment=True,
        speed=Speed.full_boost,
        throttle=Throttle.manifold,
        manifold=ManifoldTarget.share_of_boost,
        boost_share=0.05,
        boost=Boost.spooled,
    ),
    OperatingState(
        id="part_throttle_boost_mid",
        title="boost at part throttle",
        modes=BOOSTED,
        needs_enrichment=True,
        speed=Speed.full_boost,
        toward_redline=0.25,
        throttle=Throttle.manifold,
        manifold=ManifoldTarget.share_of_boost,
        boost_share=0.2,
        boost=Boost.spooled,
    ),
    OperatingState(
        id="part_throttle_boost_deep",
        title="deep boost at part throttle",
        modes=BOOSTED,
        needs_enrichment=True,
        speed=Speed.full_boost,
        toward_redline=0.5,
        throttle=Throttle.manifold,
        manifold=ManifoldTarget.share_of_boost,
        boost_share=0.35,
        boost=Boost.spooled,
    ),
    OperatingState(
        id="secondary_call",
        title="wide open at high speed with the secondaries still shut",
        needs_enrichment=True,
        speed=Speed.redline,
        throttle=Throttle.wide_open,
        boost=Boost.spooled,
        only_diaphragm_secondaries=True,
    ),
    OperatingState(
        id="wide_open_torque_peak",
        title="wide open at the torque peak",
        modes=NATURALLY_ASPIRATED,
        needs_enrichment=True,
        speed=Speed.torque_peak,
        throttle=Throttle.wide_open,
        secondaries=Secondaries.open,
    ),
    OperatingState(
        id="wide_open_redline",
        title="wide open at the redline",
        modes=NATURALLY_ASPIRATED,
        needs_enrichment=True,
        speed=Speed.redline,
        throttle=Throttle.wide_open,
        secondaries=Secondaries.open,
    ),
    OperatingState(
        id="full_boost_torque_peak",
        title="full boost at the torque peak",
        modes=BOOSTED,
        needs_enrichment=True,
        speed=Speed.torque_peak_in_boost,
        throttle=Throttle.wide_open,
        secondaries=Secondaries.open,
        boost=Boost.spooled,
    ),
    OperatingState(
        id="full_boost_redline",
        title="full boost at the redline",
        modes=BOOSTED,
        needs_enrichment=True,
        speed=Speed.redline,
        throttle=Throttle.wide_open,
        secondaries=Secondaries.open,
        boost=Boost.spooled,
    ),
    OperatingState(
        id="lift_off",
        title="throttle shut from full boost",
        modes=BOOSTED,
        speed=Speed.redline,
        throttle=Throttle.shut,
        boost=Boost.held,
        follows=("full_boost_redline",),
    ),
    OperatingState(
        id="overrun",
        title="overrun, throttle shut at speed",
        needs_enrichment=False,
        speed=Speed.torque_peak,
        throttle=Throttle.shut,
        boost=Boost.spooled,
    ),
    OperatingState(id="hot_soak", title="standing hot after a drive", hot=True),
    OperatingState(
        id="backfire_idle",
        title="backfire at idle",
        speed=Speed.idle,
        follows=(IDLE,),
        event=True,
    ),
    OperatingState(
        id="backfire_full_load",
        title="backfire at full load",
        speed=Speed.torque_peak,
        follows=("full_boost_torque_peak", "wide_open_torque_peak"),
        event=True,
    ),
)


def state(state_id: str) -> OperatingState:
    """The state with this id. Raises: KeyError when there is none.

    >>> state("cruise").title
    'cruise'
    """
    for each in STATES:
        if each.id == state_id:
            return each
    raise KeyError(state_id)


def states_for(mode: Mode, *, diaphragm_secondaries: bool = False) -> tuple[OperatingState, ...]:
    """The states that occur in a mode, in drive order.

    >>> [each.id for each in states_for(Mode.naturally_aspirated)][:5]
    ['engine_off', 'crank', 'idle', 'cruise', 'tip_in']
    """
    return tuple(
        each for each in STATES if each.occurs_in(mode, diaphragm_secondaries=diaphragm_secondaries)
    )
