"""Field types for description models: written with a unit, held in SI."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated, Any, Final, TypeVar

from boostcarb.quantities import units
from boostcarb.quantities.formatting import exact_level_text, exact_text
from boostcarb.quantities.reading import (
    BadQuantity,
    PressureLevel,
    parse,
    parse_fraction,
    parse_pressure,
)
from boostcarb.quantities.units import STANDARD_ATMOSPHERE_PA, Kind

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
    from pydantic_core import CoreSchema

_Held = TypeVar("_Held", float, PressureLevel)
_NUMBER_PATTERN: Final = r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?"
_EVERY_KIND: Final = (
    units.LENGTH, units.AREA, units.VOLUME, units.DIFFERENCE, units.TEMPERATURE, units.VOLUME_FLOW,
    units.MASS_FLOW, units.SPEED, units.ANGLE, units.FORCE, units.DURATION, units.MASS, units.DENSITY,
    units.ACCELERATION, units.FRACTION,
)  # fmt: skip


class Written:
    """Annotation of a field that is written as a text with a unit.

    Args:
        kind: the units and examples.
        read: from the written value to the held one.
        write: the reverse, used when a model is dumped in JSON mode.
    """

    __slots__ = ("kind", "read", "write")

    def __init__(
        self,
        kind: Kind,
        read: Callable[[object], object] | None = None,
        write: Callable[[Any], object] | None = None,
    ) -> None:
        self.kind = kind
        self.read = read or (lambda found: parse(kind, found))
        self.write = write or (lambda value: exact_text(kind, value))

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        from pydantic_core import core_schema  # noqa: PLC0415  quantities alone need no pydantic

        return core_schema.no_info_plain_validator_function(
            self.read,
            serialization=core_schema.plain_serializer_function_ser_schema(self.write, when_used="json"),
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        text: dict[str, Any] = {
            "type": "string",
            "pattern": _pattern(self.kind),
            "description": f"{self.kind.noun} with its unit: {', '.join(self.kind.units)}",
            "examples": list(self.kind.examples),
        }
        if self.kind is units.FRACTION:
            number = {"type": "number", "minimum": 0, "maximum": 2}
            return {"anyOf": [number, text | {"examples": [self.kind.examples[0]]}]}
        return text


class Bounds:
    """Annotation of a field that must lie between two limits; made by :func:`bounded`.

    Attributes:
        low: least value allowed, as written, or None.
        high: greatest value allowed, as written, or None.
        what: the thing with its article, for the message, or nothing.
    """

    __slots__ = ("high", "high_si", "low", "low_si", "what")

    def __init__(self, low: str | float | None, high: str | float | None, what: str) -> None:
        self.low, self.high, self.what = low, high, what
        self.low_si = None if low is None else _limit(low)
        self.high_si = None if high is None else _limit(high)

    def check(self, value: _Held, found: object) -> _Held:
        """Return the value, or say that what was found lies outside.

        Raises:
            BadQuantity: outside the limits.
        """
        size = _comparable(value)
        if (self.low_si is None or size >= self.low_si) and (self.high_si is None or size <= self.high_si):
            return value
        raise BadQuantity(f"is {str(found)[:60]}; {self._range()}")

    def _range(self) -> str:
        be, lie = (f"{self.what} is", f"{self.what} lies") if self.what else ("must be", "must lie")
        if self.low is None:
            return f"{be} at most {self.high}"
        if self.high is None:
            return f"{be} at least {self.low}"
        return f"{lie} between {self.low} and {self.high}"

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        from pydantic_core import core_schema  # noqa: PLC0415  quantities alone need no pydantic

        def checked(found: Any, inner: Callable[[Any], Any]) -> Any:
            return self.check(inner(found), found)

        return core_schema.no_info_wrap_validator_function(checked, handler(source))


def bounded(low: str | float | None, high: str | float | None, what: str = "") -> Bounds:
    """Bound a quantity: ``Annotated[Length, bounded("0.1 mm", "100 mm", "a bore")]``.

    A limit is written like the field itself; None leaves that side open. A fraction's limit may be
    a plain number. Pressure levels compare at the standard atmosphere when their words differ.

    >>> bounded("0.1 mm", "100 mm", "a bore").check(3.0, "3 m")
    Traceback (most recent call last):
        ...
    boostcarb.quantities.reading.BadQuantity: is 3 m; a bore lies between 0.1 mm and 100 mm
    """
    return Bounds(low, high, what)


def _comparable(value: float | PressureLevel) -> float:
    return value.absolute(STANDARD_ATMOSPHERE_PA) if isinstance(value, PressureLevel) else value


def _limit(text: str | float) -> float:
    if not isinstance(text, str):
        return float(text)
    unit = text.lstrip("+-0123456789./ ")
    if unit.endswith((" abs", " gauge", " vacuum")):
        return _comparable(parse_pressure(text))
    for kind in _EVERY_KIND:
        if unit in kind.units:
            return parse(kind._replace(minimum=None), text)
    raise BadQuantity(f"'{text}' is no limit: '{unit}' is not a known unit")


Length = Annotated[float, Written(units.LENGTH)]
"""A size in m, not negative; also "#55 drill", "D drill" and "3/64 in"."""
SignedLength = Annotated[float, Written(units.SIGNED_LENGTH)]
"""A position or offset in m, which may be negative."""
Altitude = Annotated[float, Written(units.ALTITUDE), bounded("-500 m", "9000 m", "an altitude")]
"""Height above sea level in m, which may be negative."""
Area = Annotated[float, Written(units.AREA)]
"""m2."""
Volume = Annotated[float, Written(units.VOLUME)]
"""m3."""
Difference = Annotated[float, Written(units.DIFFERENCE)]
"""A pressure difference between two places in Pa, which may be negative."""
Temperature = Annotated[float, Written(units.TEMPERATURE)]
"""K."""
VolumeFlow = Annotated[float, Written(units.VOLUME_FLOW)]
"""m3/s."""
MassFlow = Annotated[float, Written(units.MASS_FLOW)]
"""kg/s."""
Speed = Annotated[float, Written(units.SPEED)]
"""rev/s."""
Angle = Annotated[float, Written(units.ANGLE)]
"""rad, which may be negative."""
Force = Annotated[float, Written(units.FORCE)]
"""N."""
Duration = Annotated[float, Written(units.DURATION)]
"""s."""
Mass = Annotated[float, Written(units.MASS)]
"""kg."""
Density = Annotated[float, Written(units.DENSITY)]
"""kg/m3."""
Acceleration = Annotated[float, Written(units.ACCELERATION)]
"""m/s2, not negative; "0.8 g" is eight tenths of gravity."""
Fraction = Annotated[float, Written(units.FRACTION, parse_fraction, lambda value: value)]
"""Dimensionless, not negative."""
Pressure = Annotated[PressureLevel, Written(units.PRESSURE, parse_pressure, exact_level_text)]
"""A pressure level, which says "abs", "gauge" or "vacuum"."""
Boost = Annotated[
    PressureLevel,
    Written(units.BOOST, lambda found: parse_pressure(found, bare_means_gauge=True), exact_level_text),
]
"""A pressure level that is gauge unless it says otherwise."""


def _pattern(kind: Kind) -> str:
    choice = "|".join(sorted(kind.units, key=len, reverse=True))
    number = _NUMBER_PATTERN
    if kind is units.PRESSURE:
        return rf"^{number} ?({choice}) (abs|gauge|vacuum)$"
    if kind is units.BOOST:
        return rf"^{number} ?({choice})( (abs|gauge|vacuum))?$"
    if kind.units is units.LENGTH.units:
        return rf"^({number} ?({choice})|[+-]?([0-9]+[ -])?[0-9]+/[0-9]+ ?in|(#[0-9]+|[A-Z]) drill)$"
    return rf"^{number} ?({choice})$"
