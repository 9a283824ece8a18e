"""What a bench test shows, worked out a second time and in another way than the package does.

Edges are laid anew from spaces, ways and castings for every configuration; how far a test gets is the least fixed point
of a rule on widths, found by going round until nothing changes.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase

import pytest

from boostcarb.checks.model import Kind, Outcome, Test
from boostcarb.network.model import Configuration, Network, Way

BORES = ("air_horn", "base", "*.venturi_throat", "*.booster_throat")
INTAKE = (*BORES, "manifold", "compressor_inlet", "compressor_outlet")
FUEL_VALVES = {"pump_inlet": "pump_inlet_check", "pump_nozzle": "pump_discharge_needle"}
SEEN_TO_MOVE = ("advance", "choke", "secondary")
ROOMY_M3, ROOM_M2, FACE_M2 = 10e-6, 1e-3, 10e-6


@dataclass(frozen=True)
class Edge:
    a: str
    b: str
    area: float
    forth: bool
    back: bool
    line: str | None = None


@dataclass(frozen=True)
class Oracle:
    """A network whose castings `off` are parted at a stage; `done` are the stages up to it."""

    network: Network
    own: Collection[str]
    off: Collection[str]
    done: Sequence[str]
    on_engine: bool

    def is_open(self, space: str) -> bool:
        return self.network.spaces[space].source

    def lump(self, casting: str) -> str:
        if self.on_engine:
            return "all"
        if casting in self.off:
            return casting
        return "rest" if casting in self.own else "car"

    def ways(self, configuration: Configuration) -> list[tuple[Way, bool]]:
        """Ways that pass, and whether they pass from a to b only."""
        open_valves, all_valves = set(), set()
        for each in self.network.diaphragms.values():
            all_valves.update(each.works_through)
            valve = each.valves.get(configuration.get(each.part or "", ""))
            if valve is None or not all(configuration[item] in forms for item, forms in each.conditions):
                continue
            rests_open = valve.setting_pa > 0 if valve.opens_below else valve.setting_pa < 0
            if rests_open:
                open_valves.update(each.works_through)
        found = []
        for way in self.network.ways:
            if not all(configuration[item] in forms for item, forms in way.conditions):
                continue
            if way.item in all_valves - open_valves:
                continue
            if way.gate is not None:
                pressure = 0.0 if way.gate.level_is_gauge else 101_325.0
                above = pressure > way.gate.level_pa
                if above is not way.gate.open_above:
                    continue
            one_way = way.one_way or configuration.get(way.inline or "") == "one_way_valve"
            group, _, last = way.item.rpartition(".")
            valve_part = f"{group}.{FUEL_VALVES[last]}" if last in FUEL_VALVES else ""
            if way.one_way and valve_part in self.network.items:
                right = next(iter(self.network.items[valve_part].forms))
                one_way = configuration[valve_part] == right
            found.append((way, one_way))
        return found

    def edges(self, configuration: Configuration, brisk: bool) -> list[Edge]:
        """Everything that joins anything."""
        passing = {way.name: one_way for way, one_way in self.ways(configuration)}
        made: set[Edge] = set()
        for way in self.network.ways:
            if way.kind == "line":
                self.line(way, made)
            gone = not self.on_engine and way.casting in self.own and self.is_lost_gasket(way)
            if not self.on_engine and not gone and not self.lies_here(way):
                continue
            ends = []
            for space in (way.a, way.b):
                here = self.lump(self.network.spaces[space].casting)
                inside = not self.is_open(space) and here == self.lump(way.casting)
                ends.append(space if inside else f"{way.item}@{space}")
                if not inside and not self.is_open(space) and here != "car":
                    self.face(space, made)
            if way.name in passing and not gone:
                one_way = passing[way.name]
                guarded = brisk and way.guard is not None and not way.one_way and configuration[way.guard] == "fitted"
                line = way.item if way.kind == "line" else None
                made.add(Edge(ends[0], ends[1], way.area_m2, True, not one_way and not guarded, line))
        for each in self.network.diaphragms.values():
            if each.part is None:
                continue
            for side in (each.first, each.second):
                here = self.lump(self.network.spaces[side].casting)
                if not self.is_open(side) and here not in ("car", self.lump(self.network.items[each.part].casting)):
                    self.face(side, made)
        return sorted(made, key=str)

    def lies_here(self, way: Way) -> bool:
        return way.kind != "line" and not self.is_lost_gasket(way) and way.casting in self.own

    def is_lost_gasket(self, way: Way) -> bool:
        """Whether its seam is open: every stage opens its seams, whatever its name."""
        return way.kind in ("joint", "gasket_window") and way.stage in self.done[1:]

    def line(self, way: Way, made: set[Edge]) -> None:
        if self.is_open(way.a):
            return
        if self.on_engine:
            made.add(Edge(way.a, f"{way.item}/nipple", way.area_m2, True, True))
        elif self.network.spaces[way.a].casting in self.own:
            made.add(Edge(way.a, f"{way.item}/stub", way.area_m2, True, True))

    def face(self, space: str, made: set[Edge]) -> None:
        volume = self.network.spaces[space].volume_m3
        area = ROOM_M2 if volume is None or volume == 0 or volume >= ROOMY_M3 else FACE_M2
        made.add(Edge(space, f"{space}/open", area, True, True))

    def shown(self, test: Test, configuration: Configuration) -> Outcome:
        """What a test shows."""
        suction = test.kind is Kind.vacuum
        pulled = {name.removesuffix("/nipple") for name in test.at if name.endswith("/nipple")}
        arcs: list[tuple[str, str, float]] = []
        for edge in self.edges(configuration, test.kind in (Kind.air, Kind.pressure)):
            if edge.line in pulled and edge.line is not None:
                continue
            for u, v, goes in ((edge.a, edge.b, edge.forth), (edge.b, edge.a, edge.back)):
                if goes:
                    arcs.append((v, u, edge.area) if suction else (u, v, edge.area))
        never = {*test.at, *test.blocked}
        arcs = [(u, v, area) for u, v, area in arcs if v not in never and not v.endswith("/nipple")]
        if test.kind is Kind.spray:
            arcs = [arc for arc in arcs if not self.stays(arc[0]) or arc[1].endswith("/open")]
        exits, inside = self.spread(test.at, arcs, vents=not suction)
        if not suction:
            return Outcome(exits=tuple(sorted(exits)))
        if exits:
            return Outcome(holds=False)
        moves = [
            name
            for name, each in sorted(self.network.diaphragms.items())
            if each.role in SEEN_TO_MOVE
            and len({each.first, each.second} & inside) == 1
            and each.exists(configuration)
            and configuration.get(each.tear or "") != "torn"
        ]
        return Outcome(holds=True, moves=tuple(moves))

    def stays(self, node: str) -> bool:
        space = self.network.spaces.get(node)
        return space is not None and not space.source and (space.volume_m3 or 0.0) >= ROOMY_M3

    def spread(
        self, at: Sequence[str], arcs: list[tuple[str, str, float]], *, vents: bool
    ) -> tuple[set[str], set[str]]:
        """Holes that it comes out of, and the spaces it gets to."""
        width = dict.fromkeys(at, float("inf"))
        while True:
            exits: set[str] = set()
            new = dict.fromkeys(at, float("inf"))
            for node, wide in width.items():
                leaving = [(v, area) for u, v, area in arcs if u == node]
                holes = {v: area for v, area in leaving if self.is_hole(v)}
                if vents and sum(holes.values()) >= 4.0 * wide:
                    exits |= {v for v, area in holes.items() if area * 10.0 >= max(holes.values())}
                    continue
                exits |= set(holes)
                for v, area in leaving:
                    if not self.is_hole(v):
                        new[v] = max(new.get(v, 0.0), min(wide, area))
            for v in new:
                new[v] = max(new[v], width.get(v, 0.0))
            if new == width:
                return exits, {node for node in width if not self.is_hole(node)}
            width = new

    @staticmethod
    def is_hole(node: str) -> bool:
        return "@" in node or "/" in node

    def inner(self) -> tuple[str, ...]:
        """Holes into what the pressure test fills."""
        patterns = INTAKE if self.on_engine else BORES
        return tuple(
            sorted(
                {
                    f"{way.item}@{space}"
                    for way in self.network.ways
                    if self.on_engine or self.lies_here(way)
                    for space in (way.a, way.b)
                    if any(fnmatchcase(space, pattern) for pattern in patterns)
                }
            )
        )


@pytest.fixture
def oracle() -> type[Oracle]:
    """Does tests a second time: `oracle(network, own, off, done, on_engine).shown(test, configuration)`."""
    return Oracle
