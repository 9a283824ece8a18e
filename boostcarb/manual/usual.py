"""What is taken where a job file leaves a key out, in words, from the constants that answers are worked out with."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import as_file, files
from typing import Any

from boostcarb.description.family import DISCHARGE_OF_A_DRILLED_PASSAGE
from boostcarb.description.source import read_document
from boostcarb.fueling.calibration import SPREADS
from boostcarb.fueling.evaporation import USUAL_HUMIDITY
from boostcarb.fueling.job_fuel import ETHANOL_SHARE
from boostcarb.fueling.metering import SPILL_HEIGHT_M
from boostcarb.fueling.spreads import AMBIENT_K, DRILL_M, RELATIVE, VENTURI
from boostcarb.fueling.spreads import SPILL_HEIGHT_M as SPILL_SPAN_M
from boostcarb.fueling.targets import USUAL as USUAL_LAMBDA
from boostcarb.quantities import format_fraction, format_pressure, format_temperature
from boostcarb.solving.air_inputs import ASSEMBLED_AT_K, COLDEST_START_K
from boostcarb.states import inputs
from boostcarb.transient.checks import CLOSING_TIME_S
from boostcarb.transient.inputs import INTO_AIR_HORN, THROUGH_COMPRESSOR
from boostcarb.transient.pulse import DURATION_S, RISE_S
from boostcarb.transient.relief import RELIEF_AREA_M2, RELIEF_CRACK_SHARE, RELIEF_DELAY_S

AS_USUAL = "the usual of the family"


def usual(path: str) -> str:
    """What is taken for a key that is left out; nothing where it is then simply not there.

    >>> usual("charge.filter_loss")
    '2.5 kPa'
    """
    if path in _USUAL:
        return _USUAL[path]
    return AS_USUAL if path in _typical_paths() else ""


def example(path: str) -> str:
    """A value for a key that no shipped scenario has, as it could be written; nothing where none is known."""
    if path in _EXAMPLES:
        return _EXAMPLES[path]
    words = usual(path)
    return words if _ONE_VALUE.fullmatch(words) else ""


def typical_records() -> Iterator[Mapping[str, Any]]:
    """The typical values of every family's fuel side, in the form of a job file."""
    for entry in sorted(files("boostcarb.description").joinpath("typical").iterdir(), key=lambda entry: entry.name):
        if entry.name.endswith(".yaml"):
            with as_file(entry) as path:
                yield read_document(path).data


@cache
def _typical_paths() -> frozenset[str]:
    """Every key that has a typical value, by its dotted path without the barrel group."""
    return frozenset(path for record in typical_records() for path in _paths(record))


def _paths(record: Mapping[str, Any], above: str = "") -> Iterator[str]:
    for key, value in record.items():
        path = f"{above}.{key}" if above else str(key)
        yield path
        if isinstance(value, Mapping):
            inner = value.values() if path in ("pump", "bowls") else (value,)
            for each in inner:
                yield from _paths(each, path)


def _milliseconds(seconds: float) -> str:
    return f"{seconds * 1e3:g} ms"


def _vacuum(gauge_pa: float) -> str:
    return f"{-gauge_pa / 1e3:g} kPa vacuum at sea level"


def _lambda(load: str) -> str:
    gasoline = USUAL_LAMBDA["gasoline"][load][0]
    others = {fuel: values[load][0] for fuel, values in USUAL_LAMBDA.items() if values[load][0] != gasoline}
    return ", ".join([f"{gasoline:g}", *(f"{value:g} with {fuel}" for fuel, value in others.items())])


def _span(name: str) -> str:
    spread = SPREADS[name]
    return f"{spread.low:g} to {spread.high:g}" + ("" if name == "booster_gain" else " times the value")


_USUAL = {
    "engine.volumetric_efficiency": format_fraction(inputs.VOLUMETRIC_EFFICIENCY),
    "engine.compression_ratio": f"{inputs.COMPRESSION_RATIO:g}",
    "engine.idle_manifold": _vacuum(inputs.IDLE_MANIFOLD_PA_GAUGE),
    "engine.cruise_manifold": _vacuum(inputs.CRUISE_MANIFOLD_PA_GAUGE),
    "charge.compressor_efficiency": format_fraction(inputs.COMPRESSOR_EFFICIENCY),
    "charge.filter_loss": format_pressure(inputs.FILTER_LOSS_PA),
    "charge.maximum_pressure_ratio": f"{inputs.MAXIMUM_PRESSURE_RATIO:g}",
    "charge.cooler.effectiveness": format_fraction(inputs.COOLER_EFFECTIVENESS),
    "charge.cooler.pressure_loss": format_pressure(inputs.COOLER_LOSS_PA),
    "site.altitude": "sea level",
    "site.ambient_pressure": "that of the standard atmosphere at the altitude",
    "site.ambient_temperature": "that of the standard atmosphere at the altitude",
    "site.coldest_start": format_temperature(COLDEST_START_K, "degC"),
    "site.hot_soak": format_temperature(inputs.HOT_SOAK_K, "degC"),
    "site.assembled_at": format_temperature(ASSEMBLED_AT_K, "degC"),
    "site.assembled_altitude": "that of the place",
    "site.humidity": format_fraction(USUAL_HUMIDITY),
    "flow": AS_USUAL,
    "flow.rated_drop": AS_USUAL,
    "fuel_detail.ethanol": ", ".join(f"{format_fraction(share)} in {name}" for name, share in ETHANOL_SHARE.items()),
    "metering.targets.cruise": _lambda("cruise"),
    "metering.targets.wide_open": _lambda("wide_open"),
    "metering.targets.boost": _lambda("boost"),
    "metering.right_for.fuel": "the fuel of the job",
    "metering.right_for.ethanol": "that of the fuel's name",
    "metering.right_for.altitude": "that of the place",
    "metering.right_for.temperature": "that of the place",
    "metering.booster_gain": AS_USUAL,
    "metering.jet_discharge": f"{DISCHARGE_OF_A_DRILLED_PASSAGE:g}, or what the family says",
    "metering.spill_height": f"{SPILL_HEIGHT_M * 1e3:g} mm",
    **{f"metering.spread.{name}": format_fraction(share) for name, (_, share, _) in RELATIVE.items()},
    **{f"metering.spread.{name}": _span(name) for name in SPREADS},
    "metering.spread.venturi_coefficient": f"{VENTURI[0]:g} to {VENTURI[1]:g}",
    "metering.spread.ambient_temperature": f"{AMBIENT_K:g} K",
    "metering.spread.spill_height": f"{SPILL_SPAN_M[0] * 1e3:g} to {SPILL_SPAN_M[1] * 1e3:g} mm",
    "metering.spread.drill": f"{DRILL_M * 1e3:g} mm",
    "metering.spread.ethanol": "by the fuel's name",
    "backfire.peak_ratio": f"{inputs.BACKFIRE_PEAK_RATIO:g}",
    "backfire.rise": _milliseconds(RISE_S),
    "backfire.duration": _milliseconds(DURATION_S),
    "backfire.check_closing_time": _milliseconds(CLOSING_TIME_S),
    "backfire.into_air_horn": format_fraction(INTO_AIR_HORN),
    "backfire.through_compressor": format_fraction(THROUGH_COMPRESSOR),
    "backfire.manifold_volume": "the displacement of the engine",
    "backfire.relief_area": f"{RELIEF_AREA_M2 * 1e6:.0f} mm2",
    "backfire.relief_crack": f"{RELIEF_CRACK_SHARE:g} times the boost",
    "backfire.relief_delay": _milliseconds(RELIEF_DELAY_S),
}

_ONE_VALUE = re.compile(r"-?\d+(?:\.\d+)?(?: (?:%|[a-zA-Z]+[23]?))?")

_EXAMPLES = {
    "units": "us",
    "found.ITEM.note": "plug found loose",
    "pinned.irreversible_work": "false",
    "pinned.avoid": "{choke: [hot_air]}",
    "pinned.accept": "[no_boost_gauge]",
    "enclosure.kind": "pressure_box",
    "fuel_detail.elements.carbon": "52.1 %",
    "fuel_detail.elements.hydrogen": "13.1 %",
    "fuel_detail.elements.oxygen": "34.7 %",
    "fuel_detail.density": "789 kg/m3",
    "metering.targets.cruise": "1.0",
    "metering.targets.wide_open": "0.87",
    "metering.targets.boost": "0.78",
    "metering.measured, each.group": "primary",
    "metering.right_for.fuel": "gasoline",
    "metering.right_for.ethanol": "70 %",
    "metering.right_for.altitude": "1500 m",
    "metering.right_for.temperature": "20 degC",
    "metering.booster_gain": "2.2",
    "metering.jet_discharge": "78 %",
    "metering.spread.venturi_coefficient": "6 %",
    "metering.spread.booster_gain": "20 %",
    "metering.spread.jets": "5 %",
    "metering.spread.channels": "10 %",
    "metering.spread.bleeds": "15 %",
    "metering.spread.spill_height": "2 mm",
    "metering.spread.ethanol": "5 %",
    "site.ambient_pressure": "98 kPa abs",
    "site.assembled_altitude": "0 m",
    "pump.nozzle_holes": "1",
    "backfire.manifold_volume": "5 l",
    "backfire.relief_crack": "10 psi",
}
