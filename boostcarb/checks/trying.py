"""Doing a test on a carburetor in any configuration: where it comes out, whether it holds, what moves.

No flow is computed. A test goes on from space to space through every way that passes, and what is left of it is as
wide as the narrowest way so far. Where a space has openings to the outside much wider than that, it leaves there: what
lies beyond, and a small leak beside them, shows only with these openings held shut.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from heapq import heapify, heappop, heappush

from boostcarb.checks.model import Kind, Outcome, Test
from boostcarb.checks.parting import OPEN_SIDE, ROOMY_M3, BenchStage, Piece
from boostcarb.checks.passing import Passes, moved, passing
from boostcarb.network.model import Configuration, Network

VENTED = 4.0
"""Openings so many times as wide as the way in leave a sixteenth of the pressure inside, or less (assumption)."""

BESIDE = 10.0
"""Of the openings of such a space those are seen that are at least one such part of the widest (assumption)."""

FREE = Passes(one_way=False, guarded=False)


@dataclass(frozen=True, slots=True)
class Reached:
    """What a test gets to: holes that it comes out of, and the spaces between."""

    exits: frozenset[str]
    inside: frozenset[str]


@dataclass(frozen=True, slots=True)
class _End:
    """A piece seen from one of its ends: where it leads, whether from its `a`, and the line that it is."""

    piece: Piece
    into: str
    from_a: bool
    line: str | None


class StageTrials:
    """Tests at one stage."""

    def __init__(self, network: Network, stage: BenchStage) -> None:
        self.network = network
        self.stage = stage
        lines = {way.name: way.item for way in network.ways if way.kind == "line"}
        self._at: dict[str, list[_End]] = {}
        for piece in stage.pieces:
            for here, into in ((piece.a, piece.b), (piece.b, piece.a)):
                hole = stage.holes.get(into)
                if hole is None or hole.line is None:
                    line = lines.get(piece.way or "")
                    self._at.setdefault(here, []).append(_End(piece, into, here == piece.a, line))
        names = {*stage.holes, *(end for piece in stage.pieces for end in (piece.a, piece.b))}
        self._rank = {name: index for index, name in enumerate(sorted(names, reverse=True))}
        self._roomy = {
            name for name, space in network.spaces.items() if (space.volume_m3 or 0.0) >= ROOMY_M3 and not space.source
        }
        self.ends = {piece.way: (piece.a, piece.b) for piece in stage.pieces if piece.way is not None}

    def shown(self, test: Test, configuration: Configuration) -> Outcome:
        """What a test shows on a carburetor in a configuration."""
        return self.seen(test, self.reach(test, passing(self.network, configuration)), configuration)

    def seen(self, test: Test, got: Reached, configuration: Configuration) -> Outcome:
        """What is seen of what a test gets to."""
        if test.kind is not Kind.vacuum:
            return Outcome(exits=tuple(sorted(got.exits)))
        if got.exits:
            return Outcome(holds=False)
        return Outcome(holds=True, moves=moved(self.network, configuration, got.inside))

    def reach(self, test: Test, passes: Mapping[str, Passes]) -> Reached:
        """Everything that a test gets to, the widest way first."""
        shut = {*test.at, *test.blocked}
        pulled = frozenset(line for name in test.at if (line := self.stage.holes[name].line) is not None)
        widths = dict.fromkeys(test.at, math.inf)
        waiting = [(-math.inf, self._rank[name], name) for name in widths]
        heapify(waiting)
        exits: set[str] = set()
        inside: set[str] = set()
        while waiting:
            negative, _, here = heappop(waiting)
            width = -negative
            if width < widths[here]:
                continue  # a wider way was found since
            pieces = [each for each in self._from(test.kind, here, passes, pulled) if each[0] not in shut]
            if here not in shut:
                inside.add(here)
            out = {into: area for into, area in pieces if into in self.stage.holes}
            if test.kind is not Kind.vacuum and sum(out.values()) >= VENTED * width:
                widest = max(out.values())
                exits.update(hole for hole, area in out.items() if area * BESIDE >= widest)
                continue
            exits.update(out)
            for into, area in pieces:
                through = min(width, area)
                if into not in out and through > widths.get(into, 0.0):
                    widths[into] = through
                    heappush(waiting, (-through, self._rank[into], into))
        return Reached(frozenset(exits), frozenset(inside))

    def _from(
        self, kind: Kind, here: str, passes: Mapping[str, Passes], pulled: frozenset[str]
    ) -> Iterator[tuple[str, float]]:
        """Where a test goes on to from a space or a hole, and how wide the way is."""
        stays = kind is Kind.spray and here in self._roomy
        for end in self._at.get(here, ()):
            if end.line not in pulled and (not stays or end.into.endswith(OPEN_SIDE)) and _goes(kind, end, passes):
                yield end.into, end.piece.area_m2


def _goes(kind: Kind, end: _End, passes: Mapping[str, Passes]) -> bool:
    """Whether a test passes a way from this end; a hand pump draws against the direction in which it goes on."""
    how = FREE if end.piece.way is None else passes.get(end.piece.way)
    if how is None:
        return False
    forward = end.from_a != (kind is Kind.vacuum)
    if how.one_way and not forward:
        return False
    return forward or not (how.guarded and kind in (Kind.air, Kind.pressure))
