"""What a driver would notice of a fault, and what would reveal it on the bench (common practice, no source)."""

from __future__ import annotations

from collections.abc import Mapping

from boostcarb.faults.catalogue import Fault, FaultKind
from boostcarb.faults.outcome import Outcome
from boostcarb.network.latent import TEAR
from boostcarb.network.model import AMBIENT, Network, Way
from boostcarb.rulebook.schema import Effect

NOTICED: Mapping[Effect, str] = {
    "fuel outside": "smell of fuel, a wet carburetor or wet ground under it; then fire",
    "mixture outside": "hiss and smell under load, boost that falls short; then fire",
    "lean": "hesitation, pinging, a hot exhaust; a wideband shows it first",
    "flooding": "hard to start hot, stalls, black smoke, fuel dripping from the vents",
    "throttle stays open": "the engine runs on when the foot is off",
    "uncontrolled boost": "more boost than set, pinging; a gauge shows it",
    "diaphragm overloaded": "nothing until it tears",
    "pressure in the crankcase": "oil pushed out of seals and breather, a dipstick that lifts",
    "wrong signal elsewhere": "a hard brake pedal, harsh or slipping shifts, timing that does not follow",
    "diaphragm unprotected": "nothing until the engine backfires",
    "rich": "black smoke, lumpy idle, fouled plugs, smell of fuel at the tailpipe",
    "air leak": "high or hunting idle, hesitation off idle",
    "less power": "less power than before",
    "wear": "nothing for a long time",
}
LEAN_IN_BOOST = "nothing at light load; in boost hesitation and pinging, and then damage: a wideband shows it first"


def noticed(outcome: Outcome, boosted: frozenset[str]) -> str:
    """What the driver notices of the worst of it; `boosted` are the states in boost."""
    if not outcome.consequences:
        return "nothing"
    worst = outcome.consequences[0]
    if worst.effect == "lean" and worst.states and set(worst.states) <= boosted:
        return LEAN_IN_BOOST
    return NOTICED[worst.effect]


OUTSIDE = {
    "wastegate": "regulated air on its actuator: the rod must move at the set boost, and come back",
    "bypass_valve": "a hand vacuum pump on its signal port: it must open, and shut when let go",
}
"""What is no item of the carburetor and its surroundings."""

HANDLED: Mapping[FaultKind, str] = {
    FaultKind.hose_off: "pull at both ends of the hose",
    FaultKind.hose_pinched: "blow through the hose, and follow it by hand",
    FaultKind.one_way: "blow through it from both ends: it must pass one way and hold the other",
}


def revealed(network: Network, fault: Fault) -> str:
    """What would show the fault on the bench."""
    if fault.kind is FaultKind.torn:
        diaphragm = network.diaphragms[fault.item.removesuffix(TEAR)]
        return f"a hand vacuum pump on the {network.title_of(diaphragm.dry)}: it does not hold"
    if fault.kind in HANDLED:
        return HANDLED[fault.kind]
    way = _way(network, fault)
    if way is not None:
        a, b = ("the outside" if end == AMBIENT else f"the {network.title_of(end)}" for end in (way.a, way.b))
        if way.a == AMBIENT:
            a, b = b, a
        if fault.kind is FaultKind.blocked:
            return f"spray cleaner in at {a}: nothing comes out at {b}"
        if fault.kind is FaultKind.leak and AMBIENT in (way.a, way.b):
            return f"a little air in {a}, soapy water on the joint: bubbles"
        return f"spray cleaner in at {a}: it comes out at {b}"
    item = network.items.get(fault.item)
    return item.look or "look at it" if item is not None else OUTSIDE.get(fault.item, "look at it")


def _way(network: Network, fault: Fault) -> Way | None:
    return next((way for way in network.ways if way.item == fault.item and way.kind != "line"), None)
