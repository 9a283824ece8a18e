"""The fuel side, metering apart, as plain data for JSON: SI units, every number with its working."""

from __future__ import annotations

from typing import Any

from boostcarb.fueling.bowl import BowlUnderway, Cover
from boostcarb.fueling.capacity import AirLoad, Capacity, HeldValve
from boostcarb.fueling.evaporation import HUMIDITIES, BowlBoiling, Evaporation, Icing
from boostcarb.fueling.fuel_pump import PumpNeed
from boostcarb.fueling.needle import BowlSupply, NeedleState
from boostcarb.fueling.pump import BoostedShot, Shot
from boostcarb.fueling.pump_set import SetVerdict
from boostcarb.fueling.records import Input, Worked
from boostcarb.fueling.references import Reference
from boostcarb.fueling.side import FuelSide
from boostcarb.fueling.supply import DeadHead, Supply

Record = dict[str, Any]


def supply_record(side: FuelSide) -> Record:
    """All of it, section by section."""
    return {
        "carburetor_size": _capacity(side.capacity),
        "supply": _supply(side.supply),
        "accelerator_pumps": [_shot(shot) for shot in side.shots],
        "bowls": [_bowl(bowl) for bowl in side.bowls],
        "evaporation": _evaporation(side.evaporation),
        "defaults": [
            {"path": each.path, "name": each.name, "value": each.value, "unit": each.unit} for each in side.defaults
        ],
    }


def worked_record(worked: Worked | None) -> Record | None:
    """A computed number with all that went into it."""
    if worked is None:
        return None
    return {
        "name": worked.name,
        "value": worked.value,
        "unit": worked.unit,
        "formula": worked.formula,
        "inputs": [_input(each) for each in worked.inputs],
        "source": worked.source,
    }


def _input(given: Input) -> Record:
    return {"name": given.name, "value": given.value, "unit": given.unit, "origin": given.origin}


def _capacity(found: Capacity) -> Record:
    return {
        "rated_flow": _input(found.rated_flow),
        "rated_drop": _input(found.rated_drop),
        "verdict": found.fit.name,
        "worst_state": found.worst.state,
        "states": [_load(load) for load in found.loads],
        "setting_needed_by_a_valve_that_feels_the_base": worked_record(found.base_setting),
        "vacuum_held_valves": [_valve(valve) for valve in found.valves],
    }


def _load(load: AirLoad) -> Record:
    return {
        "state": load.state,
        "wide_open": load.wide_open,
        "all_barrels": load.all_open,
        "volume_flow": worked_record(load.volume_flow),
        "loss": worked_record(load.loss),
        "share_of_rated": worked_record(load.share),
        "choke_margin": worked_record(load.choke_margin),
    }


def _valve(valve: HeldValve) -> Record:
    return {
        "diaphragm": valve.diaphragm,
        "worst": valve.worst_state,
        "setting": _input(valve.setting),
        "needed": worked_record(valve.needed_setting),
        "ratio": worked_record(valve.ratio),
    }


def _supply(found: Supply) -> Record:
    return {
        "regulator": found.regulator,
        "reference": found.reference,
        "set_pressure": _input(found.set_pressure),
        "bowls": [_bowl_supply(bowl) for bowl in found.bowls],
        "fuel_pump": {"worst_state": found.worst_pump.state, "states": [_need(need) for need in found.pump]},
        "references": [_reference(reference) for reference in found.references],
        "returns": found.returns,
        "dead_head": None if found.dead_head is None else _dead_head(found.dead_head),
    }


def _bowl_supply(bowl: BowlSupply) -> Record:
    leanest, hardest = bowl.leanest, bowl.hardest
    return {
        "group": bowl.seat.group,
        "bore": _input(bowl.seat.bore),
        "area": worked_record(bowl.seat.area),
        "float_force": _input(bowl.seat.float_force),
        "least_flow_in": leanest.state if leanest else None,
        "hardest_to_shut_in": hardest.state if hardest else None,
        "states": [_needle(state) for state in bowl.states],
    }


def _needle(state: NeedleState) -> Record:
    return {
        "state": state.state,
        "difference": worked_record(state.difference),
        "flow": worked_record(state.flow),
        "demand": worked_record(state.demand),
        "margin": worked_record(state.margin),
        "closing": worked_record(state.closing),
    }


def _need(need: PumpNeed) -> Record:
    return {
        "state": need.state,
        "demand": worked_record(need.demand),
        "line_loss": worked_record(need.line_loss),
        "pressure": worked_record(need.pressure),
        "pressure_in_launch": worked_record(need.pressure_in_launch),
        "delivered": worked_record(need.delivered),
        "margin": worked_record(need.margin),
        "beyond_the_curve": need.beyond_curve,
    }


def _reference(reference: Reference) -> Record:
    return {
        "space": reference.space,
        "right": reference.right,
        "runs_dry_in": list(reference.starving),
        "floods_in": list(reference.flooding),
        "runs_dry_from": worked_record(reference.starves_at),
        "floods_from": worked_record(reference.floods_at),
    }


def _dead_head(found: DeadHead) -> Record:
    return {
        "across": worked_record(found.across),
        "group": found.group,
        "closing": worked_record(found.closing),
        "rises": [worked_record(rise) for rise in found.rises],
    }


def _shot(shot: Shot) -> Record:
    return {
        "group": shot.group,
        "stroke": worked_record(shot.stroke),
        "capacity": worked_record(shot.capacity),
        "usually_wanted": [worked_record(each) for each in shot.needed],
        "limited_by": shot.limited_by,
        "screw": shot.screw,
        "duration_by_screw": {kind: worked_record(worked) for kind, worked in shot.by_screw},
        "leaks": shot.leaks,
        "set": None if shot.parts is None else _set(shot.parts),
        "fades_at": worked_record(shot.fades_at),
        "override_margin": worked_record(shot.override_margin),
        "states": [_boosted(state) for state in shot.states],
    }


def _set(found: SetVerdict) -> Record:
    return {
        "parts": {
            name: getattr(found.parts, name) for name in ("diaphragm", "cover", "spring", "cam")
        },
        "one_size": found.one_size,
        "mismatches": [
            {"parts": list(each.parts), "effect": each.effect, "leaks": each.leaks} for each in found.mismatches
        ],
        "capacity_m3": found.capacity_m3,
    }


def _boosted(state: BoostedShot) -> Record:
    return {
        "state": state.state,
        "load": worked_record(state.load),
        "share_left": worked_record(state.share_left),
        "duration": worked_record(state.duration),
    }


def _bowl(bowl: BowlUnderway) -> Record:
    return {
        "group": bowl.group,
        "extensions": bowl.extensions,
        "extension_fouls_float": bowl.extension_fouls_float,
        "maneuvers": [_cover(cover) for cover in bowl.covers],
    }


def _cover(cover: Cover) -> Record:
    return {
        "maneuver": cover.maneuver,
        "extension": cover.extension,
        "wanted": _input(cover.wanted),
        "covered": cover.covered,
        "level_over_inlet": worked_record(cover.level),
        "uncovers_at": worked_record(cover.uncovers_at),
        "margin": worked_record(cover.margin),
    }


def _evaporation(found: Evaporation) -> Record:
    return {
        "cooling": [
            {
                "state": each.state,
                "drops": [{"share": share, "drop": worked_record(drop)} for share, drop in each.drops],
            }
            for each in found.cooling
        ],
        "icing": None if found.icing is None else _icing(found.icing),
        "boiling_upper_bounds": [_boiling(each) for each in found.boiling],
        "boiling_not_computed": found.not_said,
    }


def _icing(icing: Icing) -> Record:
    return {
        "drop": worked_record(icing.drop),
        "ambient": _input(icing.ambient),
        "humidity": _input(icing.humidity),
        "risk": icing.here,
        "table": [
            {"air_k": air, "risk_by_humidity": dict(zip(map(str, HUMIDITIES), risks, strict=True))}
            for air, risks in icing.table
        ],
    }


def _boiling(found: BowlBoiling) -> Record:
    return {
        "group": found.group,
        "temperature": _input(found.temperature),
        "before": _input(found.before),
        "after": _input(found.after),
        "vapor_pressure": worked_record(found.vapor),
        "margin": worked_record(found.margin),
        "boils_at": worked_record(found.boils_at),
        "flash_share": worked_record(found.flash),
        "vapor_pressure_at_least": found.bound,
    }
