"""The balance of orifices: one flow law in two codings, and what must hold of every solution."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from networks import near_orifices, random_orifices, random_sources

from boostcarb.errors import NotSolved
from boostcarb.physics.constants import GAMMA_AIR, GAS_CONSTANT_AIR
from boostcarb.physics.gas import critical_pressure_ratio, laminar_flow_function, orifice_mass_flow
from boostcarb.solving import balance, linear
from boostcarb.solving.balance import SHUT_LEAK, TOLERANCE, Orifices, solve, way_flows
from boostcarb.solving.flow_law import LAMINAR_RATIO

CRITICAL = critical_pressure_ratio(gamma=GAMMA_AIR)
EDGES = [
    1.0, np.nextafter(1.0, 0), 1 - 1e-9, 0.9995, np.nextafter(LAMINAR_RATIO, 1), LAMINAR_RATIO,
    np.nextafter(LAMINAR_RATIO, 0), 0.98, 0.9, 0.7, 0.53, np.nextafter(CRITICAL, 1), CRITICAL,
    np.nextafter(CRITICAL, 0), 0.4, 0.05, 1e-6,
]


def one(area: float = 1e-6, *, one_way: bool = False) -> Orifices:
    return Orifices(0, np.array([0]), np.array([1]), np.array([area]), np.array([one_way]))


def flow_of(start: float, end: float, *, one_way: bool = False, leak: float = 0.0) -> tuple[float, float, float]:
    flow, with_start, with_end = way_flows(one(one_way=one_way), np.array([[start, end]]), leak)
    return float(flow[0, 0]), float(with_start[0, 0]), float(with_end[0, 0])


def chain(areas: list[float], *, one_way: list[bool] | None = None) -> Orifices:
    """Source 1 - free spaces in a row - source 2, ways pointing from 1 to 2."""
    free = len(areas) - 1
    along = [free, *range(free), free + 1]
    return Orifices(
        free, np.array(along[:-1]), np.array(along[1:]), np.array(areas),
        np.array(one_way if one_way is not None else [False] * len(areas)),
    )


# --- the law ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ratio", EDGES)
def test_flow_is_that_of_the_law_of_gases(ratio: float) -> None:
    up = 131072.0  # a power of two: multiplying and dividing by it gives the very ratio
    expected = 1e-6 * up * laminar_flow_function(pressure_ratio=ratio, laminar_ratio=LAMINAR_RATIO)
    forward, backward = flow_of(up, ratio * up)[0], flow_of(ratio * up, up)[0]
    # Subtracting two powers loses digits that expm1 keeps: a few 1e-13 next to the laminar part.
    assert forward == pytest.approx(expected, rel=1e-11, abs=1e-20)
    assert backward == -forward


@given(st.floats(1e3, 1e6), st.floats(1e3, 1e6))
def test_flow_outside_the_laminar_part_is_the_orifice_flow(p1: float, p2: float) -> None:
    if min(p1, p2) / max(p1, p2) > LAMINAR_RATIO:
        return
    temperature = 300.0
    expected = orifice_mass_flow(
        effective_area_m2=1e-6, pressure_1_pa_abs=p1, pressure_2_pa_abs=p2, temperature_k=temperature
    )
    found = flow_of(p1, p2)[0] / math.sqrt(GAS_CONSTANT_AIR * temperature)
    assert found == pytest.approx(expected, rel=1e-11)


@given(st.floats(5e4, 5e5), st.floats(0.2, 1.8), st.booleans())
def test_slopes_are_those_of_finite_differences(start: float, share: float, one_way: bool) -> None:
    end = start * share
    step = 1e-6 * start
    ratio = min(share, 1 / share)
    # A difference that steps over a bend tells nothing of either side.
    if any(abs(ratio - edge) < 1e-5 for edge in (CRITICAL, LAMINAR_RATIO, 1.0)):
        return
    leak = 0.3
    _, with_start, with_end = flow_of(start, end, one_way=one_way, leak=leak)

    def flow(p1: float, p2: float) -> float:
        return flow_of(p1, p2, one_way=one_way, leak=leak)[0]

    scale = 1e-6  # area: a slope of a choked orifice is 0.68 of it
    assert (flow(start + step, end) - flow(start - step, end)) / (2 * step) == pytest.approx(
        with_start, rel=1e-3, abs=1e-4 * scale
    )
    assert (flow(start, end + step) - flow(start, end - step)) / (2 * step) == pytest.approx(
        with_end, rel=1e-3, abs=1e-4 * scale
    )


@pytest.mark.parametrize("edge", [CRITICAL, LAMINAR_RATIO, 1.0])
def test_flow_has_no_jump_and_outside_choking_no_bend(edge: float) -> None:
    up, near = 1e5, 1e-9
    below, above = flow_of(up, up * (edge - near)), flow_of(up, up * (edge + near))
    assert below[0] == pytest.approx(above[0], abs=1e-6 * up * 200 * near)
    assert below[2] == pytest.approx(above[2], rel=1e-4, abs=1e-6 * 1e-4)


def test_shut_valve_passes_its_leak_and_no_more() -> None:
    assert flow_of(1e5, 2e5, one_way=True, leak=0.0)[0] == 0.0
    assert flow_of(1e5, 2e5, one_way=True, leak=1e-3)[0] == pytest.approx(1e-3 * flow_of(1e5, 2e5)[0])
    assert flow_of(2e5, 1e5, one_way=True, leak=1e-3)[0] == flow_of(2e5, 1e5)[0] > 0


# --- small networks ---------------------------------------------------------------------------------------


def test_equal_openings_between_equal_sources_hold_that_pressure() -> None:
    found = solve(chain([1e-6, 1e-6]), np.array([[123456.0, 123456.0]]))
    assert found.pressure_pa_abs[0, 0] == pytest.approx(123456.0, rel=1e-9)


def test_large_opening_outweighs_a_small_one() -> None:
    pressures = [
        float(solve(chain([area, 1e-6]), np.array([[200e3, 100e3]])).pressure_pa_abs[0, 0])
        for area in (1e-9, 1e-7, 1e-6, 1e-5, 1e-3)
    ]
    assert pressures == sorted(pressures)
    assert pressures[0] == pytest.approx(100e3, rel=1e-4)
    assert pressures[-1] == pytest.approx(200e3, rel=1e-4)


def test_valve_with_a_bleed_behind_it_is_open_or_as_good_as_gone() -> None:
    # A space that may breathe out to source 2 through a valve and is fed by a bleed from source 1.
    with_valve = chain([1e-7, 1e-6], one_way=[False, True])
    plain = chain([1e-7, 1e-6])
    forward = np.array([[101e3, 40e3]])
    assert solve(with_valve, forward).pressure_pa_abs == pytest.approx(
        solve(plain, forward).pressure_pa_abs, rel=1e-7
    )
    against = solve(with_valve, np.array([[101e3, 171e3]])).pressure_pa_abs[0, 0]
    assert against == pytest.approx(101e3, rel=1e-6)


def test_row_of_valves_passes_one_way_only() -> None:
    row = chain([1e-6, 2e-6, 1e-6], one_way=[True, True, True])
    forward, backward = solve(row, np.array([[150e3, 140e3], [140e3, 150e3]])).pressure_pa_abs
    assert 150e3 > forward[0] > forward[1] > 140e3
    everything = np.array([[*backward, 140e3, 150e3]])
    flow = way_flows(row, everything, SHUT_LEAK)[0]
    assert np.abs(flow).max() < 1e-5 * 1e-6 * 150e3


# --- what must hold of every solution ---------------------------------------------------------------------


@pytest.mark.parametrize("one_way", [0.0, 0.05, 0.3])
@pytest.mark.parametrize(("decades", "ratio"), [(2.0, 2.0), (2.0, 20.0), (6.0, 20.0)])
def test_random_networks_close_and_stay_between_their_sources(one_way: float, decades: float, ratio: float) -> None:
    rng = np.random.default_rng(2024)
    for _ in range(25):
        orifices = random_orifices(
            rng, int(rng.integers(1, 40)), 3, ways=int(rng.integers(10, 70)), one_way=one_way, decades=decades
        )
        sources = random_sources(rng, 5, 3, ratio)
        found = solve(orifices, sources)
        free = found.pressure_pa_abs
        assert (free >= sources.min(axis=1, keepdims=True)).all()
        assert (free <= sources.max(axis=1, keepdims=True)).all()
        assert found.residual <= TOLERANCE
        flow = way_flows(orifices, np.concatenate([free, sources], axis=1), SHUT_LEAK)[0]
        for space in range(orifices.free):
            into = flow[:, orifices.end == space].sum(axis=1) - flow[:, orifices.start == space].sum(axis=1)
            touching = orifices.area_m2[(orifices.end == space) | (orifices.start == space)].sum()
            assert (np.abs(into) <= TOLERANCE * touching * sources.max(axis=1)).all()


def test_each_space_lies_between_its_own_neighbors() -> None:
    rng = np.random.default_rng(3)
    for _ in range(30):
        orifices = random_orifices(rng, 15, 3, ways=30)
        sources = random_sources(rng, 4, 3)
        everything = np.concatenate([solve(orifices, sources).pressure_pa_abs, sources], axis=1)
        for space in range(15):
            ends = [
                everything[:, b if a == space else a]
                for a, b in zip(orifices.start, orifices.end, strict=True)
                if space in (a, b)
            ]
            slack = 1e-7 * everything[:, space]
            assert (everything[:, space] >= np.min(ends, axis=0) - slack).all()
            assert (everything[:, space] <= np.max(ends, axis=0) + slack).all()


@pytest.mark.parametrize("one_way", [0.0, 0.2])
def test_order_of_ways_and_spaces_does_not_matter(one_way: float) -> None:
    rng = np.random.default_rng(4)
    for _ in range(30):
        orifices = random_orifices(rng, 12, 3, ways=30, one_way=one_way, decades=1.0)
        sources = random_sources(rng, 3, 3)
        spaces, ways = rng.permutation(12), rng.permutation(30)
        number = np.concatenate([spaces, np.arange(12, 15)])
        shuffled = Orifices(
            12, number[orifices.start][ways], number[orifices.end][ways], orifices.area_m2[ways],
            orifices.one_way[ways],
        )
        plain, turned = solve(orifices, sources), solve(shuffled, sources)
        assert turned.pressure_pa_abs[:, spaces] == pytest.approx(plain.pressure_pa_abs, rel=1e-6)


def test_a_two_way_opening_may_be_described_from_either_end() -> None:
    rng = np.random.default_rng(5)
    orifices = random_orifices(rng, 10, 2, ways=25)
    sources = random_sources(rng, 3, 2)
    turned = dataclasses.replace(orifices, start=orifices.end, end=orifices.start)
    assert solve(turned, sources).pressure_pa_abs == pytest.approx(
        solve(orifices, sources).pressure_pa_abs, rel=1e-8
    )


@pytest.mark.parametrize("factor", [1e-3, 7.0, 1e4])
def test_scaling_all_areas_or_all_pressures_changes_nothing_else(factor: float) -> None:
    rng = np.random.default_rng(6)
    for _ in range(10):
        orifices = random_orifices(rng, 12, 3, ways=30, one_way=0.1)
        sources = random_sources(rng, 3, 3)
        plain = solve(orifices, sources).pressure_pa_abs
        wider = dataclasses.replace(orifices, area_m2=orifices.area_m2 * factor)
        assert solve(wider, sources).pressure_pa_abs == pytest.approx(plain, rel=1e-7)
        assert solve(orifices, sources * factor).pressure_pa_abs == pytest.approx(plain * factor, rel=1e-7)


def test_cases_do_not_touch_each_other() -> None:
    rng = np.random.default_rng(7)
    orifices = random_orifices(rng, 20, 3, ways=45, one_way=0.2, decades=4.0)
    sources = random_sources(rng, 14, 3, 20.0)
    together = solve(orifices, sources).pressure_pa_abs
    for case in range(14):
        alone = solve(orifices, sources[case : case + 1]).pressure_pa_abs[0]
        assert together[case] == pytest.approx(alone, rel=1e-6)


def test_higher_source_lowers_no_pressure() -> None:
    rng = np.random.default_rng(8)
    for _ in range(20):
        orifices = random_orifices(rng, 12, 3, ways=28, one_way=0.1)
        sources = random_sources(rng, 3, 3)
        before = solve(orifices, sources).pressure_pa_abs
        sources[:, 1] *= 1.3
        assert (solve(orifices, sources).pressure_pa_abs >= before * (1 - 1e-7)).all()


# --- failure ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("wrong", [math.nan, math.inf, 0.0, -5e3])
def test_source_without_a_pressure_is_named(wrong: float) -> None:
    with pytest.raises(NotSolved) as caught:
        solve(chain([1e-6, 1e-6]), np.array([[1e5, 2e5], [1e5, wrong]]), ["well", "air horn", "base"])
    assert caught.value.places == ("base",)
    assert "base" in str(caught.value)


def test_space_without_a_way_to_a_source_is_named() -> None:
    # Spaces 1 and 2 are joined to each other only; a way without area joins nothing.
    stranded = Orifices(
        3, np.array([0, 1, 1]), np.array([3, 2, 3]), np.array([1e-6, 1e-6, 0.0]), np.zeros(3, dtype=bool)
    )
    with pytest.raises(NotSolved) as caught:
        solve(stranded, np.array([[1e5]]), ["bowl", "chamber", "fitting"])
    assert caught.value.places == ("chamber", "fitting")


def test_space_without_any_way_is_called_by_its_number() -> None:
    lonely = Orifices(2, np.array([0]), np.array([2]), np.array([1e-6]), np.array([False]))
    with pytest.raises(NotSolved) as caught:
        solve(lonely, np.array([[1e5]]))
    assert caught.value.places == ("1",)


def test_balance_left_open_is_an_error_that_names_the_spaces(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(balance, "APPROACH_STEPS", 0)
    monkeypatch.setattr(balance, "MAX_STEPS", 1)
    with pytest.raises(NotSolved) as caught:
        solve(chain([1e-6, 1e-6, 3e-6]), np.array([[1e5, 3e5]]), ["bowl", "chamber"])
    assert set(caught.value.places) <= {"bowl", "chamber"}
    assert caught.value.places
    assert caught.value.residual is not None
    assert caught.value.residual > TOLERANCE


def test_longer_ladders_are_climbed_where_the_short_one_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    # Of these networks the short ladder leaves some unsolved; the longer ones solve all of them.
    short: list[bool] = []
    rng = np.random.default_rng(5)
    cases = [
        (random_orifices(rng, int(rng.integers(3, 40)), 3, ways=60, one_way=0.3, decades=6.0),
         random_sources(rng, 6, 3, 20.0))
        for _ in range(60)
    ]
    for orifices, sources in cases:
        assert solve(orifices, sources).residual <= TOLERANCE
    monkeypatch.setattr(balance, "LEAK_LADDERS", balance.LEAK_LADDERS[:1])
    for orifices, sources in cases:
        try:
            solve(orifices, sources)
        except NotSolved:
            short.append(True)
    assert short


def test_a_balance_that_is_no_number_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    def lost(self: linear.Dense, values: np.ndarray, right: np.ndarray) -> np.ndarray:
        return np.full_like(right, math.nan)

    monkeypatch.setattr(linear.Dense, "solve", lost)
    with pytest.raises(NotSolved):
        solve(chain([1e-6, 2e-6]), np.array([[1e5, 3e5]]))


def test_nothing_free_is_nothing_to_solve() -> None:
    found = solve(one(), np.array([[1e5, 2e5]]))
    assert found.pressure_pa_abs.shape == (1, 0)
    assert found.steps == found.factorizations == 0


# --- several ways to solve the matrices -------------------------------------------------------------------


@pytest.mark.parametrize("one_way", [0.0, 0.2])
@pytest.mark.parametrize("back_end", [linear.Together, linear.Sparse])
def test_all_back_ends_find_the_same(monkeypatch: pytest.MonkeyPatch, one_way: float, back_end: type) -> None:
    rng = np.random.default_rng(21)
    for _ in range(12):
        orifices = random_orifices(rng, int(rng.integers(1, 40)), 3, ways=60, one_way=one_way)
        sources = random_sources(rng, 5, 3, 20.0)
        dense = solve(orifices, sources)
        with monkeypatch.context() as patch:
            patch.setattr(balance, "back_end", lambda pattern, cases: back_end(pattern))
            other = solve(orifices, sources)
        assert other.residual <= TOLERANCE
        # Behind shut valves a pressure hangs on leaks of a millionth, and so on the last digits of the residual.
        assert other.pressure_pa_abs == pytest.approx(dense.pressure_pa_abs, rel=1e-9 if one_way == 0.0 else 1e-5)


@pytest.mark.parametrize("back_end", [linear.Dense, linear.Together, linear.Sparse])
def test_back_end_solves_matrices_of_its_pattern(back_end: type) -> None:
    rng = np.random.default_rng(22)
    orifices = random_orifices(rng, 25, 3, ways=50)
    pattern = linear.Pattern.of(25, orifices.start, orifices.end)
    slopes = rng.uniform(0.1, 1.0, (2, 50, 4))
    values = pattern.values(slopes[0], -slopes[1])
    matrices = np.zeros((4, 25, 25))
    for way, (start, end) in enumerate(zip(orifices.start, orifices.end, strict=True)):
        for space, sign in ((start, 1.0), (end, -1.0)):
            if space < 25:
                for other, slope in ((start, slopes[0, way]), (end, -slopes[1, way])):
                    if other < 25:
                        matrices[:, space, other] += sign * slope
    right = rng.normal(size=(25, 4))
    expected = np.linalg.solve(matrices, right.T[..., None])[..., 0].T
    assert back_end(pattern).solve(values, right) == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_large_network_is_solved_with_one_sparse_factorization_a_step() -> None:
    rng = np.random.default_rng(23)
    orifices = near_orifices(rng, 2 * linear.SPARSE_FROM)
    pattern = linear.Pattern.of(orifices.free, orifices.start, orifices.end)
    assert isinstance(linear.back_end(pattern, 1), linear.Sparse)
    assert isinstance(linear.back_end(pattern, 1000), linear.Sparse)
    sources = random_sources(rng, 2, int(max(orifices.start.max(), orifices.end.max())) + 1 - orifices.free)
    found = solve(orifices, sources)
    assert found.residual <= TOLERANCE
    # The start has one matrix for all cases, since their areas are the same.
    assert found.factorizations == found.steps + 1


def test_areas_may_differ_from_case_to_case() -> None:
    rng = np.random.default_rng(24)
    for count in (3, 2 * linear.TOGETHER_FROM):
        orifices = random_orifices(rng, 20, 3, ways=45, one_way=0.1)
        sources = random_sources(rng, count, 3)
        areas = orifices.area_m2 * rng.uniform(0.5, 1.5, (count, 45))
        # Ways that are shut in some cases, but none that a space would be left alone without.
        areas[: count // 2, 25:] = 0.0
        together = solve(dataclasses.replace(orifices, area_m2=areas), sources)
        for case in range(0, count, 7):
            alone = solve(dataclasses.replace(orifices, area_m2=areas[case]), sources[case : case + 1])
            assert together.pressure_pa_abs[case] == pytest.approx(alone.pressure_pa_abs[0], rel=1e-6)


def test_space_left_alone_in_one_case_is_named() -> None:
    areas = np.array([[1e-6, 1e-6, 1e-6], [0.0, 1e-6, 0.0]])
    with pytest.raises(NotSolved) as caught:
        solve(dataclasses.replace(chain([1e-6] * 3), area_m2=areas), np.array([[1e5, 2e5]] * 2), ["well", "bowl"])
    assert caught.value.places == ("well", "bowl")


def test_more_cases_than_are_worked_on_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(25)
    orifices, sources = random_orifices(rng, 10, 3, ways=20), random_sources(rng, 30, 3)
    whole = solve(orifices, sources)
    monkeypatch.setattr(balance, "PORTION", 20 * 7)
    assert solve(orifices, sources).pressure_pa_abs == pytest.approx(whole.pressure_pa_abs, rel=1e-12)


# --- speed ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("one_way", [0.0, 0.1])
def test_speed_of_sixty_spaces_in_fourteen_states(benchmark, one_way: float) -> None:
    rng = np.random.default_rng(9)
    orifices = random_orifices(rng, 60, 3, ways=100, one_way=one_way, decades=3.0)
    sources = random_sources(rng, 14, 3)
    assert benchmark(solve, orifices, sources).residual <= TOLERANCE
