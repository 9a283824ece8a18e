"""Reading, bounding and writing quantities."""

from __future__ import annotations

import json
from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, TypeAdapter, ValidationError

from boostcarb.errors import BadDescription
from boostcarb.quantities import (
    Altitude,
    BadQuantity,
    Boost,
    Difference,
    Fraction,
    Length,
    Pressure,
    PressureLevel,
    SignedLength,
    Speed,
    Temperature,
    UnitSystem,
    Volume,
    bounded,
    exact_level_text,
    exact_text,
    format_gauge,
    format_length,
    format_pressure,
    format_value,
    parse,
    parse_fraction,
    parse_pressure,
    units,
)

KINDS = [
    units.LENGTH, units.AREA, units.VOLUME, units.DIFFERENCE, units.TEMPERATURE, units.VOLUME_FLOW,
    units.MASS_FLOW, units.SPEED, units.ANGLE, units.FORCE, units.DURATION, units.MASS, units.DENSITY,
    units.ACCELERATION,
]  # fmt: skip


class Jet(BaseModel):
    bore: Annotated[Length, bounded("0.1 mm", "100 mm", "a bore")]
    level: Pressure | None = None
    boost: Boost | None = None
    drop: Difference | None = None
    share: Annotated[Fraction, bounded(0.1, "90 %")] = 0.5


def message_of(found: object, of: type[object] = Length) -> str:
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(of).validate_python(found)
    error = caught.value.errors()[0]
    assert isinstance(error["ctx"]["error"], BadQuantity)
    return str(error["ctx"]["error"])


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("1.2 mm", 1.2e-3),
        ("1.2mm", 1.2e-3),
        ("  1.2   mm ", 1.2e-3),
        ("+.5 cm", 0.005),
        ("2e-3 m", 2e-3),
        ("3/64 in", 3 / 64 * 0.0254),
        ("1 3/8 in", 1.375 * 0.0254),
        ("1-3/8 in", 1.375 * 0.0254),
        ("52 thou", 52 * 0.0254 / 1000),
        ("#55 drill", 0.052 * 0.0254),
        ("D drill", 0.246 * 0.0254),
        ("40 μm", 40e-6),
        ("40 µm", 40e-6),
    ],
)
def test_reads_lengths(text: str, metres: float) -> None:
    assert parse(units.LENGTH, text) == pytest.approx(metres, rel=1e-15)


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (1.2, "found 1.2 without a unit; write for example '1.2 mm' or '3/64 in'"),
        (12, "found 12 without a unit"),
        ("1.2", "found '1.2' without a unit"),
        (True, "found true, which is not a length"),
        (None, "found nothing"),
        ([1], "found [1], which is not a length"),
        ("", "found '', which is not a length"),
        ("big", "found 'big', which is not a length"),
        ("1,2 mm", "write with a decimal point for example"),
        ("1.2 mmm", "did you mean 'mm'?"),
        ("1.2 MM", "did you mean 'mm'?"),
        ("2 inches", "write '2 in'"),
        ("5 kPa", "'kPa' is not a unit of length"),
        ("nan mm", "is not a length"),
        ("inf mm", "is not a length"),
        ("1e999 mm", "too large"),
        ("9" * 50 + "/1 in", "too large"),
        ("1/0 in", "divides by zero"),
        ("1.2.3 mm", "is not a length"),
        ("1 2 mm", "'2 mm' is not a unit of length"),
        ("٣ mm", "is not a length"),
        ("-3 mm", "a length cannot be below zero"),
        ("-1/4 in", "a length cannot be below zero"),
        ("x" * 10_000, "too long for a length"),
        ("#55", "write '#55 drill'"),
        ("55 drill", "write '#55 drill'"),
        ("d drill", "write 'D drill'"),
        ("#55 Drill", "write '#55 drill'"),
        ("#81 drill", "'#1 drill' to '#80 drill'"),
        ("AA drill", "'A drill' to 'Z drill'"),
    ],
)
def test_refuses_what_is_no_length(found: object, said: str) -> None:
    assert said in message_of(found)


def test_huge_integers_are_refused_in_short() -> None:
    assert len(message_of(10**5000)) < 150
    assert len(message_of(10**400, Fraction)) < 150


def test_positions_and_altitudes_may_be_negative() -> None:
    assert TypeAdapter(SignedLength).validate_python("-3 mm") == pytest.approx(-3e-3)
    assert TypeAdapter(Altitude).validate_python("-86 m") == -86
    assert "an altitude lies between -500 m and 9000 m" in message_of("20 km", Altitude)


@pytest.mark.parametrize(
    ("text", "pascals", "reference"),
    [
        ("150 kPa abs", 150e3, "absolute"),
        ("1 bar gauge", 1e5, "gauge"),
        ("55 kPa vacuum", -55e3, "gauge"),
        ("-5 kPa gauge", -5e3, "gauge"),
        ("10 psi gauge", 68_947.57, "gauge"),
        ("16 inHg vacuum", -54_182.2, "gauge"),
    ],
)
def test_reads_pressure_levels(text: str, pascals: float, reference: str) -> None:
    for adapter in (TypeAdapter(Pressure), TypeAdapter(Boost)):
        level = adapter.validate_python(text)
        assert level.value_pa == pytest.approx(pascals, rel=1e-6)
        assert level.reference == reference


@pytest.mark.parametrize(
    ("found", "said"),
    [
        ("150 kPa", "'150 kPa gauge' (above ambient) or '150 kPa abs' (above zero)"),
        ("8 psig", "write '8 psi gauge'"),
        ("8 PSIG", "write '8 psi gauge'"),
        ("20 psia", "write '20 psi abs'"),
        ("1 barg", "write '1 bar gauge'"),
        ("1 bara", "write '1 bar abs'"),
        ("150 kPa absolute", "write '150 kPa abs'"),
        ("150 abs", "'' is not a unit"),
        (150, "found 150 without a unit; write for example '150 kPa abs' or '8 psi gauge'"),
        ("-1 kPa abs", "nothing is below zero absolute"),
        ("-16 inHg vacuum", "a vacuum is written without a sign"),
        ("40 inHg vacuum", "below a perfect vacuum"),
        ("-200 kPa gauge", "below a perfect vacuum"),
        ("8 psi guage", "not a unit"),
        (PressureLevel(1.0, "gauge"), "which is not a pressure"),
    ],
)
def test_refuses_unclear_pressures(found: object, said: str) -> None:
    assert said in message_of(found, Pressure)


def test_boost_is_gauge_by_its_name() -> None:
    assert parse_pressure("8 psi", bare_means_gauge=True) == parse_pressure("8 psi gauge")
    assert "boost is above ambient" in message_of("-8 psi", Boost)


@pytest.mark.parametrize("text", ["20 kPa abs", "20 kPa gauge", "20 kPa vacuum", "20 kPaa", "20 kPag"])
def test_a_difference_takes_no_reference(text: str) -> None:
    said = message_of(text, Difference)
    assert "lies between two places" in said
    assert "write '20 kPa'" in said


def test_gauge_needs_an_ambient_that_can_hold_it() -> None:
    assert PressureLevel(-50e3, "gauge").absolute(100e3) == pytest.approx(50e3)
    assert PressureLevel(150e3, "absolute").absolute(80e3) == 150e3
    with pytest.raises(BadDescription, match="more than the ambient pressure of 50 kPa"):
        PressureLevel(-60e3, "gauge").absolute(50e3)


@pytest.mark.parametrize(
    ("found", "fraction"), [("75 %", 0.75), ("75%", 0.75), (0.75, 0.75), ("0.75", 0.75), (0, 0)]
)
def test_reads_fractions(found: object, fraction: float) -> None:
    assert parse_fraction(found) == pytest.approx(fraction)


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (75, "write '75 %' or 0.75"),
        (-0.1, "cannot be below zero"),
        ("-5 %", "cannot be below zero"),
        (True, "found true"),
        (float("nan"), "found nan"),
        (float("inf"), "found inf"),
        ("75 percent", "write '75 %'"),
    ],
)
def test_refuses_what_is_no_fraction(found: object, said: str) -> None:
    assert said in message_of(found, Fraction)


def test_temperatures_have_their_zeros() -> None:
    adapter = TypeAdapter(Temperature)
    assert adapter.validate_python("0 degC") == 273.15
    assert adapter.validate_python("-40 °F") == pytest.approx(adapter.validate_python("-40 °C"))
    assert "cannot be below absolute zero" in message_of("-274 degC", Temperature)
    assert "write '60 degC'" in message_of("60 C", Temperature)


@pytest.mark.parametrize("found", ["3 m", "0.01 mm"])
def test_bounds_name_the_thing_and_its_range(found: str) -> None:
    with pytest.raises(ValidationError, match=f"is {found}; a bore lies between 0.1 mm and 100 mm"):
        Jet.model_validate({"bore": found})


def test_bounds_take_their_own_limits_and_may_be_open() -> None:
    assert Jet.model_validate({"bore": "0.1 mm"}).bore == 1e-4
    assert Jet.model_validate({"bore": "100 mm", "share": "90 %"}).share == 0.9
    at_most = TypeAdapter(Annotated[Volume, bounded(None, "30 l")])
    at_least = TypeAdapter(Annotated[Speed, bounded("300 rpm", None)])
    with pytest.raises(ValidationError, match="is 31 l; must be at most 30 l"):
        at_most.validate_python("31 l")
    with pytest.raises(ValidationError, match="is 1 rpm; must be at least 300 rpm"):
        at_least.validate_python("1 rpm")
    with pytest.raises(BadQuantity, match="not a known unit"):
        bounded("1 furlong", None)


def test_bounds_on_pressure_levels_compare_absolute() -> None:
    adapter = TypeAdapter(Annotated[Boost, bounded("0 psi gauge", "60 psi gauge", "boost")])
    assert adapter.validate_python("150 kPa abs").value_pa == 150e3
    with pytest.raises(ValidationError, match="is 80 kPa abs; boost lies between"):
        adapter.validate_python("80 kPa abs")


def test_schema_is_a_text_with_pattern_and_examples() -> None:
    properties = Jet.model_json_schema()["properties"]
    assert properties["bore"]["type"] == "string"
    assert properties["bore"]["examples"] == ["1.2 mm", "3/64 in"]
    assert {entry["type"] for entry in properties["share"]["anyOf"]} == {"number", "string"}


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.noun)
def test_schema_pattern_accepts_every_unit_and_example(kind: units.Kind) -> None:
    import jsonschema

    from boostcarb.quantities.fields import Written

    schema = TypeAdapter(Annotated[float, Written(kind)]).json_schema()
    for text in (*kind.examples, *(f"1.5e2 {unit}" for unit in kind.units)):
        jsonschema.validate(text, schema)
        parse(kind, text)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate("1.5", schema)


def test_no_unit_belongs_to_two_kinds() -> None:
    """But for g, grams and gravities: a bound of an acceleration is written in m/s2."""
    names = [unit for kind in (*KINDS, units.FRACTION) for unit in kind.units]
    assert [unit for unit in set(names) if names.count(unit) > 1] == ["g"]


def test_a_model_written_as_json_reads_back_the_same() -> None:
    jet = Jet.model_validate(
        {"bore": "#55 drill", "level": "16 inHg vacuum", "boost": "8 psi", "drop": "1.5 inHg"}
    )
    written = json.loads(jet.model_dump_json())
    assert written["boost"] == "8 psi gauge"
    assert written["drop"] == "1.5 inHg"
    assert Jet.model_validate(written) == jet


@given(st.sampled_from(KINDS), st.floats(min_value=0, max_value=1e12, allow_subnormal=False))
def test_exact_text_reads_back_exactly(kind: units.Kind, value: float) -> None:
    assert parse(kind, exact_text(kind, value)) == value


@given(
    st.floats(min_value=-1e5, max_value=1e7, allow_subnormal=False), st.sampled_from(["absolute", "gauge"])
)
def test_exact_level_text_reads_back_exactly(value: float, reference: str) -> None:
    level = PressureLevel(abs(value) if reference == "absolute" else value, reference)  # type: ignore[arg-type]
    assert parse_pressure(exact_level_text(level)) == level


@given(st.data(), st.floats(min_value=1e-6, max_value=1e6))
def test_short_text_is_within_its_digits(data: st.DataObject, value: float) -> None:
    kind = data.draw(st.sampled_from([kind for kind in KINDS if not kind.zeros]))
    unit = data.draw(st.sampled_from(sorted(kind.units)))
    si = value * kind.units[unit]
    assert parse(kind, format_value(kind, si, unit)) == pytest.approx(si, rel=5.001e-3)


@given(st.one_of(st.text(), st.integers(), st.floats(), st.none(), st.booleans(), st.binary()))
def test_anything_is_read_or_refused_in_words(found: object) -> None:
    for read in (parse_pressure, parse_fraction, *(lambda f, kind=kind: parse(kind, f) for kind in KINDS)):
        message = "nothing to say"
        try:
            read(found)
        except BadQuantity as refused:
            message = str(refused)
        assert 10 < len(message) < 300


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        (format_pressure(101_325.0), "101 kPa"),
        (format_pressure(0.0), "0 kPa"),
        (format_pressure(-1e-9), "-0.000000000001 kPa"),
        (format_pressure(1_234_567.0), "1235 kPa"),
        (format_pressure(5079.58, "inHg"), "1.5 inHg"),
        (format_pressure(55_158.0, UnitSystem.US), "8 psi"),
        (format_length(0.034925), "34.92 mm"),
        (format_length(0.034925, UnitSystem.US), "1.375 in"),
        (format_gauge(-54_182.2, UnitSystem.US), "16 inHg vacuum"),
        (format_gauge(-54_182.2, UnitSystem.METRIC), "54.2 kPa vacuum"),
        (format_gauge(0.0), "0 kPa gauge"),
    ],
)
def test_short_forms(text: str, shown: str) -> None:
    assert text == shown


@pytest.mark.parametrize("system", list(UnitSystem))
def test_both_systems_have_a_unit_for_every_kind(system: UnitSystem) -> None:
    for kind in (*KINDS, units.FRACTION, units.ALTITUDE):
        assert format_value(kind, 300.0, system)


def test_a_number_that_is_not_finite_is_never_shown() -> None:
    with pytest.raises(BadQuantity, match="not a finite number"):
        format_pressure(float("nan"))
    with pytest.raises(BadQuantity, match="'mm' is not a unit of pressure difference"):
        format_pressure(1.0, "mm")
