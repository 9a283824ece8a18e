"""Points and ranges: tied, held, sealed and metering spaces over the states of a drive."""

from __future__ import annotations

import math

import numpy as np
import pytest
from networks import AMBIENT, KPA, SEALING, all_open, gate, network, solver, state, way

from boostcarb.errors import NotSolved
from boostcarb.physics.atmosphere import standard_pressure
from boostcarb.solving.pressures import (
    SEALED_TRAVEL_SHARE,
    Nature,
    Pressures,
    PressureSolver,
    Sealing,
    StateInput,
)

DRIVE = (
    state("engine_off", horn=101.3, manifold=101.3),
    state("idle", horn=101.2, manifold=38.0),
    state("cruise", horn=103.0, manifold=58.0),
    state("boost", horn=175.0, manifold=171.0),
    state("overrun", horn=103.0, manifold=25.0),
)
LOWEST = 25.0 * KPA
NAMES = [each.name for each in DRIVE]


def source(name: str, among: tuple[StateInput, ...] = DRIVE) -> list[float]:
    return [each.sources_pa_abs[name] for each in among]


def ranges(solved: Pressures, space: str) -> list[tuple[float, float]]:
    return [solved.range_of(space, name) for name in solved.states]


# --- tied -------------------------------------------------------------------------------------------------


def test_tied_space_has_exactly_the_pressure_of_its_only_source() -> None:
    built = network([way("a", "chamber", "manifold"), way("b", "chamber", "fitting", area=1e-9)], ["manifold", "horn"])
    solved = solver(built, *DRIVE).solve(all_open(built))
    for space in ("chamber", "fitting"):
        assert ranges(solved, space) == [(value, value) for value in source("manifold")]
        assert solved.spaces[space].nature is Nature.tied
    assert solved.residual == 0.0


def test_two_ways_to_one_source_make_no_divider() -> None:
    built = network([way("a", "x", "horn"), way("b", "x", "y", area=3e-6), way("c", "y", "horn")], ["horn", "manifold"])
    solved = solver(built, *DRIVE).solve(all_open(built))
    assert ranges(solved, "x") == ranges(solved, "y") == [(value, value) for value in source("horn")]


def test_source_that_a_state_does_not_name_is_at_the_atmosphere() -> None:
    built = network([way("a", "x", "crankcase")], ["crankcase"])
    assert solver(built, *DRIVE).solve(all_open(built)).range_of("x", "boost") == (AMBIENT, AMBIENT)


def test_source_keeps_its_own_pressure_whatever_leads_there() -> None:
    built = network([way("a", "horn", "manifold"), way("b", "x", "horn")], ["horn", "manifold"])
    solved = solver(built, *DRIVE).solve(all_open(built))
    assert ranges(solved, "horn") == ranges(solved, "x") == [(value, value) for value in source("horn")]
    assert solved.spaces["horn"].nature is Nature.source


def test_equal_openings_lie_between_their_sources_and_plugging_one_ties_to_the_other() -> None:
    built = network([way("a", "x", "horn"), way("b", "x", "manifold")], ["horn", "manifold"])
    made = solver(built, *DRIVE)
    for (low, high), one, two in zip(
        ranges(made.solve(all_open(built)), "x"), source("horn"), source("manifold"), strict=True
    ):
        assert low == high
        assert min(one, two) <= low <= max(one, two)
    plugged = made.solve(all_open(built, a="plugged"))
    assert ranges(plugged, "x") == [(value, value) for value in source("manifold")]


# --- sealed -----------------------------------------------------------------------------------------------


def assert_sealed(solved: Pressures, space: str, sealing: Sealing = SEALING) -> None:
    cold = sealing.pressure_pa_abs * sealing.coldest_k / sealing.temperature_k * (1 - SEALED_TRAVEL_SHARE)
    hot = sealing.pressure_pa_abs * sealing.hottest_k / sealing.temperature_k * (1 + SEALED_TRAVEL_SHARE)
    assert solved.spaces[space].nature is Nature.sealed
    for low, high in ranges(solved, space):
        assert (low, high) == (pytest.approx(cold, rel=1e-12), pytest.approx(hot, rel=1e-12))


def test_sealed_space_follows_the_temperature_from_its_assembly() -> None:
    built = network([way("a", "chamber", "manifold")], ["manifold"])
    assert_sealed(solver(built, *DRIVE).solve(all_open(built, a="plugged")), "chamber")


def test_space_sealed_on_a_mountain_starts_from_the_pressure_there() -> None:
    high_up = Sealing(standard_pressure(altitude_m=2000.0), 283.15, 253.15, 363.15)
    built = network([way("a", "chamber", "manifold")], ["manifold"])
    solved = solver(built, *DRIVE, sealing=high_up).solve(all_open(built, a="plugged"))
    assert_sealed(solved, "chamber", high_up)
    # US Standard Atmosphere 1976: 79 495 Pa at 2000 m.
    assert solved.range_of("chamber", "idle")[0] == pytest.approx(79495.2 * 253.15 / 283.15 * 0.95, rel=1e-5)


def test_spaces_joined_to_each_other_only_are_sealed_together() -> None:
    built = network(
        [way("a", "chamber", "manifold"), way("b", "chamber", "fitting"), way("c", "fitting", "horn", one_way=True)],
        ["manifold", "horn"],
    )
    solved = solver(built, *DRIVE).solve(all_open(built, a="plugged", c="plugged"))
    assert_sealed(solved, "chamber")
    assert_sealed(solved, "fitting")


def test_space_without_any_way_is_sealed() -> None:
    built = network([way("a", "x", "horn")], ["horn"], extra=["lonely"])
    assert_sealed(solver(built, *DRIVE).solve(all_open(built)), "lonely")


# --- held by a one-way valve ------------------------------------------------------------------------------


def test_valve_toward_the_manifold_holds_the_lowest_of_the_drive() -> None:
    built = network([way("a", "booster", "manifold", one_way=True)], ["manifold"])
    solved = solver(built, *DRIVE).solve(all_open(built))
    assert solved.spaces["booster"].nature is Nature.held
    for name, present in zip(NAMES, source("manifold"), strict=True):
        assert solved.range_of("booster", name) == (LOWEST, pytest.approx(present))


def test_valve_from_the_manifold_holds_the_highest_of_the_drive() -> None:
    built = network([way("a", "manifold", "chamber", one_way=True)], ["manifold"])
    solved = solver(built, *DRIVE).solve(all_open(built))
    for name, present in zip(NAMES, source("manifold"), strict=True):
        assert solved.range_of("chamber", name) == (pytest.approx(present), 171.0 * KPA)


def test_held_space_may_still_have_the_pressure_of_its_assembly() -> None:
    # Assembled at sea level, driven where the air is thin: the valve away from the manifold keeps the higher.
    thin = (state("off", manifold=70.0), state("idle", manifold=30.0))
    built = network([way("a", "manifold", "chamber", one_way=True)], ["manifold"])
    assert solver(built, *thin).solve(all_open(built)).range_of("chamber", "idle") == (
        pytest.approx(30 * KPA), AMBIENT,
    )


def test_valve_fitted_in_a_line_counts_only_while_it_is_fitted() -> None:
    built = network([way("line", "booster", "manifold", inline="line.inline")], ["manifold"])
    made = solver(built, *DRIVE)
    held = made.solve(all_open(built, **{"line.inline": "one_way_valve"}))
    free = made.solve(all_open(built, **{"line.inline": "none"}))
    assert held.range_of("booster", "boost") == (LOWEST, pytest.approx(171 * KPA))
    assert free.range_of("booster", "boost") == (171 * KPA, 171 * KPA)


def test_pocket_of_several_spaces_is_held_as_one() -> None:
    built = network([way("a", "fitting", "manifold", one_way=True), way("b", "fitting", "chamber")], ["manifold"])
    solved = solver(built, *DRIVE).solve(all_open(built))
    assert ranges(solved, "chamber") == ranges(solved, "fitting")
    assert solved.range_of("chamber", "boost")[0] == LOWEST


@pytest.mark.parametrize("count", [2, 3])
def test_row_of_valves_holds_like_one(count: int) -> None:
    # Each held space must not take its held neighbor's resting pressure for an enforced one.
    names = [*(f"x{index}" for index in range(count)), "manifold"]
    built = network(
        [way(f"v{index}", names[index], names[index + 1], one_way=True) for index in range(count)], ["manifold"]
    )
    solved = solver(built, *DRIVE).solve(all_open(built))
    for space in names[:-1]:
        for name, present in zip(NAMES, source("manifold"), strict=True):
            assert solved.range_of(space, name) == (LOWEST, pytest.approx(present, rel=1e-6))


def test_valve_with_a_bleed_is_a_point() -> None:
    built = network(
        [way("check", "chamber", "manifold", one_way=True), way("bleed", "chamber", "horn", area=2e-8)],
        ["manifold", "horn"],
    )
    solved = solver(built, *DRIVE).solve(all_open(built))
    assert solved.spaces["chamber"].nature is Nature.tied
    for name, (low, high) in zip(NAMES, ranges(solved, "chamber"), strict=True):
        assert low == high, name
    assert solved.range_of("chamber", "idle")[0] == pytest.approx(38 * KPA, rel=0.01)


def test_air_that_flows_through_a_pocket_gives_its_pressure() -> None:
    # In from the horn, out to the manifold: a point while the horn is higher, a range while it is not.
    built = network(
        [way("in", "horn", "x", one_way=True), way("out", "x", "manifold", one_way=True)], ["horn", "manifold"]
    )
    states = (*DRIVE, state("reversed", horn=90.0, manifold=101.0))
    solved = solver(built, *states).solve(all_open(built))
    for name in NAMES[1:]:
        low, high = solved.range_of("x", name)
        assert low == high
        assert states[NAMES.index(name)].sources_pa_abs["manifold"] < low
        assert low < states[NAMES.index(name)].sources_pa_abs["horn"]
    assert solved.range_of("x", "reversed") == (pytest.approx(90 * KPA), pytest.approx(101 * KPA))
    assert solved.spaces["x"].nature is Nature.held


def test_flow_that_is_lost_among_leaks_makes_a_range_the_right_way_round() -> None:
    # What the two small valves pass is less than what the large shut one leaks.
    built = network(
        [way("in", "horn", "x", area=1e-13, one_way=True), way("out", "x", "manifold", area=1e-13, one_way=True),
         way("shut", "x", "tank", area=1e-5, one_way=True)],
        ["horn", "manifold", "tank"],
    )
    solved = solver(built, state("only", horn=150.0, manifold=100.0, tank=200.0)).solve(all_open(built))
    low, high = solved.range_of("x", "only")
    assert (low, high) == (pytest.approx(100 * KPA), pytest.approx(150 * KPA))


def test_rounding_does_not_pass_for_air_that_flows() -> None:
    # Rows of chambers that can only breathe out, areas far apart: at rest the flows found in them are rounding.
    rng = np.random.default_rng(1)
    for _ in range(150):
        count = int(rng.integers(2, 6))
        names = [*(f"x{index}" for index in range(count)), "manifold"]
        ways = [
            way(f"v{index}", names[index], names[index + 1], area=float(10 ** rng.uniform(-9, -4)),
                one_way=bool(rng.random() < 0.8) or index == count - 1)
            for index in range(count)
        ]
        from_space = names[int(rng.integers(0, count))]
        ways.append(way("branch", from_space, "horn", area=float(10 ** rng.uniform(-9, -4)), one_way=True))
        built = network(ways, ["manifold", "horn"])
        states = [state(f"s{index}", manifold=float(rng.uniform(20, 100)), horn=150.0) for index in range(3)]
        solved = solver(built, *states).solve(all_open(built))
        lowest = min(source("manifold", tuple(states)))
        for space in names[:-1]:
            assert solved.spaces[space].nature is Nature.held
            assert {low for low, _ in ranges(solved, space)} == {lowest}


# --- switched and guarded ways ----------------------------------------------------------------------------


def test_switched_line_leads_where_the_pressure_switch_says() -> None:
    built = network(
        [
            way("line/manifold", "chamber", "manifold", item="line", conditions=(("line", frozenset({"switched"})),),
                gate=gate("manifold", 90, above=False)),
            way("line/horn", "chamber", "horn", item="line", conditions=(("line", frozenset({"switched"})),),
                gate=gate("manifold", 90, above=True)),
        ],
        ["manifold", "horn"],
    )
    at_level = state("at_level", horn=110.0, manifold=90.0)
    solved = solver(built, *DRIVE, at_level).solve({"line": "switched"})
    expected = {"engine_off": 101.3, "idle": 38, "cruise": 58, "boost": 175, "overrun": 25, "at_level": 90}
    for name, value in expected.items():
        assert solved.range_of("chamber", name) == (value * KPA, value * KPA)
    assert solved.spaces["chamber"].nature is Nature.tied


def test_level_of_a_switch_may_be_above_the_atmosphere() -> None:
    built = network([way("a", "x", "horn", gate=gate("manifold", 10, above=True, gauge=True))], ["manifold", "horn"])
    states = (state("below", horn=150.0, manifold=111.2), state("above", horn=150.0, manifold=111.4))
    solved = solver(built, *states).solve(all_open(built))
    assert solved.range_of("x", "above") == (150 * KPA, 150 * KPA)
    # Shut, it keeps what it had: the horn's, or still that of its assembly.
    assert solved.range_of("x", "below") == (AMBIENT, 150 * KPA)


BACKFIRE = state("backfire", event=True, follows="boost", horn=300.0, manifold=500.0)


@pytest.mark.parametrize(("check", "expected"), [("fitted", 171.0), ("missing", 500.0)])
def test_backfire_check_keeps_the_pressure_before(check: str, expected: float) -> None:
    built = network([way("a", "chamber", "manifold", guard="check")], ["manifold", "horn"])
    solved = solver(built, *DRIVE, BACKFIRE).solve(all_open(built, check=check))
    assert solved.range_of("chamber", "backfire") == (expected * KPA, expected * KPA)
    # In every drive state it is transparent.
    for name, present in zip(NAMES, source("manifold"), strict=True):
        assert solved.range_of("chamber", name) == (present, present)
    assert solved.spaces["chamber"].nature is Nature.tied


def test_backfire_check_does_not_help_where_another_way_is_open() -> None:
    built = network(
        [way("a", "chamber", "manifold", guard="check"), way("b", "chamber", "horn")], ["manifold", "horn"]
    )
    solved = solver(built, *DRIVE, BACKFIRE).solve(all_open(built, check="fitted"))
    assert solved.range_of("chamber", "backfire") == (300 * KPA, 300 * KPA)


def test_backfire_is_let_in_by_a_valve_that_passes_it_and_kept_out_by_one_that_does_not() -> None:
    built = network(
        [way("a", "manifold", "inward", one_way=True), way("b", "outward", "manifold", one_way=True)], ["manifold"]
    )
    solved = solver(built, *DRIVE, BACKFIRE).solve(all_open(built))
    assert solved.range_of("inward", "backfire") == (pytest.approx(500 * KPA), pytest.approx(500 * KPA))
    assert solved.range_of("outward", "backfire") == (LOWEST, pytest.approx(171 * KPA))
    # What a single event did is no part of the drive.
    assert solved.range_of("inward", "boost")[1] == pytest.approx(171 * KPA)


def test_suction_of_a_single_event_is_no_part_of_the_drive_either() -> None:
    built = network([way("a", "booster", "manifold", one_way=True)], ["manifold"])
    gulp = state("gulp", event=True, follows="idle", manifold=5.0)
    solved = solver(built, *DRIVE, gulp).solve(all_open(built))
    assert solved.range_of("booster", "gulp") == (pytest.approx(5 * KPA), pytest.approx(5 * KPA))
    assert solved.range_of("booster", "boost")[0] == LOWEST


def test_event_after_no_state_of_the_drive_does_not_leak_in() -> None:
    built = network([way("a", "booster", "manifold", one_way=True)], ["manifold"])
    events = (state("bang", event=True, manifold=500.0), state("gulp", event=True, manifold=5.0))
    solved = solver(built, *DRIVE, *events).solve(all_open(built))
    assert solved.range_of("booster", "bang") == (LOWEST, 171 * KPA)
    assert solved.range_of("booster", "gulp") == (pytest.approx(5 * KPA), pytest.approx(5 * KPA))
    inward = network([way("a", "manifold", "chamber", one_way=True)], ["manifold"])
    turned = solver(inward, *DRIVE, *events).solve(all_open(inward))
    assert turned.range_of("chamber", "bang") == (pytest.approx(500 * KPA), pytest.approx(500 * KPA))
    assert turned.range_of("chamber", "gulp") == (LOWEST, 171 * KPA)


# --- spaces with fuel -------------------------------------------------------------------------------------


def test_metering_space_lies_between_its_neighbors() -> None:
    built = network(
        [
            way("vent", "bowl", "horn"), way("jet", "bowl", "well", carries="fuel"),
            way("bleed", "horn", "well", carries="emulsion"), way("nozzle", "well", "throat", carries="emulsion"),
        ],
        ["horn", "throat"], well="emulsion",
    )
    made = solver(built, state("boost", horn=175.0, throat=168.0), state("idle", horn=101.0, throat=100.9))
    solved = made.solve(all_open(built))
    assert solved.spaces["well"].nature is Nature.metering
    assert solved.range_of("well", "boost") == (168 * KPA, 175 * KPA)
    assert solved.range_of("well", "idle") == (100.9 * KPA, 101 * KPA)
    # Fuel does not carry a pressure into the bowl.
    assert solved.range_of("bowl", "boost") == (175 * KPA, 175 * KPA)


def test_metering_space_takes_the_whole_range_of_a_sealed_bowl() -> None:
    built = network(
        [way("vent", "bowl", "horn"), way("jet", "bowl", "well", carries="fuel"),
         way("nozzle", "well", "throat", carries="emulsion")],
        ["horn", "throat"], well="emulsion",
    )
    solved = solver(built, state("boost", horn=175.0, throat=168.0)).solve(all_open(built, vent="plugged"))
    assert_sealed(solved, "bowl")
    assert solved.range_of("well", "boost") == (solved.range_of("bowl", "boost")[0], 168 * KPA)


def test_fuel_spaces_cut_off_from_everything_are_sealed_too() -> None:
    built = network(
        [way("inlet", "bowl", "pump", carries="fuel"), way("delivery", "pump", "passage", carries="fuel"),
         way("vent", "bowl", "horn")],
        ["horn"], pump="fuel", passage="fuel",
    )
    solved = solver(built, *DRIVE).solve(all_open(built, inlet="plugged"))
    assert_sealed(solved, "pump")
    assert_sealed(solved, "passage")


# --- the solver as a whole --------------------------------------------------------------------------------


def test_every_space_has_a_pressure() -> None:
    built = network([way("a", "x", "horn"), way("b", "y", "z", carries="fuel")], ["horn"], extra=["w"], z="fuel")
    for configuration in (all_open(built), dict.fromkeys("ab", "plugged")):
        assert set(solver(built, *DRIVE).solve(configuration).spaces) == set(built.spaces)


def test_solving_again_equals_solving_afresh() -> None:
    built = network(
        [way("a", "x", "horn"), way("b", "x", "manifold", inline="b.inline", guard="check"), way("c", "x", "y"),
         way("d", "y", "manifold", one_way=True), way("jet", "x", "well", carries="fuel"),
         way("nozzle", "well", "horn", carries="emulsion")],
        ["horn", "manifold"], well="emulsion",
    )
    base = {"b.inline": "none", "check": "fitted"}
    configurations = [
        all_open(built, **base), all_open(built, a="plugged", **base), all_open(built, **{**base, "check": "missing"}),
        all_open(built, **{**base, "b.inline": "one_way_valve"}), all_open(built, a="plugged", b="plugged", **base),
        all_open(built, a="plugged", **{**base, "b.inline": "one_way_valve"}), all_open(built, jet="plugged", **base),
        all_open(built, nozzle="plugged", **base), all_open(built, **base),
    ]
    kept = solver(built, *DRIVE, BACKFIRE)
    for configuration in [*configurations, *reversed(configurations)]:
        again, fresh = kept.solve(configuration), solver(built, *DRIVE, BACKFIRE).solve(configuration)
        for space in built.spaces:
            assert ranges(again, space) == ranges(fresh, space)
            assert again.spaces[space].nature is fresh.spaces[space].nature
        assert again.residual == fresh.residual


def test_order_of_ways_and_states_does_not_matter() -> None:
    rng = np.random.default_rng(1)
    ways = [
        way("a", "x", "horn", area=2e-6), way("b", "x", "y"), way("c", "y", "manifold", area=3e-7),
        way("d", "z", "y", one_way=True), way("e", "q", "manifold", one_way=True), way("f", "q", "r"),
    ]
    first = solver(network(ways, ["horn", "manifold"]), *DRIVE)
    plain = first.solve(all_open(first.network))
    for _ in range(5):
        built = network([ways[index] for index in rng.permutation(len(ways))], ["horn", "manifold"])
        states = [DRIVE[index] for index in rng.permutation(len(DRIVE))]
        other = solver(built, *states).solve(all_open(built))
        for space in built.spaces:
            for name in NAMES:
                assert other.range_of(space, name) == pytest.approx(plain.range_of(space, name), rel=1e-7)


@pytest.mark.parametrize("wrong", [math.nan, 0.0, -1.0, math.inf])
def test_source_without_a_pressure_is_an_error_and_no_range(wrong: float) -> None:
    built = network([way("a", "x", "horn")], ["horn"])
    bad = StateInput("cruise", {"horn": wrong}, AMBIENT)
    with pytest.raises(NotSolved) as caught:
        PressureSolver(built, [DRIVE[0], bad], SEALING)
    assert caught.value.places == ("horn in cruise",)
