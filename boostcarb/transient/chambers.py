"""The network as volumes and openings: what can move together while a source changes."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from boostcarb.network.build import DISCHARGE_OF_A_HOSE
from boostcarb.network.model import Configuration, Network, Way
from boostcarb.solving.pressures import AIR

DEFAULT_VOLUME_M3 = 5e-6
"""Volume of a chamber whose family gives none (assumption: between a valve chamber and a small hose)."""

HOSE_LENGTH_M = 0.5
"""Length of a signal hose: its volume fills with the chamber at its end (assumption: across an engine bay)."""

LINE = "line"


@dataclass(frozen=True, slots=True)
class Chamber:
    """A free space as one volume, m3, the hoses that end in it included."""

    name: str
    volume_m3: float


@dataclass(frozen=True, slots=True)
class Opening:
    """An orifice from `a` to `b`: effective area in m2.

    A one-way opening passes only from `a` to `b`. `check` is the item of a backfire check that stands in it and
    works; it shuts against flow from `b` to `a`.
    """

    way: str
    a: str
    b: str
    area_m2: float
    one_way: bool = False
    check: str | None = None


@dataclass(frozen=True, slots=True)
class Piece:
    """Chambers that openings join, and the sources round them: no other chamber has a say in their pressures."""

    chambers: tuple[Chamber, ...]
    openings: tuple[Opening, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Its chambers."""
        return tuple(chamber.name for chamber in self.chambers)

    @property
    def sources(self) -> tuple[str, ...]:
        """The sources it is open to."""
        inside = set(self.names)
        return tuple(sorted({end for each in self.openings for end in (each.a, each.b)} - inside))

    @property
    def checks(self) -> frozenset[str]:
        """The backfire checks that stand in its openings and work."""
        return frozenset(each.check for each in self.openings if each.check is not None)

    def without(self, checks: Iterable[str]) -> Piece:
        """The same piece with these checks gone."""
        gone = set(checks)
        return Piece(
            self.chambers, tuple(replace(each, check=None) if each.check in gone else each for each in self.openings)
        )


def pieces(
    network: Network, configuration: Configuration, passes: Callable[[Way], bool], fed_by: Iterable[str]
) -> tuple[Piece, ...]:
    """Every piece that is open to one of the sources `fed_by`; `passes`: which ways pressure switches leave open."""
    found: list[Piece] = []
    taken: set[str] = set()
    for source in sorted(set(fed_by)):
        for way in _open(network, configuration, passes, source):
            start = way.other(source)
            if start not in taken and not network.spaces[start].source:
                piece = piece_of(network, configuration, passes, start)
                taken.update(piece.names)
                found.append(piece)
    return tuple(found)


def piece_of(network: Network, configuration: Configuration, passes: Callable[[Way], bool], start: str) -> Piece:
    """A free space with all that open ways join it to, as far as the sources."""
    names, ways = {start}, {}
    queue = deque([start])
    while queue:
        for way in _open(network, configuration, passes, queue.popleft()):
            ways[way.name] = way
            for end in (way.a, way.b):
                if end not in names and not network.spaces[end].source:
                    names.add(end)
                    queue.append(end)
    openings = tuple(_opening(network, ways[name], configuration) for name in sorted(ways))
    return Piece(tuple(Chamber(name, _volume(network, configuration, name)) for name in sorted(names)), openings)


def volumes_assumed(network: Network, all_pieces: Iterable[Piece]) -> tuple[str, ...]:
    """Chambers of these pieces whose family gives no volume."""
    names = (name for piece in all_pieces for name in piece.names)
    return tuple(sorted(name for name in names if network.spaces[name].volume_m3 is None))


def guarded_end(network: Network, way: Way) -> str:
    """The end of a way that a check in it keeps from a backfire: the side of a diaphragm, else where it starts."""
    sides = {side for diaphragm in network.diaphragms.values() for side in (diaphragm.first, diaphragm.second)}
    return way.b if way.b in sides and way.a not in sides else way.a


def _open(
    network: Network, configuration: Configuration, passes: Callable[[Way], bool], space: str
) -> Iterator[Way]:
    ways = network.ways_of[space]
    return (way for way in ways if way.carries == AIR and way.exists(configuration) and passes(way))


def _opening(network: Network, way: Way, configuration: Configuration) -> Opening:
    if way.is_one_way(configuration):
        return Opening(way.name, way.a, way.b, way.area_m2, one_way=True)
    check = way.guard if way.is_checked(configuration) else None
    if check is not None and guarded_end(network, way) == way.b:
        return Opening(way.name, way.b, way.a, way.area_m2, check=check)
    return Opening(way.name, way.a, way.b, way.area_m2, check=check)


def _volume(network: Network, configuration: Configuration, name: str) -> float:
    """Its own volume and that of the hoses that start at it and lead somewhere."""
    own = network.spaces[name].volume_m3
    # A switched hose is two ways of one line: its volume counts once.
    hoses = {
        way.item: way.area_m2 / DISCHARGE_OF_A_HOSE * HOSE_LENGTH_M
        for way in network.ways_of[name]
        if way.kind == LINE and way.a == name and way.exists(configuration)
    }
    return (DEFAULT_VOLUME_M3 if own is None else own) + sum(hoses.values())
