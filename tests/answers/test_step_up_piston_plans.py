"""Plans for the step-up piston four-barrel, the two-barrel and the spread-bore: what is needed, what is not, and why.

The reasons are worked out by hand from pressure balances. A piston leaks past its side and a diaphragm does not: that
is where the two kinds of enrichment part.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from benches import JOB, read
from chosen_jobs import plan_of
from scenario_plans import changes, needs

from boostcarb import pipeline
from boostcarb.answers import Planned
from boostcarb.bench import Bench
from boostcarb.planning.search import Plan
from boostcarb.solving.diaphragms import ValveState, valve_states

SCENARIOS = Path(__file__).parents[2] / "scenarios"
MINE = (
    "step_up_pistons_blow_through_e85",
    "step_up_pistons_draw_through_at_altitude",
    "step_up_pistons_back_to_naturally_aspirated",
    "two_barrel_blow_through",
    "two_barrel_draw_through",
    "two_barrel_back_to_naturally_aspirated",
    "spread_bore_blow_through",
    "spread_bore_draw_through",
    "spread_bore_back_to_naturally_aspirated",
)
STEP_UP = "step_up_piston_four_barrel"
PISTONS = "primary.step_up_pistons"
SWITCHED = {
    "primary.step_up_vacuum_passage": "plugged",
    "primary.step_up_reference_port": "open",
    "primary.step_up_reference_line": "switched",
}


def plan(name: str) -> Planned:
    return plan_of(SCENARIOS / f"{name}.yaml")


def rules_of(bench: Bench) -> set[str]:
    return {finding.rule for finding in bench.findings(bench.network.found())}


def valves(bench: Bench, diaphragm: str, **changed: str) -> dict[str, ValveState]:
    """What a piston or diaphragm does in each state; `changed` names items with __ for dots."""
    configuration = {**bench.network.found(), **{item.replace("__", "."): form for item, form in changed.items()}}
    wall = bench.network.diaphragms[diaphragm]
    valve = wall.valve(configuration)
    assert valve is not None
    view = bench.view(configuration)
    states = valve_states(wall, valve, configuration, view.pressures)
    return {state.name: each for state, each in zip(view.states, states, strict=True) if not state.event}


def boosted(bench: Bench) -> set[str]:
    view = bench.view(bench.network.found())
    return {state.name for state in view.states if state.boosted and state.needs_enrichment and not state.event}


@pytest.mark.parametrize("name", MINE)
def test_plan_is_clean_and_its_review_passes(name: str) -> None:
    planned = plan(name)
    assert planned.clean
    assert isinstance(planned.outcome, Plan)
    assert planned.outcome.proof.lower_bound == planned.outcome.cost
    assert all(planned.reasons.values())
    job: dict[str, Any] = yaml.safe_load((SCENARIOS / f"{name}.yaml").read_text())
    job["proposed"] = changes(planned)
    reviewed = pipeline.review(read(job))
    assert reviewed.clean
    assert {change.verdict for change in reviewed.proposed} == {"needed"}


# --- step-up pistons -----------------------------------------------------------------------------------------


def test_step_up_blow_through_on_e85() -> None:
    planned = plan("step_up_pistons_blow_through_e85")
    found = changes(planned)
    # Plugged passages: the pistons leak, the rods stay up, and nothing is lean; the full-boost ring at cruise is wrong.
    places = {finding.place for finding in planned.as_found if finding.rule == "enrichment_shut_in_boost"}
    assert places == {"secondary"}
    assert needs(planned, "primary.step_up_reference_line") == {"boost_mixture_at_cruise"}
    assert found["primary.step_up_reference_line"] == "switched"
    assert found["primary.step_up_reference_port"] == "open"
    assert "primary.step_up_vacuum_passage" not in found
    # The cover is the wall between fuel at bonnet pressure and the outside, and the pump's stem goes through it.
    assert found["primary.bowl_faces"] == "flat"
    assert found["primary.pump_stem_gap"] == "plugged"
    assert "bowl_open_to_atmosphere" in needs(planned, "primary.pump_stem_gap")
    assert found["primary.bowl_external_vent"] == "plugged"
    # Two floats in one bowl space, each a thin shell with the boost outside.
    assert (found["left.float"], found["right.float"]) == ("closed_cell", "closed_cell")
    # The plunger has the bowl on both sides: boost does not load it. Its leather does not last in alcohol.
    assert "primary.pump" not in found
    assert needs(planned, "primary.pump.material") == {"pump_rubber_not_for_fuel"}
    # The air turns the flap with density times speed squared, the weight shuts it with the same force as ever.
    assert found["secondary.air_flap"] == "by_spring"
    assert needs(planned, "secondary.air_flap") == {"air_flap_shut_by_counterweight"}
    # The secondaries have no rods: their jets carry full boost. The primaries' jets stay for cruise.
    assert found["secondary.main_jets"] == "for_full_boost"
    assert "primary.main_jets" not in found


def test_step_up_draw_through_at_altitude() -> None:
    planned = plan("step_up_pistons_draw_through_at_altitude")
    found = changes(planned)
    # Not to the manifold after the compressor, as a diaphragm would be: mixture would blow past the pistons.
    assert found["primary.step_up_reference_line"] == "switched_base"
    assert found["primary.step_up_vacuum_passage"] == "plugged"
    # Bowls, pump, shafts and flap stand at or below the atmosphere; thin air lowers both sides of a piston alike.
    kept = ("bowl", "float", "pump", "shaft", "air_flap", "regulator", "step_up_piston")
    assert not any(word in item for item in found for word in kept)
    assert found["manifold_relief"] == "fitted"
    assert found["compressor_seal"] == "positive_face"


def test_planned_rods_are_down_at_cruise_and_up_in_all_boost() -> None:
    for name in ("step_up_pistons_blow_through_e85", "step_up_pistons_draw_through_at_altitude"):
        planned = plan(name)
        done = {item.replace(".", "__"): form for item, form in changes(planned).items()}
        states = valves(planned.bench, PISTONS, **done)
        assert states["cruise"] is ValveState.shut
        assert states["idle"] is ValveState.shut
        assert {states[state] for state in boosted(planned.bench)} == {ValveState.open}


def test_step_up_back_to_naturally_aspirated() -> None:
    planned = plan("step_up_pistons_back_to_naturally_aspirated")
    # Only what vacuum, thin air and a hose that nobody needs ask for; what was sealed for boost does no harm.
    assert changes(planned) == {
        "primary.step_up_vacuum_passage": "open",
        "primary.step_up_reference_line": "capped",
        "regulator.reference_line": "ambient",
        "secondary.main_jets": "for_wide_open",
    }
    assert "power_valve_open_at_cruise" in needs(planned, "primary.step_up_vacuum_passage")


def test_a_plugged_piston_goes_rich_where_a_plugged_diaphragm_goes_lean(bench) -> None:  # type: ignore[no-untyped-def]
    """Sealed air is left behind by a bowl that boost lifts by 69 kPa, four valve settings; a leak lets it follow."""
    step_up = bench(carburetor=STEP_UP, found={"primary.step_up_vacuum_passage": "plugged"})
    up = valves(step_up, PISTONS)
    assert set(up.values()) == {ValveState.open}
    modular = bench(found={"primary.power_valve_vacuum_passage": "plugged"})
    held = valves(modular, "primary.power_valve_diaphragm")
    assert ValveState.open not in {held[state] for state in ("full_boost_torque_peak", "full_boost_redline")}


def test_chamber_below_a_piston_stands_between_its_two_openings(bench) -> None:  # type: ignore[no-untyped-def]
    """Two openings in series pass the same flow: for small differences, the drop across each goes with 1 / area squared
    (incompressible orifice flow, any textbook of fluid mechanics). Passages 2 of 2.5 mm, clearance 2 of 1.6 mm2, each
    with the same discharge coefficient: 3.2^2 / (3.2^2 + 9.82^2) = 0.096 of the whole lies between chamber and base.
    """
    pressures = (made := bench(carburetor=STEP_UP, target="naturally_aspirated")).view(made.network.found()).pressures
    chamber, bowl, base = (
        pressures.range_of(space, "wide_open_redline")[0]
        for space in ("primary.step_up_chamber", "primary.bowl", "base")
    )
    assert (chamber - base) / (bowl - base) == pytest.approx(0.096, rel=0.05)


def test_chambers_open_to_the_atmosphere_pull_the_rods_down_and_bleed_the_bonnet(bench) -> None:  # type: ignore[no-untyped-def]
    found = {**SWITCHED, "primary.step_up_reference_line": "ambient"}
    made = bench(carburetor=STEP_UP, found=found)
    # 69 kPa across a spring of 17 kPa, less what leaks past; and the leak is a hole from the bowl to the outside.
    assert valves(made, PISTONS)["full_boost_torque_peak"] is ValveState.shut
    assert {"enrichment_shut_in_boost", "bowl_open_to_atmosphere"} <= rules_of(made)


def test_a_one_way_valve_cannot_latch_a_piston(bench) -> None:  # type: ignore[no-untyped-def]
    """It keeps the lowest pressure only until the clearance has filled the chamber: the rods rise, if late."""
    line = {"is": "switched", "inline": "one_way_valve"}
    made = bench(carburetor=STEP_UP, found={**SWITCHED, "primary.step_up_reference_line": line})
    assert valves(made, PISTONS)["full_boost_torque_peak"] is ValveState.open


def test_a_worn_piston_is_up_at_cruise(bench) -> None:  # type: ignore[no-untyped-def]
    """15.2 mm2 past the pistons against 9.8 mm2 of passages: less than a third of the cruise vacuum is left below."""
    worn = {"primary.step_up_piston_fit": "worn"}
    made = bench(carburetor=STEP_UP, target="naturally_aspirated", found=worn)
    assert valves(made, PISTONS)["cruise"] is ValveState.open
    assert "power_valve_open_at_cruise" in rules_of(made)


def test_stiff_springs_close_the_hole_in_throttled_boost_only_at_a_small_boost(bench) -> None:  # type: ignore[no-untyped-def]
    """8 inHg are 27 kPa. At 3 psi bonnet and manifold can differ by about 21 kPa, at 10 psi by about 69 kPa."""
    small = bench(carburetor=STEP_UP, charge={**JOB["charge"], "boost": "3 psi"})
    large = bench(carburetor=STEP_UP)
    stiff = {"primary__step_up_piston": "stiff_springs"}
    light = [state for state in valves(small, PISTONS) if state.startswith("part_throttle_boost")]
    assert {valves(small, PISTONS, **stiff)[state] for state in light} == {ValveState.open}
    assert ValveState.shut in {valves(large, PISTONS, **stiff)[state] for state in light}


# --- two-barrel and spread-bore ------------------------------------------------------------------------------


def test_two_barrel_blow_through() -> None:
    planned = plan("two_barrel_blow_through")
    found = changes(planned)
    # One pair cruises and carries boost: its valve lives, on the bonnet in boost and on the manifold at cruise.
    assert found["primary.power_valve_reference_line"] == "switched"
    assert "enrichment_shut_in_boost" in needs(planned, "primary.power_valve_reference_line")
    assert found["primary.power_valve_vacuum_passage"] == "plugged"
    assert found["primary.reference_check"] == "fitted"
    assert "primary.main_jets" not in found
    assert "primary.power_valve" not in found
    assert found["primary.float"] == "closed_cell"
    assert found["primary.pump"] == "reinforced_diaphragm"
    # There is no second half.
    assert not any(name.startswith("secondary") for name in planned.bench.network.items)


def test_two_barrel_draw_through() -> None:
    planned = plan("two_barrel_draw_through")
    found = changes(planned)
    # A diaphragm is a wall: after the compressor is right for it, where it would be wrong for a piston.
    assert found["primary.power_valve_reference_line"] == "manifold"
    assert found["primary.power_valve_vacuum_passage"] == "plugged"
    assert found["primary.reference_check"] == "fitted"
    assert found["charge_cooler"] == "absent"
    assert found["compressor_seal"] == "positive_face"
    assert not any(word in item for item in found for word in ("bowl", "float", ".pump", "throttle_shaft", "regulator"))


def test_two_barrel_back_to_naturally_aspirated() -> None:
    planned = plan("two_barrel_back_to_naturally_aspirated")
    found = changes(planned)
    assert found["primary.main_jets"] == "for_cruise"
    # Jets for cruise need the valve at full load, and the valve needs the vacuum that shuts it at cruise.
    assert found["primary.power_valve_vacuum_passage"] == "open"
    assert found["primary.pump_cover"] == "open"
    assert needs(planned, "primary.pump_cover") == {"pump_cover_sealed_shut"}
    assert found["advance_line.inline"] == "none"
    assert len(found) == 4


def test_spread_bore_blow_through() -> None:
    planned = plan("spread_bore_blow_through")
    found = changes(planned)
    # A dry side at the atmosphere against a signal at bonnet pressure: boost holds the large barrels shut.
    assert found["secondary.diaphragm_reference_line"] == "air_horn"
    assert found["secondary.diaphragm_rod_opening"] == "plugged"
    assert "secondary_diaphragm_does_not_open" in needs(planned, "secondary.diaphragm_reference_line")
    # The plate has no valve; its holes carry boost. The primaries cruise, so their valve is switched.
    assert found["secondary.main_jets"] == "for_full_boost"
    assert found["primary.power_valve_reference_line"] == "switched"
    assert not any(".power_valve" in name for name in planned.bench.network.items if name.startswith("secondary"))


def test_spread_bore_draw_through() -> None:
    found = changes(plan("spread_bore_draw_through"))
    # Both sides of the secondary diaphragm stand before the compressor, as they always did.
    assert not any("diaphragm" in item or "opening" in item for item in found)
    assert found["primary.power_valve_reference_line"] == "manifold"
    assert found["secondary.main_jets"] == "for_full_boost"


def test_spread_bore_back_to_naturally_aspirated() -> None:
    planned = plan("spread_bore_back_to_naturally_aspirated")
    found = changes(planned)
    # A sealed dry side is an air spring; a plate drilled for boost is too rich; the valve must feel the manifold.
    assert found["secondary.diaphragm_rod_opening"] == "open"
    assert found["secondary.main_jets"] == "for_wide_open"
    assert found["primary.power_valve_reference_line"] == "manifold"
    assert "primary.throttle_shaft" not in found
