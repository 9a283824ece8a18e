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
