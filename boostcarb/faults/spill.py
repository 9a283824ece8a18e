"""Where liquid fuel goes when a wall tears or a bowl runs over, and what blows into a bowl: computed paths.

Fuel follows every open way from where it stands to where the pressure is lower; the head of fuel in the bowl helps it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass

from boostcarb.faults.catalogue import Fault
from boostcarb.findings import Step
from boostcarb.network.latent import TEAR
from boostcarb.network.model import AMBIENT, Network, Way
from boostcarb.rulebook.view import View
from boostcarb.solving.situation import StateView

HEAD_PA = 300.0
"""Head of the fuel in a bowl: 40 mm of gasoline at 730 kg/m3 (assumption; the height follows from the casting)."""

ALWAYS_FED = frozenset({"fuel_line"})
"""Spaces that a pump keeps above whatever they are referenced to."""


@dataclass(frozen=True, slots=True)
class Spill:
    """Fuel that runs from one space into another by a path, or gas that blows into a bowl, in these states.

    `over`: a bowl that is pumped full runs over; else its own pressure and head push.
    """

    start: str
    into: str
    path: tuple[Step, ...]
    states: tuple[str, ...]
    backward: bool = False
    over: bool = False


def spills(view: View, fault: Fault) -> tuple[Spill, ...]:
    """Where the fuel goes with a fault, and what blows into the bowl; nothing for a fault that frees no fuel."""
    network = view.network
    if fault.item.endswith(TEAR):
        diaphragm = network.diaphragms[fault.item.removesuffix(TEAR)]
        if diaphragm.wets is None:
            return ()
        through = Step(fault.item, diaphragm.dry)
        return (
            *_from(view, diaphragm.wets, diaphragm.dry, (through,)),
            *_into(view, diaphragm.wets, diaphragm.dry, through),
        )
    if fault.floods is not None:
        return tuple(_from(view, fault.floods, fault.floods, (), over=True))
    return ()


def _from(view: View, wet: str, start: str, before: tuple[Step, ...], *, over: bool = False) -> Iterator[Spill]:
    """Sources that fuel reaches from a space, with the states in which it is pushed there."""
    network = view.network
    reached: dict[str, tuple[Step, ...]] = {}
    when: dict[str, list[str]] = {}
    for state in view.states:
        if not state.event:
            for sink, path in _sinks(view, state, start):
                if over or _pushed(view, wet, sink, state):
                    reached.setdefault(sink, path)
                    when.setdefault(sink, []).append(state.name)
    if not before and not over and network.spaces[start].source:
        yield Spill(wet, start, before, ())
    for sink, path in reached.items():
        yield Spill(wet, sink, (*before, *path), tuple(when[sink]), over=over)


def _sinks(view: View, state: StateView, start: str) -> Iterator[tuple[str, tuple[Step, ...]]]:
    """Sources joined to a space by ways that are open in a state, by the fewest ways; by name."""
    network = view.network
    if network.spaces[start].source:
        yield start, ()
        return
    paths: dict[str, tuple[Step, ...]] = {start: ()}
    queue = deque([start])
    found = {}
    while queue:
        space = queue.popleft()
        for way in network.ways_of[space]:
            into = way.other(space)
            if into in paths or not _passes(view, way, space, state):
                continue
            paths[into] = (*paths[space], Step(way.name, into))
            if network.spaces[into].source:
                found[into] = paths[into]
            else:
                queue.append(into)
    yield from sorted(found.items())


def _passes(view: View, way: Way, space: str, state: StateView) -> bool:
    """Whether fuel can leave a space by a way: jets and pump passages hold fuel anyway, so only air ways count."""
    if way.carries != "air" or not way.exists(view.configuration) or not view.passes_in(way, state):
        return False
    return not (way.b == space and way.is_one_way(view.configuration))


def _pushed(view: View, wet: str, sink: str, state: StateView) -> bool:
    if wet in ALWAYS_FED:
        return True
    high = view.pressures.range_of(wet, state.name)[1]
    return high + HEAD_PA > view.pressures.range_of(sink, state.name)[0]


def _into(view: View, wet: str, dry: str, through: Step) -> Iterator[Spill]:
    """A bowl into which the other side of a torn wall blows: it empties through its vents."""
    if wet in ALWAYS_FED:
        return
    states = []
    for state in view.states:
        if state.event or not state.running:
            continue
        low = view.pressures.range_of(dry, state.name)[0]
        joined = any(True for _ in _sinks(view, state, dry))
        if joined and low > view.pressures.range_of(wet, state.name)[1] + 2 * HEAD_PA:
            states.append(state.name)
    if states:
        yield Spill(dry, wet, (Step(through.way, wet),), tuple(states), backward=True)


def outside(network: Network, spill: Spill) -> bool:
    """Whether fuel leaves the carburetor and the engine."""
    return spill.into == AMBIENT
