"""Words and numbers shared by all reports."""

from __future__ import annotations

from collections.abc import Iterable

from boostcarb.assumed import Assumed
from boostcarb.description.job import Job
from boostcarb.findings import Finding, Quantity, Reading, Step
from boostcarb.network.model import Network
from boostcarb.quantities import (
    UnitSystem,
    format_absolute,
    format_fraction,
    format_gauge,
    format_pressure,
    format_temperature,
    format_value,
)
from boostcarb.quantities import units as unit_kinds
from boostcarb.report.wrapping import wrapped

MODES = {
    "naturally_aspirated": "naturally aspirated",
    "blow_through": "blow-through",
    "draw_through": "draw-through",
}
DANGERS = {"engine": "engine", "people": "people"}
PASCALS = {"kPa": 1000.0, "psi": 6894.757293168361}
PRESSURE_UNIT = {UnitSystem.METRIC: "kPa", UnitSystem.US: "psi"}


def arrangement(job: Job) -> list[str]:
    """How many carburetors there are and where they stand, where that is not one in the open."""
    words = []
    if job.carburetors is not None:
        several = job.carburetors
        words.append(
            f"{several.count} carburetors, plenum {several.plenum}, bonnets {several.bonnets}, references "
            f"{several.references}"
        )
    if job.enclosure is not None:
        words.append("in a pressure box")
    return words


def each_of(network: Network) -> str:
    """What is added where something goes for each of several carburetors; nothing for one alone."""
    return f", in each of the {network.carburetors} carburetors" if network.carburetors > 1 else ""


def count(number: int, noun: str, plural: str | None = None) -> str:
    """A number with its noun.

    >>> count(1, "change"), count(2, "part")
    ('1 change', '2 parts')
    """
    return f"{number} {noun if number == 1 else plural or noun + 's'}"


def minutes(total: int) -> str:
    """Bench time.

    >>> minutes(45), minutes(135)
    ('45 min', '2 h 15 min')
    """
    hours, left = divmod(total, 60)
    if not hours:
        return f"{left} min"
    return f"{hours} h {left} min" if left else f"{hours} h"


def absolute(low: float, high: float, system: UnitSystem) -> str:
    """An absolute pressure or a range of it, with its unit but without the word."""
    unit = PRESSURE_UNIT[system]
    return _range(low, high, unit)


def _range(low: float, high: float, unit: str) -> str:
    digits = {"kPa": 1, "psi": 2}[unit]
    a, b = (f"{value / PASCALS[unit]:.{digits}f}" for value in (low, high))
    return f"{a} {unit}" if a == b else f"{a} to {b} {unit}"


def assumed_text(assumed: Assumed, system: UnitSystem) -> str:
    """An assumption with its value in the units of the report."""
    value = assumed.value
    shown = {
        "fraction": lambda: format_fraction(value),
        "number": lambda: f"{value:g}",
        "gauge": lambda: format_gauge(value, system),
        "absolute": lambda: format_absolute(value, system),
        "difference": lambda: format_pressure(value, system),
        "temperature": lambda: format_temperature(value, system),
        "flow": lambda: format_value(unit_kinds.VOLUME_FLOW, value, "cfm"),
    }[assumed.kind]()
    return assumed.words.format(shown)


def quantity_text(quantity: Quantity, network: Network, system: UnitSystem) -> str:
    """A value against its limit, in words."""
    name = spaces_named(quantity.name, network)
    if quantity.unit == "lambda":
        low, high = f"{quantity.low:.2f}", f"{quantity.high:.2f}"
        return f"{name} {low if low == high else f'{low} to {high}'}, limit {quantity.limit:.2f}"
    if quantity.unit == "m2":
        area, limit = (format_value(unit_kinds.AREA, value, "mm2") for value in (quantity.high, quantity.limit))
        return f"{name} {area}, needed {limit}"
    if quantity.unit == "s":
        time, limit = (format_value(unit_kinds.DURATION, value, "ms") for value in (quantity.high, quantity.limit))
        return f"{name} {time}, at most {limit} allowed"
    if not quantity.unit:
        return f"{name} = {quantity.low:.2f}, at least {quantity.limit:g} needed"
    value = _range(quantity.low, quantity.high, PRESSURE_UNIT[system])
    return f"{name} = {value}, limit {format_pressure(quantity.limit, PRESSURE_UNIT[system])}"


def spaces_named(text: str, network: Network) -> str:
    """Space ids in a quantity's name put in words."""
    return " ".join(network.title_of(word) if word in network.spaces else word for word in text.split(" "))


def reading_text(reading: Reading, network: Network, system: UnitSystem) -> str:
    """A pressure with its space and, where it is not plain, why it has it."""
    text = f"{network.title_of(reading.space)} {absolute(reading.low_pa_abs, reading.high_pa_abs, system)} abs"
    return text if reading.nature.startswith(("set by", "tied")) else f"{text} ({reading.nature})"


def path_text(start: str, path: Iterable[Step], network: Network) -> str:
    """A path as a line: space > way > space; what the air path carries on has no way of its own."""
    titles = {way.name: way.title for way in network.ways}
    parts = [network.title_of(start)]
    for step in path:
        parts += [f"[{titles.get(step.way, step.way)}]", network.title_of(step.into)]
    return " > ".join(parts)


def form_text(network: Network, item: str, form: str) -> str:
    """A form in words, with the setting of the valve that it brings."""
    found = network.items[item]
    title = found.forms[form].title
    for diaphragm in network.diaphragms.values():
        valve = diaphragm.valves.get(form) if diaphragm.part == item else None
        if valve is not None and valve.fixed is None:
            setting = abs(valve.setting_pa)
            return f"{title}, set at {format_pressure(setting, 'inHg')} ({format_pressure(setting, 'kPa')})"
    return title


def states_text(finding: Finding, titles: dict[str, str]) -> str:
    """In which states a finding holds."""
    if finding.state is None:
        return ""
    names = finding.states or (finding.state,)
    others = [titles.get(name, name) for name in names if name != finding.state]
    text = titles.get(finding.state, finding.state)
    if len(others) > 3:
        return f"{text} and {len(others)} other states"
    return "; ".join([text, *others])


def severity_text(finding: Finding) -> str:
    """The severity with whom it endangers: `STOP (engine)`."""
    severity = "ACCEPTED BY YOU" if finding.accepted else finding.severity.value.upper()
    return f"{severity} ({' and '.join(DANGERS[each] for each in finding.endangers)})"


def finding_lines(
    finding: Finding, network: Network, titles: dict[str, str], system: UnitSystem, indent: str
) -> list[str]:
    """A finding as a person reads it: what, where, in which state, and what shows it."""
    where = f"{finding.place_title}: {finding.statement}" if finding.statement else finding.place_title
    lines = [
        wrapped(f"{severity_text(finding)}  {finding.title}", first=indent, rest=indent + "  "),
        wrapped(where, first=indent + "  ", rest=indent + "    "),
    ]
    inner = indent + "  "
    states = states_text(finding, titles)
    if states:
        lines.append(wrapped(f"in: {states}", first=inner, rest=inner + "    "))
    witness = finding.witness
    if witness.quantity is not None:
        lines.append(wrapped(quantity_text(witness.quantity, network, system), first=inner, rest=inner + "    "))
    if witness.readings:
        text = "; ".join(reading_text(reading, network, system) for reading in witness.readings)
        lines.append(wrapped(text, first=inner, rest=inner + "    "))
    if witness.path and witness.start is not None:
        lines.append(
            wrapped(f"path: {path_text(witness.start, witness.path, network)}", first=inner, rest=inner + "    ")
        )
    lines.append(f"{inner}rule: {finding.rule}")
    return lines
