"""What to have in hand before the first screw is turned: parts, consumables, tools."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from boostcarb.description.job import Job
from boostcarb.network.model import Network
from boostcarb.planning.problem import Choice
from boostcarb.work.methods import Means, Method
from boostcarb.work.renewals import Renewal


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to buy or lay out; `for_changes` names the items it is for, none where it is for the job as a whole."""

    name: str
    quantity: int
    for_changes: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Shopping:
    """Everything to have in hand. The parts with `for_changes` are those that the plan counts."""

    parts: tuple[Line, ...] = ()
    consumables: tuple[Line, ...] = ()
    tools: tuple[Line, ...] = ()


def shopping_for(
    network: Network,
    job: Job,
    changes: Iterable[Choice],
    methods: Mapping[Choice, Method],
    renewals: Iterable[Renewal],
) -> Shopping:
    """The list for a plan: its parts, what is renewed because its seam is opened, drills and taps of the plugs."""
    changes = tuple(changes)
    renewed = [Line(each.name, each.quantity, note=each.note) for each in renewals]
    return Shopping(
        tuple(_merged([*_parts(network, changes, methods), *renewed])),
        tuple(_consumables(methods, changes)),
        tuple(_merged([*_cutting_tools(methods), *_tools(job, network, changes)])),
    )


def _parts(network: Network, changes: Iterable[Choice], methods: Mapping[Choice, Method]) -> Iterator[Line]:
    for change in changes:
        item = network.items[change.item]
        labor = item.forms[change.option].labor
        if labor is None or not labor.parts:
            continue
        name, note = _plug(methods[change]) if change in methods else ("", "")
        plain = f"{'part' if labor.parts == 1 else 'parts'} for: {item.title}"
        yield Line(name or plain, labor.parts, (change.item,), note if name else labor.how)


def _plug(method: Method) -> tuple[str, str]:
    """What to buy for a closed or opened passage, and a note; empty where the part itself says it."""
    if method.thread is not None and method.plug_m is not None:
        what = "brass blank" if method.means is Means.blank else "screw plug without head"
        return f"{what} {method.thread} x {method.plug_m * 1000:g} mm", f"tap drill {method.tap_drill}"
    if method.means is Means.drilled_and_tapped:
        return f"hose fitting with {method.thread} thread", f"tap drill {method.tap_drill}; or {method.instead}"
    if method.means is Means.factory_plug:
        return "screw plugs for factory channels, M3 to M6", "measure each hole first"
    if method.means is Means.caps:
        return "screw cap that seats metal to metal", ""
    return "", ""


def _merged(lines: Iterable[Line]) -> list[Line]:
    """Lines of one name and note as one."""
    found: dict[tuple[str, str], Line] = {}
    for line in lines:
        key = (line.name, line.note)
        known = found.get(key)
        found[key] = line if known is None else _both(known, line)
    return list(found.values())


def _both(one: Line, other: Line) -> Line:
    items = tuple(dict.fromkeys((*one.for_changes, *other.for_changes)))
    return Line(one.name, one.quantity + other.quantity, items, one.note)


def _consumables(methods: Mapping[Choice, Method], changes: tuple[Choice, ...]) -> Iterator[Line]:
    threaded = tuple(change.item for change, method in methods.items() if method.thread or _cuts(method))
    cut = tuple(change.item for change, method in methods.items() if _cuts(method))
    if threaded:
        yield Line("anaerobic thread sealant made for fuel", 1, threaded, "rated for the fuel in use")
    if cut:
        yield Line("cutting fluid and grease", 1, cut, "grease holds chips and stops neighbor passages")
    if changes:
        yield Line("carburetor cleaner", 2, note="with its thin tube; wear eye protection")
        yield Line("lint-free rags and trays", 1)
        yield Line("tags for hoses and bags for screws", 1)
        yield Line("soapy water and brush", 1, note="to find leaks, dry carburetor only")


def _cuts(method: Method) -> bool:
    return method.tap_drill is not None or method.drill is not None or method.means is Means.factory_plug


def _cutting_tools(methods: Mapping[Choice, Method]) -> Iterator[Line]:
    """Each drill and tap once, with all the passages it is for."""
    drills: dict[str, list[str]] = {}
    taps: dict[str, list[str]] = {}
    for change, method in methods.items():
        for drill in (method.tap_drill, method.drill):
            if drill is not None:
                drills.setdefault(drill, []).append(change.item)
        if method.drill is not None:
            drills.setdefault("1 mm", []).append(change.item)
        if method.thread is not None:
            taps.setdefault(method.thread, []).append(change.item)
    for name, items in sorted(drills.items(), key=lambda pair: float(pair[0].split()[0])):
        yield Line(f"drill {name}", 1, tuple(dict.fromkeys(items)), "with a depth collar")
    for name, items in taps.items():
        yield Line(f"tap {name}, with a second tap", 1, tuple(items))


def _tools(job: Job, network: Network, changes: tuple[Choice, ...]) -> Iterator[Line]:
    yield Line("fire extinguisher for fuel fires", 1)
    yield Line("eye protection and gloves", 1)
    yield Line("pressure and vacuum gauge with a T piece", 2, note="one for the air horn, one for what is compared")
    yield Line("wideband mixture meter", 1)
    if changes:
        yield Line("hand vacuum pump with gauge", 1)
        yield Line("gauge pins 0.3 to 3 mm", 1)
        yield Line("straight edge and feeler gauges", 1)
        yield Line("small hand vise and depth gauge", 1)
    takes: dict[str, list[str]] = {}
    for change in changes:
        for tool in network.stages[network.items[change.item].stage].tools:
            takes.setdefault(tool, []).append(change.item)
    for tool, items in takes.items():
        yield Line(tool, 1, tuple(items))
    if job.charge is not None:
        yield Line("air regulator with gauge and relief valve", 1, note="for the dry leak test")
