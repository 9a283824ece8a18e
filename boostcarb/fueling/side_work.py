"""The work behind every number of the fuel side, metering apart, under the name that a report can ask for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from boostcarb.fueling.bowl import BowlUnderway
from boostcarb.fueling.capacity import Capacity
from boostcarb.fueling.evaporation import Evaporation
from boostcarb.fueling.pump import Shot
from boostcarb.fueling.records import Worked
from boostcarb.fueling.side import FuelSide
from boostcarb.fueling.supply import Supply

Named = Iterator[tuple[str, Worked]]


def side_work(side: FuelSide) -> dict[str, Worked]:
    """Every number of the fuel side by name, for example `fuel_pump/full_boost_redline/margin`."""
    found = dict(_capacity(side.capacity))
    found.update(_supply(side.supply))
    for shot in side.shots:
        found.update(_shot(f"accelerator_pump/{shot.group}", shot))
    for bowl in side.bowls:
        found.update(_bowl(f"bowl/{bowl.group}", bowl))
    found.update(_evaporation(side.evaporation))
    return found


def _at(place: str, parts: Mapping[str, Worked | None]) -> Named:
    """Those of some numbers that there are."""
    for name, worked in parts.items():
        if worked is not None:
            yield f"{place}/{name}", worked


def _capacity(found: Capacity) -> Named:
    for load in found.loads:
        parts = {"volume_flow": load.volume_flow, "loss": load.loss, "share": load.share}
        yield from _at(f"carburetor_size/{load.state}", {**parts, "choke_margin": load.choke_margin})
    yield "carburetor_size/setting_against_the_loss", found.base_setting
    for valve in found.valves:
        yield from _at(
            f"carburetor_size/{valve.diaphragm}", {"needed_setting": valve.needed_setting, "ratio": valve.ratio}
        )


def _supply(found: Supply) -> Named:
    for bowl in found.bowls:
        place = f"supply/{bowl.seat.group}"
        yield f"{place}/seat_area", bowl.seat.area
        for needle in bowl.states:
            parts = {"difference": needle.difference, "flow": needle.flow, "demand": needle.demand}
            more = {"margin": needle.margin, "closing": needle.closing}
            yield from _at(f"{place}/{needle.state}", {**parts, **more})
    for need in found.pump:
        names = ("demand", "line_loss", "pressure", "pressure_in_launch", "delivered", "margin")
        yield from _at(f"fuel_pump/{need.state}", {name: getattr(need, name) for name in names})
    for reference in found.references:
        parts = {"runs_dry_from": reference.starves_at, "floods_from": reference.floods_at}
        yield from _at(f"supply/reference/{reference.space}", parts)
    if found.dead_head is not None:
        rises = {f"rise_{number}": rise for number, rise in enumerate(found.dead_head.rises, 1)}
        parts = {"across": found.dead_head.across, "closing": found.dead_head.closing}
        yield from _at("supply/dead_head", {**parts, **rises})


def _shot(place: str, shot: Shot) -> Named:
    wanted = {f"usually_wanted_{number}": each for number, each in enumerate(shot.needed, 1)}
    parts = {"stroke": shot.stroke, "capacity": shot.capacity, "fades_at": shot.fades_at}
    yield from _at(place, {**parts, **wanted, "override_margin": shot.override_margin})
    yield from _at(f"{place}/duration", dict(shot.by_screw))
    for state in shot.states:
        names = ("load", "share_left", "duration")
        yield from _at(f"{place}/{state.state}", {name: getattr(state, name) for name in names})


def _bowl(place: str, bowl: BowlUnderway) -> Named:
    for cover in bowl.covers:
        extended = "with_extension" if cover.extension else "without_extension"
        parts = {"level": cover.level, "uncovers_at": cover.uncovers_at, "margin": cover.margin}
        yield from _at(f"{place}/{cover.maneuver.replace(' ', '_')}/{extended}", parts)


def _evaporation(found: Evaporation) -> Named:
    for cooling in found.cooling:
        for share, drop in cooling.drops:
            yield f"evaporation/{cooling.state}/drop_{share:.0%}".replace("%", "_percent"), drop
    if found.icing is not None:
        yield "evaporation/icing/drop", found.icing.drop
    for bowl in found.boiling:
        parts = {"vapor_pressure": bowl.vapor, "margin": bowl.margin, "boils_at": bowl.boils_at, "flash": bowl.flash}
        yield from _at(f"evaporation/{bowl.group}", parts)
