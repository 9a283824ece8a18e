"""Plans for constant-depression carburetors, by reason. The reasons are worked out by hand beside each check."""

from __future__ import annotations

import copy

import pytest
from scenario_plans import bench, broken, changes, job, needs, plan, reviewed

PAIR = "constant_depression_pair_blow_through"
DRAW = "constant_depression_draw_through"
BACK = "constant_depression_back_at_altitude"
BOX = "constant_depression_in_pressure_box"
OUTSIDE = {"main.under_side_vent": "plugged", "main.under_side_outer_vent": "open"}


@pytest.mark.parametrize("name", [PAIR, DRAW, BACK, BOX])
def test_plan_is_clean_and_its_review_passes(name: str) -> None:
    said = job(name)
    planned = plan(said)
    proposed = changes(planned)
    assert planned.clean
    assert all(planned.reasons.values())
    answer = reviewed({**copy.deepcopy(said), "proposed": proposed})
    assert answer.clean
    assert {change.verdict for change in answer.proposed} == {"needed"}


def test_pair_in_blow_through() -> None:
    planned = plan(job(PAIR))
    found = changes(planned)
    # The valve weighs bridge against bonnet: the space below it must be open to the bonnet.
    assert found.get("main.under_side_vent") == "open" or found.get("main.added_under_side_vent") == "open"
    # The float chamber feels the bonnet and nothing else.
    assert found["main.bowl_external_vent"] == "plugged"
    assert "bowl_off_air_horn_pressure" in needs(planned, "main.bowl_external_vent")
    assert found.get("main.added_bowl_vent") == "open" or found.get("main.bowl_vent") == "open"
    # Boosted spaces with a way out: above the piston, below it, behind the cold-start spindle, round the jet.
    assert found["main.damper_cap_vent"] == "plugged"
    assert found["main.lift_pin_gap"] == "plugged"
    assert found.get("main.starter_shaft_gap") == "plugged" or found.get("main.starter") == "blanked"
    assert found["main.jet_gland"] == "renewed"
    # The bridge stands at boost less its pull.
    assert found["main.breather_port"] == "plugged"
    assert "crankcase_breather_at_bridge" in needs(planned, "main.breather_port")
    # The needle carries boost where the valve stands in boost; at low lift, at cruise, it stays as it was.
    assert found["main.main_jets"] == "for_full_boost"
    assert "enrichment_shut_in_boost" in needs(planned, "main.main_jets")
    assert found["regulator.reference_line"] == "air_horn"
    assert found["main.float"] == "closed_cell"


@pytest.mark.parametrize("kind", ["piston", "diaphragm"])
def test_under_side_on_the_atmosphere_shuts_the_valve_in_boost_alone(kind: str) -> None:
    """50 kPa of boost above it against some 2 kPa of pull: the sign of the balance decides, in either kind."""
    found = {**OUTSIDE, "main.air_valve_type": kind}
    assert "air_valve_does_not_lift" in broken(job(PAIR, found=found))
    assert "air_valve_does_not_lift" not in broken(job(BACK, found=found))
    assert "air_valve_does_not_lift" not in broken(job(DRAW, found=found))


def test_the_valve_opens_by_the_difference_of_bonnet_and_bridge() -> None:
    judged = bench(job(PAIR, found={"main.under_side_vent": "open", "main.damper_cap_vent": "plugged"}))
    view = judged.view(judged.network.found())
    for state in ("full_boost_torque_peak", "part_throttle_boost_mid"):
        under, above, bridge, horn = (
            view.reading(space, state).low_pa_abs
            for space in ("main.under_side", "main.suction_chamber", "main.venturi_throat", "air_horn")
        )
        # The clearance past the piston is small against vent and transfer holes: each side has its source's pressure.
        assert under == pytest.approx(horn, abs=100.0)
        assert above == pytest.approx(bridge, abs=100.0)
        # The pull that the family says the valve holds; common practice for these carburetors is 1.5 to 3 kPa.
        assert 1500.0 < horn - bridge < 3000.0


def test_a_vented_damper_cap_lowers_the_suction_chamber_as_its_area_says() -> None:
    """A 1 mm vent against two holes of 4 mm; incompressible share of the drop (1 / 32)^2 = 0.1 %.

    Source: continuity and Bernoulli's equation. So the cap costs oil and boost rather than lift.
    """
    found = {"main.under_side_vent": "open"}
    judged = bench(job(PAIR, found=found))
    view = judged.view(judged.network.found())
    above, bridge, outside = (
        view.reading(space, "full_boost_redline").low_pa_abs
        for space in ("main.suction_chamber", "main.venturi_throat", "ambient")
    )
    assert 0.0 <= (bridge - above) / (bridge - outside) < 0.01


def test_draw_through_leaves_what_stands_at_the_atmosphere_alone() -> None:
    planned = plan(job(DRAW))
    found = changes(planned)
    assert found["main.temperature_compensator"] == "none"
    assert found["main.throttle_disc"] == "plain"
    assert found["main.air_valve_movement"] == "free"
    assert found["main.main_jets"] == "for_full_boost"
    assert found["compressor_seal"] == "positive_face"
    assert found["manifold_relief"] == "fitted"
    unboosted = {"main.under_side_vent", "main.bowl_vent", "main.jet_gland", "main.float", "main.throttle_shaft",
                 "main.starter_shaft_gap", "main.starter", "regulator.reference_line"}  # fmt: skip
    assert unboosted.isdisjoint(found)


def test_back_at_altitude() -> None:
    planned = plan(job(BACK))
    found = changes(planned)
    assert found == {
        "main.main_jets": "for_wide_open",
        "main.suction_chamber_leak": "plugged",
        "main.air_valve_movement": "free",
        "regulator.reference_line": "ambient",
        "fuel_pump_cutoff": found["fuel_pump_cutoff"],
    }
    assert needs(planned, "main.main_jets") == {"boost_jets_left_in"}
    assert needs(planned, "main.suction_chamber_leak") == {"suction_chamber_draws_air"}


def test_the_mountains_are_the_thin_air_that_the_scenario_speaks_of() -> None:
    """Standard atmosphere at 2200 m: 77.5 kPa (ISO 2533, from memory).

    At the 15 degrees of the job that is 0.765 of the density at sea level: fuel-air ratio up by 1 / sqrt(0.765) = 1.14.
    """
    judged = bench(job(BACK))
    view = judged.view(judged.network.found())
    assert view.reading("ambient", "idle").low_pa_abs == pytest.approx(77_500.0, rel=0.005)


def test_a_needle_for_boost_is_not_rich_at_cruise() -> None:
    """Cruise and boost stand at different lifts of one needle, so the whole of it is not richer."""
    rules = broken(job(PAIR, found={"main.main_jets": "for_full_boost"}))
    assert {"boost_mixture_at_cruise", "enrichment_shut_in_boost"}.isdisjoint(rules)


def test_a_vent_into_the_box_is_a_vent_into_the_bonnet() -> None:
    """What faced the atmosphere faces the box: the vent that shuts a bare valve in boost is right here."""
    planned = plan(job(BOX))
    found = changes(planned)
    inside = {
        "main.under_side_vent", "main.under_side_outer_vent", "main.added_under_side_vent", "main.damper_cap_vent",
        "main.lift_pin_gap", "main.bowl_external_vent", "main.jet_gland", "main.throttle_shaft",
    }  # fmt: skip
    assert inside.isdisjoint(found)
    assert found["box_shaft_leak"] == "plugged"
    assert found["main.main_jets"] == "for_full_boost"
    bare = broken({**job(BOX), "enclosure": None})
    assert {"air_valve_does_not_lift", "suction_chamber_open_to_atmosphere", "bowl_open_to_atmosphere"} <= bare
