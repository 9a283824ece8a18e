"""One operating state of one configuration, as a page shows it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from boostcarb.board.passages import Moving
from boostcarb.board.question import Record
from boostcarb.fueling.metering import whole_mixture
from boostcarb.fueling.mixture import Enrichment, GroupMixture, Status
from boostcarb.network.model import Diaphragm, Network, items_of
from boostcarb.rulebook.view import View
from boostcarb.solving.contents import Content, is_fuel_source
from boostcarb.solving.diaphragms import difference, overload, valve_state
from boostcarb.solving.pressures import Nature
from boostcarb.solving.situation import StateView

PLAIN = (Nature.source, Nature.tied)
UNDER_PUMP = "set by pump and regulator; boostcarb fuel works it out"
BULGES_PA = 100.0
"""Difference from which a page shows a diaphragm bulging (assumption)."""


def deciding_items(network: Network) -> frozenset[str]:
    """Items that have a say in pressures, flows, valves, contents or mixture: all others only in findings."""
    guards = {way.guard for way in network.ways if way.guard is not None}
    moved = {item for each in network.diaphragms.values() for item in each.items()}
    metering = {
        item.name
        for item in network.items.values()
        if any(form.mixture_for or form.floods for form in item.forms.values())
    } | {name for each in network.circuits.values() for name in (each.jets, each.jet_hole, each.jet_sizes)}
    names = items_of(network.ways) | guards | moved | metering | set(network.air_path_items)
    return frozenset(name for name in names if name in network.items)


def states_record(
    view: View, states: Sequence[StateView], mixtures: Mapping[str, Mapping[str, GroupMixture]]
) -> Record:
    """States by name: pressures (Pa absolute), what each space can hold, flows, diaphragms and mixture.

    Raises: NotSolved.
    """
    names = [state.name for state in states]
    contents = {space: view.contents.by_state(space, names) for space in view.network.spaces}
    moving = Moving(view)
    return {state.name: _state(moving, state, mixtures, contents) for state in states}


def _state(
    moving: Moving,
    state: StateView,
    mixtures: Mapping[str, Mapping[str, GroupMixture]],
    contents: Mapping[str, Mapping[str, Sequence[Content]]],
) -> Record:
    view = moving.view
    flows, shut = moving.in_state(state)
    spaces, natures = {}, {}
    for name, space in view.network.spaces.items():
        if is_fuel_source(space):
            natures[name] = UNDER_PUMP
            continue
        low, high = view.pressures.range_of(name, state.name)
        spaces[name] = [round(low), round(high)]
        nature = view.pressures.spaces[name].nature
        if nature not in PLAIN:
            natures[name] = nature.value
    groups = [each[state.name] for each in mixtures.values() if state.name in each]
    record: Record = {
        "rpm": round(60 * state.result.speed_rev_s),
        "air_kg_s": float(f"{state.result.mass_flow_kg_s:.4g}"),
        "boosted": state.boosted,
        "spaces": spaces,
        "natures": natures,
        "contents": {name: [each.value for each in held[state.name]] for name, held in contents.items()},
        "flows": flows,
        "shut": shut,
        "diaphragms": {
            name: _diaphragm(view, each, state)
            for name, each in view.network.diaphragms.items()
            if each.exists(view.configuration)
        },
        "mixture": {each.group: _mixture(each) for each in groups},
    }
    if state.needs_enrichment is not None:
        record["needs_enrichment"] = state.needs_enrichment
    whole = _whole(groups)
    return record | ({"lambda": whole} if whole else {})


def _diaphragm(view: View, each: Diaphragm, state: StateView) -> Record:
    configuration = view.configuration
    across = difference(each, configuration, view.pressures, state.name)
    record: Record = {"low": round(across.low_pa), "high": round(across.high_pa), "moves": "either"}
    if across.low_pa > BULGES_PA:
        record["moves"] = "second"
    elif across.high_pa < -BULGES_PA:
        record["moves"] = "first"
    elif across.low_pa >= -BULGES_PA and across.high_pa <= BULGES_PA:
        record["moves"] = "none"
    valve, limit = each.valve(configuration), each.limit(configuration)
    if valve is not None:
        record["valve"] = valve_state(valve, across).value
    if limit is not None and (over := overload(limit, across)) > 0.0:
        record["over_pa"] = round(over)
    return record


def _mixture(each: GroupMixture) -> Record:
    record: Record = {"text": each.status.value, "target": round(each.target, 3), "shut": each.status is Status.shut}
    if each.enrichment is not Enrichment.none:
        record["enrichment"] = each.enrichment.value
    if each.leanest is not None and each.richest is not None:
        record |= {"leanest": round(each.leanest.mixture, 3), "richest": round(each.richest.mixture, 3)}
    if each.fuel_leaves_bleed:
        record["fuel_leaves_bleed"] = True
    return record


def _whole(groups: list[GroupMixture]) -> list[float] | None:
    """Leanest and richest mixture of the engine, where every group that flows has one."""
    lean, rich = whole_mixture([each for each in groups if each.status is not Status.shut])
    return None if lean is None or rich is None else [round(lean, 3), round(rich, 3)]
