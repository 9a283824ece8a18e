"""Writing quantities: short for people, exact for files."""

from __future__ import annotations

from enum import StrEnum
from math import floor, isfinite, log10
from typing import Final

from boostcarb.quantities import units
from boostcarb.quantities.reading import BadQuantity, PressureLevel, parse
from boostcarb.quantities.units import Kind


class UnitSystem(StrEnum):
    """Which units reports use."""

    METRIC = "metric"
    US = "us"


_SHOWN: Final = {
    UnitSystem.METRIC: {
        "a length": "mm", "an altitude": "m", "an area": "mm2", "a volume": "cm3",
        "a pressure difference": "kPa", "a vacuum": "kPa", "a temperature": "°C",
        "a volume flow": "l/min", "a mass flow": "kg/h", "a speed": "rpm", "an angle": "deg",
        "a force": "N", "a duration": "s", "a mass": "g", "a density": "kg/m3", "a fraction": "%",
        "an acceleration": "g",
    },
    UnitSystem.US: {
        "a length": "in", "an altitude": "ft", "an area": "in2", "a volume": "in3",
        "a pressure difference": "psi", "a vacuum": "inHg", "a temperature": "°F",
        "a volume flow": "cfm", "a mass flow": "lb/min", "a speed": "rpm", "an angle": "deg",
        "a force": "lbf", "a duration": "s", "a mass": "oz", "a density": "lb/gal", "a fraction": "%",
        "an acceleration": "g",
    },
}  # fmt: skip


def format_value(kind: Kind, value: float, unit: str, *, digits: int = 3) -> str:
    """A value for people to read.

    Args:
        kind: e.g. ``units.LENGTH``.
        value: in SI.
        unit: a unit of the kind, or a :class:`UnitSystem` to take its usual one.
        digits: significant digits; whole digits are never dropped.

    Raises:
        BadQuantity: the value is not finite, or the kind has no such unit.

    >>> format_value(units.VOLUME_FLOW, 0.2832, "cfm")
    '600 cfm'
    """
    if unit in _SHOWN:
        unit = _SHOWN[UnitSystem(unit)][kind.noun]
    return f"{_number(_from_si(kind, value, unit), digits)} {unit}"


def format_pressure(pa: float, unit: str = "kPa", *, digits: int = 3) -> str:
    """A pressure difference in Pa, without a reference word.

    >>> format_pressure(55_158.0, "psi"), format_pressure(101_325.0)
    ('8 psi', '101 kPa')
    """
    return format_value(units.DIFFERENCE, pa, unit, digits=digits)


def format_absolute(pa_abs: float, unit: str = "kPa", *, digits: int = 3) -> str:
    """An absolute pressure in Pa, with its word.

    >>> format_absolute(150_000.0)
    '150 kPa abs'
    """
    return f"{format_pressure(pa_abs, unit, digits=digits)} abs"


def format_gauge(pa_gauge: float, unit: str = "kPa", *, digits: int = 3) -> str:
    """A pressure in Pa against ambient, with its word; negative is vacuum (inHg in the US system).

    >>> format_gauge(-54_182.0, UnitSystem.US), format_gauge(55_158.0, "psi")
    ('16 inHg vacuum', '8 psi gauge')
    """
    if pa_gauge >= 0:
        return f"{format_pressure(pa_gauge, unit, digits=digits)} gauge"
    if unit in _SHOWN:
        unit = _SHOWN[UnitSystem(unit)]["a vacuum"]
    return f"{format_pressure(-pa_gauge, unit, digits=digits)} vacuum"


def format_level(level: PressureLevel, unit: str = "kPa", *, digits: int = 3) -> str:
    """A pressure level with its word.

    >>> format_level(PressureLevel(-55_000.0, "gauge"))
    '55 kPa vacuum'
    """
    write = format_absolute if level.reference == "absolute" else format_gauge
    return write(level.value_pa, unit, digits=digits)


def format_length(m: float, unit: str = "mm", *, digits: int = 4) -> str:
    """A length in m.

    >>> format_length(0.00132), format_length(0.0013208, "us")
    ('1.32 mm', '0.052 in')
    """
    return format_value(units.LENGTH, m, unit, digits=digits)


def format_temperature(k: float, unit: str = "°C", *, digits: int = 3) -> str:
    """A temperature in K.

    >>> format_temperature(333.15), format_temperature(333.15, UnitSystem.US)
    ('60 °C', '140 °F')
    """
    return format_value(units.TEMPERATURE, k, unit, digits=digits)


def format_fraction(fraction: float, *, digits: int = 3) -> str:
    """A fraction as a percentage.

    >>> format_fraction(0.75)
    '75 %'
    """
    return format_value(units.FRACTION, fraction, "%", digits=digits)


def exact_text(kind: Kind, value: float) -> str:
    """The shortest text that :func:`parse` reads back as just this value.

    >>> exact_text(units.LENGTH, 0.0012)
    '1.2 mm'
    """
    si = next(unit for unit, factor in kind.units.items() if factor == 1.0 and unit not in kind.zeros)
    texts = [
        f"{_from_si(kind, value, unit):.{digits}g} {unit}" for unit in kind.written for digits in (6, 15)
    ]
    exact = [text for text in texts if _reads_back(kind, text, value)]
    return min(exact, key=len) if exact else f"{value!r} {si}"


def exact_level_text(level: PressureLevel) -> str:
    """The shortest text that reads back as just this pressure level.

    >>> exact_level_text(PressureLevel(-55_000.0, "gauge"))
    '55 kPa vacuum'
    """
    if level.reference == "absolute":
        return f"{exact_text(units.DIFFERENCE, level.value_pa)} abs"
    word = "vacuum" if level.value_pa < 0 else "gauge"
    return f"{exact_text(units.DIFFERENCE, abs(level.value_pa))} {word}"


def _reads_back(kind: Kind, text: str, value: float) -> bool:
    lenient = kind._replace(minimum=None)
    return parse(lenient, text) == value


def _from_si(kind: Kind, value: float, unit: str) -> float:
    factor = kind.units.get(unit)
    if factor is None:
        raise BadQuantity(f"'{unit}' is not a unit of {kind.noun.split(' ', 1)[1]}")
    if not isfinite(value):
        raise BadQuantity(f"{kind.noun} that is not a finite number cannot be written")
    return value / factor - kind.zeros.get(unit, 0.0)


def _number(value: float, digits: int) -> str:
    if value == 0:
        return "0"
    decimals = max(0, digits - 1 - floor(log10(abs(value))))
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text
