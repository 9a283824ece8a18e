"""Sizes: they give the mixture they are for, err on the rich side, and say where one stage is not enough."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from metering_jobs import OPEN_IN_BOOST, answer, as_found, group, model, point, sized

from boostcarb.drills import nearest_drills
from boostcarb.fueling.circuit import Origin
from boostcarb.fueling.mixture import Status
from boostcarb.fueling.notes import _faults
from boostcarb.fueling.sizes import GroupSizes, Part, Size
from boostcarb.fueling.sizing import TOO_RICH
from boostcarb.quantities import UnitSystem
from boostcarb.report.fuel_lines import size_lines
from boostcarb.report.metering_records import size_record


def size(sizes: GroupSizes, part: Part) -> Size:
    return next(each for each in (*sizes.sizes, *sizes.stages) if each.part is part)


FULL = {**OPEN_IN_BOOST, "secondary.main_jets": "for_full_boost"}


def test_exact_bores_give_the_target_in_the_state_they_are_for() -> None:
    fueling = as_found("blow_through", found=FULL)
    main = size(fueling.sizes["primary"], Part.main_jets)
    circuit = fueling.circuits["primary"].with_bores({"primary.main_jet_hole": main.bore_m})
    cruise = next(state for state in fueling.metering.states if state.name == main.state)
    found = fueling.metering.mixture(cruise, circuit).leanest
    assert found is not None
    assert (main.state, main.target) == ("cruise", 1.0)
    assert found.mixture == pytest.approx(main.target, rel=1e-9)


def test_restrictions_give_the_target_beside_the_jets_that_are_fitted() -> None:
    fueling = as_found("blow_through", found=FULL)
    main, power = (size(fueling.sizes["primary"], part) for part in (Part.main_jets, Part.restrictions))
    circuit = fueling.circuits["primary"].with_bores(
        {"primary.main_jet_hole": main.fit.diameter_m, "primary.power_restriction": power.bore_m}
    )
    state = next(state for state in fueling.metering.states if state.name == power.state)
    found = fueling.metering.mixture(state, circuit).leanest
    assert found is not None
    assert state.boosted
    assert power.enrichment_open
    assert found.mixture == pytest.approx(power.target, rel=1e-9)


@pytest.mark.parametrize("target", ["naturally_aspirated", "blow_through", "draw_through"])
def test_sizes_as_drills_err_on_the_rich_side_everywhere_they_are_for(target: str) -> None:
    found = FULL if target != "naturally_aspirated" else {}
    if target == "draw_through":
        found = {**FULL, "primary.power_valve_reference_line": "manifold"}
    fueling = sized(target, found=found)
    for sizes in fueling.sizes.values():
        assert sizes.sizes
        for each in sizes.sizes:
            assert each.fit.diameter_m >= each.bore_m - 1e-9
            mixture = point(fueling, each.state, each.group).mixture
            assert 0.9 * each.target < mixture <= each.target * (1 + 1e-9)
    top = "wide_open_redline" if target == "naturally_aspirated" else "full_boost_redline"
    for name in ("primary", "secondary"):
        each = group(fueling, top, name)
        assert each.leanest is not None
        assert each.leanest.mixture <= each.target * (1 + 1e-9)


def test_main_jets_for_wide_open_are_sized_for_the_worst_state() -> None:
    fueling = as_found("naturally_aspirated")
    needed = size(fueling.sizes["secondary"], Part.main_jets)
    circuit = fueling.circuits["secondary"].with_bores({"secondary.main_jet_hole": needed.bore_m})
    for state in fueling.metering.states:
        mixture = fueling.metering.mixture(state, circuit)
        if mixture.leanest is not None:
            assert mixture.leanest.mixture <= mixture.target * (1 + 1e-9)


def test_drills_are_the_nearest_with_their_neighbors_and_rise_in_richness() -> None:
    main = size(as_found("blow_through").sizes["primary"], Part.main_jets)
    for series in ("number", "fraction", "metric"):
        drills = [each for each in main.drills if each.drill.series == series]
        assert [each.place for each in drills] == ["smaller", "nearest", "larger"]
        assert drills[1].drill == nearest_drills(main.bore_m)[series].nearest
        diameters = [each.drill.diameter_m for each in drills]
        mixtures = [each.mixture for each in drills if each.mixture is not None]
        assert diameters == sorted(diameters)
        assert mixtures == sorted(mixtures, reverse=True)
        assert mixtures[0] > main.target > mixtures[2]


def test_one_stage_that_is_right_in_boost_is_absurdly_rich_before_and_two_are_sized() -> None:
    fueling = as_found("blow_through", found=FULL, charge={"boost": "14 psi"})
    sizes = fueling.sizes["primary"]
    assert sizes.single_stage_mixture is not None
    assert sizes.single_stage_mixture < TOO_RICH
    first, second = sizes.stages
    assert (first.part, second.part) == (Part.restrictions, Part.second_stage)
    main, whole = (size(GroupSizes("", sizes.sizes), part) for part in (Part.main_jets, Part.restrictions))
    metering = fueling.metering
    before = next(state for state in metering.states if state.name == first.state)
    circuit = fueling.circuits["primary"].with_bores(
        {"primary.main_jet_hole": main.fit.diameter_m, "primary.power_restriction": first.bore_m}
    )
    found = metering.mixture(before, circuit).leanest
    assert found is not None
    assert not before.boosted
    assert found.mixture == pytest.approx(first.target, rel=1e-9)
    assert first.bore_m < whole.bore_m
    assert second.target == whole.target


def test_jets_that_carry_boost_alone_get_a_second_stage_too() -> None:
    sizes = as_found("blow_through", found=FULL, charge={"boost": "14 psi"}).sizes["secondary"]
    assert [each.part for each in sizes.sizes] == [Part.main_jets]
    assert [each.part for each in sizes.stages] == [Part.main_jets, Part.second_stage]
    assert sizes.stages[0].bore_m < sizes.sizes[0].bore_m


def test_draw_through_needs_no_density_in_its_restrictions() -> None:
    """Blow-through needs more area in boost than draw-through for the same two lambdas."""
    blow = as_found("blow_through", found=FULL).sizes["primary"]
    draw = as_found("draw_through", found={**FULL, "primary.power_valve_reference_line": "manifold"}).sizes["primary"]
    assert size(blow, Part.restrictions).area_m2 > 1.5 * size(draw, Part.restrictions).area_m2
    assert draw.stages == ()


def test_a_blanked_valve_puts_everything_into_the_main_jets() -> None:
    found = {"primary.power_valve": "blank", "primary.main_jets": "for_full_boost"}
    fueling = sized("blow_through", found=found)
    sizes = fueling.sizes["primary"]
    assert [each.part for each in sizes.sizes] == [Part.main_jets]
    assert size(sizes, Part.main_jets).target == 0.78
    assert point(fueling, "cruise").mixture < 0.75


def test_a_valve_that_is_shut_at_full_load_is_not_sized() -> None:
    sizes = as_found("blow_through", found={"primary.power_valve": "blank"}).sizes["primary"]
    assert [each.part for each in sizes.sizes] == [Part.main_jets]
    assert any("nothing enriches" in text for text in sizes.not_sized)


def test_a_window_that_is_too_small_is_said() -> None:
    found = {**FULL, "primary.power_valve_window": {"is": "open", "bore": "0.8 mm"}}
    sizes = as_found("blow_through", found=found).sizes["primary"]
    assert any("window of the valve is too small" in text for text in sizes.not_sized)
    assert [each.part for each in sizes.sizes] == [Part.main_jets]


def test_the_window_that_is_asked_for_leaves_the_restrictions_half_of_it() -> None:
    small = {**FULL, "primary.power_valve_window": {"is": "open", "bore": "0.8 mm"}}
    said = as_found("blow_through", found=small).sizes["primary"].not_sized
    enough = next(re.search(r"to (\d\.\d\d) mm", text) for text in said)
    assert enough is not None
    large = {**FULL, "primary.power_valve_window": {"is": "open", "bore": f"{enough[1]} mm"}}
    holes = size(as_found("blow_through", found=large).sizes["primary"], Part.restrictions)
    # Two round holes under one, at one discharge coefficient.
    assert 2 * holes.bore_m**2 / (float(enough[1]) * 1e-3) ** 2 == pytest.approx(0.5, rel=0.02)


def test_a_window_that_meters_more_than_the_restrictions_gives_no_size() -> None:
    """Restrictions as large as the window pass 1 / root 2 of it: 1.39e-6 m2 is wanted here with 2.5 mm, so that a
    window of 0.8 x pi / 4 x bore^2 = 1.30e-6 x root 2 = 1.84e-6 m2, 1.71 mm, is just too small.
    """
    found = {**FULL, "primary.power_valve_window": {"is": "open", "bore": "1.6 mm"}}
    assert any("too small" in text for text in as_found("blow_through", found=found).sizes["primary"].not_sized)
    found = {**FULL, "primary.power_valve_window": {"is": "open", "bore": "1.8 mm"}}
    assert as_found("blow_through", found=found).sizes["primary"].not_sized == ()


def test_a_window_or_nozzle_that_meters_too_is_said_with_the_bore_that_would_do() -> None:
    """Window: two holes of 1.15 mm are (2 x 1.15^2) / 1.9^2 = 73 % of it; 1.15 x root (2 x 2) = 2.30 mm would do.

    Nozzles, two over two jets of 2.9 mm: (2.5 / 2.9)^2 = 0.74 times; 2.9 x root 1.5 = 3.55 mm would do.
    """
    found = {
        **FULL,
        "primary.power_valve_window": {"is": "open", "bore": "1.9 mm"},
        "secondary.nozzle": {"is": "open", "bore": "2.5 mm"},
    }
    said = answer("blow_through", found=found)
    window = next(note.text for note in said.notes if "window meters too" in note.text)
    nozzle = next(note.text for note in said.notes if "nozzles meter too" in note.text)
    assert "73% of the area" in window
    assert "A window of 2.30 mm would do (now 1.90 mm)" in window
    assert "0.74 times the area" in nozzle
    assert "Nozzles of 3.55 mm would do (now 2.50 mm)" in nozzle
    usual = answer("blow_through", found=FULL)
    assert not any("too. " in note.text for note in usual.notes)


def test_a_second_stage_does_not_pass_the_first_window() -> None:
    """Both stages beside the jets give the target: the first in series with its window, the second on its own."""
    fueling = as_found("blow_through", found=FULL, charge={"boost": "14 psi"})
    sizes, circuit = fueling.sizes["primary"], fueling.circuits["primary"]
    first, second = sizes.stages
    window = circuit.channels[0].window
    assert window is not None
    series = (first.area_m2**-2 + window.area_m2**-2) ** -0.5
    main = circuit.with_bores({"primary.main_jet_hole": sizes.sizes[0].fit.diameter_m}).main
    assert main is not None
    state = next(state for state in fueling.metering.states if state.name == second.state)
    pull = fueling.metering.pull(state, circuit)
    found = fueling.metering.point_of_areas(
        circuit, pull, pull.bowl_low_pa_abs, main.area_m2 + series + second.area_m2, 0.0
    )
    assert found is not None
    assert found.mixture == pytest.approx(second.target, rel=1e-6)


def test_jets_for_cruise_are_not_sized_where_cruise_only_just_starts() -> None:
    """Fuel 40 mm under the nozzle: 745 x 9.81 x 0.040 = 292 Pa lift it; the pull at cruise is under 4 times that."""
    said = answer("blow_through", found=OPEN_IN_BOOST, metering={"spill_height": "40 mm"})
    assert group(said.planned, "cruise").status is Status.starting
    assert said.planned.sizes["primary"].sizes == ()
    assert any(note.blocks and "jets for cruise cannot be sized" in note.text for note in said.notes)
    assert not said.clean


@pytest.mark.parametrize("status", [Status.starting, Status.no_circuit])
def test_a_circuit_that_does_not_work_in_boost_blocks(status: Status) -> None:
    said = answer("blow_through", found=FULL)
    row = next(row for row in said.planned.table if row.state == "full_boost_redline")
    broken = replace(row.groups[0], status=status, leanest=None, richest=None)
    assert (f"{status.value}.", True) in list(_faults(broken, row))
    cruise = next(row for row in said.planned.table if row.state == "cruise")
    quiet = list(_faults(replace(cruise.groups[0], status=Status.starting, leanest=None, richest=None), cruise))
    assert quiet == []


def test_plugged_jets_block() -> None:
    said = answer("blow_through", found={"secondary.main_jet_hole": "plugged"})
    assert not said.clean


def test_boost_sizes_start_rich_without_a_reading_at_full_load() -> None:
    """By hand for jets alone: the pull goes with the gain, 1.5 over 2.0, fuel with its root and the discharge 0.88.

    Area over area is 1 / (0.88 x root 0.75) = 1.312; bleed and nozzle, which stay as they are, add up to a tenth.
    """
    found = answer("blow_through", found=FULL)
    jets = size(found.planned.sizes["secondary"], Part.main_jets)
    power = size(found.planned.sizes["primary"], Part.restrictions)
    usual = found.model.usual_factors.booster_gain
    assert jets.rich_start is not None
    assert jets.rich_start.drill is not None
    least = 1 / (0.88 * (1.5 / usual) ** 0.5)
    assert least < (jets.rich_start.drill.diameter_m / jets.bore_m) ** 2 < 1.15 * least
    assert power.rich_start is not None
    assert power.rich_start.drill is not None
    assert power.rich_start.drill.diameter_m > power.fit.diameter_m
    assert size(found.planned.sizes["primary"], Part.main_jets).rich_start is None
    text = "\n".join(size_lines((jets, power), (), UnitSystem.METRIC))
    assert f"start with {jets.rich_start.drill.name}" in text
    assert size_record(jets)["start_with"]["diameter_m"] == jets.rich_start.drill.diameter_m


def test_a_reading_at_full_load_ends_the_rich_start() -> None:
    reading = {"state": "wide_open_before_boost", "lambda": 0.9, "group": "primary"}
    found = answer("blow_through", found=OPEN_IN_BOOST, metering={"measured": [reading]})
    assert found.model.rich_start is None
    assert all(each.rich_start is None for each in found.sizes)


def test_a_nozzle_that_is_too_small_is_said_and_gives_no_size() -> None:
    fueling = as_found("blow_through", found={"secondary.nozzle": {"is": "open", "bore": "1 mm"}})
    assert fueling.sizes["secondary"].sizes == ()
    assert any("no jet is large enough" in text for text in fueling.sizes["secondary"].not_sized)


def test_jets_that_are_no_longer_those_found_are_taken_as_computed() -> None:
    measured = {"primary.main_jet_hole": {"is": "open", "bore": "1.2 mm"}}
    found = model("blow_through", found=measured)
    same = found.fueling(found.found).circuits["primary"].main
    other = found.fueling({**found.found, "primary.main_jets": "for_full_boost"}).circuits["primary"].main
    assert same is not None
    assert other is not None
    assert (same.origin, same.bore_m) == (Origin.measured, 1.2e-3)
    assert other.origin is Origin.computed
    assert other.bore_m > 1.6e-3


def test_targets_of_the_job_count() -> None:
    lean, rich = (
        size(as_found("blow_through", found=FULL, metering={"targets": {"boost": boost}}).sizes["primary"],
             Part.restrictions)
        for boost in (0.85, 0.72)
    )  # fmt: skip
    assert (lean.target, rich.target) == (0.85, 0.72)
    assert rich.bore_m > lean.bore_m


def test_jets_as_found_of_a_kind_without_a_usual_bore_are_not_guessed() -> None:
    """Jets somebody once sized for boost, bore not given: no lambda, and no ratio to them."""
    fueling = as_found("naturally_aspirated", found={"primary.main_jets": "for_full_boost"})
    found = group(fueling, "cruise")
    assert (found.status, found.leanest) == (Status.unknown, None)
    jets = size(fueling.sizes["primary"], Part.main_jets)
    assert jets.area_ratio is None
    known = {"primary.main_jets": "for_full_boost", "primary.main_jet_hole": {"is": "open", "bore": "2 mm"}}
    assert group(as_found("naturally_aspirated", found=known), "cruise").leanest is not None
