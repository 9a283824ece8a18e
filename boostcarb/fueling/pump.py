"""The accelerator pump: its shot, how long it lasts, what mixed parts do to it, and what boost takes away."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from boostcarb.fueling.given import FROM_JOB, FROM_NETWORK, FROM_STATES, USUAL, Given
from boostcarb.fueling.pump_set import SetVerdict, judge_set
from boostcarb.fueling.records import Input, Worked
from boostcarb.fueling.solved import AIR_HORN, Solved
from boostcarb.physics.liquid import effective_area_in_series, effective_bore_area, liquid_orifice_mass_flow
from boostcarb.physics.shot import (
    RATED_STROKES,
    boost_load,
    boosted_travel,
    fade_pressure,
    pump_stroke,
    rated_capacity,
    shot_duration,
)
from boostcarb.solving.situation import StateView

NOZZLE_DISCHARGE: Final = 0.7
"""Discharge coefficient of a pump nozzle's small holes (estimate; 0.6 to 0.8)."""

SCREW_AREA_M2: Final = {"hollow": 4e-6, "solid": 0.8e-6}
"""Effective area of the way past, or through, the screw that holds the nozzle (estimate). Measure the shot's time."""

NEEDED_PER_LITER: Final = (0.3e-6, 0.9e-6)
"""Fuel a full stroke should give per liter of engine, m3, gasoline (common practice, no source; tune by the lag)."""


@dataclass(frozen=True, slots=True)
class BoostedShot:
    """The pump in one state: load on the diaphragm, share of the shot left, and its duration.

    `duration` is None where the override spring cannot push fuel out at all.
    """

    state: str
    title: str
    load: Worked
    share_left: Worked
    duration: Worked | None


@dataclass(frozen=True, slots=True)
class Shot:
    """Accelerator pump of one barrel group.

    `fades_at` is the pressure over the fuel, above the dry side, from which the override spring gives way; none of a
    plunger, which has the bowl on both its sides.
    `durations` compares a hollow with a solid screw in the first state. `leaks` says what missing seals do.
    """

    group: str
    stroke: Worked
    capacity: Worked
    needed: tuple[Worked, Worked]
    limited_by: str
    screw: str
    leaks: str | None
    parts: SetVerdict | None
    fades_at: Worked | None
    override_margin: Worked | None
    states: tuple[BoostedShot, ...]
    by_screw: tuple[tuple[str, Worked], ...]


@dataclass(frozen=True, slots=True)
class _Pump:
    """One pump with its numbers looked up."""

    group: str
    area: Worked
    travel: float
    volume: Worked
    preload: Input
    rise: Input
    give: Input
    back: Input
    nozzles: Worked
    density: Input

    @property
    def net(self) -> float:
        """Force with which the override spring can push fuel, N: its preload less the return spring."""
        return max(0.0, self.preload.value - self.back.value)


def shots(solved: Solved, given: Given, density: Input) -> Iterator[Shot]:
    """The pump of every barrel group that has one."""
    for way in solved.ways_of_kind("pump_delivery"):
        yield _shot(solved, given, way.name.partition(".")[0], density)


def dry_side(solved: Solved, group: str) -> str:
    """The space behind a pump's diaphragm; a plunger stands in the bowl, with the bowl's pressure on both its sides."""
    behind = f"{group}.pump_dry_side"
    return behind if behind in solved.network.spaces else f"{group}.bowl"


def effective_area(given: Given, group: str) -> Worked:
    """Area of the diaphragm that displaces fuel, and on which pressure acts, m2."""
    diameter = given.number(f"pump.{group}.diaphragm", f"diameter of the {group} pump diaphragm", "m")
    share = given.number(f"pump.{group}.effective_share", f"share of the {group} pump diaphragm that displaces", "")
    return Worked("effective area of the pump diaphragm", share.value * 0.25 * math.pi * diameter.value**2, "m2",
                  "share x pi D^2 / 4", (diameter, share), "geometry; work = pressure x displaced volume")  # fmt: skip


def _shot(solved: Solved, given: Given, group: str, density: Input) -> Shot:
    area = effective_area(given, group)
    volume, travel, limited_by = _stroke(given, group, area)
    screw = given.word(f"pump.{group}.screw", f"screw of the {group} pump nozzle")
    pump = _Pump(group, area, travel, volume, *_springs(solved, given, group), _nozzles(solved, given, group), density)
    running = [state for state in solved.running if state.needs_enrichment is True]
    states = tuple(_boosted(solved, pump, screw, state) for state in running)
    by_screw = tuple(
        (kind, worked)
        for kind in SCREW_AREA_M2
        if (worked := _duration(solved, pump, kind, running[0], travel)) is not None
    )
    dry_inputs = (pump.preload, pump.back, Input(area.name, area.value, "m2", FROM_NETWORK))
    fade = fade_pressure(override_preload_n=pump.net, dry_pressure_pa_abs=0.0, effective_area_m2=area.value)
    plunger = dry_side(solved, group) == f"{group}.bowl"
    loads = [each.load for each in states if each.load.value > 0.0 and not plunger]
    margin = None
    if loads:
        highest = max(loads, key=lambda load: load.value)
        margin = Worked("override force over the load of the boost", pump.net / highest.value, "",
                        "(preload - return spring) / load",
                        (pump.preload, pump.back, Input(highest.name, highest.value, "N", FROM_STATES)),
                        "balance of forces")  # fmt: skip
    return Shot(
        group=group,
        stroke=volume,
        capacity=Worked("output of ten full strokes", rated_capacity(stroke_volume_m3=volume.value), "m3",
                        f"{RATED_STROKES} x stroke", (Input(volume.name, volume.value, "m3", FROM_NETWORK),),
                        "common practice"),
        needed=_needed(solved),
        limited_by=limited_by if pump.nozzles.value > 0.0 else "its nozzle is closed: no shot at all",
        screw=screw,
        leaks=_LEAKS.get(given.word(f"pump.{group}.seals", f"seals of the {group} pump nozzle")),
        parts=judge_set(given, group),
        fades_at=None if plunger else Worked("bowl over dry side from which the shot fades", fade, "Pa",
                        "(preload - return spring) / area", dry_inputs, "balance of forces"),
        override_margin=margin,
        states=states,
        by_screw=by_screw,
    )  # fmt: skip


def _stroke(given: Given, group: str, area: Worked) -> tuple[Worked, float, str]:
    """Volume of one stroke, travel of the diaphragm and what limits it."""
    capacity = f"pump.{group}.capacity"
    if given.says(capacity):
        measured = given.number(capacity, f"output of ten strokes of the {group} pump", "m3")
        volume = measured.value / RATED_STROKES
        worked = Worked("one stroke of the pump", volume, "m3", f"ten strokes / {RATED_STROKES}", (measured,))
        return worked, volume / area.value, "as measured"
    lift = given.number(f"pump.{group}.cam_lift", f"lift of the {group} pump cam", "m")
    ratio = given.number(f"pump.{group}.lever_ratio", f"ratio of the {group} pump lever", "")
    travel = given.number(f"pump.{group}.travel", f"free travel of the {group} pump diaphragm", "m")
    stroke = pump_stroke(cam_lift_m=lift.value, lever_ratio=ratio.value, diaphragm_travel_m=travel.value,
                         effective_area_m2=area.value)  # fmt: skip
    worked = Worked("one stroke of the pump", stroke.volume_m3, "m3",
                    "the smaller of cam lift x ratio and travel, x area",
                    (lift, ratio, travel, Input(area.name, area.value, "m2", FROM_NETWORK)), "geometry")  # fmt: skip
    return worked, stroke.travel_m, "bottoms in its cover" if stroke.bottoming_m > 0.0 else "limited by the cam"


def _springs(solved: Solved, given: Given, group: str) -> tuple[Input, Input, Input, Input]:
    name = f"preload of the {group} pump's override spring"
    own = f"pump.{group}.override_preload"
    path = own if given.says(own) else f"pump.{group}.override_preloads.{solved.form(f'{group}.pump')}"
    return (
        given.number(path, name, "N"),
        given.number(f"pump.{group}.override_rise", f"rise of the {group} pump's override spring to coil bind", "N"),
        given.number(f"pump.{group}.override_travel", f"travel of the {group} pump's override spring", "m"),
        given.number(f"pump.{group}.return_force", f"return spring of the {group} pump", "N"),
    )


def _nozzles(solved: Solved, given: Given, group: str) -> Worked:
    """The nozzle's holes; none where its passage is closed."""
    way = next((way for way in solved.ways_of_kind("pump_nozzle") if way.name.startswith(f"{group}.")), None)
    own = given.job.pump.get(group) if given.job.pump else None
    bore = own.nozzle_bore if own and own.nozzle_bore else (way.bore_m if way else None) or 0.0
    holes = 0 if way is None else own.nozzle_holes if own and own.nozzle_holes else way.count
    origin = FROM_JOB if own and own.nozzle_bore else FROM_NETWORK
    return Worked(f"effective area of the {group} pump nozzle",
                  holes * effective_bore_area(diameter_m=bore, discharge_coefficient=NOZZLE_DISCHARGE), "m2",
                  "holes x Cd x pi d^2 / 4",
                  (Input("holes", holes, "", origin), Input("bore of the nozzle", bore, "m", origin),
                   Input("Cd", NOZZLE_DISCHARGE, "", "estimate")), "geometry")  # fmt: skip


def _needed(solved: Solved) -> tuple[Worked, Worked]:
    size = Input("displacement", solved.job.engine.displacement, "m3", FROM_JOB)
    if solved.network.carburetors > 1:
        share = solved.job.engine.displacement / solved.network.carburetors
        size = Input("displacement that one of the carburetors feeds", share, "m3", FROM_JOB)

    def one(rate: float) -> Worked:
        return Worked("stroke that such an engine usually wants, gasoline", rate * size.value * 1e3, "m3",
                      "rate x displacement in liters", (Input("rate per liter", rate, "m3", USUAL), size),
                      USUAL)  # fmt: skip

    return one(NEEDED_PER_LITER[0]), one(NEEDED_PER_LITER[1])


def _boosted(solved: Solved, pump: _Pump, screw: str, state: StateView) -> BoostedShot:
    # To come out, the fuel needs at least the pressure in the air horn, even where a leak keeps the bowl lower.
    highest = max(solved.range_of(space, state)[1] for space in (f"{pump.group}.bowl", AIR_HORN))
    wet = Input("bowl or air horn, the higher, absolute", highest, "Pa", FROM_STATES)
    dry = Input("dry side, absolute", solved.range_of(dry_side(solved, pump.group), state)[0], "Pa", FROM_STATES)
    area = Input(pump.area.name, pump.area.value, "m2", FROM_NETWORK)
    load = boost_load(wet_pressure_pa_abs=wet.value, dry_pressure_pa_abs=dry.value, effective_area_m2=area.value)
    left = boosted_travel(
        travel_m=pump.travel, override_preload_n=pump.net, override_rate_n_m=pump.rise.value / pump.give.value,
        override_free_travel_m=pump.give.value, wet_pressure_pa_abs=wet.value, dry_pressure_pa_abs=dry.value,
        effective_area_m2=area.value,
    )  # fmt: skip
    share = left / pump.travel if pump.travel > 0.0 else 0.0
    return BoostedShot(
        state=state.name,
        title=state.title,
        load=Worked("load on the pump diaphragm", load, "N", "(bowl or air horn - dry side) x area", (wet, dry, area),
                    "pressure x area"),
        share_left=Worked("share of the shot left", share, "", "travel less what the override spring gives, / travel",
                          (pump.preload, pump.back, pump.rise, pump.give, wet, dry, area), "balance of forces"),
        duration=_duration(solved, pump, screw, state, left),
    )  # fmt: skip


def _duration(solved: Solved, pump: _Pump, screw: str, state: StateView, travel: float) -> Worked | None:
    """Time of a shot; none where the spring cannot push fuel out, or the nozzle is closed."""
    dry = solved.range_of(dry_side(solved, pump.group), state)[0]
    horn = solved.range_of(AIR_HORN, state)[1]
    inside = dry + pump.net / pump.area.value
    if inside <= horn or travel <= 0.0 or pump.nozzles.value <= 0.0:
        return None
    passing = effective_area_in_series(effective_areas_m2=(pump.nozzles.value, SCREW_AREA_M2[screw]))
    flow = liquid_orifice_mass_flow(effective_area_m2=passing, pressure_1_pa_abs=inside, pressure_2_pa_abs=horn,
                                    density_kg_m3=pump.density.value)  # fmt: skip
    time = shot_duration(volume_m3=travel * pump.area.value, nozzles_effective_area_m2=pump.nozzles.value,
                         screw_effective_area_m2=SCREW_AREA_M2[screw], pump_pressure_pa_abs=inside,
                         nozzle_pressure_pa_abs=horn, density_kg_m3=pump.density.value)  # fmt: skip
    return Worked("duration of the shot", time, "s", "volume x density / flow of nozzles and screw in series",
                  (Input("volume", travel * pump.area.value, "m3", FROM_NETWORK), pump.density,
                   Input(pump.nozzles.name, pump.nozzles.value, "m2", FROM_NETWORK),
                   Input(f"effective area at the {screw} screw", SCREW_AREA_M2[screw], "m2", "estimate"),
                   Input("flow", flow, "kg/s", FROM_STATES), Input("pressure in the pump", inside, "Pa", FROM_STATES),
                   Input("air horn", horn, "Pa", FROM_STATES)), "Torricelli")  # fmt: skip


_LEAKS: Final = {
    "top missing": "no seal under the screw's head: each shot comes out beside the screw instead of at the nozzle, and "
    "in blow-through the fuel stands in the boosted air horn",
    "bottom missing": "no seal under the nozzle: the shot leaves between nozzle and body, air gets into the passage, "
    "and the next shot comes late and short",
}
