"""The ranges of held spaces against sampled pasts.

Chambers with leaking one-way valves are filled and vented in time, through random sequences of states, with random
volumes, leaks and durations; whatever is left in them must lie in the range that the solver gives without knowing
the sequence. The simulation is written for itself: its own flow law, no balance.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from networks import AMBIENT, all_open, network, solver, way
from scipy.integrate import solve_ivp

from boostcarb.network.model import Way
from boostcarb.solving.pressures import Nature, StateInput

SONIC = math.sqrt(287.05 * 300.0)
SLACK = 3e-3
"""Share of the pressure by which a chamber may still be on its way when a state ends, and by which the leaks of the
sample, which are larger than the solver's, shift what flows."""

V, M, H = "x", "manifold", "horn"
SHAPES: dict[str, list[tuple[str, str, bool]]] = {
    "held lowest": [("x", M, True)],
    "held highest": [(M, "x", True)],
    "row": [("x", "y", True), ("y", M, True)],
    "row inward": [(M, "x", True), ("x", "y", True)],
    "long row": [("x", "y", True), ("y", "z", True), ("z", M, True)],
    "through": [(H, "x", True), ("x", M, True)],
    "through a row": [(H, "x", True), ("x", "y", True), ("y", M, True)],
    "branch off a through way": [(H, "x", True), ("x", M, True), ("y", "x", True)],
    "branch fed by a through way": [(H, "x", True), ("x", M, True), ("x", "y", True)],
    "two valves out": [("x", M, True), ("x", H, True)],
    "two valves in": [(M, "x", True), (H, "x", True)],
    "pocket of two": [("x", "y", False), ("y", M, True)],
    "behind a divider": [("t", M, False), ("t", H, False), ("x", "t", True), ("t", "y", True)],
    "ring": [("x", "y", True), ("y", "x", True), ("x", M, True)],
    "crossed": [("x", "y", True), (M, "x", True), ("y", H, True), (M, "y", True)],
}


def psi(ratio: float) -> float:
    """Saint-Venant and Wantzel, with a straight line below a thousandth of difference."""
    ratio = max(ratio, 0.5282817877)
    if ratio > 0.999:
        return psi(0.999) * (1 - ratio) / 0.001
    return math.sqrt(7.0 * (ratio ** (2 / 1.4) - ratio ** (2.4 / 1.4)))


def flow(area: float, start: float, end: float) -> float:
    return area * start * psi(end / start) / SONIC if start >= end else -flow(area, end, start)


def settle(
    ways: list[Way],
    pressure: dict[str, float],
    given: dict[str, float],
    *,
    volume: dict[str, float],
    leak: dict[str, float],
    seconds: float,
) -> dict[str, float]:
    """Pressures after some time in one state: isothermal filling, dp/dt = R T mdot / V."""
    spaces = list(pressure)
    size = np.array([volume[space] for space in spaces])

    def rate(_: float, now: np.ndarray) -> np.ndarray:
        at = {**given, **dict(zip(spaces, now.tolist(), strict=True))}
        gain = dict.fromkeys(at, 0.0)
        for each in ways:
            area = each.area_m2
            if each.one_way and at[each.b] > at[each.a]:
                area *= leak[each.name]
            moved = flow(area, at[each.a], at[each.b])
            gain[each.a] -= moved
            gain[each.b] += moved
        return np.array([gain[space] for space in spaces]) * 287.05 * 300.0 / size

    begin = np.array(list(pressure.values()))
    done = solve_ivp(rate, (0.0, seconds), begin, method="LSODA", rtol=1e-7, atol=0.1)
    assert done.success, done.message
    return dict(zip(spaces, done.y[:, -1].tolist(), strict=True))


@pytest.mark.parametrize("shape", SHAPES)
def test_every_sampled_past_lies_in_the_range(shape: str) -> None:
    rng = np.random.default_rng(sum(map(ord, shape)))
    held = 0
    for _ in range(4):
        ways = [
            way(f"w{index}", a, b, area=float(10 ** rng.uniform(-6.5, -5.5)), one_way=one_way)
            for index, (a, b, one_way) in enumerate(SHAPES[shape])
        ]
        built = network(ways, [M, H])
        spaces = sorted(set(built.spaces) - {M, H})
        states = [
            StateInput(f"s{index}", {M: float(rng.uniform(20e3, 200e3)), H: float(rng.uniform(80e3, 200e3))}, AMBIENT)
            for index in range(4)
        ]
        solved = solver(built, *states).solve(all_open(built))
        held += sum(solved.spaces[space].nature is Nature.held for space in spaces)
        for _ in range(2):
            leak = {each.name: float(10 ** rng.uniform(-6, -4)) for each in ways}
            volume = {space: float(10 ** rng.uniform(-6, -5)) for space in spaces}
            pressure = dict.fromkeys(spaces, AMBIENT)
            for index in rng.integers(0, len(states), 5):
                here = states[index]
                # Long against the filling through an open valve (10 ms), short or long against a leak.
                seconds = float(10 ** rng.uniform(1, 3))
                given = dict(here.sources_pa_abs)
                pressure = settle(ways, pressure, given, volume=volume, leak=leak, seconds=seconds)
                for space, value in pressure.items():
                    low, high = solved.range_of(space, here.name)
                    assert low * (1 - SLACK) <= value <= high * (1 + SLACK), (space, here)
    assert held, "a shape in which nothing is held shows nothing"


def test_a_range_is_no_wider_than_what_the_past_can_leave() -> None:
    # Both ends of the range are met: by a tight valve right after the lowest state, by a weeping one in the end.
    built = network([way("v", "x", M, one_way=True)], [M])
    states = [StateInput("low", {M: 30e3}, AMBIENT), StateInput("high", {M: 90e3}, AMBIENT)]
    low, high = solver(built, *states).solve(all_open(built)).range_of("x", "high")
    for leak, expected in ((1e-9, low), (1e-1, high)):
        pressure = {"x": AMBIENT}
        for state in states:
            given = dict(state.sources_pa_abs)
            pressure = settle(
                list(built.ways), pressure, given, volume={"x": 1e-6}, leak={"v": leak}, seconds=100.0
            )
        assert pressure["x"] == pytest.approx(expected, rel=SLACK)
