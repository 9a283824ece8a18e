"""The units a description may use, with exact factors to SI.

Factors follow NIST Special Publication 811 (2008), appendix B: the international inch and pound,
standard gravity, conventional mercury (13 595.1 kg/m3) and conventional water (1000 kg/m3) columns,
and the US gallon of 231 cubic inches.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import pi
from typing import Final, NamedTuple

INCH: Final = 0.0254
FOOT: Final = 0.3048
POUND: Final = 0.45359237
GRAVITY: Final = 9.80665
GALLON: Final = 231 * INCH**3
STANDARD_ATMOSPHERE_PA: Final = 101_325.0


class Kind(NamedTuple):
    """One kind of quantity.

    Attributes:
        noun: the kind with its article, for messages.
        units: factor from each unit to SI.
        examples: two right spellings, for messages and schema.
        written: units tried when a value is written back, before the SI unit.
        minimum: least SI value that makes sense, or None.
        zeros: for scales with their own zero, what to add before the factor.
    """

    noun: str
    units: Mapping[str, float]
    examples: tuple[str, str]
    written: tuple[str, ...]
    minimum: float | None = 0.0
    zeros: Mapping[str, float] = {}


_LENGTHS = {
    "mm": 1e-3, "cm": 1e-2, "m": 1.0, "um": 1e-6, "µm": 1e-6, "km": 1e3,
    "in": INCH, "ft": FOOT, "thou": INCH / 1000,
}  # fmt: skip
LENGTH: Final = Kind("a length", _LENGTHS, ("1.2 mm", "3/64 in"), ("mm", "in", "m"))
SIGNED_LENGTH: Final = LENGTH._replace(minimum=None)
ALTITUDE: Final = Kind("an altitude", _LENGTHS, ("1500 m", "5000 ft"), ("m",), None)
AREA: Final = Kind(
    "an area",
    {"mm2": 1e-6, "cm2": 1e-4, "m2": 1.0, "in2": INCH**2, "sq in": INCH**2},
    ("3.5 mm2", "1.2 in2"),
    ("mm2", "in2", "m2"),
)
VOLUME: Final = Kind(
    "a volume",
    {
        "cm3": 1e-6, "cc": 1e-6, "ml": 1e-6, "mm3": 1e-9, "l": 1e-3, "liter": 1e-3, "m3": 1.0,
        "in3": INCH**3, "cu in": INCH**3, "gal": GALLON,
    },
    ("50 cm3", "350 cu in"),
    ("cm3", "l", "in3", "m3"),
)  # fmt: skip
_PRESSURES = {
    "kPa": 1e3, "Pa": 1.0, "hPa": 1e2, "mbar": 1e2, "bar": 1e5,
    "psi": POUND * GRAVITY / INCH**2,
    "inHg": 13_595.1 * GRAVITY * INCH, "mmHg": 13_595.1 * GRAVITY * 1e-3,
    "inH2O": 1000 * GRAVITY * INCH, "atm": STANDARD_ATMOSPHERE_PA,
}  # fmt: skip
DIFFERENCE: Final = Kind(
    "a pressure difference", _PRESSURES, ("20 kPa", "3 psi"), ("kPa", "psi", "inHg", "Pa"), None
)
PRESSURE: Final = DIFFERENCE._replace(noun="a pressure", examples=("150 kPa abs", "8 psi gauge"))
BOOST: Final = PRESSURE._replace(noun="a boost", examples=("8 psi", "155 kPa abs"))
TEMPERATURE: Final = Kind(
    "a temperature",
    {"degC": 1.0, "°C": 1.0, "degF": 5 / 9, "°F": 5 / 9, "K": 1.0},
    ("60 degC", "140 degF"),
    ("degC", "degF", "K"),
    zeros={"degC": 273.15, "°C": 273.15, "degF": 459.67, "°F": 459.67},
)
VOLUME_FLOW: Final = Kind(
    "a volume flow",
    {
        "cfm": FOOT**3 / 60, "l/min": 1e-3 / 60, "l/h": 1e-3 / 3600, "m3/h": 1 / 3600, "m3/s": 1.0,
        "gal/h": GALLON / 3600, "gal/min": GALLON / 60,
    },
    ("600 cfm", "120 l/h"),
    ("cfm", "l/h", "m3/h", "m3/s"),
)  # fmt: skip
MASS_FLOW: Final = Kind(
    "a mass flow",
    {"kg/h": 1 / 3600, "g/s": 1e-3, "kg/s": 1.0, "lb/min": POUND / 60, "lb/h": POUND / 3600},
    ("25 kg/h", "30 lb/min"),
    ("kg/h", "g/s", "lb/min", "kg/s"),
)
SPEED: Final = Kind("a speed", {"rpm": 1 / 60, "rev/s": 1.0}, ("800 rpm", "6500 rpm"), ("rpm", "rev/s"))
ANGLE: Final = Kind(
    "an angle", {"deg": pi / 180, "°": pi / 180, "rad": 1.0}, ("20 deg", "0.35 rad"), ("deg", "rad"), None
)
FORCE: Final = Kind("a force", {"N": 1.0, "lbf": POUND * GRAVITY}, ("4 N", "0.9 lbf"), ("N", "lbf"))
DURATION: Final = Kind(
    "a duration", {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0}, ("2 s", "50 ms"), ("s", "ms", "min")
)
MASS: Final = Kind(
    "a mass", {"kg": 1.0, "g": 1e-3, "lb": POUND, "oz": POUND / 16}, ("6 g", "0.2 oz"), ("g", "lb", "kg")
)
DENSITY: Final = Kind(
    "a density",
    {
        "kg/m3": 1.0,
        "g/cm3": 1e3,
        "kg/l": 1e3,
        "g/ml": 1e3,
        "lb/ft3": POUND / FOOT**3,
        "lb/gal": POUND / GALLON,
    },
    ("745 kg/m3", "0.745 kg/l"),
    ("kg/m3",),
)
ACCELERATION: Final = Kind(
    "an acceleration", {"g": GRAVITY, "m/s2": 1.0, "ft/s2": FOOT}, ("0.8 g", "8 m/s2"), ("g", "m/s2")
)
FRACTION: Final = Kind("a fraction", {"%": 0.01}, ("75 %", "0.75"), ("%",))

# Spellings that are common but not ours, with what to write instead.
OTHER_SPELLINGS: Final = {
    "inch": "in", "inches": "in", '"': "in", "''": "in", "feet": "ft", "foot": "ft", "'": "ft",
    "mil": "thou", "mils": "thou", "meter": "m", "meters": "m",
    "litre": "l", "liters": "l", "litres": "l", "cid": "cu in", "ci": "cu in", "ccm": "cm3",
    "mm²": "mm2", "cm²": "cm2", "m²": "m2", "cm³": "cm3", "m³": "m3", "kg/m³": "kg/m3", "m³/h": "m3/h",
    "C": "degC", "F": "degF", "deg C": "degC", "deg F": "degF", "° C": "degC", "° F": "degF",
    "celsius": "degC", "fahrenheit": "degF", "degK": "K", "kelvin": "K",
    "lbs": "lb", "lbs/min": "lb/min", "pounds": "lb", "gph": "gal/h", "lph": "l/h",
    "degrees": "deg", "degree": "deg", "sec": "s", "seconds": "s", "minutes": "min", "hours": "h",
    "percent": "%", "r/min": "rpm", "1/min": "rpm", "inwc": "inH2O", "inWC": "inH2O", "torr": "mmHg",
}  # fmt: skip
