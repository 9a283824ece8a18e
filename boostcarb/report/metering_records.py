"""Sizes and mixtures as plain data for JSON: SI units, absolute pressures; null where there is no number to give."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from boostcarb.fueling.circuit import Circuit, Drilling, Origin
from boostcarb.fueling.mixture import GroupMixture, Point, StateMixture
from boostcarb.fueling.model import Fueling
from boostcarb.fueling.sizes import RichStart, Size

Record = dict[str, Any]


def plan_fuel_record(fueling: Fueling) -> Record:
    """The short part that goes with a plan: sizes to fit and the mixture with them."""
    return {
        "sizes": [size_record(size) for group in fueling.sizes.values() for size in group.sizes],
        "two_stages_instead": [size_record(size) for group in fueling.sizes.values() for size in group.stages],
        "not_sized": [text for group in fueling.sizes.values() for text in group.not_sized],
        "states": states_record({"planned": fueling}),
    }


def size_record(size: Size) -> Record:
    """One size with its drills."""
    return {
        "group": size.group,
        "part": size.part.value,
        "count": size.found.count,
        "ring": size.found.ring,
        "bore_m": size.bore_m,
        "effective_area_m2": size.area_m2,
        "fit": {"series": size.fit.series, "name": size.fit.name, "diameter_m": size.fit.diameter_m},
        "start_with": _start(size.rich_start),
        "state": size.state,
        "target_lambda": size.target,
        "enrichment_open": size.enrichment_open,
        "now": _drilling(size.found),
        "area_over_now": size.area_ratio,
        "drills": [
            {
                "series": choice.drill.series,
                "name": choice.drill.name,
                "diameter_m": choice.drill.diameter_m,
                "place": choice.place,
                "lambda": choice.mixture,
            }
            for choice in size.drills
        ],
    }


def _start(start: RichStart | None) -> Record | None:
    """The drill to start with in boost; null where a reading proved the size, or for no boost; its own nulls: none."""
    if start is None:
        return None
    drill = start.drill
    return {
        "series": drill.series if drill else None,
        "name": drill.name if drill else None,
        "diameter_m": drill.diameter_m if drill else None,
    }


def _drilling(drilling: Drilling) -> Record:
    known = drilling.origin is not Origin.unknown
    return {
        "passage": drilling.passage,
        "count": drilling.count,
        "bore_m": drilling.bore_m if known else None,
        "discharge": drilling.discharge,
        "effective_area_m2": drilling.area_m2 if known else None,
        "origin": drilling.origin.value,
    }


def holes_record(circuits: Mapping[str, Circuit]) -> Record:
    """The holes of every group as they count here."""
    return {
        group: {
            name: _drilling(drilling)
            for name in ("main", "restriction", "bleed", "nozzle")
            if (drilling := getattr(circuit, name)) is not None
        }
        for group, circuit in circuits.items()
    }


def states_record(configurations: Mapping[str, Fueling]) -> list[Record]:
    """Every state, with the mixtures of each configuration that has it."""
    tables = {name: {state.state: state for state in fueling.table} for name, fueling in configurations.items()}
    titles = {state.state: state.title for table in tables.values() for state in table.values()}
    return [
        {
            "state": name,
            "title": title,
            "configurations": {key: _state(table[name]) for key, table in tables.items() if name in table},
        }
        for name, title in titles.items()
    ]


def _state(state: StateMixture) -> Record:
    return {
        "target_lambda": state.target,
        "boosted": state.boosted,
        "lean_shift": state.lean_shift,
        "lambda": _span(state.richest, state.leanest),
        "groups": {group.group: _group(group) for group in state.groups},
    }


def _span(low: float | None, high: float | None) -> Record | None:
    return None if low is None or high is None else {"low": low, "high": high}


def _group(group: GroupMixture) -> Record:
    points = {"leanest": group.leanest, "richest": group.richest}
    lows = (group.richest.mixture, group.leanest.mixture) if group.richest and group.leanest else (None, None)
    return {
        "status": group.status.name,
        "status_text": group.status.value,
        "enrichment": group.enrichment.name,
        "lambda": _span(*lows),
        "fuel_leaves_bleed": group.fuel_leaves_bleed,
        "pull": asdict(group.pull) if group.pull else None,
        "flows": {name: _point(point) for name, point in points.items() if point is not None},
    }


def _point(point: Point) -> Record:
    values = asdict(point)
    return {"lambda": values.pop("mixture"), **values}
