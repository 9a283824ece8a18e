"""The shipped scenarios: what each must say, and why. The reasons are worked out by hand beside each check."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from chosen_jobs import plan_of
from scenario_plans import changes, needs

from boostcarb import pipeline
from boostcarb.answers import Planned, Reviewed
from boostcarb.planning.search import Plan

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ALL = sorted(path.stem for path in SCENARIOS.glob("*.yaml"))


def plan(name: str) -> Planned:
    return plan_of(SCENARIOS / f"{name}.yaml")


@cache
def review(name: str) -> Reviewed:
    return pipeline.review(pipeline.load(SCENARIOS / f"{name}.yaml"))


@pytest.mark.parametrize("name", ALL)
def test_every_scenario_has_a_plan_whose_every_change_is_needed(name):
    planned = plan(name)
    assert isinstance(planned.outcome, Plan)
    assert set(planned.reasons) == set(planned.outcome.changes)
    assert all(planned.reasons.values())
    assert planned.outcome.proof.lower_bound == planned.outcome.cost


def test_street_blow_through():
    planned = plan("street_blow_through")
    found = changes(planned)
    # A boosted bowl may not be open to the outside: fuel under pressure leaves it.
    assert found["primary.bowl_external_vent"] == "plugged"
    assert "bowl_open_to_atmosphere" in needs(planned, "primary.bowl_external_vent")
    # The needle works against a bowl at bonnet pressure, so the regulator must feel the bonnet.
    assert found["regulator.reference_line"] == "air_horn"
    # Held shut by the drop across part-open plates in boost, the primary valve needs the bonnet's pressure there.
    assert found["primary.power_valve_reference_line"] == "switched"
    assert "enrichment_shut_in_boost" in needs(planned, "primary.power_valve_reference_line")
    # The secondaries have no valve: their jets must carry full boost.
    assert found["secondary.main_jets"] == "for_full_boost"
    # The hot-air choke would lead boosted mixture to the exhaust.
    assert found["choke"] == "electric"
    assert planned.clean


def test_roadster_draw_through():
    planned = plan("roadster_draw_through")
    found = changes(planned)
    # A charge cooler full of mixture, and a ring seal with throttle vacuum on it, have no place in draw-through.
    assert found["charge_cooler"] == "absent"
    assert found["compressor_seal"] == "positive_face"
    assert found["manifold_relief"] == "fitted"
    # Below the throttle there is vacuum while the manifold is boosted: the reference moves after the compressor.
    assert found["primary.power_valve_reference_line"] == "manifold"
    assert found["primary.power_valve_vacuum_passage"] == "plugged"
    # The bowls stand at the atmosphere: nothing about them or the regulator changes.
    assert not any("bowl" in item or "regulator" in item for item in found)


def test_bought_blow_through_with_mistakes():
    planned = plan("bought_blow_through_with_mistakes")
    found = changes(planned)
    assert found["primary.power_valve_vacuum_passage"] == "plugged"
    assert "two_references_on_one_chamber" in needs(planned, "primary.power_valve_vacuum_passage")
    assert found["primary.power_valve_reference_line.inline"] == "none"
    assert "power_valve_signal_held" in needs(planned, "primary.power_valve_reference_line.inline")
    assert found["regulator.reference_line"] == "air_horn"
    assert needs(planned, "regulator.reference_line") == {"regulator_feels_manifold"}
    assert found["manifold_port_caps"] == "screw_plugs"
    assert found["secondary.float"] == "closed_cell"
    # What the last owner did right is left alone.
    kept = {"primary.float", "primary.pump", "crankcase_ventilation", "bonnet_fixing", "ignition_retard"}
    assert kept.isdisjoint(found)


def test_back_to_naturally_aspirated():
    planned = plan("back_to_naturally_aspirated")
    found = changes(planned)
    # Jets for full boost are far too rich without it; a sealed pump cover is an air spring.
    assert found["primary.main_jets"] in ("for_wide_open", "for_cruise")
    assert found["secondary.main_jets"] == "for_wide_open"
    assert "pump_cover_sealed_shut" in needs(planned, "primary.pump_cover")
    # The distributor must feel the loss of vacuum, the regulator the pressure over the fuel.
    assert found["advance_line.inline"] == "none"
    assert found["regulator.reference_line"] == "ambient"
    assert planned.clean


def test_the_dangerous_proposal_is_caught_in_throttled_boost_alone():
    reviewed = review("proposal_dangerous_in_throttled_boost")
    stops = [finding for finding in reviewed.findings if finding.severity.value == "stop"]
    assert {finding.rule for finding in stops} == {"enrichment_shut_in_boost"}
    (finding,) = stops
    assert finding.states
    assert all(state.startswith("part_throttle_boost") for state in finding.states)
    assert not reviewed.clean
    # It says what would put it right, from where the proposal ends.
    assert reviewed.completed is not None
    assert changes(reviewed.completed)["primary.power_valve_reference_line"] == "switched"


def test_each_proposed_change_is_told_apart():
    verdicts = {change.item: change.verdict for change in review("proposal_dangerous_in_throttled_boost").proposed}
    assert verdicts["primary.bowl_external_vent"] == "needed"
    assert verdicts["brake_booster_line"] == "already so"
    assert verdicts["secondary.main_jets"] == "needed"


def test_what_nobody_looked_at_never_comes_out_clean():
    planned = plan("not_taken_apart_yet")
    assert isinstance(planned.outcome, Plan)
    assert not planned.clean
    unseen = {doubt.item for doubt in planned.doubts}
    assert "primary.bowl_vent" in unseen
    # An item that the plan changes is settled by the change.
    assert unseen.isdisjoint(changes(planned))
    stages = list(planned.bench.network.stages)
    order = [stages.index(planned.bench.network.items[doubt.item].stage) for doubt in planned.doubts]
    assert order == sorted(order)
