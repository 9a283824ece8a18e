"""Reading quantities: a text with its unit becomes a number in SI."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import isfinite
from typing import Final, Literal, NoReturn

from boostcarb.drills import drill_diameter_m
from boostcarb.errors import BadDescription, Problem
from boostcarb.quantities import units
from boostcarb.quantities.units import Kind
from boostcarb.suggest import suggest

_LONGEST: Final = 60
_FRACTION_LIMIT: Final = 2.0  # a plain number above this is a percentage with its sign forgotten
_DEEPEST_GAUGE_PA: Final = -110_000.0  # below any ambient pressure on land
_NUMBER = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?(?![0-9.])"
_QUANTITY: Final = re.compile(rf"({_NUMBER})\s*(.*)", re.DOTALL)
_RATIO: Final = re.compile(r"([+-]?)(?:([0-9]+)[ -])?([0-9]+)/([0-9]+)\s*(.*)", re.DOTALL)
_REFERENCE_ENDINGS: Final = {"g": "gauge", "a": "abs", " absolute": "abs", " vac": "vacuum"}

Word = Literal["abs", "gauge", "vacuum"]
_WORDS: Final[dict[str, Word]] = {"abs": "abs", "gauge": "gauge", "vacuum": "vacuum"}


class BadQuantity(BadDescription, ValueError):
    """A quantity that cannot be read: the message says what was found and what to write."""

    def __init__(self, message: str) -> None:
        super().__init__(Problem(message))


@dataclass(frozen=True, slots=True)
class PressureLevel:
    """A pressure with its reference, so that gauge and absolute cannot be confused.

    Attributes:
        value_pa: Pa, counted from vacuum or from ambient; negative gauge is vacuum.
        reference: "absolute" or "gauge".
    """

    value_pa: float
    reference: Literal["absolute", "gauge"]

    def absolute(self, ambient_pa: float) -> float:
        """Pa absolute at an ambient pressure of ``ambient_pa`` (Pa absolute).

        Raises:
            BadQuantity: the gauge value lies below a perfect vacuum at this ambient.

        >>> PressureLevel(50_000.0, "gauge").absolute(100_000.0)
        150000.0
        """
        if self.reference == "absolute":
            return self.value_pa
        level = self.value_pa + ambient_pa
        if level < 0:
            raise BadQuantity(
                f"a vacuum of {-self.value_pa / 1e3:.4g} kPa is more than the ambient pressure"
                f" of {ambient_pa / 1e3:.4g} kPa; give a smaller vacuum"
            )
        return level


def parse(kind: Kind, found: object) -> float:
    """Read a quantity of one kind.

    Args:
        kind: what is expected, e.g. ``units.LENGTH``.
        found: the value from the file: a text such as "1.2 mm".

    Returns:
        The value in SI.

    Raises:
        BadQuantity: no unit, an unknown unit, not a number, out of range of a float, or negative
            where the kind cannot be.

    >>> parse(units.LENGTH, "1.2 mm")
    0.0012
    >>> parse(units.LENGTH, "3/64 in") == 3 / 64 * 0.0254
    True
    >>> parse(units.FORCE, 4)
    Traceback (most recent call last):
        ...
    boostcarb.quantities.reading.BadQuantity: found 4 without a unit; write for example '4 N' or '0.9 lbf'
    """
    text = _text(kind, found)
    if "mm" in kind.units:
        drill = _drill(text)
        if drill is not None:
            return drill
    number, unit = _split(kind, text)
    if kind.units is units.DIFFERENCE.units:
        _refuse_reference(kind, text, unit)
    return _at_least_minimum(kind, text, to_si(kind, text, number, unit))


def parse_fraction(found: object) -> float:
    """Read a dimensionless fraction, "75 %" or 0.75.

    Raises:
        BadQuantity: not a number, negative, or a plain number above 2 (a forgotten percent sign).

    >>> parse_fraction("75 %"), parse_fraction(0.75)
    (0.75, 0.75)
    """
    plain = _plain_number(found)
    if plain is None:
        return parse(units.FRACTION, found)
    if plain > _FRACTION_LIMIT:
        raise BadQuantity(f"found {_shown(found)}; write '{plain:g} %' or {plain / 100:g}")
    return _at_least_minimum(units.FRACTION, str(found), plain)


def parse_pressure(found: object, *, bare_means_gauge: bool = False) -> PressureLevel:
    """Read a pressure level, which must say what it counts from.

    Args:
        found: a text such as "150 kPa abs", "10 psi gauge" or "16 inHg vacuum".
        bare_means_gauge: for a boost, which is above ambient by its name: "8 psi" is gauge.

    Raises:
        BadQuantity: the word is missing, the unit is unknown, or no such pressure exists.

    >>> parse_pressure("150 kPa abs")
    PressureLevel(value_pa=150000.0, reference='absolute')
    >>> parse_pressure("55 kPa vacuum")
    PressureLevel(value_pa=-55000.0, reference='gauge')
    >>> parse_pressure("8 psi", bare_means_gauge=True).reference
    'gauge'
    """
    kind = units.BOOST if bare_means_gauge else units.PRESSURE
    text = _text(kind, found)
    number, unit = _split(kind, text)
    unit, word = _reference(unit)
    value_pa = to_si(kind, text, number, unit)
    if word is None:
        if not bare_means_gauge:
            raise BadQuantity(
                f"found '{text}', which does not say what it counts from;"
                f" write '{text} vacuum' (below ambient, as a vacuum gauge reads), '{text} gauge' (above ambient)"
                f" or '{text} abs' (above zero)"
            )
        if value_pa < 0:
            raise BadQuantity(f"found '{text}'; boost is above ambient: write for example '8 psi'")
        word = "gauge"
    return _level(text, word, value_pa)


def to_si(kind: Kind, text: str, number: float, unit: str) -> float:
    """Number and unit to SI; ``text`` is what the message quotes."""
    factor = kind.units.get(unit)
    if factor is None:
        _unknown_unit(kind, text, number, unit)
    value = (number + kind.zeros.get(unit, 0.0)) * factor
    if not isfinite(value):
        raise BadQuantity(f"found '{text}', which is too large; {_examples(kind)}")
    return value


def _text(kind: Kind, found: object) -> str:
    if found is None:
        raise BadQuantity(f"found nothing; {_examples(kind)}")
    if isinstance(found, bool) or not isinstance(found, str | int | float):
        raise BadQuantity(f"found {_shown(found)}, which is not {kind.noun}; {_examples(kind)}")
    if not isinstance(found, str):
        raise BadQuantity(f"found {_shown(found)} without a unit; {_examples(kind)}")
    text = " ".join(found[: 4 * _LONGEST].replace("μ", "µ").split())
    if len(text) > _LONGEST:
        raise BadQuantity(f"found '{text[:20]}...', which is too long for {kind.noun}; {_examples(kind)}")
    return text


def _split(kind: Kind, text: str) -> tuple[float, str]:
    ratio = _RATIO.fullmatch(text)
    if ratio is not None and ratio[5] == "in" and "in" in kind.units:
        return _ratio(kind, text, ratio), "in"
    match = _QUANTITY.fullmatch(text)
    comma = " with a decimal point" if re.match(r"[+-]?[0-9]*,[0-9]", text) else ""
    if match is None or comma:
        raise BadQuantity(f"found '{text}', which is not {kind.noun}; {_examples(kind, comma)}")
    if not match[2]:
        raise BadQuantity(f"found '{text}' without a unit; {_examples(kind)}")
    return float(match[1]), match[2]


def _ratio(kind: Kind, text: str, ratio: re.Match[str]) -> float:
    top, bottom = int(ratio[3]), int(ratio[4])
    if bottom == 0:
        raise BadQuantity(f"found '{text}', which divides by zero; {_examples(kind)}")
    size = int(ratio[2] or 0) + top / bottom if max(top, bottom) < 10**15 else float("inf")
    return -size if ratio[1] == "-" else size


def _drill(text: str) -> float | None:
    name, _, word = text.partition(" ")
    if word.lower() == "drill":
        diameter = drill_diameter_m(name)
        if diameter is not None and word == "drill":
            return diameter
        better = name.upper() if name.isalpha() else f"#{name.removeprefix('#')}"
        if drill_diameter_m(better) is not None:
            raise BadQuantity(f"found '{text}'; write '{better} drill'")
        raise BadQuantity(f"found '{text}'; drills are '#1 drill' to '#80 drill' and 'A drill' to 'Z drill'")
    if not word and (name.startswith("#") or (len(name) == 1 and name.isalpha())):
        better = name.upper()
        if drill_diameter_m(better) is not None:
            raise BadQuantity(f"found '{text}'; for that drill size write '{better} drill'")
    return None


def _reference(unit: str) -> tuple[str, Word | None]:
    """Split "psi gauge" into its unit and word; explain "psig" and its like."""
    head, _, tail = unit.rpartition(" ")
    if tail in _WORDS:
        return head, _WORDS[tail]
    return unit, None


def _level(text: str, word: Word, value_pa: float) -> PressureLevel:
    if word == "gauge":
        if value_pa < _DEEPEST_GAUGE_PA:
            raise BadQuantity(f"found '{text}', which is below a perfect vacuum; give a smaller vacuum")
        return PressureLevel(value_pa, "gauge")
    if value_pa < 0:
        hint = "a vacuum is written without a sign" if word == "vacuum" else "nothing is below zero absolute"
        raise BadQuantity(f"found '{text}'; {hint}: write for example '16 inHg vacuum' or '150 kPa abs'")
    if word == "abs":
        return PressureLevel(value_pa, "absolute")
    if -value_pa < _DEEPEST_GAUGE_PA:
        raise BadQuantity(f"found '{text}', which is below a perfect vacuum; give a smaller vacuum")
    return PressureLevel(-value_pa, "gauge")


def _refuse_reference(kind: Kind, text: str, unit: str) -> None:
    plain, word = _reference(unit)
    if word is None:
        plain, word = _run_together(unit)
    if word is not None:
        bare = text.removesuffix(unit) + plain
        raise BadQuantity(
            f"found '{text}', but {kind.noun} lies between two places and takes no 'abs', 'gauge' or"
            f" 'vacuum'; write '{bare}'"
        )


def _run_together(unit: str) -> tuple[str, Word | None]:
    for ending, word in _REFERENCE_ENDINGS.items():
        plain = unit.removesuffix(ending)
        if plain != unit and plain in units.PRESSURE.units:
            return plain, _WORDS[word]
    return unit, None


def _unknown_unit(kind: Kind, text: str, number: float, unit: str) -> NoReturn:
    if kind.units is units.PRESSURE.units:
        plain, word = _run_together(unit.lower() if unit.isupper() else unit)
        if word is not None:
            raise BadQuantity(f"found '{text}'; write '{number:g} {plain} {word}'")
    better = units.OTHER_SPELLINGS.get(unit) or units.OTHER_SPELLINGS.get(unit.lower())
    if better in kind.units:
        raise BadQuantity(f"found '{text}'; write '{number:g} {better}'")
    raise BadQuantity(
        f"found '{text}', and '{unit}' is not a unit of {kind.noun.split(' ', 1)[1]};"
        f" {suggest(unit, kind.units)}"
    )


def _at_least_minimum(kind: Kind, text: str, value: float) -> float:
    if kind.minimum is not None and value < kind.minimum:
        limit = "absolute zero" if kind.zeros else "zero"
        raise BadQuantity(f"found '{text}'; {kind.noun} cannot be below {limit}; {_examples(kind)}")
    return value


def _plain_number(found: object) -> float | None:
    if isinstance(found, str) and re.fullmatch(_NUMBER, found.strip()[:_LONGEST]):
        found = float(found)
    if isinstance(found, bool) or not isinstance(found, int | float):
        return None
    if not abs(found) <= 1e300:
        raise BadQuantity(f"found {_shown(found)}; {_examples(units.FRACTION)}")
    return float(found)


def _examples(kind: Kind, how: str = "") -> str:
    return f"write{how} for example '{kind.examples[0]}' or '{kind.examples[1]}'"


def _shown(found: object) -> str:
    if isinstance(found, int) and not isinstance(found, bool) and abs(found) > 10**_LONGEST:
        return "a very large number"
    text = {True: "true", False: "false"}[found] if isinstance(found, bool) else repr(found)
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}..."
