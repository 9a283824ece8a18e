"""Reviews of proposals: what is needless, harmful or in conflict, with what shows it."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from benches import JOB, read

from boostcarb import pipeline
from boostcarb.answers import Reviewed
from boostcarb.errors import BadDescription


def review(proposed: dict[str, Any], found: dict[str, Any] | None = None) -> Reviewed:
    job = copy.deepcopy(JOB)
    job["found"] = {**job["found"], **(found or {})}
    job["proposed"] = proposed
    return pipeline.review(read(job))


def verdicts(reviewed: Reviewed) -> dict[str, str]:
    return {change.item: change.verdict for change in reviewed.proposed}


def test_moving_the_regulator_to_the_manifold_is_harmful():
    """Right where it was, wrong where it goes: the needle is short of pressure at cruise."""
    reviewed = review({"regulator.reference_line": "manifold"}, {"regulator.reference_line": "air_horn"})
    (change,) = reviewed.proposed
    assert change.verdict == "harmful"
    assert "regulator_feels_manifold" in {finding.rule for finding in change.causes}


def test_opening_an_outside_vent_is_harmful_and_shows_the_path():
    reviewed = review({"primary.bowl_external_vent": "open"}, {"primary.bowl_external_vent": "plugged"})
    (change,) = reviewed.proposed
    assert change.verdict == "harmful"
    (finding,) = [each for each in change.causes if each.rule == "bowl_open_to_atmosphere"]
    assert [step.way for step in finding.witness.path] == ["primary.bowl_external_vent"]


def test_a_change_that_nothing_needs_is_needless():
    assert verdicts(review({"secondary.backfire_check": "missing"})) == {"secondary.backfire_check": "needless"}


def test_a_new_setting_of_the_same_valve_is_a_change():
    found = {"primary.power_valve": {"is": "vacuum_held", "setting": "6.5 inHg"}}
    same = review({"primary.power_valve": {"is": "vacuum_held", "setting": "6.5 inHg"}}, found)
    other = review({"primary.power_valve": {"is": "vacuum_held", "setting": "8.5 inHg"}}, found)
    assert verdicts(same)["primary.power_valve"] == "already so"
    assert verdicts(other)["primary.power_valve"] != "already so"


def test_proposals_that_contradict_each_other_are_refused_where_they_stand():
    with pytest.raises(BadDescription) as caught:
        review({"secondary.opening": "vacuum", "secondary.pump": "reinforced_diaphragm"})
    assert "proposed.secondary.pump" in str(caught.value)


def test_a_complete_proposal_is_clean_and_nothing_is_missing():
    """The planner's own answer, proposed."""
    job = copy.deepcopy(JOB)
    planned = pipeline.plan(pipeline.set_up(read(job)))
    reviewed = review(
        {choice.item: choice.option for choice in planned.outcome.changes if ".inline" not in choice.item}
    )
    assert reviewed.clean
    assert reviewed.completed is None
    assert {change.verdict for change in reviewed.proposed} == {"needed"}
