"""Which fuel, which lambda: names, ethanol content, custom fuels, targets in light boost."""

from __future__ import annotations

from typing import Any

import pytest
from metering_jobs import answer, as_found, model, point
from pydantic import ValidationError

from boostcarb.description.metering import FuelDetail, Measured, RightFor
from boostcarb.errors import BadDescription
from boostcarb.fueling.targets import USUAL


@pytest.mark.parametrize(
    ("fuel", "detail", "ratio"),
    [
        ("gasoline", None, 14.70),
        ("E10", None, 14.10),
        ("E85", {"ethanol": "74 %"}, 10.42),
        ("E85", None, 9.82),
        ("ethanol", None, 9.00),
        ("methanol", None, 6.47),
        ("custom", {"elements": {"carbon": 0.84117, "hydrogen": "15.883 %"}, "density": "692 kg/m3"}, 15.13),
    ],
)
def test_stoichiometric_ratio_follows_what_the_fuel_is(fuel: str, detail: dict[str, Any] | None, ratio: float) -> None:
    found = model("blow_through", fuel=fuel, fuel_detail=detail)
    assert found.fuel.stoichiometric_air_fuel_ratio == pytest.approx(ratio, abs=0.006)


@pytest.mark.parametrize(
    "sections",
    [
        {"fuel": "custom"},
        {"fuel": "custom", "fuel_detail": {"density": "750 kg/m3"}},
        {"fuel": "methanol", "fuel_detail": {"ethanol": "50 %"}},
        {"fuel": "gasoline", "fuel_detail": {"density": "750 kg/m3"}},
    ],
)
def test_a_detail_that_does_not_fit_the_fuel_is_refused(sections: dict[str, Any]) -> None:
    with pytest.raises(BadDescription) as caught:
        model("blow_through", **sections)
    problem = caught.value.problems[0]
    assert any(word in problem.message for word in ("custom", "ethanol"))
    assert problem.line is not None


@pytest.mark.parametrize(
    "detail",
    [
        {"elements": {"carbon": 0.9, "hydrogen": 0.2}},
        {"elements": {"carbon": 0.1, "hydrogen": 0.02, "oxygen": 0.88}},
        {"density": "2 kg/l"},
    ],
)
def test_an_impossible_composition_is_refused(detail: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        FuelDetail.model_validate(detail)


def test_words_of_a_reading_are_checked() -> None:
    assert Measured.model_validate({"state": "cruise", "lambda": 0.98}).lambda_ == 0.98
    for wrong in ({"state": "cruise"}, {"state": "cruise", "lambda": 14.7}, {"state": "cruise", "lamda": 1.0}):
        with pytest.raises(ValidationError):
            Measured.model_validate(wrong)
    with pytest.raises(ValidationError):
        RightFor.model_validate({"fuel": "gasoline", "ethanol": "10 %"})


def test_more_ethanol_wants_more_fuel() -> None:
    """The same jets run leaner, nearly as the air that the fuel needs."""
    gasoline, winter, summer = (
        point(as_found("naturally_aspirated", fuel=fuel, fuel_detail=detail), "wide_open_redline").mixture
        for fuel, detail in (("gasoline", None), ("E85", {"ethanol": "60 %"}), ("E85", {"ethanol": "83 %"}))
    )
    assert gasoline < winter < summer
    assert summer / gasoline == pytest.approx(14.7 / 9.93 * (745 / 782) ** 0.5, rel=0.01)


def test_change_of_fuel_gives_the_ratio_of_areas() -> None:
    said = answer("blow_through", fuel="E85", metering={"right_for": {"fuel": "gasoline"}})
    change = said.fuel_change
    assert change is not None
    assert change.value == pytest.approx(14.7 / 9.82 * (745.0 / 782.7) ** 0.5, rel=2e-3)
    assert answer("blow_through", metering={"right_for": {"altitude": "0 m"}}).fuel_change is None


def test_area_ratio_is_what_the_sizes_need() -> None:
    """The same size for both fuels: the areas stand as the elementary law says, and a little more, as the nozzle, which
    stays the same, takes a larger share of the pull.
    """
    answers = [as_found("naturally_aspirated", fuel=fuel) for fuel in ("gasoline", "E85")]
    sizes = [each.sizes["primary"].sizes[0].area_m2 for each in answers]
    change = answer("naturally_aspirated", fuel="E85", metering={"right_for": {"fuel": "gasoline"}}).fuel_change
    assert change is not None
    assert change.value < sizes[1] / sizes[0] < 1.07 * change.value


def test_target_in_light_boost_lies_between() -> None:
    fueling = as_found("blow_through")
    wanted = {row.state: row.target for row in fueling.table}
    usual = USUAL["gasoline"]
    assert wanted["cruise"] == usual["cruise"][0]
    assert wanted["tip_in"] == wanted["wide_open_before_boost"] == usual["wide_open"][0]
    assert wanted["full_boost_torque_peak"] == wanted["full_boost_redline"] == usual["boost"][0]
    light, mid, deep = (wanted[f"part_throttle_boost_{name}"] for name in ("light", "mid", "deep"))
    assert usual["wide_open"][0] > light > mid > deep > usual["boost"][0]


@pytest.mark.parametrize("fuel", sorted(USUAL))
def test_usual_targets_lie_in_their_span_and_get_richer_with_load(fuel: str) -> None:
    values = []
    for value, low, high in USUAL[fuel].values():
        assert low <= value <= high
        values.append(value)
    assert values == sorted(values, reverse=True)


@pytest.mark.parametrize(
    ("targets", "says"),
    [
        ({"boost": 1.0, "wide_open": 1.0}, "too lean"),
        ({"boost": 0.9, "wide_open": 0.85}, "leaner than 0.85"),
        ({"boost": 0.9}, "leaner than 0.87, usual for this fuel"),
        ({"wide_open": 0.7}, "leaner than 0.70, as given"),
    ],
)
def test_a_boost_target_that_burns_pistons_is_refused(targets: dict[str, float], says: str) -> None:
    with pytest.raises(BadDescription) as caught:
        model("blow_through", metering={"targets": targets})
    problem = caught.value.problems[0]
    assert says in problem.message
    assert problem.line is not None


def test_a_target_outside_its_usual_span_is_said() -> None:
    said = answer("blow_through", metering={"targets": {"boost": 0.85, "cruise": 1.0}})
    assert [note.text for note in said.notes if "is leaner than the usual" in note.text] == [
        "The lambda wanted for boost, 0.85, is leaner than the usual 0.76 to 0.82."
    ]
    usual = answer("blow_through", metering={"targets": {"boost": 0.80}})
    assert not any("than the usual" in note.text for note in usual.notes)
