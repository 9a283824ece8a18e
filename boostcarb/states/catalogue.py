"""The operating states, one record each, in the order in which a drive meets them.

To add a state, add one `OperatingState` to `STATES`: say in which modes it occurs, how fast the
engine turns, where the throttle stands and what the turbo does. The air path needs no new code.
"""

from __future__ import annotations

from typing import Final

from boostcarb.states.operating_state import (
    ALL_MODES,
    BOOSTED,
    NATURALLY_ASPIRATED,
    Boost,
    ManifoldTarget,
    Mode,
    OperatingState,
    Secondaries,
    Speed,
    Throttle,
)

__all__ = [
    "ALL_MODES",
    "BOOSTED",
    "CRANK_OPENING",
    "IDLE",
    "NATURALLY_ASPIRATED",
    "STATES",
    "Boost",
    "ManifoldTarget",
    "Mode",
    "OperatingState",
    "Secondaries",
    "Speed",
    "Throttle",
    "state",
    "states_for",
]

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
    # The turbo holds full boost while the throttle lets little of it through: the largest drop across the plates.
    OperatingState(
        id="part_throttle_boost_fast",
        title="light boost at part throttle near the redline",
        modes=BOOSTED,
        needs_enrichment=True,
        speed=Speed.redline,
        throttle=Throttle.manifold,
        manifold=ManifoldTarget.share_of_boost,
        boost_share=0.05,
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
        speed=Speed.as_before,
        follows=(IDLE,),
        event=True,
    ),
    OperatingState(
        id="backfire_full_load",
        title="backfire at full load",
        speed=Speed.as_before,
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
    return tuple(each for each in STATES if each.occurs_in(mode, diaphragm_secondaries=diaphragm_secondaries))
