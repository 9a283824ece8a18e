"""The fuel side, metering apart, as text for the bench: carburetor size, supply, accelerator pump."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from boostcarb.fueling.capacity import Capacity
from boostcarb.fueling.fuel_pump import PUMP_MARGIN
from boostcarb.fueling.given import Default
from boostcarb.fueling.needle import LEAST_CLOSING, LEAST_FLOW, NO_REFERENCE, BowlSupply
from boostcarb.fueling.pump import BoostedShot, Shot
from boostcarb.fueling.records import Worked
from boostcarb.fueling.references import MOST_BOOST, Reference
from boostcarb.fueling.side import FuelSide
from boostcarb.fueling.supply import LEAST_HOLD, REFERENCE_LINE, DeadHead, Supply
from boostcarb.network.model import Network
from boostcarb.quantities import UnitSystem, format_gauge, format_pressure, format_value, units
from boostcarb.report.underway_text import underway_sections
from boostcarb.report.wording import PRESSURE_UNIT
from boostcarb.report.wrapping import wrapped

SI_KINDS = {
    "m": units.LENGTH, "m2": units.AREA, "m3": units.VOLUME, "Pa": units.DIFFERENCE, "kg/s": units.MASS_FLOW,
    "m3/s": units.VOLUME_FLOW, "N": units.FORCE, "rad": units.ANGLE, "s": units.DURATION, "kg/m3": units.DENSITY,
    "m/s2": units.ACCELERATION, "K": units.TEMPERATURE,
}  # fmt: skip
_WRITTEN = {"return_line": "return", "float_": "float"}
"""Fields that a job file calls otherwise."""

LITERS_AN_HOUR = {UnitSystem.METRIC: "l/h", UnitSystem.US: "gal/h"}
VACUUM = {UnitSystem.METRIC: "kPa", UnitSystem.US: "inHg"}


def supply_sections(side: FuelSide, network: Network, system: UnitSystem) -> Iterator[str]:
    """Every section of the fuel side but the metering, each with its heading; ends with what was assumed."""
    yield from _titled("CARBURETOR SIZE")
    yield from _size(side.capacity, system, network)
    yield from _titled("FUEL SUPPLY")
    yield from _supply(side.supply, network, system)
    for shot in side.shots:
        yield from _titled(f"ACCELERATOR PUMP  {shot.group} barrels")
        yield from _shot(shot, system)
    yield from underway_sections(side, network, system)
    yield from _titled("ASSUMED ON THE FUEL SIDE  common practice, no source; give your own in the job file")
    for section, said in _by_section(side.defaults, system).items():
        yield wrapped(f"{section}: {'; '.join(said)}", first="  - ")


def _titled(title: str) -> Iterator[str]:
    yield ""
    yield title


def _line(text: str, indent: str = "  ") -> str:
    return wrapped(text, first=indent, rest=indent + "  ")


def _by_section(defaults: Iterable[Default], system: UnitSystem) -> dict[str, list[str]]:
    """Defaults by the place in the job where they would stand."""
    found: dict[str, list[str]] = {}
    for default in defaults:
        section, _, field = default.path.rpartition(".")
        found.setdefault(section, []).append(f"{_WRITTEN.get(field, field)} {_default_text(default, system)}")
    return found


def _default_text(default: Default, system: UnitSystem) -> str:
    if isinstance(default.value, str):
        return default.value
    kind = SI_KINDS.get(default.unit)
    return f"{default.value:.3g}" if kind is None else format_value(kind, default.value, system)


def _fuel(worked: Worked, density_kg_m3: float, system: UnitSystem) -> str:
    return format_value(units.VOLUME_FLOW, worked.value / density_kg_m3, LITERS_AN_HOUR[system])


# --- carburetor size -------------------------------------------------------------------------------------------


def _size(found: Capacity, system: UnitSystem, network: Network) -> Iterator[str]:
    worst = found.worst
    several = f" each, {network.carburetors} of them" if network.carburetors > 1 else ""
    yield _line(
        f"{found.fit.value[0].upper()}{found.fit.value[1:]}. Rated "
        f"{format_value(units.VOLUME_FLOW, found.rated_flow.value, 'cfm')} at "
        f"{format_pressure(found.rated_drop.value, 'inHg')}{several}; worst is {worst.title}: "
        f"{format_value(units.VOLUME_FLOW, worst.volume_flow.value, 'cfm')} of air as dense as in the air horn, "
        f"{worst.share.value:.0%} of what it passes at its rated drop."
    )
    for load in found.loads:
        if load.wide_open:
            yield _line(
                f"{load.title}: {format_value(units.VOLUME_FLOW, load.volume_flow.value, 'cfm')}, loss "
                f"{format_pressure(load.loss.value, PRESSURE_UNIT[system])}, venturis choke at "
                f"{load.choke_margin.value:.2g} times this flow",
                "    ",
            )
    yield _line(
        f"A vacuum-held valve that feels the base needs a setting of at least "
        f"{format_pressure(found.base_setting.value, VACUUM[system])} against this loss."
    )
    for valve in found.valves:
        across = "nothing across it wide open" if valve.ratio is None else (
            f"{valve.ratio.value:.1f} times what flow puts across it at {valve.worst_state}; at least "
            f"{format_pressure(valve.needed_setting.value, VACUUM[system])} needed"
        )
        yield _line(f"{valve.title}: set at {format_pressure(valve.setting.value, VACUUM[system])}, {across}")


# --- supply ----------------------------------------------------------------------------------------------------


def _supply(found: Supply, network: Network, system: UnitSystem) -> Iterator[str]:
    density = found.demand.fuel.density_kg_m3
    unit = PRESSURE_UNIT[system]
    over = "the atmosphere, for it has no reference port"
    if found.regulator != NO_REFERENCE:
        over = f"its reference ({network.items[REFERENCE_LINE].forms[found.reference].title})"
    yield _line(f"Regulator set to {format_pressure(found.set_pressure.value, unit)} over {over}.")
    if found.regulator == "rising_rate":
        yield _line("Taken as 1:1: a rising-rate regulator pushes harder than shown, and overpowers the needle.")
    for bowl in found.bowls:
        yield from _bowl(bowl, density, system)
    yield from _pump(found, density, system)
    yield _line("Which reference serves these bowls:")
    for reference in found.references:
        yield _line(f"{network.title_of(reference.space)}: {_reference(reference, unit)}", "    ")
    if found.dead_head is not None:
        yield from _dead_head(found.dead_head, network, system)
    elif found.returns:
        yield _line("With a return, the line falls back with its reference as the boost is let off.")


def _bowl(bowl: BowlSupply, density_kg_m3: float, system: UnitSystem) -> Iterator[str]:
    leanest, hardest = bowl.leanest, bowl.hardest
    if leanest is not None and leanest.margin is not None and leanest.demand is not None:
        verdict = _word(leanest.margin.value, LEAST_FLOW, "runs dry")
        yield _line(
            f"{bowl.seat.title}, {format_value(units.LENGTH, bowl.seat.bore.value, system)} bore: "
            f"{verdict}. Least at {leanest.title}: {_fuel(leanest.flow, density_kg_m3, system)} through it at "
            f"{format_pressure(leanest.difference.value, PRESSURE_UNIT[system])} for a demand of "
            f"{_fuel(leanest.demand, density_kg_m3, system)} ({leanest.margin.value:.2f} times; "
            f"at least {LEAST_FLOW:g} wanted)"
        )
    if hardest is not None and hardest.closing is not None:
        shuts = _word(hardest.closing.value, LEAST_CLOSING, "FORCED OPEN, it floods")
        yield _line(
            f"the float shuts it with {hardest.closing.value:.2f} times the push of the fuel at {hardest.title} "
            f"(at least {LEAST_CLOSING:g} wanted): {shuts}",
            "    ",
        )


def _word(margin: float, least: float, fails: str) -> str:
    """A margin in words: what it does below 1, else whether it is as much as its rule wants."""
    if margin < 1.0:
        return fails
    return "enough" if margin >= least else "TOO LITTLE"


def _pump(found: Supply, density_kg_m3: float, system: UnitSystem) -> Iterator[str]:
    worst, unit = found.worst_pump, PRESSURE_UNIT[system]
    yield _line(
        f"Fuel pump, worst at {worst.title}: {_fuel(worst.demand, density_kg_m3, system)} at "
        f"{format_gauge(worst.pressure.value, unit)} (line loss {format_pressure(worst.line_loss.value, unit)}), "
        f"{format_gauge(worst.pressure_in_launch.value, unit)} in a launch with the tank at the rear"
    )
    if worst.delivered is None or worst.margin is None:
        yield _line(f"no curve given: choose one that delivers {PUMP_MARGIN:g} times the demand there", "    ")
        return
    if worst.beyond_curve:
        yield _line("NOT PROVEN at this pressure: beyond the end of its curve, where nothing counts", "    ")
        return
    yield _line(
        f"it delivers {_fuel(worst.delivered, density_kg_m3, system)} there, {worst.margin.value:.2f} times the demand "
        f"(at least {PUMP_MARGIN:g} wanted): {_word(worst.margin.value, PUMP_MARGIN, 'too little, the bowls run dry')}",
        "    ",
    )


def _reference(reference: Reference, unit: str) -> str:
    if reference.right:
        return "right in every state"
    parts = []
    for what, states, at in (
        ("runs dry", reference.starving, reference.starves_at),
        ("floods", reference.flooding, reference.floods_at),
    ):
        if at is not None:
            parts.append(f"{what} from {format_gauge(at.value, unit)} of boost")
        if states:
            parts.append(f"{what} in: {', '.join(states)}")
    unreached = reference.swept and reference.starves_at is None and reference.floods_at is None
    return "; ".join(parts) + (f" (wide open, not up to {MOST_BOOST:g} times the boost)" if unreached else "")


def _dead_head(found: DeadHead, network: Network, system: UnitSystem) -> Iterator[str]:
    unit = PRESSURE_UNIT[system]
    force = ""
    if found.closing is not None:
        bowl = network.title_of(f"{found.group}.bowl")
        word = _word(found.closing.value, LEAST_HOLD, "TOO LITTLE, it weeps")
        force = (
            f", the float of the {bowl} holding {found.closing.value:.2f} times its push (at least "
            f"{LEAST_HOLD:g} wanted): {word}"
        )
    least, most = (format_value(units.LENGTH, rise.value, system) for rise in found.rises)
    yield _line(
        f"Dead-head: after lift-off the line stays {format_pressure(found.across.value, unit)} above the bowl{force}; "
        f"what it gives back lifts the level of one bowl by {least} to {most}, a rich moment. A return line ends that."
    )


# --- accelerator pump --------------------------------------------------------------------------------------------


def _shot(shot: Shot, system: UnitSystem) -> Iterator[str]:
    def volume(worked: Worked) -> str:
        return format_value(units.VOLUME, worked.value, "cm3")

    yield _line(
        f"One stroke {volume(shot.stroke)}, {volume(shot.capacity)} in ten ({shot.limited_by}). An engine of this size "
        f"usually wants {volume(shot.needed[0])} to {volume(shot.needed[1])} a stroke on gasoline, more on alcohol and "
        "in draw-through: tune it by the hesitation."
    )
    if shot.parts is not None:
        for mismatch in shot.parts.mismatches:
            leaks = " FUEL LEAK." if mismatch.leaks else ""
            yield _line(f"MIXED SET: {mismatch.parts[0]} with {mismatch.parts[1]}: {mismatch.effect}.{leaks}")
        if shot.parts.capacity_m3 is not None:
            usual = format_value(units.VOLUME, shot.parts.capacity_m3, "cm3")
            yield _line(f"such a set usually gives {usual} in ten strokes (common practice, no source)")
        if shot.parts.one_size:
            yield _line("diaphragm, cover, spring and cam, as far as they are named, are of one size")
    if shot.leaks is not None:
        yield _line(f"NOZZLE SEALS: {shot.leaks}.")
    lasts = ", ".join(f"{kind} screw {worked.value:.2f} s" for kind, worked in shot.by_screw)
    if lasts:
        yield _line(f"duration of the shot off boost: {lasts}; {shot.screw} fitted")
    if shot.fades_at is None:
        yield _line("a plunger in the bowl: boost stands on both its sides and takes nothing from the shot")
        return
    fades = format_pressure(shot.fades_at.value, PRESSURE_UNIT[system])
    yield _line(f"the override spring gives way from {fades} over the dry side")
    yield from _faded(shot.states, system)


def _faded(states: Iterable[BoostedShot], system: UnitSystem) -> Iterator[str]:
    """States in which boost takes from the shot, those alike in one line."""
    alike: dict[str, list[str]] = {}
    for state in states:
        if state.load.value > 0.0 and (state.share_left.value < 1.0 or state.duration is None):
            left = (
                f"{format_value(units.FORCE, state.load.value, system)} against it, {state.share_left.value:.0%} of "
                "the shot left, and no faster than the pedal"
            )
            alike.setdefault(left, []).append(state.title)
    for left, titles in alike.items():
        yield _line(f"{', '.join(titles)}: {left}", "    ")
