"""Calibration: readings made by a known carburetor are given back, and what readings cannot tell is said."""

from __future__ import annotations

from typing import Any

import pytest
from metering_jobs import OPEN_IN_BOOST, answer, as_found, model, point

from boostcarb.errors import BadDescription
from boostcarb.fueling.metering import Factors
from boostcarb.fueling.model import FuelModel

BORES = {
    "primary.main_jet_hole": {"is": "open", "bore": "1.7 mm"},
    "secondary.main_jet_hole": {"is": "open", "bore": "1.8 mm"},
    **OPEN_IN_BOOST,
}


def readings(true: Factors, *states: str, error: float = 0.0) -> list[dict[str, Any]]:
    """What a wideband would show on a carburetor with these factors."""
    found = model("blow_through", found=BORES).variant(factors=true)
    table = {row.state: row.leanest for row in found.fueling(found.found).table}
    signs = [1.0, -1.0]
    values = []
    for index, state in enumerate(states):
        value = table[state]
        assert value is not None
        values.append({"state": state, "lambda": value * (1.0 + error * signs[index % 2])})
    return values


def calibrated(measured: list[dict[str, Any]]) -> FuelModel:
    return model("blow_through", found=BORES, metering={"measured": measured})


@pytest.mark.parametrize("gain", [1.5, 2.2, 3.1])
def test_one_reading_gives_back_the_gain(gain: float) -> None:
    found = calibrated(readings(Factors(booster_gain=gain), "cruise"))
    assert found.factors.booster_gain == pytest.approx(gain, rel=1e-6)
    assert found.calibration is not None
    assert found.calibration.readings[0].residual == pytest.approx(0.0, abs=1e-9)
    assert not found.calibration.at_limit


@pytest.mark.parametrize(("gain", "channels"), [(1.8, 0.8), (2.6, 1.2)])
def test_two_readings_give_back_two_factors(gain: float, channels: float) -> None:
    true = Factors(booster_gain=gain, channels=channels)
    found = calibrated(readings(true, "cruise", "part_throttle_boost_mid"))
    assert found.calibration is not None
    assert set(found.calibration.moved) == {"booster_gain", "channels"}
    assert found.factors.booster_gain == pytest.approx(gain, rel=1e-6)
    assert found.factors.channels == pytest.approx(channels, rel=1e-6)


def test_more_readings_are_met_as_well_as_can_be() -> None:
    """No small move of a factor makes the squares of the errors less."""
    measured = readings(Factors(booster_gain=2.0, channels=0.9), "cruise", "tip_in", "full_boost_redline", error=0.03)
    found = calibrated(measured)
    assert found.calibration is not None

    def worth(factors: Factors) -> float:
        table = {row.state: row.leanest for row in found.under(found.fueling(found.found), factors).table}
        return sum((table[each["state"]] / each["lambda"] - 1.0) ** 2 for each in measured)  # type: ignore[operator]

    best = worth(found.factors)
    assert any(abs(each.residual) > 0.005 for each in found.calibration.readings)
    for name in found.calibration.moved:
        for step in (0.97, 1.03):
            value = getattr(found.factors, name) * step
            assert worth(Factors(**{**_values(found.factors), name: value})) > best


def _values(factors: Factors) -> dict[str, float]:
    return {name: getattr(factors, name) for name in factors.__dataclass_fields__}


def test_readings_that_cannot_tell_two_causes_apart_move_one() -> None:
    found = calibrated(readings(Factors(booster_gain=2.0), "cruise", "cruise", error=0.01))
    assert found.calibration is not None
    assert found.calibration.one_factor_only
    assert list(found.calibration.moved) == ["booster_gain"]


def test_an_absurd_reading_stops_at_the_limit_and_blocks() -> None:
    said = answer("blow_through", found=BORES, metering={"measured": [{"state": "cruise", "lambda": 0.45}]})
    assert not said.clean
    assert any("not believed" in note.text and note.blocks for note in said.notes)


@pytest.mark.parametrize(
    ("reading", "says"),
    [
        ({"state": "idle", "lambda": 0.9}, "idle circuit"),
        ({"state": "cruse", "lambda": 1.0}, "no such running state 'cruse'"),
        ({"state": "cruise", "lambda": 1.0, "group": "third"}, "no such barrel group 'third'"),
        ({"state": "cruise", "lambda": 1.0, "group": "secondary"}, "throttles are shut"),
    ],
)
def test_a_reading_that_means_nothing_is_refused(reading: dict[str, Any], says: str) -> None:
    with pytest.raises(BadDescription) as caught:
        calibrated([reading])
    problem = caught.value.problems[0]
    assert says in problem.message
    assert problem.field == "metering.measured"
    assert problem.line is not None


def test_a_reading_of_one_group_counts_for_that_group() -> None:
    true = model("blow_through", found=BORES).variant(factors=Factors(booster_gain=2.6))
    value = point(true.fueling(true.found), "full_boost_redline", "secondary").mixture
    found = calibrated([{"state": "full_boost_redline", "group": "secondary", "lambda": value}])
    assert found.factors.booster_gain == pytest.approx(2.6, rel=1e-6)


def test_sizes_follow_the_calibration() -> None:
    """An engine that is measured lean at cruise gets larger main jets than the defaults would give it."""
    by_default = as_found("blow_through", found=BORES).sizes["primary"].sizes[0]
    lean = model("blow_through", found=BORES, metering={"measured": [{"state": "cruise", "lambda": 1.1}]})
    measured = lean.fueling(lean.found).sizes["primary"].sizes[0]
    before = point(as_found("blow_through", found=BORES), "cruise").mixture
    assert before < 1.1
    assert measured.bore_m > by_default.bore_m
    # Lambda goes nearly as one over the area: the found jets must grow by the factor by which they were lean.
    assert measured.area_ratio == pytest.approx(1.1, rel=0.05)


def test_unmeasured_jets_under_a_reading_are_pointed_out() -> None:
    said = answer("blow_through", metering={"measured": [{"state": "cruise", "lambda": 1.0}]})
    assert any("unmeasured bore" in note.text for note in said.notes)


@pytest.mark.parametrize("fuel", ["gasoline", "E85"])
def test_a_reading_is_of_the_fuel_for_which_the_jets_were_right(fuel: str) -> None:
    """The carburetor that was read does not know what fuel comes next: the gain is the same, and sizes grow.

    Gasoline to E85 by the elementary law: 14.70 / 9.82 x root of (745 / 782.7) = 1.46 times the area; the nozzle, which
    stays, takes a little more.
    """
    measured = [{"state": "cruise", "lambda": 1.0}]
    before = model("blow_through", found=BORES, metering={"measured": measured})
    now = model(
        "blow_through", found=BORES, fuel=fuel, metering={"measured": measured, "right_for": {"fuel": "gasoline"}}
    )
    assert now.factors.booster_gain == pytest.approx(before.factors.booster_gain, rel=1e-9)
    old, new = (each.fueling(each.found).sizes["primary"].sizes[0].area_m2 for each in (before, now))
    wanted = 1.0 if fuel == "gasoline" else 14.70 / 9.82 * (745.0 / 782.7) ** 0.5
    assert wanted * 0.999 <= new / old < 1.07 * wanted


def test_it_is_said_of_which_fuel_readings_are_taken_to_be() -> None:
    metering = {"measured": [{"state": "cruise", "lambda": 1.0}], "right_for": {"fuel": "gasoline"}}
    said = answer("blow_through", found=BORES, fuel="E85", metering=metering)
    assert any("taken as made on gasoline" in note.text for note in said.notes)
    assert not any("taken as made" in note.text for note in answer("blow_through", metering=metering).notes)


@pytest.mark.parametrize(("name", "value"), [("altitude", "2000 m"), ("temperature", "0 degC")])
def test_readings_from_another_place_are_refused(name: str, value: str) -> None:
    with pytest.raises(BadDescription) as caught:
        model(
            "blow_through", found=BORES,
            metering={"measured": [{"state": "cruise", "lambda": 1.0}], "right_for": {name: value}},
        )  # fmt: skip
    assert caught.value.problems[0].field == f"metering.right_for.{name}"
    assert "job's own site" in caught.value.problems[0].message


def test_a_factor_outside_its_usual_span_is_said() -> None:
    true = model("blow_through", found=BORES).variant(factors=Factors(booster_gain=3.6))
    value = next(row.leanest for row in true.fueling(true.found).table if row.state == "cruise")
    said = answer("blow_through", found=BORES, metering={"measured": [{"state": "cruise", "lambda": value}]})
    notes = [note.text for note in said.notes if "outside the usual 1.5 to 3" in note.text]
    assert len(notes) == 1
    assert "booster gain of 3.6" in notes[0]
