"""By which method a passage is closed or opened: what suits bore, metal, fuel, pressure and access.

What is said of plugs, sealants and drilling is common practice, no source; sizes of threads are from `threads`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from boostcarb.description.job import Job
from boostcarb.drills import nearest_drills
from boostcarb.network.model import ABSENT, OPEN, PLUGGED, Network, Way
from boostcarb.planning.problem import Choice
from boostcarb.work.threads import WALL_M, Thread, metric, pipe, pipe_for, thread_for

PRACTICE: Final = "common practice, no source"
SCREW_PLUGS: Final = "screw_plugs"
AMBIENT: Final = "ambient"
WET: Final = ("fuel", "emulsion")
ALCOHOL_FUELS: Final = ("E85", "ethanol", "methanol", "custom")
ALCOHOL_RICH: Final = 0.2
"""Share of ethanol by volume above which epoxy and soft metals are not trusted (assumption)."""


class Means(StrEnum):
    """How a passage is closed or opened."""

    screw_plug = "screw plug"
    blank = "threaded brass blank"
    disc = "machined disc"
    gasket = "gasket or seal"
    shaft_seal = "seal round a moving part"
    caps = "screw caps"
    factory_plug = "factory plug replaced"
    drilled = "drilled"
    drilled_and_tapped = "drilled, with a tapped mouth"
    cleared = "cleared"


@dataclass(frozen=True, slots=True)
class Method:
    """How one passage is closed or opened.

    `depth_m` is how deep to tap, or for a hole without a thread None; `plug_m` the length of the screw plug; `drill`
    the drill that makes the passage itself; `instead` the same in the other system of threads; `never_alone` what
    may not be the only barrier.
    """

    means: Means
    how: str
    thread: str | None = None
    tap_drill: str | None = None
    depth_m: float | None = None
    plug_m: float | None = None
    drill: str | None = None
    instead: str | None = None
    never_alone: tuple[str, ...] = ()
    source: str = PRACTICE


@dataclass(frozen=True, slots=True)
class _Setting:
    """What the place of a passage asks of its closure."""

    wet: bool
    alcohol: bool
    outward: bool


def method_for(way: Way, change: Choice, network: Network, job: Job) -> Method:
    """The method for a passage that a plan closes or opens.

    Args:
        way: the passage, with its bore in m where it has one.
        change: the item and the form it takes: open, plugged, or screw plugs.
        network: tells what the spaces at both ends hold, and from which stage it is reached.
        job: tells the fuel, and whether boost pushes at it from inside.
    """
    setting = _Setting(is_wet(way, network), is_alcohol_rich(job), _pushes_out(way, job))
    if change.option == SCREW_PLUGS:
        return _factory_plugs(setting) if way.kind == "joint" else _nipple(way, setting)
    if change.option == PLUGGED:
        return _closing(way, change, network, setting)
    return _opening(way, change, network)


def ways_worked_on(network: Network, changes: Iterable[Choice]) -> dict[Choice, Way]:
    """The passages that changes close or open: their own, and the ports that parts called plugs close."""
    found: dict[Choice, Way] = {}
    for change in changes:
        item = network.items[change.item]
        if item.kind == "passage" and change.option in (OPEN, PLUGGED):
            way = next((way for way in network.ways if way.item == change.item), None)
        elif change.option == SCREW_PLUGS:
            way = next((way for way in network.ways if any(on == change.item for on, _ in way.conditions)), None)
        else:
            way = None
        if way is not None:
            found[change] = way
    return found


def methods(network: Network, job: Job, changes: Iterable[Choice]) -> dict[Choice, Method]:
    """The method for every passage that changes close or open."""
    ways = ways_worked_on(network, changes)
    return {change: method_for(way, change, network, job) for change, way in ways.items()}


def is_wet(way: Way, network: Network) -> bool:
    """Whether fuel stands or runs in it."""
    return way.carries in WET or any(network.spaces[end].holds in WET or end.endswith("bowl") for end in (way.a, way.b))


def is_alcohol_rich(job: Job) -> bool:
    """Whether the fuel may be rich in alcohol: then epoxy, lead and solder are no barrier."""
    share = job.fuel_detail.ethanol if job.fuel_detail is not None else None
    return job.fuel in ALCOHOL_FUELS or (share is not None and share > ALCOHOL_RICH)


def _pushes_out(way: Way, job: Job) -> bool:
    return job.charge is not None and AMBIENT in (way.a, way.b)


# --- closing -----------------------------------------------------------------------------------------------


def _closing(way: Way, change: Choice, network: Network, setting: _Setting) -> Method:
    labor = network.items[change.item].forms[change.option].labor
    outside = not network.stages[way.stage].after and AMBIENT not in (way.a, way.b)
    if way.kind in ("joint", "gasket_window"):
        return _factory_plugs(setting) if labor is not None and labor.irreversible else _gasket(setting)
    if way.kind in ("clearance", "slot"):
        return _shaft_seal(setting)
    if outside:
        return _caps(setting)
    thread = thread_for(way.bore_m) if way.bore_m is not None else None
    if thread is None:
        return _disc(setting)
    if way.kind in ("restriction", "seat"):
        return _blank(way, thread, setting)
    return _screw_plug(way, thread, setting)


def _never(setting: _Setting, *others: str) -> tuple[str, ...]:
    soft = ("lead", "solder") if setting.alcohol or setting.wet else ()
    rubber = ("rubber cap",) if setting.outward else ()
    return tuple(dict.fromkeys(("epoxy", "silicone sealer", *soft, *rubber, *others)))


def _tapping(thread: Thread) -> str:
    return (
        f"Measure the metal round the hole first: {thread.name} wants {_mm(thread.diameter_m + 2 * WALL_M)} across and "
        f"{_mm(thread.tapped_m)} deep. Drill {thread.tap_drill} and tap {thread.name}, both {_mm(thread.tapped_m)} "
        f"deep, for a screw {_mm(thread.plug_m)} long: at least {_mm(thread.engagement_m)} of full thread, and it jams "
        "on the unfinished threads below, so that it cannot wander inward."
    )


def _sealing(setting: _Setting) -> str:
    text = "Degrease, seal the thread with anaerobic sealant made for fuel, stake the edge."
    if setting.alcohol:
        text += " The thread is the barrier: the sealant must be rated for alcohol."
    if setting.outward:
        return text + " Boost pushes it out: the thread must hold it, no cup or dome plug."
    return text


def _unified(way: Way) -> str | None:
    other = thread_for(way.bore_m, "unified") if way.bore_m is not None else None
    return f"{other.name}, tap drill {other.tap_drill}" if other is not None else None


def _screw_plug(way: Way, thread: Thread, setting: _Setting) -> Method:
    how = f"{_tapping(thread)} {_sealing(setting)}"
    bore = (way.bore_m or 0.0) * 1000
    how += " With less metal: " + (
        "a headed screw from the inside on a seal that suits the fuel, so that pressure seats it, staked."
        if setting.outward
        else f"a driven brass plug of {bore * 1.01:.2f} to {bore * 1.02:.2f} mm, 1 to 2 % over the hole, staked all "
        "round, with the gasket over it whole."
    )
    taper = pipe_for(way.bore_m or 0.0)
    if thread.diameter_m >= metric("M8").diameter_m and taper is not None:
        how += (
            f" In a thick boss a {taper.name} taper pipe plug does as well (drill {taper.tap_drill}): no more than two "
            "and a half turns past finger tight, it splits thin walls."
        )
    return Method(
        Means.screw_plug,
        how,
        thread=thread.name,
        tap_drill=thread.tap_drill,
        depth_m=thread.tapped_m,
        plug_m=thread.plug_m,
        instead=_unified(way),
        never_alone=_never(setting, "driven ball") if setting.outward else _never(setting),
        source=f"thread: {thread.source}; the rest {PRACTICE}",
    )


def _blank(way: Way, thread: Thread, setting: _Setting) -> Method:
    how = (
        "A brass blank, screwed in so that it can be taken out or drilled again. "
        f"{_tapping(thread)} {_sealing(setting)}"
    )
    return Method(
        Means.blank,
        how,
        thread=thread.name,
        tap_drill=thread.tap_drill,
        depth_m=thread.tapped_m,
        plug_m=thread.plug_m,
        instead=_unified(way),
        never_alone=_never(setting, "solder"),
        source=f"thread: {thread.source}; the rest {PRACTICE}",
    )


def _nipple(way: Way, setting: _Setting) -> Method:
    thread = thread_for(way.bore_m) if way.bore_m is not None else None
    how = (
        "Use the thread that is there; where a nipple is pressed in, pull it and tap its hole, tap greased and the way "
        "inward stopped: no chip may fall in. "
    )
    if thread is None:
        return Method(Means.screw_plug, how + _sealing(setting), never_alone=_never(setting, "rubber cap"))
    return Method(
        Means.screw_plug,
        how + _tapping(thread) + " " + _sealing(setting),
        thread=thread.name,
        tap_drill=thread.tap_drill,
        depth_m=thread.tapped_m,
        plug_m=thread.plug_m,
        instead=_unified(way),
        never_alone=_never(setting, "rubber cap"),
        source=f"thread: {thread.source}; the rest {PRACTICE}",
    )


def _disc(setting: _Setting) -> Method:
    return Method(
        Means.disc,
        "Too wide for a screw: a machined disc on a gasket, held by three screws, or a large threaded plug. Fuel-grade "
        "epoxy as a filler only.",
        never_alone=_never(setting, "pressed plug"),
    )


def _gasket(setting: _Setting) -> Method:
    return Method(
        Means.gasket,
        "The gasket or seal is the plug. Lay the new one on both faces: a window over every passage that stays, none "
        "over one that is closed. Faces flat to 0.1 mm, clean and dry; tighten crosswise, and again after the first "
        "heat.",
        never_alone=_never(setting, "sealant in place of the gasket", "the old gasket"),
    )


def _shaft_seal(setting: _Setting) -> Method:
    return Method(
        Means.shaft_seal,
        "O-ring or lip seal in a machined seat where something moves through; where nothing does any more, a machined "
        "plug or plate held by screws. It must still move freely.",
        never_alone=_never(setting, "grease", "tape"),
    )


def _caps(setting: _Setting) -> Method:
    return Method(
        Means.caps,
        "Close both ends, each by a screw cap that seats metal to metal or on a seal rated for heat and fuel.",
        never_alone=_never(setting, "rubber cap", "a pinched tube"),
    )


def _factory_plugs(setting: _Setting) -> Method:
    sizes = ", ".join(f"up to {_mm(t.drill_m - 1e-4)} {t.name} (drill {t.tap_drill})" for t in _small_threads())
    how = (
        "Pull the old plug by a small screw, or drill it with the channel behind it stopped with grease. Measure the "
        f"hole, then tap it: {sizes}; thread at least one and a half diameters long. {_sealing(setting)}"
    )
    if not setting.outward:
        how += " No metal for a thread: a driven ball 1 to 2 % over the hole, set once and staked all round."
    return Method(
        Means.factory_plug,
        how,
        never_alone=_never(setting, "the old ball driven again", "lead"),
        source=f"threads: ISO 261, ISO 2306; the rest {PRACTICE}",
    )


def _small_threads() -> tuple[Thread, ...]:
    return tuple(metric(name) for name in ("M3", "M4", "M5", "M6"))


# --- opening -----------------------------------------------------------------------------------------------


def _opening(way: Way, change: Choice, network: Network) -> Method:
    item = network.items[change.item]
    labor = item.forms[change.option].labor
    drill = _drill_name(way.bore_m) if way.bore_m is not None else None
    if item.found != ABSENT and not (labor is not None and labor.irreversible):
        size = f" A pin of {_mm(way.bore_m)} must pass." if way.bore_m is not None else ""
        return Method(
            Means.cleared,
            "Cleaner and air only, no wire or drill through brass." + size + " Compare it with its twin.",
        )
    if item.found == ABSENT and labor is not None and labor.parts:
        return _reference_port(way, drill)
    how = (
        f"Measure the metal and mark the depth on the drill with a collar: {_mm(WALL_M)} must stay to the next "
        f"passage. Pilot 1 mm and blow through: it must come out in the right place only. Then open by hand in steps "
        f"of 0.1 mm up to {drill or 'the size wanted'}. {CHIPS}"
    )
    return Method(Means.drilled, how, drill=drill, never_alone=())


CHIPS: Final = (
    "Grease on the drill, neighbor passages stopped, chips flushed toward the outside; take the burr off both mouths: "
    "a rounded edge passes 5 to 15 % more."
)


def _reference_port(way: Way, drill: str | None) -> Method:
    thread, taper = metric("M6"), pipe("1/8-27")
    how = (
        f"Measure the metal first: {_mm(WALL_M)} must stay to any fuel passage. Pilot 1 mm from the outside and blow "
        f"through: air must come out in the chamber only. Open to {drill}, then the mouth to {thread.tap_drill}, and "
        f"tap {thread.name} {_mm(thread.engagement_m)} deep for a hose fitting. Set a collar on each drill: the mouth "
        f"may not run through into the chamber. {CHIPS}"
    )
    return Method(
        Means.drilled_and_tapped,
        how,
        thread=thread.name,
        tap_drill=thread.tap_drill,
        depth_m=thread.engagement_m,
        drill=drill,
        instead=f"{taper.name} taper pipe, drill {taper.tap_drill}",
        never_alone=("a fitting pressed or glued in",),
        source=f"thread: {thread.source}; the rest {PRACTICE}",
    )


def _drill_name(bore_m: float) -> str:
    around = nearest_drills(bore_m)
    return around["metric"].nearest.name


def _mm(length_m: float) -> str:
    return f"{round(length_m * 1000, 1):g} mm"
