"""The whole answer: three configurations, notes, and the work behind every number."""

from __future__ import annotations

import math

import pytest
from metering_jobs import answer

from boostcarb.fueling.answer import FuelAnswer, lambda_at
from boostcarb.fueling.circuit import Origin
from boostcarb.fueling.records import Worked


@pytest.fixture(scope="module")
def street() -> FuelAnswer:
    return answer("blow_through", proposed={"secondary.main_jets": "for_full_boost"})


def test_three_configurations(street: FuelAnswer) -> None:
    assert list(street.configurations) == ["as_found", "proposed", "planned"]
    found, proposed, planned = (lambda_at(each, "full load") for each in street.configurations.values())
    assert found is not None
    assert proposed is not None
    assert planned is not None
    assert found > proposed
    assert planned <= street.targets.loads["boost"].value
    assert street.clean


def test_every_number_has_its_work(street: FuelAnswer) -> None:
    for name, fueling in street.configurations.items():
        for row in fueling.table:
            for group in row.groups:
                if group.leanest is None or group.leanest is not group.richest:
                    continue
                place = f"{name}/{row.state}/{group.group}"
                assert street.work[f"{place}/lambda"].value == group.leanest.mixture
                assert street.work[f"{place}/fuel"].value == group.leanest.fuel_kg_s
                assert group.pull is not None
                assert street.work[f"{place}/lean_shift"].value == pytest.approx(row.lean_shift, rel=1e-12)
    assert street.stages
    for place, sizes in (("sizes", street.sizes), ("stages", street.stages)):
        for size in sizes:
            assert street.work[f"{place}/{size.group}/{size.part.name}/bore"].value == size.bore_m


def inputs(worked: Worked) -> dict[str, float]:
    return {each.name: each.value for each in worked.inputs}


def test_work_can_be_followed_by_hand(street: FuelAnswer) -> None:
    """The formulas, worked out here anew from the inputs they list, give the numbers they stand for."""
    place = "planned/full_boost_redline/primary"
    work = street.work
    given = inputs(work[f"{place}/fuel"])
    jets = given["effective area of the main jets"] + given["effective area of the open channels"]
    head = given["bowl"] - given["main well"] - given["density of the fuel"] * given["g"] * given["spill height"]
    fuel = jets * math.sqrt(2.0 * given["density of the fuel"] * head)
    assert work[f"{place}/fuel"].value == pytest.approx(fuel, rel=1e-6)
    assert len(work[f"{place}/fuel"].inputs) == 7

    bleed = inputs(work[f"{place}/bleed_air"])
    ratio = bleed["main well"] / bleed["air horn"]
    flow_function = math.sqrt(2 * 1.4 / 0.4 * (ratio ** (2 / 1.4) - ratio ** (2.4 / 1.4)))
    air = bleed["effective area of the bleed"] * bleed["air horn"] * flow_function
    air /= math.sqrt(287.05307 * bleed["air horn temperature"])
    assert work[f"{place}/bleed_air"].value == pytest.approx(air, rel=1e-5)

    well = inputs(work[f"{place}/well"])
    volume = fuel / 745.0 + air * 287.05307 * bleed["air horn temperature"] / work[f"{place}/well"].value
    nozzle = well["effective area of the nozzle"]
    rise = work[f"{place}/well"].value - well["booster throat"]
    assert (fuel + air) ** 2 == pytest.approx(2.0 * nozzle**2 * (fuel + air) / volume * rise, rel=1e-5)

    area = inputs(work["planned/holes/primary.main_jet_hole/area"])
    holes = area["holes"] * area["discharge coefficient"] * math.pi / 4 * area["bore"] ** 2
    assert work["planned/holes/primary.main_jet_hole/area"].value == pytest.approx(holes, rel=1e-12)


def test_every_work_names_formula_inputs_and_source(street: FuelAnswer) -> None:
    assert len(street.work) > 200
    for name, worked in street.work.items():
        assert worked.formula, name
        assert worked.source, name
        assert worked.inputs, name
        assert all(each.origin for each in worked.inputs), name
        assert math.isfinite(worked.value), name


def test_planned_holes_are_the_drills_to_fit(street: FuelAnswer) -> None:
    for size in street.sizes:
        circuit = street.planned.circuits[size.group]
        holes = [each for each in (circuit.main, circuit.restriction) if each and each.passage == size.found.passage]
        assert [(hole.bore_m, hole.origin) for hole in holes] == [(size.fit.diameter_m, Origin.computed)]


def test_effects_hold_the_planned_lambda(street: FuelAnswer) -> None:
    cruise = lambda_at(street.planned, "cruise")
    assert cruise is not None
    for effect in street.effects:
        assert effect.low <= effect.value <= effect.high
        low, high = effect.cruise
        assert low is not None
        assert high is not None
        assert min(low, high) <= cruise * (1 + 1e-9)
        assert max(low, high) >= cruise * (1 - 1e-9)


def test_a_reading_narrows_what_is_uncertain() -> None:
    def width(said: FuelAnswer) -> float:
        ends = [each.full_load for each in said.effects]
        return sum(abs(high - low) for low, high in ends if low is not None and high is not None)

    bores = {"primary.main_jet_hole": {"is": "open", "bore": "1.6 mm"}}
    loose = answer("blow_through", found=bores)
    full = {"state": "wide_open_before_boost", "lambda": 0.95}
    tight = answer("blow_through", found=bores, metering={"measured": [full]})
    assert width(tight) < 0.5 * width(loose)
    assert not any("transition circuit may feed" in note.text for note in tight.notes)


def test_readings_at_cruise_do_not_narrow_full_load() -> None:
    """The usual gain of 1.5 to 3.0 about 2.0, as shares of the calibrated one: 0.75 and 1.5 times."""
    bores = {"primary.main_jet_hole": {"is": "open", "bore": "1.6 mm"}}
    said = answer("blow_through", found=bores, metering={"measured": [{"state": "cruise", "lambda": 1.0}]})
    gain = next(each for each in said.effects if each.name == "booster_gain")
    usual = said.model.usual_factors.booster_gain
    assert gain.full_load_span == pytest.approx((1.5 / usual * gain.value, 3.0 / usual * gain.value))
    assert None not in gain.cruise + gain.full_load
    low, high = sorted(end for end in gain.full_load if end is not None)
    near, far = sorted(end for end in gain.cruise if end is not None)
    assert high / low > 1.2
    assert far / near < 1.06
    assert any("boost sizes may be about 10 % lean" in note.text for note in said.notes)


def test_nobody_gave_bores(street: FuelAnswer) -> None:
    assert any("is not judged" in note.text for note in street.notes)
    known = answer("blow_through", found={"primary.main_jet_hole": {"is": "open", "bore": "1.6 mm"}})
    assert not any("is not judged" in note.text for note in known.notes)


def test_absurd_lambda_at_cruise_is_said() -> None:
    said = answer("blow_through", found={"primary.main_jet_hole": {"is": "open", "bore": "1 mm"}})
    assert any("absurd" in note.text and "measured lambda" in note.text for note in said.notes)


def test_wrong_vents_are_told_with_their_pressures() -> None:
    said = answer("blow_through", found={"primary.bowl_external_vent": "open"})
    note = next(note for note in said.notes if "vents are wrong" in note.text)
    assert note.configuration == "as_found"
    assert not note.blocks
    assert "kPa" in note.text


def test_no_plan_blocks() -> None:
    said = answer(
        "blow_through",
        found={"primary.bowl_external_vent": "open"},
        pinned={"keep": ["primary.bowl_external_vent"]},
    )
    assert not said.has_plan
    assert not said.clean
