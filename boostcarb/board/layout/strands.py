"""Which ways share a route: the forms of one thing that never stand side by side.

A *strand* is what is drawn once between two spaces. All ways of one item between the same two spaces are one strand,
and so are items of which at most one is ever there. What passes a diaphragm runs along the diaphragm's own strand.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from boostcarb.network.model import AMBIENT, Conditions, Configuration, Diaphragm, Network, Way

THROUGH = ("rupture", "clearance", "joint")


@dataclass(slots=True)
class Strand:
    """One line of the drawing, from space `a` to space `b` (or to the open air)."""

    name: str
    a: str
    b: str
    ways: list[Way] = field(default_factory=list)
    diaphragms: list[str] = field(default_factory=list)
    found: bool = False
    host: Strand | None = None

    @property
    def vent(self) -> bool:
        """Whether it ends in the open air."""
        return self.b == AMBIENT

    @property
    def items(self) -> frozenset[str]:
        """Whose ways it draws."""
        return frozenset(way.item for way in self.ways)


def at_odds(first: Conditions, second: Conditions) -> bool:
    """Whether two sets of conditions can never hold together."""
    forms = dict(first)
    return any(item in forms and not forms[item] & wanted for item, wanted in second)


def exclusive(first: Iterable[Way], second: Iterable[Way]) -> bool:
    """Whether no way of the first is ever there together with one of the second."""
    others = list(second)
    return all(at_odds(one.conditions, two.conditions) for one in first for two in others)


def ends(a: str, b: str) -> tuple[str, str]:
    """Two spaces in a fixed order, the atmosphere last."""
    if AMBIENT in (a, b):
        return (b, a) if a == AMBIENT else (a, b)
    return (a, b)


def strands_of(network: Network) -> list[Strand]:
    """Every strand, in a fixed order; line ends that can come open are hosted by the strand of the line."""
    found = network.found()
    between: dict[frozenset[str], list[Strand]] = {}
    for name, diaphragm in network.diaphragms.items():
        _add_diaphragm(between, name, diaphragm, found)
    for way in network.ways:
        _add_way(between, way, network.diaphragms)
    strands = [strand for group in between.values() for strand in group]
    for strand in strands:
        strand.found = strand.found or any(way.exists(found) for way in strand.ways)
    _host_open_ends(strands)
    return strands


def _add_diaphragm(
    between: dict[frozenset[str], list[Strand]], name: str, diaphragm: Diaphragm, found: Configuration
) -> None:
    group = between.setdefault(frozenset((diaphragm.first, diaphragm.second)), [])
    for strand in group:
        if strand.diaphragms:
            strand.diaphragms.append(name)
            return
    a, b = ends(diaphragm.first, diaphragm.second)
    group.append(Strand(name, a, b, diaphragms=[name], found=diaphragm.exists(found)))


def passes_through(way: Way, strand: Strand, diaphragms: Mapping[str, Diaphragm]) -> bool:
    """Whether a way leads through the diaphragm of a strand between the same spaces."""
    if any(way.item == diaphragms[name].tear or way.item.startswith(name) for name in strand.diaphragms):
        return True
    return bool(strand.diaphragms) and not strand.vent and way.kind in THROUGH


def _add_way(between: dict[frozenset[str], list[Strand]], way: Way, diaphragms: Mapping[str, Diaphragm]) -> None:
    group = between.setdefault(frozenset((way.a, way.b)), [])
    for strand in group:
        if passes_through(way, strand, diaphragms):
            strand.ways.append(way)
            return
    for strand in group:
        if not strand.diaphragms and (way.item in strand.items or exclusive([way], strand.ways)):
            strand.ways.append(way)
            return
    a, b = ends(way.a, way.b)
    group.append(Strand(way.name, a, b, [way]))


def _host_open_ends(strands: list[Strand]) -> None:
    for strand in strands:
        if not strand.vent or strand.diaphragms:
            continue
        for other in sorted(strands, key=lambda one: not one.found):
            if other.vent or strand.a not in (other.a, other.b) or not strand.items & other.items:
                continue
            if exclusive(strand.ways, other.ways):
                strand.host = other
                break
