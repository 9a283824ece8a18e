"""Doing a test on a carburetor in any configuration: where it comes out, whether it holds, what moves.

No flow is computed. A test goes on from space to space through every way that passes, and what is left of it is as
wide as the narrowest way so far. Where a space has openings to the outside much wider than that, it leaves there: what
lies beyond, and a small leak beside them, shows only with these openings held shut.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

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


class StageTrials:
    """Tests at one stage."""

    def __init__(self, network: Network, stage: BenchStage) -> None:
        self.network = network
        self.stage = stage
        self._at: dict[str, list[Piece]] = {}
        for piece in stage.pieces:
            self._at.setdefault(piece.a, []).append(piece)
            self._at.setdefault(piece.b, []).append(piece)
        self._roomy = {
            name for name, space in network.spaces.items() if (space.volume_m3 or 0.0) >= ROOMY_M3 and not space.source
        }
        self._lines = {way.name: way.item for way in network.ways if way.kind == "line"}
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
        waiting = dict.fromkeys(test.at, float("inf"))
        widths = dict(waiting)
        exits: set[str] = set()
        inside: set[str] = set()
        while waiting:
            here = max(waiting, key=lambda name: (waiting[name], name))
            width = waiting.pop(here)
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
                    widths[into] = waiting[into] = through
        return Reached(frozenset(exits), frozenset(inside))

    def _from(
        self, kind: Kind, here: str, passes: Mapping[str, Passes], pulled: frozenset[str]
    ) -> Iterator[tuple[str, float]]:
        """Where a test goes on to from a space or a hole, and how wide the way is."""
        stays = kind is Kind.spray and here in self._roomy
        for piece in self._at.get(here, ()):
            into = piece.b if piece.a == here else piece.a
            hole = self.stage.holes.get(into)
            if (hole is not None and hole.line is not None) or self._lines.get(piece.way or "") in pulled:
                continue
            if (not stays or into.endswith(OPEN_SIDE)) and _goes(kind, piece, here, passes):
                yield into, piece.area_m2


def _goes(kind: Kind, piece: Piece, here: str, passes: Mapping[str, Passes]) -> bool:
    """Whether a test passes a way from this end; a hand pump draws against the direction in which it goes on."""
    how = FREE if piece.way is None else passes.get(piece.way)
    if how is None:
        return False
    forward = (piece.a == here) != (kind is Kind.vacuum)
    if how.one_way and not forward:
        return False
    return forward or not (how.guarded and kind in (Kind.air, Kind.pressure))
