"""The pressure balance against the outside world: closed forms, and another formulation solved by another method."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq, least_squares

from boostcarb.solving.balance import Orifices, solve

# --- An independent formulation ------------------------------------------------------------------------------
# Saint-Venant and Wantzel's law in the terms of density and velocity: velocity from the enthalpy drop, density in
# the throat from the isentrope (any textbook of gas dynamics). Below a difference of a thousandth a parabola that
# takes over value and slope, the latter by finite difference. The unknowns are solved by a trust-region method
# with numerical derivatives, from starting points that have nothing to do with the solver's.

K = 1.4
CHOKED = (2.0 / (K + 1.0)) ** (K / (K - 1.0))
LAMINAR = 0.999


def orifice_law(ratio: np.ndarray) -> np.ndarray:
    """Mass flow over area and upstream pressure, times the root of R T."""
    throat = np.maximum(ratio, CHOKED)
    velocity = np.sqrt(2.0 * K / (K - 1.0) * (1.0 - throat ** ((K - 1.0) / K)))
    return throat ** (1.0 / K) * velocity


EDGE = float(orifice_law(np.array(LAMINAR)))
SLOPE = float(orifice_law(np.array(LAMINAR - 1e-7)) - orifice_law(np.array(LAMINAR + 1e-7))) / 2e-7
# x ((2 - s) + (s - 1) x) with x = 1 at the edge: value 1 and slope s there, value 0 at no difference.
STEEPNESS = SLOPE * (1.0 - LAMINAR) / EDGE


def law(ratio: np.ndarray) -> np.ndarray:
    x = (1.0 - ratio) / (1.0 - LAMINAR)
    laminar = EDGE * x * ((2.0 - STEEPNESS) + (STEEPNESS - 1.0) * x)
    return np.where(ratio > LAMINAR, laminar, orifice_law(np.minimum(ratio, LAMINAR)))


def flows(orifices: Orifices, pressure: np.ndarray, leak: float) -> np.ndarray:
    a, b = pressure[orifices.start], pressure[orifices.end]
    up = np.maximum(a, b)
    size = np.where((b > a) & orifices.one_way, leak, 1.0) * orifices.area_m2
    return np.sign(a - b) * size * up * law(np.minimum(a, b) / up)


def residuals(orifices: Orifices, free: np.ndarray, sources: np.ndarray, leak: float) -> np.ndarray:
    """Net flow into each free space as a share of what its openings pass when choked."""
    pressure = np.concatenate([free, sources])
    moved = flows(orifices, pressure, leak)
    net, size = np.zeros(pressure.size), np.zeros(pressure.size)
    for way, (start, end) in enumerate(zip(orifices.start.tolist(), orifices.end.tolist(), strict=True)):
        net[start] -= moved[way]
        net[end] += moved[way]
        size[start] += orifices.area_m2[way]
        size[end] += orifices.area_m2[way]
    count = orifices.free
    return net[:count] / (0.6847 * size[:count] * sources.max())


def oracle(orifices: Orifices, sources: np.ndarray, leak: float, rng: np.random.Generator) -> np.ndarray | None:
    """Pressures by a general solver, or None where its own mass residual shows that it is wrong."""
    low, high = sources.min() * (1 - 1e-6), sources.max() * (1 + 1e-6)
    for _ in range(4):
        free = rng.uniform(sources.min(), sources.max(), orifices.free)
        steps = (leak,) if not orifices.one_way.any() else tuple(leak ** (step / 6) for step in range(1, 7))
        for now in steps:
            found = least_squares(
                lambda unknown, now=now: residuals(orifices, unknown * sources.max(), sources, now),
                free / sources.max(), bounds=(low / sources.max(), high / sources.max()),
                xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=200,
            )
            free = found.x * sources.max()
        # A general solver reports success with wrong answers: its residual decides.
        if np.abs(residuals(orifices, free, sources, leak)).max() < 1e-10:
            return free
    return None


def random_network(rng: np.random.Generator, one_way: float, decades: float) -> tuple[Orifices, np.ndarray]:
    free, sources = int(rng.integers(1, 7)), int(rng.integers(2, 4))
    ends = [(space, int(rng.choice([*range(space), *range(free, free + sources)]))) for space in range(free)]
    for _ in range(int(rng.integers(1, 8))):
        a, b = rng.choice(free + sources, 2, replace=False)
        if min(a, b) < free:
            ends.append((int(a), int(b)))
    start, end = np.array([pair if rng.random() < 0.5 else pair[::-1] for pair in ends]).T
    built = Orifices(
        free, start, end, 10 ** rng.uniform(-6 - decades, -6, len(ends)), rng.random(len(ends)) < one_way
    )
    return built, rng.uniform(30e3, 300e3, (3, sources))


# The solver leaves a millionth of the open area as leak of a shut valve.
LEAK = 1e-6


@pytest.mark.parametrize(
    ("one_way", "decades", "count"), [(0.0, 1.5, 80), (0.0, 4.0, 40), (0.15, 1.5, 60), (0.4, 1.0, 40)]
)
def test_random_networks_agree_with_a_general_solver(one_way: float, decades: float, count: int) -> None:
    rng = np.random.default_rng(int(100 * one_way + decades))
    compared = tried = 0
    for _ in range(count):
        orifices, sources = random_network(rng, one_way, decades)
        found = solve(orifices, sources).pressure_pa_abs
        for case in range(sources.shape[0]):
            tried += 1
            # The answer holds in the other formulation, whether or not the general solver finds one.
            assert np.abs(residuals(orifices, found[case], sources[case], LEAK)).max() < 1e-8
            expected = oracle(orifices, sources[case], LEAK, rng) if case == 0 else None
            if expected is None:
                continue
            compared += 1
            # Where only leaks feed a space, a residual of 1e-10 leaves its pressure open to about 1e-4.
            assert found[case] == pytest.approx(expected, rel=2e-6 if one_way == 0.0 else 2e-4)
    assert compared > 0.6 * count, f"the general solver found {compared} of {count}"
    assert tried == 3 * count


# --- Closed forms --------------------------------------------------------------------------------------------


def row(areas: list[float]) -> Orifices:
    free = len(areas) - 1
    along = np.array([free, *range(free), free + 1])
    return Orifices(free, along[:-1], along[1:], np.array(areas), np.zeros(len(areas), dtype=bool))


@pytest.mark.parametrize(("a1", "a2"), [(1.0, 1.0), (2.0, 1.0), (1.0, 3.0), (0.7, 1.9)])
def test_two_openings_at_a_small_difference(a1: float, a2: float) -> None:
    # Series orifices, incompressible: A1^2 (p1 - p) = A2^2 (p - p2), so p = (A1^2 p1 + A2^2 p2)/(A1^2 + A2^2).
    # At a difference of 4 % density still differs by 4 %, which moves the answer by about 1 % of the difference;
    # less would lie in the laminar part of the law.
    p1, p2 = 104e3, 100e3
    found = float(solve(row([a1 * 1e-6, a2 * 1e-6]), np.array([[p1, p2]])).pressure_pa_abs[0, 0])
    expected = (a1**2 * p1 + a2**2 * p2) / (a1**2 + a2**2)
    assert found == pytest.approx(expected, abs=0.015 * (p1 - p2))


def test_equal_openings_between_110_and_100_kpa() -> None:
    # By hand: psi(p/110) * 110 = psi(100/p) * p with psi^2 = 7 (r^(10/7) - r^(12/7)), root by bisection.
    def psi(ratio: float) -> float:
        return math.sqrt(7.0 * (ratio ** (10.0 / 7.0) - ratio ** (12.0 / 7.0)))

    by_hand = brentq(lambda p: 110e3 * psi(p / 110e3) - p * psi(100e3 / p), 100.2e3, 109.8e3, xtol=1e-9)
    assert by_hand == pytest.approx(105126.0, abs=0.5)
    assert float(solve(row([1e-6, 1e-6]), np.array([[110e3, 100e3]])).pressure_pa_abs[0, 0]) == pytest.approx(
        by_hand, abs=1e-3
    )


def test_equal_openings_in_series_pass_like_one_of_area_over_root_n() -> None:
    # Series orifices, incompressible: 1/A^2 adds up. Flow of n equal ones is that of one of area A/sqrt(n);
    # equal drops. Within 1 % at a difference of 3 %.
    for count in (2, 3, 4):
        found = solve(row([1e-6] * count), np.array([[103e3, 100e3]])).pressure_pa_abs[0]
        levels = np.array([103e3, *found, 100e3])
        assert np.diff(levels) == pytest.approx(np.full(count, -3e3 / count), rel=0.04)
        passed = 1e-6 * 103e3 * law(np.array(levels[1] / 103e3))
        alone = 1e-6 / math.sqrt(count) * 103e3 * law(np.array(100.0 / 103.0))
        assert float(passed) == pytest.approx(float(alone), rel=0.01)


def test_unequal_openings_in_series_pass_like_one_with_the_sum_of_inverse_squares() -> None:
    areas = [1e-6, 1.7e-6, 0.8e-6]
    found = solve(row(areas), np.array([[104e3, 100e3]])).pressure_pa_abs[0]
    passed = areas[0] * 104e3 * law(np.array(found[0] / 104e3))
    together = sum(area**-2 for area in areas) ** -0.5
    assert float(passed) == pytest.approx(together * 104e3 * float(law(np.array(100 / 104))), rel=0.01)


def test_choked_openings_in_series() -> None:
    # Both choked: mdot = 0.6847 A p on either side, so that p = p1 A1/A2 exactly, whatever lies behind.
    # It holds while p <= 0.5283 p1 and p2 <= 0.5283 p (NACA Report 1135: critical ratio 0.5283).
    for p2 in (20e3, 60e3):
        found = solve(row([1e-6, 2.5e-6]), np.array([[400e3, p2]])).pressure_pa_abs[0, 0]
        assert found == pytest.approx(400e3 / 2.5, rel=1e-7)
    raised = solve(row([1e-6, 2.5e-6]), np.array([[400e3, 100e3]])).pressure_pa_abs[0, 0]
    assert raised > 400e3 / 2.5


def test_first_of_equal_openings_is_never_choked() -> None:
    # In a row of equal openings the last chokes first; the one before cannot pass as much per pressure.
    found = solve(row([1e-6] * 3), np.array([[1000e3, 1e3]])).pressure_pa_abs[0]
    assert found[0] / 1000e3 > CHOKED
    assert found[1] / found[0] > CHOKED
    assert 1e3 / found[1] < CHOKED
    assert 0.684731 * found[1] == pytest.approx(1000e3 * float(law(np.array(found[0] / 1000e3))), rel=1e-6)


def test_parallel_openings_add_up() -> None:
    sources = np.array([[180e3, 95e3]])
    split = Orifices(
        1, np.array([1, 1, 0]), np.array([0, 0, 2]), np.array([0.4e-6, 1.1e-6, 2e-6]), np.zeros(3, dtype=bool)
    )
    assert solve(split, sources).pressure_pa_abs == pytest.approx(
        solve(row([1.5e-6, 2e-6]), sources).pressure_pa_abs, rel=1e-9
    )
