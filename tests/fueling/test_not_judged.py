"""What is not judged is said, in a plan and a review; and `fuel` blocks where a bowl runs dry on usual sizes."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from fuel_jobs import BASE, BONNET, side, solved

from boostcarb import pipeline
from boostcarb.bench import Bench
from boostcarb.description.job import Job
from boostcarb.description.library import ReadJob
from boostcarb.description.source import read_document, validate
from boostcarb.fueling.needle import LEAST_CLOSING, LEAST_FLOW
from boostcarb.fueling.supply_notes import supply_notes
from boostcarb.quantities import UnitSystem
from boostcarb.report.fuel_records import fuel_record
from boostcarb.report.fuel_text import fuel_text
from boostcarb.report.plan_text import plan_text
from boostcarb.report.records import plan_record, review_record
from boostcarb.report.review_text import review_text
from boostcarb.report.supply_text import supply_sections
from boostcarb.rulebook.margins import NEEDS
from boostcarb.rulebook.unjudged import WHAT

JETS = {"primary.main_jet_hole": {"is": "open", "bore": "1.6 mm"},
        "secondary.main_jet_hole": {"is": "open", "bore": "1.9 mm"}}  # fmt: skip
SUPPLY = {"regulator_pressure": "6 psi", "float_force": "1.2 N",
          "pump": {"curve": [{"pressure": "0 kPa", "flow": "400 l/h"}, {"pressure": "300 kPa", "flow": "300 l/h"}]}}


def read(target: str, found: dict[str, Any] | None = None, **sections: Any) -> ReadJob:
    """The base job of a target with finds and sections laid over it."""
    said = yaml.safe_load((BASE / f"{target}.yaml").read_text())
    said["found"] = {**said.get("found", {}), **(found or {})}
    document = read_document(Path("job.yaml"), text=yaml.safe_dump({**said, **sections}))
    return ReadJob(document, validate(Job, document))


def bench(target: str, found: dict[str, Any] | None = None, **sections: Any) -> Bench:
    return pipeline.set_up(read(target, found, **sections))


def words(text: str) -> str:
    return " ".join(text.split())


def test_every_margin_that_needs_data_has_its_words() -> None:
    assert set(WHAT) == {name for name, needs in NEEDS.items() if needs}


def test_a_job_that_says_nothing_of_its_fuel_side_is_told_what_to_give() -> None:
    found = {rule: each for each in bench("blow_through").not_judged for rule in each.rules}
    assert found["needle_passes_too_little"].give == ("supply.regulator_pressure",)
    assert found["needle_pushed_open"].give == ("supply.float_force",)
    assert found["fuel_pump_too_small"].give == ("supply.pump",)
    assert found["bowl_boils_at_lift_off"].give == ("supply.bowl_temperature",)
    assert found["lean_in_boost"].give[0] == "found.primary.main_jet_hole.bore"
    assert {each.subject for each in found.values()} == {"jets", "needle", "fuel pump", None}


@pytest.mark.parametrize("target", ["naturally_aspirated", "draw_through"])
def test_only_rules_of_the_target_are_listed(target: str) -> None:
    rules = {rule for each in bench(target).not_judged for rule in each.rules}
    assert "needle_passes_too_little" in rules
    assert not {"bowl_boils_at_lift_off", "needle_weeps_after_lift_off"} & rules


def test_what_is_given_is_not_listed() -> None:
    given = bench("blow_through", JETS, supply=SUPPLY, pump={"primary": {"seals": "both", "override_preload": "90 N"}})
    assert {each.subject for each in given.not_judged} == {None}
    listed = {field for each in given.not_judged for field in each.give}
    assert "pump.secondary.seals" in listed
    assert not {"pump.primary.seals", "pump.primary.override_preload"} & listed


def test_with_a_return_line_nothing_holds_after_lift_off() -> None:
    rules = {rule for each in bench("blow_through", supply={"return": True}).not_judged for rule in each.rules}
    assert "needle_weeps_after_lift_off" not in rules
    assert "needle_pushed_open" in rules


def test_plan_and_review_say_what_is_not_proved() -> None:
    job = read("blow_through")
    planned, reviewed = pipeline.plan(pipeline.set_up(job), alternatives=0), pipeline.review(job)
    for text in (plan_text(planned, UnitSystem.METRIC), review_text(reviewed, UnitSystem.METRIC)):
        verdict = words(text[text.index("VERDICT") : text.index("VERDICT") + 400])
        assert "jets, needle and fuel pump are not judged: see NOT JUDGED" in verdict
        assert "NOT JUDGED not proved safe" in words(text)
        assert "whether the fuel pump delivers enough: supply.pump" in words(text)
    for record in (plan_record(planned), review_record(reviewed)):
        assert {"supply.float_force"} <= {field for each in record["not_judged"] for field in each["give"]}


def test_what_is_judged_is_not_called_unproved() -> None:
    planned = pipeline.plan(bench("blow_through", JETS, supply=SUPPLY), alternatives=0)
    assert "not judged: see" not in words(plan_text(planned, UnitSystem.METRIC))


def test_fuel_blocks_where_a_bowl_runs_dry_on_usual_sizes() -> None:
    """The usual seat of 2.8 mm passes some 1.9 times the demand, one of 0.9 mm 1.9 x (0.9 / 2.8)^2 = 0.20 times; the
    job says nothing of the supply, so no rule judges it.
    """
    fueled = pipeline.fuel(read("blow_through", {"primary.needle_seat": {"is": "open", "bore": "0.9 mm"}}))
    assert not fueled.clean
    said = words(fuel_text(fueled, UnitSystem.METRIC))
    first = said[said.index("FIRST") : said.index("FIT THESE")]
    assert "primary needle and seat as planned: the bowl runs dry" in first
    assert "Rests on usual sizes, not on yours: " in first
    assert "supply.regulator_pressure" in first
    record = fuel_record(fueled)
    assert record["clean"] is False
    assert record["notes"][0]["blocks"] is True


@pytest.mark.parametrize("target", ["naturally_aspirated", "draw_through"])
def test_a_right_supply_makes_no_note(target: str) -> None:
    assert list(supply_notes(side(target), solved(target).job)) == []
    assert list(supply_notes(side("blow_through", found=BONNET), solved("blow_through", found=BONNET).job)) == []


def test_a_needle_that_is_forced_open_or_closed_blocks_too() -> None:
    light = {"found": BONNET, "supply": {"float_force": "0.1 N"}}
    said = [note.text for note in supply_notes(side("blow_through", **light), solved("blow_through", **light).job)]
    assert any("forced open" in text for text in said)
    assert not any("supply.float_force" in text for text in said)
    shut = {"found": {**BONNET, "secondary.needle_seat": "plugged"}}
    said = [note.text for note in supply_notes(side("blow_through", **shut), solved("blow_through", **shut).job)]
    assert any("secondary needle and seat as planned: closed" in text for text in said)


def test_the_words_follow_the_limits_of_the_rules() -> None:
    """A bore of 2 mm passes 0.975 times the demand, so 2.06 mm passes 0.975 x (2.06 / 2)^2 = 1.03 times: the rule wants
    1.3, so that is not enough. Nor is a float that holds 1 to 2.5 times the push of the fuel.
    """
    seen: dict[str, set[str]] = {"flow": set(), "closing": set()}
    for bore in ("1.8 mm", "2.06 mm", "2.2 mm", "2.4 mm"):
        for force in ("0.1 N", "0.25 N", "1.5 N"):
            found = {**BONNET, "primary.needle_seat": {"is": "open", "bore": bore}}
            sections: dict[str, Any] = {"found": found, "supply": {"float_force": force}}
            bowl = side("blow_through", **sections).supply.bowls[0]
            network = solved("blow_through", **sections).network
            text = words("\n".join(supply_sections(side("blow_through", **sections), network, UnitSystem.METRIC)))
            flow = re.search(r"primary needle and seat, \S+ mm bore: ([^.]+)\.", text)
            closing = re.search(r"\(at least 2.5 wanted\): (enough|TOO LITTLE|FORCED OPEN)", text)
            assert flow is not None
            assert closing is not None
            assert bowl.leanest is not None
            assert bowl.leanest.margin is not None
            assert bowl.hardest is not None
            assert bowl.hardest.closing is not None
            assert flow[1] == word(bowl.leanest.margin.value, LEAST_FLOW, "runs dry")
            assert closing[1] == word(bowl.hardest.closing.value, LEAST_CLOSING, "FORCED OPEN")
            seen["flow"].add(flow[1])
            seen["closing"].add(closing[1])
    assert seen == {"flow": {"runs dry", "TOO LITTLE", "enough"}, "closing": {"FORCED OPEN", "TOO LITTLE", "enough"}}


def word(margin: float, least: float, fails: str) -> str:
    if margin < 1.0:
        return fails
    return "enough" if margin >= least else "TOO LITTLE"
