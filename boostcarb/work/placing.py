"""In which phase of the work each change is made, and in which order within it."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from enum import Enum, auto
from typing import Final

from boostcarb.network.model import MATERIAL, Item, Network
from boostcarb.planning.problem import Choice
from boostcarb.work.methods import SCREW_PLUGS


class Place(Enum):
    """Where in the work a change is made."""

    bare_metal = auto()
    """On the bare casting, before it is cleaned; can be undone."""
    around = auto()
    """On engine or turbo, while the carburetor is off."""
    cut = auto()
    """Cannot be undone: after every check that could make it needless."""
    fit = auto()
    """A new part in a clean casting."""
    closing = auto()
    """Just before its own stage is closed."""
    hoses = auto()
    """With the carburetor back on the engine."""
    first_start = auto()
    """With the engine running, or fuel in the bowl."""


BARE, CLOSING, ASSEMBLED, WET = "bare_metal", "closing", "assembled", "fuel_in_the_bowl"
"""When a family can say that a part is changed: before cleaning, as its joint is closed, once all is together, wet."""

WHILE_OFF: Final = ("engine", "turbo")
"""Castings round the carburetor that are best reached while it is off."""


def tail(item: str) -> str:
    """The last word of an item's name; of a material, that of what is made of it.

    >>> tail("primary.float.material"), tail("choke")
    ('float', 'choke')
    """
    return item.removesuffix(MATERIAL).rpartition(".")[2]


def place_of(item: Item, option: str, network: Network, of_carburetor: Collection[str]) -> Place:
    """Where a change of an item belongs; `of_carburetor` names the castings of the carburetor itself.

    What can only be reached with something off is done before that is closed, even if it is a hose.
    """
    place = _usual_place(item, option, network, of_carburetor)
    late = place in (Place.hoses, Place.first_start)
    return Place.closing if late and not is_start(network, network.stage_of(item.name, option)) else place


def _usual_place(item: Item, option: str, network: Network, of_carburetor: Collection[str]) -> Place:
    labor = item.forms[option].labor
    if labor is not None and labor.irreversible:
        return Place.cut
    if item.done == WET:
        return Place.first_start
    if item.kind in ("line", "inline") or item.done == ASSEMBLED:
        return Place.hoses
    if item.casting not in of_carburetor:
        return Place.around if item.casting in WHILE_OFF else Place.hoses
    # Nipples are pulled and their holes tapped before the casting is cleaned.
    takes_parts = labor is not None and labor.parts > 0 and option != SCREW_PLUGS
    return _on_the_bench(item, network, takes_parts=takes_parts)


def _on_the_bench(item: Item, network: Network, *, takes_parts: bool) -> Place:
    if item.done == CLOSING or _is_seam(item, network):
        return Place.closing
    if item.kind == "passage" or item.done == BARE or not takes_parts:
        return Place.bare_metal
    return Place.fit


def _is_seam(item: Item, network: Network) -> bool:
    return item.kind == "passage" and any(
        way.item == item.name and way.kind in ("joint", "gasket_window") for way in network.ways
    )


def in_order(changes: Iterable[Choice], network: Network) -> list[Choice]:
    """By casting, then by stage; what only exists with another change, or stands in its passage, comes after that."""
    castings, stages = list(network.castings), list(network.stages)

    def key(change: Choice) -> tuple[int, int, Choice]:
        return (castings.index(network.items[change.item].casting), stages.index(network.stage_of(*change)), change)

    waiting, done = sorted(changes, key=key), list[Choice]()
    while waiting:
        left = {change.item for change in waiting}
        free = next((each for each in waiting if left.isdisjoint(_waits_for(each.item, network))), waiting[0])
        done.append(free)
        waiting.remove(free)
    return done


def _waits_for(item: str, network: Network) -> set[str]:
    """What must be done before it: what it only exists with, and the passage that it stands in."""
    before = {on for on, _ in network.items[item].conditions}
    before.update(way.item for way in network.ways if way.guard == item)
    return before - {item}


def strip_order(network: Network, stages: Collection[str]) -> list[str]:
    """Stages to be opened, each after those it needs, else in the order of the family's file; without the start.

    A stage that needs nothing and takes no time is where everybody starts.
    """
    wanted = [name for name in network.stages if name in stages and not is_start(network, name)]
    done: list[str] = []
    while wanted:
        free = next(name for name in wanted if not set(network.stages[name].after) & set(wanted))
        done.append(free)
        wanted.remove(free)
    return done


def is_start(network: Network, stage: str) -> bool:
    """Whether nothing has to come off for it."""
    found = network.stages[stage]
    return not found.after and not found.minutes
