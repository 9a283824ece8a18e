"""Plans for twin-choke side-draughts, by reason. The reasons are worked out by hand beside each check."""

from __future__ import annotations

import copy

import pytest
from scenario_plans import bench, broken, changes, job, needs, plan, reviewed

from boostcarb.planning.search import Plan

METHANOL = "side_draughts_blow_through_methanol"
BOX = "side_draught_in_pressure_box"
DRAW = "side_draught_draw_through"
BACK = "side_draught_back_to_naturally_aspirated"
ALL = (METHANOL, BOX, DRAW, BACK)


@pytest.mark.parametrize("name", ALL)
def test_plan_is_clean_and_its_review_passes(name: str) -> None:
    said = job(name)
    planned = plan(said)
    proposed = changes(planned)
    assert isinstance(planned.outcome, Plan)
    assert planned.clean
    assert set(planned.reasons) == set(planned.outcome.changes)
    assert all(planned.reasons.values())
    answer = reviewed({**copy.deepcopy(said), "proposed": proposed})
    assert answer.clean
    assert {change.verdict for change in answer.proposed} == {"needed"}


def test_pair_on_methanol() -> None:
    planned = plan(job(METHANOL))
    found = changes(planned)
    # A boosted bowl with a hole to the outside stands below the plenum, and blows fuel out.
    assert found["main.bowl_external_vent"] == "plugged"
    assert {"bowl_off_air_horn_pressure", "bowl_open_to_atmosphere"} <= needs(planned, "main.bowl_external_vent")
    # Fuel from the bowl stands behind the lever shaft of the starting circuit.
    assert found.get("main.starter_shaft_gap") == "plugged" or found.get("main.starter") == "blanked"
    # One stage of jets cannot be right at cruise and in boost: a valve with channels of its own, held by the manifold.
    assert found["main.power_valve"] == "vacuum_held"
    assert found["main.power_restriction"] == "open"
    assert found["main.power_valve_reference_line"] == "manifold"
    assert "enrichment_shut_in_boost" in needs(planned, "main.power_valve_reference_line")
    assert "main.main_jets" not in found
    # A closed manifold and a diaphragm that stands 250 kPa: a backfire of three times full boost is more.
    assert found["main.reference_check"] == "fitted"
    # Rubber rings are pulled tight by vacuum and lifted by boost.
    assert found["carburetor_mount"] == "rigid"
    # The needle works against a bowl at plenum pressure.
    assert found["regulator.reference_line"] == "air_horn"
    # Methanol: lead dissolves, zinc plating is stripped, terne and common nitrile hose do not last.
    assert found["factory_plugs"] == "screw_plugs"
    assert "plug_not_for_fuel" in needs(planned, "factory_plugs")
    assert found["fasteners.material"] == "stainless_steel"
    assert {"fuel_tank.material", "fuel_hose.material"} <= set(found)
    # One cylinder's runner pulses: a signal from it is no mean pressure.
    assert found["carburetor_balance_tube"] == "fitted"


def test_pair_on_gasoline_needs_nothing_for_the_fuel() -> None:
    found = changes(plan(job(METHANOL, fuel="gasoline")))
    assert not any(item.endswith(".material") for item in found)
    assert found["factory_plugs"] == "pressure_tested"


def test_jets_for_full_boost_alone_are_too_rich_at_cruise_and_smaller_ones_lean_in_boost() -> None:
    """The shipped jets of a side-draught carry wide open; one stage cannot carry both cruise and boost."""
    assert "boost_mixture_at_cruise" in broken(job(METHANOL, found={"main.main_jets": "for_full_boost"}))
    assert "enrichment_shut_in_boost" in broken(job(METHANOL))


def test_bowl_with_a_vent_inside_and_a_hole_outside_stands_between() -> None:
    """Two orifices in series: share of the drop at the inner one, incompressible, 4^4 / (4^4 + 6^4) = 0.165.

    Source: continuity and Bernoulli's equation. Choking at the outer hole is far off, air grows thinner on the way out
    and the starting shaft leaks too, so a factor of two either way is left.
    """
    judged = bench(job(METHANOL))
    view = judged.view(judged.network.found())
    bowl, horn, outside = (
        view.reading(space, "full_boost_redline").low_pa_abs for space in ("main.bowl", "air_horn", "ambient")
    )
    share = (horn - bowl) / (horn - outside)
    assert 0.165 / 2 < share < 0.165 * 2


def test_box_leaves_leaks_of_the_carburetor_alone_and_asks_for_its_wall() -> None:
    planned = plan(job(BOX))
    found = changes(planned)
    assert found["box_shaft_leak"] == "plugged"
    assert found["box_drain"] == "self_closing"
    assert found["box_hold_test"] == "passed"
    # Box and bonnet are one pressure, at least the manifold's: what leaks between them leaks inward, as without boost.
    inside = {"main.bowl_external_vent", "main.starter_shaft_gap", "main.starter", "bonnet_fixing",
              "main.throttle_shaft", "carburetor_mount", "factory_plugs"}  # fmt: skip
    assert inside.isdisjoint(found)
    # The shell of a float is squeezed by the bowl's absolute pressure, box or not.
    assert found["main.float"] == "closed_cell"


def test_spring_side_in_the_box_is_led_out() -> None:
    """Against the open air the valve is open in throttled boost, where box less manifold is far above its setting."""
    found = {"main.power_valve": "vacuum_held", "main.power_restriction": "open",
             "main.power_valve_reference_line": "manifold", "main.main_jets": "for_cruise"}  # fmt: skip
    judged = bench(job(BOX, found=found))
    view = judged.view(judged.network.found())
    state = "part_throttle_boost_mid"
    box, manifold, spring = (
        view.reading(space, state).low_pa_abs for space in ("air_horn", "manifold", "main.power_valve_dry_side")
    )
    setting = 3 * 3386.4
    assert box - manifold > setting
    assert spring - manifold < setting
    assert "enrichment_shut_in_boost" not in broken(job(BOX, found=found))


def test_draw_through() -> None:
    planned = plan(job(DRAW))
    found = changes(planned)
    # After the compressor all is mixture.
    assert found["charge_cooler"] == "absent"
    assert found["compressor_seal"] == "positive_face"
    assert found["manifold_relief"] == "fitted"
    assert found["main.power_valve_reference_line"] == "manifold"
    # Past the throttle at all times: shut or gone.
    assert found["main.starter"] in ("shuts", "blanked")
    assert needs(planned, "main.starter") == {"starting_valve_leaks"}
    # The carburetor stands at the atmosphere, its base under vacuum: nothing of this is under pressure.
    unboosted = {"main.bowl_external_vent", "main.float", "carburetor_mount", "main.throttle_shaft", "main.bowl_vent",
                 "regulator.reference_line", "main.starter_shaft_gap", "bonnet_fixing"}  # fmt: skip
    assert unboosted.isdisjoint(found)


def test_back_to_naturally_aspirated() -> None:
    planned = plan(job(BACK))
    found = changes(planned)
    assert found["main.main_jets"] in ("for_cruise", "for_wide_open")
    assert "boost_jets_left_in" in needs(planned, "main.main_jets")
    assert found["main.bowl_vent_end"] == "open"
    assert found["regulator.reference_line"] == "ambient"
    # The valve that stays must feel the loss of vacuum and breathe on its other side; or it goes with its jets' size.
    if found.get("main.power_valve") != "blank":
        assert found["main.power_valve_reference_line.inline"] == "none"
        assert "enrichment_shut_wide_open" in needs(planned, "main.power_valve_reference_line.inline")
        assert found["main.power_valve_dry_side_vent"] == "open"
    # What does no harm without boost stays.
    assert {"main.throttle_shaft", "carburetor_mount", "manifold_port_caps", "main.float"}.isdisjoint(found)
