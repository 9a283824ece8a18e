"""The main circuit of a barrel group as it is drilled: its jets, channels, bleed and nozzle."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from boostcarb.fueling.solved import AIR_HORN, Solved
from boostcarb.network.model import Diaphragm, Network, Way
from boostcarb.physics.liquid import effective_area_in_series, effective_bore_area

WELL, BOOSTER = ".main_well", ".booster_throat"
ENRICHMENT = "enrichment"


class Origin(StrEnum):
    """Where a bore comes from."""

    measured = "as measured"
    usual = "usual for the family, not measured"
    computed = "as computed here"
    unknown = "not known"


@dataclass(frozen=True, slots=True)
class Drilling:
    """All holes of one passage: how many, the bore of one in m, discharge coefficient, and where the bore is from.

    Of a `ring` round a rod the bore is that of a round hole of the same area.
    """

    passage: str
    title: str
    count: int
    bore_m: float
    discharge: float
    origin: Origin
    ring: bool = False

    @property
    def area_m2(self) -> float:
        """Effective area of all holes together."""
        return self.count * effective_bore_area(diameter_m=self.bore_m, discharge_coefficient=self.discharge)

    def with_bore(self, bore_m: float) -> Drilling:
        """The same holes with another bore, computed."""
        return replace(self, bore_m=bore_m, origin=Origin.computed)

    def bore_for(self, area_m2: float) -> float:
        """Bore of one hole, m, that gives all of them together an effective area."""
        return math.sqrt(4.0 * area_m2 / (math.pi * self.count * self.discharge))


@dataclass(frozen=True, slots=True)
class Channel:
    """The way of enrichment fuel past one valve: the valve's window, then the restrictions."""

    diaphragm: Diaphragm
    restriction: Drilling
    window: Drilling | None

    def area_m2(self, factor: float = 1.0) -> float:
        """Effective area of the open channel; the factor is that of its holes' discharge."""
        areas = [factor * self.restriction.area_m2]
        if self.window is not None:
            areas.append(factor * self.window.area_m2)
        return effective_area_in_series(effective_areas_m2=areas)


@dataclass(frozen=True, slots=True)
class Circuit:
    """Main circuit of one barrel group. Without a nozzle, or without a main jet, it feeds nothing.

    In a `variable` one the jet opens with an air valve.
    """

    group: str
    main: Drilling | None
    channels: tuple[Channel, ...]
    bleed: Drilling | None
    nozzle: Drilling | None
    idle_feed: Drilling | None
    variable: bool = False

    @property
    def restriction(self) -> Drilling | None:
        """The restrictions of the first channel: those that are drilled for enrichment."""
        return self.channels[0].restriction if self.channels else None

    def with_unknown_jets(self) -> Circuit:
        """The same circuit with main jets of which nobody knows the size."""
        return replace(self, main=replace(self.main, origin=Origin.unknown) if self.main else None)

    def with_bores(self, bores: Mapping[str, float]) -> Circuit:
        """The circuit with other bores, m, by passage."""

        def sized(drilling: Drilling | None) -> Drilling | None:
            if drilling is None or drilling.passage not in bores:
                return drilling
            return drilling.with_bore(bores[drilling.passage])

        channels = tuple(
            replace(channel, restriction=sized(channel.restriction) or channel.restriction) for channel in self.channels
        )
        return replace(self, main=sized(self.main), channels=channels)


def circuits_of(solved: Solved) -> dict[str, Circuit]:
    """The main circuit of every barrel group, drilled as the job and the family say."""
    network = solved.network
    groups = {name.removesuffix(WELL) for name in network.spaces if name.endswith(WELL)}
    groups.update(group for group, names in network.circuits.items() if names.variable or names.well in network.spaces)
    return {group: _circuit(solved, group) for group in sorted(groups)}


def jet_holes(network: Network) -> frozenset[str]:
    """Passages whose bores say what the mixture is: main jets, and what an enrichment valve lets through."""
    names = {network.circuit(group).jet_hole for group in network.circuits}
    for diaphragm in network.diaphragms.values():
        if diaphragm.role == ENRICHMENT:
            names.update(diaphragm.works_through)
    return frozenset(names)


def _circuit(solved: Solved, group: str) -> Circuit:
    ways = [way for way in solved.network.ways if way.exists(solved.configuration)]
    names = solved.network.circuit(group)
    well, bowl = names.well, names.bowl
    valved = {
        passage for each in solved.network.diaphragms.values() if each.role == ENRICHMENT
        for passage in each.works_through
    }  # fmt: skip

    def between(start: str, end: str) -> Drilling | None:
        found = next(
            (
                way for way in ways
                if (way.a, way.b) == (start, end) and way.carries != "air" and way.item not in valved
            ),
            None,
        )  # fmt: skip
        return _drilling(solved, found) if found else None

    channels = []
    for diaphragm in solved.network.diaphragms.values():
        if diaphragm.feeds != group or diaphragm.role != ENRICHMENT or not diaphragm.exists(solved.configuration):
            continue
        for way in ways:
            if way.item in diaphragm.works_through and way.b == well:
                channels.append(Channel(diaphragm, _drilling(solved, way), between(bowl, way.a)))
    return Circuit(
        group=group,
        main=between(bowl, well),
        channels=tuple(channels),
        bleed=between(AIR_HORN, well),
        nozzle=between(well, group + BOOSTER),
        idle_feed=between(well, names.idle_well),
        variable=names.variable,
    )


def _drilling(solved: Solved, way: Way) -> Drilling:
    """A way as holes; one that has only an area counts as one round hole of that effective area."""
    said = solved.job.found.get(way.item)
    measured = said is not None and said.bore is not None
    origin = Origin.measured if measured else Origin.usual
    if way.bore_m is None:
        return Drilling(way.item, way.title, 1, math.sqrt(4.0 * way.area_m2 / math.pi), 1.0, origin)
    discharge = way.area_m2 / (way.count * 0.25 * math.pi * way.bore_m**2)
    if solved.job.metering.jet_discharge is not None and way.carries == "fuel":
        discharge = solved.job.metering.jet_discharge
    return Drilling(way.item, way.title, way.count, way.bore_m, min(1.0, discharge), origin, way.ring)
