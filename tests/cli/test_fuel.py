"""`boostcarb fuel`: what to fit comes first, JSON is complete, and a plan carries the short part."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from command_line import JOB, Said, edited, line_of

Here = Callable[..., Said]


def record(said: Said) -> dict[str, Any]:
    assert said.err == ""
    loaded = json.loads(said.out, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))
    assert isinstance(loaded, dict)
    return loaded


def test_text_leads_with_what_to_fit(here: Here, job: Path) -> None:
    said = here("fuel", job)
    assert (said.code, said.err) == (0, "")
    order = [said.out.index(word) for word in ("FIT THESE", "[ ] primary main jets", "LAMBDA", "ASSUMED", "CAUTIONS")]
    assert order == sorted(order)
    assert "starting point" in said.out
    assert "wideband" in said.out
    assert not [line for line in said.out.splitlines() if line != line.rstrip()]
    assert "inf" not in said.out.split()
    assert "nan" not in said.out


def test_us_units_are_inches(here: Here, job: Path) -> None:
    metric, us = here("fuel", job), here("fuel", job, "--units", "us")
    assert us.code == 0
    assert " in)" in us.out
    assert metric.out != us.out


def test_json(here: Here, job: Path) -> None:
    said = here("fuel", job, "--format", "json")
    answer = record(said)
    assert said.code == 0
    assert answer["schema"] == "boostcarb.fuel.v1"
    assert answer["job"]["file"] == str(job)
    assert answer["fuel"]["stoichiometric_air_fuel_ratio"] == pytest.approx(14.7, abs=0.01)
    parts = {(size["group"], size["part"]) for size in answer["sizes"]}
    assert parts == {("primary", "main jets"), ("primary", "channel restrictions"), ("secondary", "main jets")}
    for size in answer["sizes"]:
        assert size["fit"]["diameter_m"] >= size["bore_m"] - 1e-9
        assert [drill["place"] for drill in size["drills"]] == ["smaller", "nearest", "larger"] * 3
    states = {row["state"]: row for row in answer["states"]}
    idle = states["idle"]["configurations"]["planned"]
    assert idle["lambda"] is None
    assert idle["groups"]["primary"]["status"] == "idle"
    full = states["full_boost_redline"]["configurations"]["planned"]
    assert full["lambda"]["high"] <= full["target_lambda"] * (1 + 1e-9)
    assert answer["calibration"] is None
    assert answer["assumptions"]
    assert answer["cautions"]


def test_readings_are_shown_with_what_is_left(here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(JOB + "metering: {measured: [{state: cruise, lambda: 1.04}]}\n", encoding="utf-8")
    answer = record(here("fuel", path, "--format", "json"))
    reading = answer["calibration"]["readings"][0]
    assert reading["measured"] == 1.04
    assert reading["after"] == pytest.approx(1.04, abs=1e-6)
    assert "CALIBRATED" in here("fuel", path).out


def test_a_proposal_stands_between_found_and_planned(here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(JOB + "proposed: {secondary.main_jets: for_full_boost}\n", encoding="utf-8")
    answer = record(here("fuel", path, "--format", "json"))
    assert list(answer["states"][0]["configurations"]) == ["as_found", "proposed", "planned"]
    assert "as proposed" in here("fuel", path).out


def test_change_of_fuel_is_told(here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    before = "metering: {right_for: {fuel: gasoline}}\n"
    text = edited("fuel: gasoline\n", "fuel: E85\nfuel_detail: {ethanol: 74 %}\n" + before)
    path.write_text(text, encoding="utf-8")
    answer = record(here("fuel", path, "--format", "json"))
    assert answer["fuel_change"]["value"] == pytest.approx(14.7 / 10.42 * (745 / 777.9) ** 0.5, rel=2e-3)
    assert "CHANGE OF FUEL" in here("fuel", path).out


def test_no_plan_blocks(here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    text = edited("  choke: hot_air\n", "  choke: hot_air\n  primary.bowl_external_vent: open\n")
    path.write_text(text + "pinned: {keep: [primary.bowl_external_vent]}\n", encoding="utf-8")
    said = here("fuel", path)
    assert said.code == 1
    assert "No plan exists" in said.out


@pytest.mark.parametrize(
    ("extra", "field", "says"),
    [
        ("metering: {measured: [{state: idle, lambda: 0.9}]}\n", "metering.measured", "idle circuit"),
        ("metering: {measured: [{state: cruise, lambda: 14.2}]}\n", "metering.measured", "at most 1.6"),
        ("metering: {targets: {boost: 2}}\n", "metering.targets.boost", "at most 1.6"),
        ("fuel_detail: {ethanol: 70 %}\n", "fuel_detail", "ethanol"),
    ],
)
def test_bad_input_names_its_line(extra: str, field: str, says: str, here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(JOB + extra, encoding="utf-8")
    said = here("fuel", path)
    assert said.code == 2
    assert said.out == ""
    assert f"{path}:{line_of(JOB + extra, extra.split(':', 1)[0])}: {field}" in said.err
    assert says in said.err


def test_plan_carries_the_short_part(here: Here, job: Path) -> None:
    said = here("plan", job)
    assert said.out.index("WHY") < said.out.index("FUEL") < said.out.index("NUMBERS")
    answer = record(here("plan", job, "--format", "json"))
    full = record(here("fuel", job, "--format", "json"))
    assert answer["fuel"]["sizes"] == full["sizes"]
    planned = [row["configurations"]["planned"] for row in full["states"]]
    assert [row["configurations"]["planned"] for row in answer["fuel"]["states"]] == planned


def test_measured_jets_that_are_too_small_become_a_change(here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    small = "  primary.main_jet_hole: {is: open, bore: 1.5 mm}\n  primary.power_restriction: {is: open, bore: 0.5 mm}\n"
    path.write_text(edited("  choke: hot_air\n", "  choke: hot_air\n" + small), encoding="utf-8")
    before = record(here("review", path, "--format", "json"))
    assert before["mixture_judged"] is True
    assert "lean_in_boost" in {finding["rule"] for finding in before["findings"]}
    plan = record(here("plan", path, "--format", "json"))
    assert plan["clean"] is True
    change = next(change for change in plan["changes"] if change["item"] == "primary.jet_sizes")
    assert change["to"] == "as_computed"
    assert {reason["rule"] for reason in change["reasons"]} & {"lean_in_boost", "lean_at_full_load_before_boost"}


def test_review_says_when_it_cannot_judge_the_mixture(here: Here, job: Path) -> None:
    assert "- the mixture: found.primary.main_jet_hole.bore" in here("review", job).out
    assert record(here("review", job, "--format", "json"))["mixture_judged"] is False


def test_a_proposal_of_small_jets_is_judged_harmful(here: Here, tmp_path: Path) -> None:
    """With a lambda measured on the jets as found, other jets under the same calibration."""
    path = tmp_path / "job.yaml"
    jets = "  secondary.main_jet_hole: {is: open, bore: 2.05 mm}\n"
    text = edited("  choke: hot_air\n", "  choke: hot_air\n  secondary.main_jets: for_full_boost\n" + jets)
    text += "proposed: {secondary.main_jet_hole: {is: open, bore: 1.6 mm}}\n"
    path.write_text(text + "metering: {measured: [{state: cruise, lambda: 1.0}]}\n", encoding="utf-8")
    review = record(here("review", path, "--format", "json"))
    change = next(each for each in review["proposed"] if each["item"] == "secondary.main_jet_hole")
    assert "lean_in_boost" in {finding["rule"] for finding in change["causes"] if finding["place"] == "secondary"}
    answer = record(here("fuel", path, "--format", "json"))
    full = next(row for row in answer["states"] if row["state"] == "full_boost_redline")["configurations"]
    found, proposed = (full[name]["groups"]["secondary"]["lambda"]["high"] for name in ("as_found", "proposed"))
    assert proposed > 1.3 * found
    assert answer["holes"]["proposed"]["secondary"]["main"]["bore_m"] == pytest.approx(1.6e-3)


def test_how_sure_is_seeded_and_named(here: Here, job: Path) -> None:
    asked = ("fuel", job, "--how-sure", "--samples", "400", "--format", "json")
    said = here(*asked)
    assert said == here(*asked)
    sure = record(said)["how_sure"]
    assert (sure["of"], sure["samples"], sure["seed"]) == ("planned", 400, 1)
    first = sure["states"][0]
    assert first["state"].startswith("full_boost")
    low, middle, high = (first["lambda_percentiles"][each] for each in ("5", "50", "95"))
    assert low < middle < high
    assert first["dominated_by"][0]["share"] > 0.2
    assert {spread["name"] for spread in sure["spreads"]} >= {"booster_gain", "jets", "boost", "fuel_density"}
    assert record(here(*asked, "--seed", "2"))["how_sure"]["states"] != sure["states"]
    assert record(here("fuel", job, "--format", "json"))["how_sure"] is None


def test_how_sure_in_text(here: Here, job: Path) -> None:
    said = here("fuel", job, "--how-sure", "--samples", "400", "--units", "us")
    assert said.code == 0
    order = [said.out.index(word) for word in ("LAMBDA", "HOW SURE", "most of the spread is from", "19 values in 20")]
    assert order == sorted(order)
    assert "-18 degF to +18 degF" in said.out
    assert "HOW SURE" not in here("fuel", job).out


@pytest.mark.parametrize(("option", "value"), [("--samples", "5"), ("--samples", "9000000"), ("--seed", "-3")])
def test_absurd_sampling_is_refused(option: str, value: str, here: Here, job: Path) -> None:
    said = here("fuel", job, "--how-sure", option, value)
    assert (said.code, said.out) == (2, "")
    assert f"{option}: is {value}" in said.err


def test_spreads_come_from_the_job(here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(JOB + "metering: {spread: {booster_gain: 1 %, ambient_temperature: 4 K}}\n", encoding="utf-8")
    sure = record(here("fuel", path, "--how-sure", "--samples", "400", "--format", "json"))["how_sure"]
    spreads = {spread["name"]: spread for spread in sure["spreads"]}
    assert (spreads["booster_gain"]["source"], spreads["booster_gain"]["high"]) == ("job file", 1.01)
    assert spreads["ambient_temperature"]["high"] == pytest.approx(4.0)
    assert sure["states"][0]["dominated_by"][0]["name"] != "booster_gain"


@pytest.mark.parametrize(
    ("spread", "field"),
    [("boost: 80 %", "boost"), ("ambient_temperature: 10 degC", "ambient_temperature"), ("gain: 3 %", "gain")],
)
def test_an_absurd_spread_names_its_line(spread: str, field: str, here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(JOB + f"metering: {{spread: {{{spread}}}}}\n", encoding="utf-8")
    said = here("fuel", path)
    assert said.code == 2
    assert f"{path}:{line_of(JOB + 'metering', 'metering')}: metering.spread.{field}" in said.err


def test_show_work_of_one_number(here: Here, job: Path) -> None:
    said = here("fuel", job, "--show-work", "planned/full_boost_redline/primary/lambda")
    assert said.code == 0
    for word in ("lambda = ", "formula: air-fuel ratio / stoichiometric", "[fuel]", "source: definition"):
        assert word in said.out
    assert "FIT THESE" not in said.out


def test_show_work_lists_names_and_offers_the_nearest(here: Here, job: Path) -> None:
    names = here("fuel", job, "--show-work", "list").out.splitlines()
    assert len(names) == len(set(names)) > 200
    assert {"sizes/primary/main_jets/bore", "fuel_pump/full_boost_redline/demand"} <= set(names)
    said = here("fuel", job, "--show-work", "sizes/primary/main_jet/bore")
    assert (said.code, said.out) == (2, "")
    assert "did you mean 'sizes/primary/main_jets/bore'" in said.err


def test_show_work_in_json(here: Here, job: Path) -> None:
    answer = record(here("fuel", job, "--show-work", "sizes/primary/main_jets/*", "--format", "json"))
    work = {each["path"]: each for each in answer["work"]}
    assert work["sizes/primary/main_jets/bore"]["value"] == answer["sizes"][0]["bore_m"]
    assert all(each["formula"] and each["source"] and each["inputs"] for each in answer["work"])
    assert record(here("fuel", job, "--format", "json"))["work"] is None
