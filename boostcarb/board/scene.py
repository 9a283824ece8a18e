"""What a page draws that does not change with a configuration: spaces, ways, diaphragms, items, states."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import PurePath

from boostcarb.board.layout.plan import drawing
from boostcarb.board.layout.records import Drawing
from boostcarb.board.question import Record
from boostcarb.board.study import BASES, Study
from boostcarb.network.model import LATENT, Conditions, Diaphragm, Form, Item, Network, Way
from boostcarb.report.wording import MODES
from boostcarb.solving.situation import AirPathInputs, StateView
from boostcarb.states.catalogue import STATES
from boostcarb.states.operating_state import Mode

KINDS = {"passage": "passage", "part": "part", "line": "line", "inline": "what stands in it", "material": "material"}
MOST_BOOST = 1.5
"""How far over the boost of the job the dial goes."""


def scene_record(study: Study, mode: str) -> Record:
    """The scene of a target mode, worked out once.

    Lengths of the drawing in its own units, of bores in m; pressures in Pa absolute.

    Raises: BadDescription, NotSolved, BudgetSpent; NoRoom where the drawing finds no place for something.
    """
    if mode not in study.scenes:
        study.scenes[mode] = _scene(study, mode)
    return study.scenes[mode]


def _scene(study: Study, mode: str) -> Record:
    bench = study.bench(mode)
    network = bench.network
    laid = drawing(network, frozenset(bench.family.family.castings))
    situation = bench.situations.for_(network.found())
    return {
        "mode": mode,
        "title": MODES[mode],
        "job": {
            "title": bench.job.job,
            "file": PurePath(bench.read.document.path).name,
            "carburetor": bench.family.family.title,
            "fuel": bench.job.fuel,
        },
        "ambient_pa": round(situation.inputs.site.ambient_pa_abs),
        "size": {"width": laid.width, "height": laid.height},
        "castings": {name: _rectangle(panel) | {"title": panel.title, "around": panel.around}
                     for name, panel in laid.panels.items()},
        "spaces": {name: _space(network, name, laid) for name in network.spaces if name in laid.places},
        "ways": {way.name: _way(way, laid) for way in network.ways if way.name in laid.routes},
        "diaphragms": {each.name: _diaphragm(each, laid) for each in network.diaphragms.values()},
        "items": _items(network),
        "states": _states(mode, situation.views),
        "groups": list(bench.family.family.groups),
        "dial": _dial(situation.inputs),
        "bases": {name: {"title": BASES[name]} for name in study.bases(mode)},
    }  # fmt: skip


def _rectangle(placed: object) -> Record:
    return {side: getattr(placed, side) for side in ("x", "y", "w", "h")}


def _space(network: Network, name: str, laid: Drawing) -> Record:
    space, place = network.spaces[name], laid.places[name]
    return {
        "title": space.title,
        "casting": space.casting,
        "holds": space.holds,
        "source": space.source,
        "shape": place.shape,
        **_rectangle(place),
    }


def _way(way: Way, laid: Drawing) -> Record:
    route = laid.routes[way.name]
    record: Record = {
        "title": way.title,
        "kind": way.kind,
        "item": way.item,
        "a": way.a,
        "b": way.b,
        "casting": way.casting,
        "carries": way.carries,
        "count": way.count,
        "area_m2": float(f"{way.area_m2:.4g}"),
        "route": [list(point) for point in route.points],
        "symbol": list(route.symbol),
    }
    if way.bore_m is not None:
        record |= {"bore_m": float(f"{way.bore_m:.6g}"), "measured": way.bore_measured}
    named = {"inline": way.inline, "guard": way.guard, "gate": way.gate is not None, "vent": route.vent}
    return record | {key: value for key, value in named.items() if value}


def _diaphragm(each: Diaphragm, laid: Drawing) -> Record:
    membrane = laid.membranes[each.name]
    named = {"part": each.part, "tear": each.tear}
    return {
        "title": each.title,
        "first": each.first,
        "second": each.second,
        "role": each.role,
        "x": membrane.x,
        "y": membrane.y,
        "angle": membrane.angle,
        "link": [list(point) for point in membrane.link],
        **{key: value for key, value in named.items() if value},
    }


def _items(network: Network) -> Record:
    ways: dict[str, list[str]] = {}
    for way in network.ways:
        for name in dict.fromkeys((*(item for item, _ in way.conditions), way.inline, way.guard)):
            if name is not None:
                ways.setdefault(name, []).append(way.name)
    diaphragms: dict[str, list[str]] = {}
    for each in network.diaphragms.values():
        for name in sorted(each.items()):
            diaphragms.setdefault(name, []).append(each.name)
    often = Counter(item.title for item in network.items.values())
    return {
        name: _item(item, twice=often[item.title] > 1)
        | _named("ways", ways.get(name))
        | _named("diaphragms", diaphragms.get(name))
        for name, item in network.items.items()
    }


def _named(key: str, names: list[str] | None) -> Record:
    return {key: names} if names else {}


def _item(item: Item, *, twice: bool) -> Record:
    record: Record = {
        "title": f"{item.title} ({_told_apart(item)})" if twice else item.title,
        "kind": item.kind,
        "casting": item.casting,
        "found": item.found,
        "confirmed": item.confirmed,
        "forms": {name: _form(item, name, form) for name, form in item.forms.items()},
    }
    if item.look:
        record["look"] = " ".join(item.look.split())
    if item.conditions:
        record["on"] = _on(item.conditions)
    return record


def _on(conditions: Conditions) -> Mapping[str, list[str]]:
    return {item: sorted(forms) for item, forms in conditions}


def _told_apart(item: Item) -> str:
    """What tells an item from another of the same title: how it fails, or what it is."""
    if item.kind == LATENT:
        return " or ".join(form.title for name, form in item.forms.items() if name != item.found)
    return KINDS[item.kind]


def _form(item: Item, name: str, form: Form) -> Record:
    record: Record = {"title": form.title}
    if form.labor is not None:
        record |= {"offered": True, "minutes": form.labor.minutes, "parts": form.labor.parts, "how": form.labor.how}
        if form.labor.irreversible:
            record["irreversible"] = True
    if item.falls_into(name):
        record["fails"] = True
    return record


def _states(mode: str, found: Iterable[StateView]) -> Record:
    """Every state that the mode can have, in drive order; which of them there are hangs on the secondaries."""
    boosted = {view.name for view in found if view.boosted}
    states = [state for state in STATES if Mode(mode) in state.modes]
    return {
        state.id: {
            "title": state.title,
            "order": order,
            "running": state.running,
            "event": state.event,
            "boosted": state.id in boosted,
        }
        for order, state in enumerate(states)
    }


def _dial(inputs: AirPathInputs) -> Record:
    """Bounds of the dials: boost in Pa over the atmosphere, engine speed in rpm, and where they stand at first."""
    engine, turbo = inputs.engine, inputs.turbo
    speed = engine.torque_peak_speed_rev_s
    record: Record = {}
    if turbo is not None:
        boost = round(turbo.boost_pa_gauge)
        record = {"boost_pa": [0, round(MOST_BOOST * boost)]}
        speed = max(speed, turbo.full_boost_speed_rev_s)
    rpm = [round(60 * each) for each in (engine.idle_speed_rev_s, engine.redline_speed_rev_s)]
    at = {"throttle": 1.0, "rpm": round(60 * speed), **({"boost_pa": boost} if turbo is not None else {})}
    return record | {"rpm": rpm, "at": at}
