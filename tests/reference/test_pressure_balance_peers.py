"""The pressure balance against solvers that share neither its equations nor its method.

A light run is part of the tests. For a campaign, with how many networks of each kind:

    python tests/reference/test_pressure_balance_peers.py 2400
"""

from __future__ import annotations

import itertools
import math
import sys
from collections.abc import Callable

import networkx as nx
import numpy as np
import pytest
from scipy.optimize import brentq, root

from boostcarb.errors import NotSolved
from boostcarb.solving.balance import SHUT_LEAK, Orifices, solve

# --- The law in another form -------------------------------------------------------------------------------------
# Mass flow through the Mach number of the throat (NACA Report 1135, 1953, isentropic flow): M^2 = 2/(k-1)
# ((p0/p)^((k-1)/k) - 1), at most 1, and m sqrt(R T)/(A p0) = sqrt(k) M (1 + (k-1)/2 M^2)^(-(k+1)/(2(k-1))).
# Below a difference of a thousandth the solver's law is by definition the parabola from nothing that takes over value
# and slope at the edge (physics/gas.py); here with the slope by finite difference.

K = 1.4
EDGE = 1e-3


def by_mach(fall: float) -> float:
    """Flow over area and upstream pressure; `fall`: difference over upstream pressure."""
    mach = math.sqrt(min(1.0, 2.0 / (K - 1.0) * math.expm1(-math.log1p(-min(fall, 0.9)) * (K - 1.0) / K)))
    return math.sqrt(K) * mach * (1.0 + (K - 1.0) / 2.0 * mach**2) ** (-(K + 1.0) / (2.0 * (K - 1.0)))


AT_EDGE = by_mach(EDGE)
RISE = EDGE * (by_mach(EDGE * (1 + 1e-5)) - by_mach(EDGE * (1 - 1e-5))) / (2e-5 * EDGE)


def law(fall: float) -> float:
    if fall >= EDGE:
        return by_mach(fall)
    x = fall / EDGE
    return AT_EDGE * (1.0 - (1.0 - x) ** 2) + RISE * x * (x - 1.0)


def passed(before: float, after: float) -> float:
    """Flow per area from one pressure to another."""
    if before >= after:
        return before * law((before - after) / before)
    return -after * law((after - before) / after)


Way = tuple[int, int, float, bool]


def ways_of(orifices: Orifices) -> list[Way]:
    columns = (orifices.start, orifices.end, orifices.area_m2 / orifices.area_m2.max(), orifices.one_way)
    return list(zip(*(column.tolist() for column in columns), strict=True))


def flow(way: Way, pressure: list[float], leak: float) -> float:
    start, end, area, one_way = way
    return area * passed(pressure[start], pressure[end]) * (
        leak if one_way and pressure[end] > pressure[start] else 1.0
    )


def shares(ways: list[Way], pressure: list[float], free: int, leak: float) -> np.ndarray:
    """What each free space gains and does not lose again, over what its openings pass when choked."""
    net, size = np.zeros(len(pressure)), np.zeros(len(pressure))
    for way in ways:
        moved = flow(way, pressure, leak)
        net[way[0]] -= moved
        net[way[1]] += moved
        size[[way[0], way[1]]] += way[2]
    return net[:free] / (0.6847 * size[:free] * max(pressure[free:]))


# --- Peers -------------------------------------------------------------------------------------------------------


def by_root_finder(
    ways: list[Way], free: int, sources: list[float], leak: float, rng: np.random.Generator
) -> np.ndarray | None:
    """Powell's hybrid method on the logarithms of the pressures; None where its own residual is not small."""
    for _ in range(6):
        start = np.log(rng.uniform(min(sources), max(sources), free))
        with np.errstate(all="ignore"):
            found = root(
                lambda logs: shares(ways, [*np.exp(np.clip(logs, 5, 18)).tolist(), *sources], free, leak), start,
                method="hybr", options={"xtol": 1e-13},
            )
        pressure = np.exp(np.clip(found.x, 5, 18))
        # Success is not taken from the method: it reports it with wrong answers.
        if np.abs(shares(ways, [*pressure.tolist(), *sources], free, leak)).max() < 1e-11:
            return np.asarray(pressure)
    return None


def by_trying_valves(
    ways: list[Way], free: int, sources: list[float], rng: np.random.Generator
) -> list[np.ndarray]:
    """Every answer in which each valve is open or shut, and rightly so: complementarity by brute force."""
    valves = [number for number, way in enumerate(ways) if way[3]]
    answers = []
    for shut in itertools.product((False, True), repeat=len(valves)):
        state = dict(zip(valves, shut, strict=True))
        plain = [
            (start, end, area * (SHUT_LEAK if state.get(number) else 1.0), False)
            for number, (start, end, area, _) in enumerate(ways)
        ]
        found = by_root_finder(plain, free, sources, 1.0, rng)
        if found is None:
            continue
        pressure = [*found.tolist(), *sources]
        if all((pressure[ways[valve][1]] > pressure[ways[valve][0]]) == is_shut for valve, is_shut in state.items()):
            answers.append(found)
    return answers


def by_spaces_in_turn(ways: list[Way], free: int, sources: list[float], leak: float) -> np.ndarray | None:
    """Each space in turn is given the pressure at which its own flows cancel, by bisection; no slopes, no matrix.

    The flows of a network are an M-function, for which this nonlinear Gauss-Seidel method converges from anywhere
    (J. M. Ortega and W. C. Rheinboldt, Iterative Solution of Nonlinear Equations in Several Variables, 1970; from
    memory).
    """
    low, high = min(sources), max(sources)
    pressure = [low] * free + sources
    touching = [[way for way in ways if space in way[:2]] for space in range(free)]

    def gain(value: float, space: int) -> float:
        pressure[space] = value
        return sum(flow(way, pressure, leak) * (1 if way[1] == space else -1) for way in touching[space])

    for _ in range(400):
        before = pressure[:free]
        for space in range(free):
            if gain(high, space) >= 0:
                pressure[space] = high
            elif gain(low, space) <= 0:
                pressure[space] = low
            else:
                pressure[space] = brentq(gain, low, high, args=(space,), xtol=1e-7, rtol=1e-14)
        if max(abs(one - other) for one, other in zip(before, pressure, strict=False)) < 1e-6:
            break
    if np.abs(shares(ways, pressure, free, leak)).max() < 1e-10:
        return np.array(pressure[:free])
    return None


# --- Random networks ---------------------------------------------------------------------------------------------


def random_network(rng: np.random.Generator, valves: int = 0, most: int = 7, decades: float = 1.5) -> Orifices:
    free, sources = int(rng.integers(1, most)), int(rng.integers(2, 4))
    ends = [(space, int(rng.choice([*range(space), *range(free, free + sources)]))) for space in range(free)]
    ends += [(int(rng.integers(0, free)), free + source) for source in range(sources)]
    for _ in range(int(rng.integers(0, 6))):
        a, b = rng.choice(free + sources, 2, replace=False)
        if min(a, b) < free:
            ends.append((int(a), int(b)))
    start, end = np.array([pair if rng.random() < 0.5 else pair[::-1] for pair in ends]).T
    one_way = np.zeros(len(ends), dtype=bool)
    one_way[rng.choice(len(ends), min(valves, len(ends)), replace=False)] = True
    return Orifices(free, start, end, 10 ** rng.uniform(-6 - decades, -6, len(ends)), one_way)


def random_sources(rng: np.random.Generator, orifices: Orifices) -> np.ndarray:
    count = int(max(orifices.start.max(), orifices.end.max())) + 1 - orifices.free
    return rng.uniform(30e3, 300e3, count)


def compared(found: np.ndarray, expected: np.ndarray, sources: np.ndarray, tolerance: float) -> None:
    """Within a share of the span of the sources; an answer of either kind closes to 1e-9 of the choked flow."""
    assert np.abs(found - expected).max() <= tolerance * np.ptp(sources) + 1e-4


def root_finder(rng: np.random.Generator) -> bool:
    orifices = random_network(rng)
    sources = random_sources(rng, orifices)
    expected = by_root_finder(ways_of(orifices), orifices.free, sources.tolist(), 1.0, rng)
    if expected is not None:
        compared(solve(orifices, sources[None]).pressure_pa_abs[0], expected, sources, 1e-7)
    return expected is not None


def valves_tried(rng: np.random.Generator) -> bool:
    orifices = random_network(rng, valves=int(rng.integers(1, 4)), most=5)
    sources = random_sources(rng, orifices)
    answers = by_trying_valves(ways_of(orifices), orifices.free, sources.tolist(), rng)
    found = solve(orifices, sources[None]).pressure_pa_abs[0]
    for expected in answers:
        # A space that only leaks feed: its pressure moves by a million times the residual.
        compared(found, expected, sources, 1e-4)
    return bool(answers)


def spaces_in_turn(rng: np.random.Generator) -> bool:
    orifices = random_network(rng, valves=int(rng.integers(0, 4)), most=5)
    sources = random_sources(rng, orifices)
    expected = by_spaces_in_turn(ways_of(orifices), orifices.free, sources.tolist(), SHUT_LEAK)
    if expected is not None:
        compared(solve(orifices, sources[None]).pressure_pa_abs[0], expected, sources, 1e-3)
    return expected is not None


def circuit(rng: np.random.Generator) -> bool:
    """At tiny differences the law is linear, and the network one of resistors (Kirchhoff): graph Laplacian, exact."""
    orifices = random_network(rng, most=30, decades=1.0)
    sources = 1e5 * (1 + 1e-7 * random_sources(rng, orifices) / 300e3)
    graph = nx.MultiGraph()
    graph.add_nodes_from(range(orifices.free + sources.size))
    for start, end, area, _ in ways_of(orifices):
        graph.add_edge(start, end, weight=area)
    laplacian = nx.laplacian_matrix(graph, nodelist=range(orifices.free + sources.size)).toarray()
    inner = laplacian[: orifices.free, : orifices.free]
    given = (sources - 1e5) / np.ptp(sources)
    expected = np.linalg.solve(inner, -laplacian[: orifices.free, orifices.free :] @ given)
    found = (solve(orifices, sources[None]).pressure_pa_abs[0] - 1e5) / np.ptp(sources)
    # The parabola departs from its tangent by about 1e-4 at a difference of 1e-7; steps end at 1e-11 of choked flow,
    # which is some 1e-5 of flows as small as these.
    assert found == pytest.approx(expected, abs=1e-3)
    return True


def sealed(rng: np.random.Generator) -> bool:
    """Spaces that no open way joins to a source are named, all of them and no others: components of a graph."""
    free, sources = int(rng.integers(1, 12)), 2
    ends = rng.integers(0, free + sources, (int(rng.integers(1, 14)), 2))
    ends = ends[(ends[:, 0] != ends[:, 1])]
    area = np.where(rng.random(len(ends)) < 0.2, 0.0, 1e-6)
    graph = nx.Graph([(int(a), int(b)) for (a, b), size in zip(ends, area, strict=True) if size > 0])
    graph.add_nodes_from(range(free + sources))
    reached = set().union(*(nx.node_connected_component(graph, free + source) for source in range(sources)))
    lonely = [str(space) for space in range(free) if space not in reached]
    orifices = Orifices(free, ends[:, 0], ends[:, 1], area, np.zeros(len(ends), dtype=bool))
    if lonely:
        with pytest.raises(NotSolved) as caught:
            solve(orifices, np.array([[1e5, 2e5]]))
        assert list(caught.value.places) == lonely
    else:
        solve(orifices, np.array([[1e5, 2e5]]))
    return True


KINDS: dict[str, tuple[Callable[[np.random.Generator], bool], int, float]] = {
    "root finder on logarithms": (root_finder, 60, 0.8),
    "open and shut valves tried": (valves_tried, 30, 0.6),
    "spaces in turn by bisection": (spaces_in_turn, 25, 0.5),
    "linear circuit": (circuit, 150, 1.0),
    "sealed spaces": (sealed, 300, 1.0),
}
"""The comparison, how many networks of it in the tests, and the share in which the peer finds an answer at least."""


def share_compared(kind: str, count: int) -> float:
    rng = np.random.default_rng(11)
    return sum(KINDS[kind][0](rng) for _ in range(count)) / count


@pytest.mark.parametrize("kind", KINDS)
def test_peer_agrees(kind: str) -> None:
    _, count, least = KINDS[kind]
    assert share_compared(kind, count) >= least


def test_laws_of_peer_and_textbook_table_agree() -> None:
    # NACA Report 1135, table I: p/p0 = 0.8430 at M = 0.5, 0.5283 at M = 1 where m sqrt(RT)/(A p0) = 0.6847.
    assert by_mach(1 - 0.8430) == pytest.approx(
        math.sqrt(K) * 0.5 * (1 + 0.2 * 0.25) ** -3.0, rel=2e-4
    )
    assert by_mach(1 - 0.52) == by_mach(1 - 0.3) == pytest.approx(0.6847, abs=5e-5)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2400
    for kind in KINDS:
        share = share_compared(kind, count)
        print(f"{kind:<30} {count} networks, {share:.1%} answered by the peer and agreed", flush=True)


if __name__ == "__main__":
    main()
