"""The carburetor in pieces: what is open to the eye at each stage of the strip-down.

A family says which castings a stage takes off. A passage that crosses a seam whose castings are parted ends there: its
own casting keeps the drilled hole and whatever plugs it, the space on the other side lies open. A gasket is not there
while its seam is open; what the casting above it closed lies open. Left out: where on the face a hole is.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from graphlib import TopologicalSorter

from boostcarb.checks.model import Hole
from boostcarb.checks.passing import outside
from boostcarb.network.latent import RUPTURE
from boostcarb.network.model import AMBIENT, Network, Stage, Way

CARBURETOR_OFF = "carburetor_off"
"""Stage that lifts a carburetor off its engine, in every family."""
BORES = ("air_horn", "base", "*.venturi_throat", "*.booster_throat")
"""What the bores of the carburetor join, plates open: covered above and below, they are one space."""

INTAKE = (*BORES, "manifold", "compressor_inlet", "compressor_outlet")
"""The same with all that stands round the carburetor on the engine."""

GASKETS = frozenset({"joint", "gasket_window"})
NO_PORT = frozenset({"joint", "gasket_window", "clearance", "duct", RUPTURE})
"""Kinds of ways that nothing can be put to, and no finger shuts for certain."""

ROOMY_M3 = 10e-6
"""A space from here on is not filled by a spray, and its open side is no hole for a finger (assumption)."""

FACE_M2, ROOM_M2 = 10e-6, 1e-3
"""Areas of the open side of a small space and of a roomy one (assumption: only large and small matters)."""

STUB, NIPPLE, OPEN_SIDE, AT = "/stub", "/nipple", "/open", "@"


@dataclass(frozen=True, slots=True)
class Piece:
    """A way on the bench, from one end to the other: a space or a hole. Without a name it is always open."""

    way: str | None
    a: str
    b: str
    area_m2: float


@dataclass(frozen=True, slots=True)
class BenchStage:
    """What lies on the bench at one stage: pieces of ways, and the holes they end in.

    `faces` has the dry sides of diaphragms that lie open: all that a cup over one covers, tears and leaks.
    """

    name: str
    title: str
    off: tuple[str, ...]
    on_engine: bool
    pieces: tuple[Piece, ...]
    holes: Mapping[str, Hole]
    faces: Mapping[str, tuple[str, ...]]

    @property
    def assembled(self) -> bool:
        """Whether nothing is off the carburetor."""
        return not self.off


def stage_order(network: Network, first: Collection[str] = ()) -> tuple[Stage, ...]:
    """The stages in one order in which they can be done, those named first before others, else as described."""
    sorter = TopologicalSorter({stage.name: stage.after for stage in network.stages.values()})
    sorter.prepare()
    listed = {name: index for index, name in enumerate(network.stages)}
    order: list[Stage] = []
    ready = list(sorter.get_ready())
    while ready:
        ready.sort(key=lambda name: (name not in first, listed[name]))
        name = ready.pop(0)
        order.append(network.stages[name])
        sorter.done(name)
        ready += sorter.get_ready()
    return tuple(order)


def bench_stages(network: Network, own: Collection[str], order: Sequence[Stage]) -> tuple[BenchStage, ...]:
    """The stages at which something new lies open, in order; `own` are the castings of the carburetor."""
    found: list[BenchStage] = []
    off: list[str] = []
    done: list[str] = []
    on_engine = True
    for index, stage in enumerate(order):
        done.append(stage.name)
        opens = index == 0
        if stage.name == CARBURETOR_OFF:
            on_engine, opens = False, True
        elif stage.takes_off:
            off += [casting for casting in stage.takes_off if casting in own]
            opens = True
        if opens:
            found.append(_Cut(network, own, tuple(off), tuple(done), on_engine).stage(stage))
    return tuple(found)


def _is_one_of(space: str, patterns: Collection[str]) -> bool:
    return any(fnmatchcase(space, pattern) for pattern in patterns)


@dataclass(frozen=True, slots=True)
class _Cut:
    """One stage being laid out."""

    network: Network
    own: Collection[str]
    off: tuple[str, ...]
    done: tuple[str, ...]
    on_engine: bool

    def stage(self, stage: Stage) -> BenchStage:
        pieces: dict[tuple[str | None, str, str], Piece] = {}
        holes: dict[str, Hole] = {}
        faces: dict[str, set[str]] = {}
        for way in self.network.ways:
            for piece, made in self._pieces(way, faces):
                pieces[piece.way, piece.a, piece.b] = piece
                holes.update({hole.name: hole for hole in made})
        for space in sorted(self._opened_by_diaphragms()):
            piece, hole = self._open_side(space)
            pieces[None, piece.a, piece.b] = piece
            holes[hole.name] = hole
        ordered = tuple(pieces[key] for key in sorted(pieces, key=lambda key: (key[0] or "", key[1], key[2])))
        grouped = {name: tuple(sorted(each)) for name, each in sorted(faces.items()) if not self.on_engine}
        return BenchStage(stage.name, stage.title, self.off, self.on_engine, ordered, holes, grouped)

    def _piece_of(self, casting: str) -> str:
        if self.on_engine:
            return ""
        return casting if casting in self.off else "assembly" if casting in self.own else "car"

    def _lies_open(self, space: str, casting: str) -> bool:
        """Whether a space of the carburetor has lost a casting that something in it ended in."""
        here = self._piece_of(self.network.spaces[space].casting)
        return not outside(self.network, space) and here not in ("car", self._piece_of(casting))

    def _opened_at_a_seam(self, way: Way) -> Iterator[tuple[Piece, tuple[Hole, ...]]]:
        """What a lid closed stands open without it, though the gasket was all that joined the two."""
        for space in (way.a, way.b):
            if way.casting in self.own and self._lies_open(space, way.casting):
                piece, opened = self._open_side(space)
                yield piece, (opened,)

    def _pieces(self, way: Way, faces: dict[str, set[str]]) -> Iterator[tuple[Piece, tuple[Hole, ...]]]:
        if way.kind == "line" and self.on_engine and not outside(self.network, way.a):
            yield self._nipple(way)
        if not self.on_engine:
            if way.kind in GASKETS and way.stage in self.done[1:]:
                yield from self._opened_at_a_seam(way)
                return
            if way.kind == "line":
                if self._piece_of(self.network.spaces[way.a].casting) != "car" and not outside(self.network, way.a):
                    yield self._stub(way)
                return
            if way.casting not in self.own:
                return
        dry = {each.dry for each in self.network.diaphragms.values() if each.part is not None}
        ends: list[str] = []
        made: list[Hole] = []
        for space in (way.a, way.b):
            here = self._piece_of(self.network.spaces[space].casting)
            if not outside(self.network, space) and here == self._piece_of(way.casting):
                ends.append(space)
                continue
            hole = self._hole(way, space)
            ends.append(hole.name)
            made.append(hole)
            if self._lies_open(space, way.casting):
                if way.kind in NO_PORT and space in dry:
                    faces.setdefault(f"{way.casting}{AT}{space}", set()).add(hole.name)
                piece, opened = self._open_side(space)
                yield piece, (opened,)
        yield Piece(way.name, ends[0], ends[1], way.area_m2), tuple(made)

    def _hole(self, way: Way, space: str) -> Hole:
        item = self.network.items[way.item]
        if space == AMBIENT:
            title = item.title
        elif outside(self.network, space):
            title = f"{item.title}, at the {self.network.title_of(space)}"
        else:
            title = f"{item.title}, on the face toward the {self.network.title_of(space)}"
        port = way.kind not in NO_PORT
        undone = way.kind == "line" or way.casting not in self.own
        return Hole(
            name=f"{way.item}{AT}{space}",
            title=title,
            casting=way.casting,
            item=way.item,
            space=space,
            applied=port and (undone if self.on_engine else True),
            blocked=port,
            inner=_is_one_of(space, INTAKE if self.on_engine else BORES),
        )

    def _stub(self, way: Way) -> tuple[Piece, tuple[Hole, ...]]:
        space = self.network.spaces[way.a]
        name = f"{way.item}{STUB}"
        title = f"hose stub of the {space.title}"
        hole = Hole(name, title, space.casting, None, space.name, applied=True, blocked=True)
        return Piece(None, space.name, name, way.area_m2), (hole,)

    def _nipple(self, way: Way) -> tuple[Piece, tuple[Hole, ...]]:
        space = self.network.spaces[way.a]
        name = f"{way.item}{NIPPLE}"
        title = f"nipple of the {space.title}, its hose pulled off"
        hole = Hole(name, title, space.casting, None, space.name, applied=True, blocked=False, line=way.item)
        return Piece(None, space.name, name, way.area_m2), (hole,)

    def _open_side(self, name: str) -> tuple[Piece, Hole]:
        space = self.network.spaces[name]
        roomy = (space.volume_m3 or math.inf) >= ROOMY_M3
        hole = Hole(
            name=f"{name}{OPEN_SIDE}",
            title=f"open side of the {space.title}",
            casting=space.casting,
            item=None,
            space=space.name,
            applied=not roomy,
            blocked=not roomy,
        )
        return Piece(None, name, hole.name, ROOM_M2 if roomy else FACE_M2), hole

    def _opened_by_diaphragms(self) -> Iterator[str]:
        """Sides of diaphragms that lie open because the part with the diaphragm is in another piece."""
        for diaphragm in self.network.diaphragms.values():
            part = self.network.items.get(diaphragm.part or "")
            if part is None:
                continue
            for side in (diaphragm.first, diaphragm.second):
                if self._lies_open(side, part.casting):
                    yield side
