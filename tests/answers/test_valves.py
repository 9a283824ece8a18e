"""What each valve does with each reference, in the states that a real air path gives.

The verdicts follow from pressure balances across the diaphragm, worked out by hand beside each test; the trade knows
them as common practice, no source.
"""

from __future__ import annotations

import pytest

from boostcarb.bench import Bench
from boostcarb.solving.table import StateRow

PRIMARY = "primary.power_valve_diaphragm"
PART_THROTTLE = ("part_throttle_boost_light", "part_throttle_boost_mid", "part_throttle_boost_deep")
FULL = ("full_boost_torque_peak", "full_boost_redline")
REFERENCED_FROM_OUTSIDE = {
    "primary.power_valve_vacuum_passage": "plugged",
    "primary.power_valve_reference_port": "open",
}


def rows(bench: Bench) -> dict[str, StateRow]:
    return {row.name: row for row in bench.states(bench.network.found())}


def valve(bench: Bench, diaphragm: str = PRIMARY) -> dict[str, str | None]:
    return {name: row.diaphragms[diaphragm].valve for name, row in rows(bench).items()}


def rules(bench: Bench, **changes: str) -> set[str]:
    return {finding.rule for finding in bench.findings({**bench.network.found(), **changes})}


def test_blow_through_below_the_throttle_is_shut_in_throttled_boost_and_open_at_full_boost(bench):
    """Bowl at the air horn's pressure, chamber at the manifold's: shut where their difference exceeds 22 kPa."""
    made = bench(found={"primary.power_valve": {"is": "vacuum_held", "setting": "22 kPa"}})
    state, valves = rows(made), valve(made)
    for name in PART_THROTTLE:
        drop = state[name].spaces["air_horn"].low_pa_abs - state[name].spaces["manifold"].low_pa_abs
        assert drop > 24e3, "the states must show the hole for this test to mean anything"
        assert state[name].spaces["manifold"].low_pa_abs > state[name].spaces["ambient"].low_pa_abs
        assert valves[name] == "shut"
    assert {valves[name] for name in FULL} == {"open"}
    assert "enrichment_shut_in_boost" in rules(made)


def test_draw_through_below_the_throttle_is_not_open_for_sure_in_part_throttle_boost(bench):
    """The base stands in vacuum while the manifold is boosted."""
    made = bench(target="draw_through")
    assert all(valve(made)[name] in ("shut", "undecided") for name in PART_THROTTLE)
    assert "enrichment_shut_in_boost" in rules(made)


def test_draw_through_referenced_after_the_compressor_is_open_in_boost_and_shut_at_cruise(bench):
    found = {**REFERENCED_FROM_OUTSIDE, "primary.power_valve_reference_line": "manifold"}
    valves = valve(bench(target="draw_through", found=found))
    assert {valves[name] for name in (*PART_THROTTLE, *FULL)} == {"open"}
    assert valves["cruise"] == "shut"


def test_blow_through_chamber_opened_valve_fed_from_the_manifold_never_opens(bench):
    """It needs the manifold above the bowl; in blow-through the bowl stands at the air horn, the manifold below it."""
    valves = valve(bench(found={"primary.power_valve": "chamber_opened"}))
    assert {state for name, state in valves.items() if not name.startswith("backfire")} == {"shut"}


def test_bowl_opened_valve_with_its_chamber_at_atmosphere_opens_in_boost(bench):
    found = {
        **REFERENCED_FROM_OUTSIDE,
        "primary.power_valve": "bowl_opened",
        "primary.power_valve_reference_line": "ambient",
    }
    made = bench(found=found)
    valves = valve(made)
    assert {valves[name] for name in (*PART_THROTTLE, *FULL)} == {"open"}
    assert {valves[name] for name in ("idle", "cruise", "overrun")} == {"shut"}
    assert "enrichment_shut_in_boost" not in {
        finding.rule for finding in made.findings(made.network.found()) if finding.place == "primary"
    }


def test_bowl_opened_valve_with_its_vacuum_passage_left_open_moves_the_wrong_way(bench):
    """Manifold vacuum pulls it open at cruise; at full boost bowl and chamber are near one pressure and it shuts."""
    valves = valve(bench(found={"primary.power_valve": "bowl_opened"}))
    assert valves["cruise"] == "open"
    assert {valves[name] for name in FULL} == {"shut"}


def test_bowl_opened_valve_on_a_plugged_chamber_opens_later_as_the_chamber_warms(bench):
    """p = p0 T/T0: the pressure that the bowl must exceed grows with the chamber's temperature."""
    found = {"primary.power_valve": "bowl_opened", "primary.power_valve_vacuum_passage": "plugged"}

    def needed(hot: str) -> float:
        made = bench(found=found, site={"hot_soak": hot, "assembled_at": "20 degC"})
        return rows(made)["full_boost_torque_peak"].spaces["primary.power_valve_chamber"].high_pa_abs

    assert needed("120 degC") > needed("60 degC") > 101.3e3


def test_vacuum_held_valve_on_a_plugged_chamber_shuts_above_a_boost_that_depends_on_assembly(bench):
    """Sealed at p0, T0 the chamber holds p0 T/T0; the valve shuts when the bowl exceeds it by the setting."""
    found = {"primary.power_valve_vacuum_passage": "plugged"}
    cold = bench(found=found, site={"assembled_at": "0 degC"})
    warm = bench(found=found, site={"assembled_at": "40 degC"})
    chamber = "primary.power_valve_chamber"
    cold_range = rows(cold)["full_boost_redline"].spaces[chamber]
    warm_range = rows(warm)["full_boost_redline"].spaces[chamber]
    assert cold_range.high_pa_abs / warm_range.high_pa_abs == pytest.approx(313.15 / 273.15, rel=1e-6)
    assert valve(warm)["full_boost_torque_peak"] == "shut"
    assert "enrichment_shut_in_boost" in rules(warm)
    assert "power_valve_chamber_sealed" in rules(warm)


def test_two_equal_openings_stand_between_and_are_found(bench):
    """New reference at the air horn, old passage left open, equal bores: half way between (series orifices)."""
    found = {
        "primary.power_valve_reference_port": {"is": "open", "bore": "3 mm"},
        "primary.power_valve_reference_line": "air_horn",
    }
    made = bench(found=found)
    row = rows(made)["part_throttle_boost_mid"]
    horn, base = row.spaces["air_horn"].low_pa_abs, row.spaces["base"].low_pa_abs
    chamber = row.spaces["primary.power_valve_chamber"].low_pa_abs
    assert base + 0.2 * (horn - base) < chamber < horn - 0.2 * (horn - base)
    assert "two_references_on_one_chamber" in rules(made)


def test_one_way_valve_is_right_on_the_brake_booster_and_wrong_on_a_power_valve_signal(bench):
    found = {
        **REFERENCED_FROM_OUTSIDE,
        "primary.power_valve_reference_line": {"is": "manifold", "inline": "one_way_valve"},
    }
    made = bench(found=found)
    places = {(finding.rule, finding.place) for finding in made.findings(made.network.found()) if finding.blocks}
    assert ("power_valve_signal_held", "primary.power_valve_chamber") in places
    assert not any(place.startswith("brake_booster") for _, place in places)
    without = bench(found={"brake_booster_line": {"is": "manifold", "inline": "none"}})
    assert any(
        finding.place.startswith("brake_booster") or finding.place == "manifold"
        for finding in without.findings(without.network.found())
        if finding.rule == "brake_booster_without_one_way_valve"
    )


def test_vacuum_secondary_with_its_dry_side_at_atmosphere_never_opens_in_blow_through(bench):
    """The venturi throat is far above atmosphere in boost, so the signal side pushes it shut."""
    at_atmosphere = bench(found={"secondary.opening": "vacuum"})
    diaphragm = "secondary.opening_diaphragm"
    assert valve(at_atmosphere, diaphragm)["secondary_call"] == "shut"
    assert {valve(at_atmosphere, diaphragm)[name] for name in FULL} == {"shut"}
    at_the_horn = bench(
        found={
            "secondary.opening": "vacuum",
            "secondary.diaphragm_rod_opening": "plugged",
            "secondary.diaphragm_reference_line": "air_horn",
        }
    )
    assert valve(at_the_horn, diaphragm)["secondary_call"] == "open"


def test_regulator_referenced_to_the_manifold_starves_the_bowl_at_cruise(bench):
    """It holds the rail a set pressure above the manifold, which stands tens of kilopascals below the bowl."""
    made = bench(found={"regulator.reference_line": "manifold"})
    row = rows(made)["cruise"]
    short = row.spaces["primary.bowl"].low_pa_abs - row.spaces["regulator.reference_side"].low_pa_abs
    assert short > 30e3
    found = {finding.rule: finding for finding in made.findings(made.network.found())}
    assert found["regulator_feels_manifold"].blocks
