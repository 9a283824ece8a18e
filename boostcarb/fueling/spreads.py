"""How far each input of the mixture may be off: stated spreads, the job's where it gives them.

A spread is an interval that holds 19 values in 20: an expanded uncertainty with the coverage factor 2. Its ends may lie
at different distances from the value. Source: GUM, JCGM 100:2008, sections 6.2 and 6.3 (cited from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from boostcarb.fueling.calibration import CALIBRATED_SHARE, SPREADS
from boostcarb.fueling.circuit import Circuit
from boostcarb.fueling.job_fuel import ETHANOL_SHARE
from boostcarb.fueling.metering import Metering
from boostcarb.fueling.model import FuelModel
from boostcarb.states.inputs import VENTURI_COEFFICIENT

COVERAGE: Final = 2.0
"""Standard deviations from the value to an end of a spread."""

JOB, PRACTICE = "job file", "common practice, no source"
CALIBRATED = "what a wideband leaves open after a calibration, or the job gives the value; common practice, no source"
SPILL_HEIGHT_M: Final = (0.005, 0.012)
"""Usual span of the spill height (common practice, no source)."""
GIVEN_SPILL_M: Final = 0.001
DRILL_M: Final = 2e-5
VENTURI: Final = (0.85, 0.98)
ETHANOL: Final = {"E10": (-0.10, 0.01), "E85": (-0.34, 0.0)}
MEASURED_ETHANOL: Final = 0.02

RELATIVE: Final = {
    "volumetric_efficiency": ("volumetric efficiency", 0.06, PRACTICE),
    "boost": ("boost held by the wastegate, gauge", 0.07, PRACTICE),
    "rated_flow": ("rated flow of the carburetor", 0.05, PRACTICE),
    "compressor_efficiency": ("compressor efficiency (charge temperature)", 0.07, PRACTICE),
    "cooler_effectiveness": ("cooler effectiveness (charge temperature)", 0.15, PRACTICE),
    "nozzle": ("discharge of the emulsion nozzle", 0.10, PRACTICE),
    "fuel_density": ("density of the fuel", 0.04, "DOE sheet, gasoline 719 to 779 kg/m3; 1 % for 10 K"),
    "stoichiometric": ("stoichiometric ratio of the fuel", 0.01, "DOE sheet, gasoline 12 to 15 % hydrogen"),
}
"""Spreads by a factor either way: title, share, source."""
AMBIENT_K: Final = 10.0


class Kind(StrEnum):
    """What a deviation does to its input."""

    factor = "multiplies the value"
    offset = "adds to the value"
    open = "anywhere between what the model leaves open"


@dataclass(frozen=True, slots=True)
class Spread:
    """An uncertain input: the ends of its spread as factors, or as offsets in `unit`; where they come from."""

    name: str
    title: str
    kind: Kind
    low: float
    high: float
    unit: str
    source: str

    @property
    def deviations(self) -> tuple[float, float]:
        """Standard deviation below and above the value: of the logarithm of a factor, of an offset itself.

        >>> below, above = Spread("gain", "gain", Kind.factor, 0.8, 1.25, "", "").deviations
        >>> round(below, 4) == round(above, 4) == round(math.log(1.25) / 2, 4)
        True
        """
        if self.kind is Kind.factor:
            return -math.log(self.low) / COVERAGE, math.log(self.high) / COVERAGE
        return -self.low / COVERAGE, self.high / COVERAGE


def spreads_of(model: FuelModel, metering: Metering, circuits: tuple[Circuit, ...]) -> tuple[Spread, ...]:
    """Every input that is varied for a carburetor, air side first."""
    found = [*_air(model, metering), *_calibrated(model), *_circuit(model, circuits), *_fuel(model)]
    return tuple(spread for spread in found if spread.low != spread.high)


def bore_name(passage: str) -> str:
    """The name of the spread of a drilled bore."""
    return f"bore of {passage}"


def _air(model: FuelModel, metering: Metering) -> Iterator[Spread]:
    turbo = metering.solved.inputs.turbo
    yield _factor(model, "volumetric_efficiency")
    yield _factor(model, "rated_flow")
    given = _said(model, "venturi_coefficient")
    if given is not None:
        yield _by_share("venturi_coefficient", "flow coefficient of the venturis", given, JOB)
    else:
        low, high = (end / VENTURI_COEFFICIENT for end in VENTURI)
        yield Spread("venturi_coefficient", "flow coefficient of the venturis", Kind.factor, low, high, "", PRACTICE)
    kelvin, source = _value(model, "ambient_temperature", AMBIENT_K)
    yield Spread("ambient_temperature", "ambient temperature", Kind.offset, -kelvin, kelvin, "K", source)
    if turbo is not None:
        yield _factor(model, "boost")
        yield _factor(model, "compressor_efficiency")
        if turbo.cooler is not None:
            yield _factor(model, "cooler_effectiveness")


def _calibrated(model: FuelModel) -> Iterator[Spread]:
    """What a calibration can move, over its usual span unless it has moved at full load or the job gives it.

    Readings at cruise alone may hold fuel of the transition circuit: they do not make full load any surer.
    """
    calibration = model.calibration
    moved = calibration.moved if calibration is not None and calibration.has_full_load else {}
    metering = model.job.metering
    given = {"booster_gain": metering.booster_gain, "jets": metering.jet_discharge}
    for name, usual in SPREADS.items():
        share = _said(model, name)
        if share is not None:
            yield _by_share(name, usual.title, share, JOB)
        elif name in moved or given.get(name) is not None:
            yield _by_share(name, usual.title, CALIBRATED_SHARE, CALIBRATED)
        else:
            # The gain's span is of its value before any calibration, the others' are factors already.
            value = model.usual_factors.booster_gain if name == "booster_gain" else 1.0
            low, high = min(1.0, usual.low / value), max(1.0, usual.high / value)
            yield Spread(name, usual.title, Kind.factor, low, high, "", PRACTICE)


def _circuit(model: FuelModel, circuits: tuple[Circuit, ...]) -> Iterator[Spread]:
    yield _factor(model, "nozzle")
    value, (low, high), source = model.spill_height_m, SPILL_HEIGHT_M, PRACTICE
    said = _said(model, "spill_height")
    if said is not None or model.job.metering.spill_height is not None:
        width, source = _value(model, "spill_height", GIVEN_SPILL_M)
        low, high = value - width, value + width
    low, high = min(low, value) - value, max(high, value) - value
    yield Spread("spill_height", "spill height", Kind.offset, low, high, "m", source)
    width, source = _value(model, "drill", DRILL_M)
    for circuit in circuits:
        channels = [channel.restriction for channel in circuit.channels]
        drilled = {each.passage: each for each in (circuit.main, *channels) if each is not None}
        for passage, drilling in drilled.items():
            title = f"bore of the {drilling.title}"
            yield Spread(bore_name(passage), title, Kind.offset, -width, width, "m", source)


def _fuel(model: FuelModel) -> Iterator[Spread]:
    yield _factor(model, "fuel_density")
    name, detail = model.job.fuel, model.job.fuel_detail
    if name in ETHANOL_SHARE:
        measured = detail is not None and detail.ethanol is not None
        share = detail.ethanol if detail is not None and detail.ethanol is not None else ETHANOL_SHARE[name]
        low, high = (-MEASURED_ETHANOL, MEASURED_ETHANOL) if measured else ETHANOL[name]
        source = PRACTICE if measured else "ASTM D5798 for E85, 51 to 83 %; up to 10 % for E10 (from memory)"
        given = _said(model, "ethanol")
        if given is not None:
            low, high, source = -given, given, JOB
        low, high = max(low, -share), min(high, 1.0 - share)
        yield Spread("ethanol", "ethanol in the fuel, by volume", Kind.offset, low, high, "share", source)
    yield _factor(model, "stoichiometric")


def _said(model: FuelModel, name: str) -> float | None:
    said: float | None = getattr(model.job.metering.spread, name)
    return said


def _value(model: FuelModel, name: str, usual: float) -> tuple[float, str]:
    said = _said(model, name)
    return (usual, PRACTICE) if said is None else (said, JOB)


def _factor(model: FuelModel, name: str) -> Spread:
    title, usual, source = RELATIVE[name]
    said = _said(model, name)
    return _by_share(name, title, usual if said is None else said, source if said is None else JOB)


def _by_share(name: str, title: str, share: float, source: str) -> Spread:
    """A spread by the same factor up and down."""
    return Spread(name, title, Kind.factor, 1.0 / (1.0 + share), 1.0 + share, "", source)
