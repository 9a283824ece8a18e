"""How long a pressure balance takes, beside general libraries for networks of pipes and by size of the network.

The peers have the same topology and each its own law of pipes, wide and long enough that it converges: a library for
pipe networks (pandapipes) on gas, at the accuracy that it sets itself, and a compiled hydraulic engine (EPANET, in
process) on water, at the accuracy that it sets itself (a thousandth) and at the best that it takes (a hundred
thousandth); ours is a thousand-millionth. Processor times, in turn in one process, so that a busy machine slows all
alike. The peers are in the extra `benchmark`. Run alone, with how often to repeat:

    python tests/benchmarks/test_solver_peers.py 15
"""

from __future__ import annotations

import math
import statistics
import subprocess
import sys
import time
import tracemalloc
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from boostcarb.solving.balance import TOLERANCE, Orifices, solve

SPACES, CASES = 60, 2000
ABSENT = "the extra 'benchmark' is not installed: pip install 'boostcarb[benchmark]'"
USUAL, BEST = 1e-3, 1e-5
"""Accuracies of the hydraulic engine."""

LENGTH_M, BORE_MM, ROUGHNESS_MM = 100.0, 100.0, 0.01
"""Of a peer's pipe in place of an orifice of 1 mm2; bores go with the root of the area."""


def network(spaces: int, one_way: float = 0.0, cases: int = 1) -> tuple[Orifices, np.ndarray]:
    """A network and its sources, shape (cases, sources), from 1 to 3 bar."""
    from networks import near_orifices

    rng = np.random.default_rng(1)
    orifices = near_orifices(rng, spaces, one_way=one_way)
    sources = int(max(orifices.start.max(), orifices.end.max())) + 1 - spaces
    return orifices, 1e5 * np.exp(rng.uniform(0, math.log(3), (cases, sources)))


def sampled(orifices: Orifices, cases: int) -> Orifices:
    """Areas with a spread of 5 % that differs from case to case."""
    spread = np.random.default_rng(2).normal(1.0, 0.05, (cases, orifices.start.size))
    return Orifices(
        orifices.free, orifices.start, orifices.end, orifices.area_m2 * spread.clip(0.8, 1.2), orifices.one_way
    )


def pipe_library(orifices: Orifices, sources: np.ndarray) -> Callable[[], object]:
    """The same topology of gas pipes between 1 and 1.1 bar; what is returned solves it once."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        pandapipes = pytest.importorskip("pandapipes", reason=ABSENT)
        net = pandapipes.create_empty_network(fluid="lgas")
        for _ in range(orifices.free + sources.size):
            pandapipes.create_junction(net, pn_bar=1.05, tfluid_k=293.15)
        for number, pressure in enumerate((1 + (sources / 1e5 - 1) * 0.05).tolist()):
            pandapipes.create_ext_grid(net, junction=orifices.free + number, p_bar=pressure, t_k=293.15)
        pandapipes.create_pipes_from_parameters(
            net, orifices.start, orifices.end, length_km=LENGTH_M / 1e3, k_mm=ROUGHNESS_MM,
            inner_diameter_mm=BORE_MM * np.sqrt(orifices.area_m2 / 1e-6),
        )  # fmt: skip

    def run() -> object:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            pandapipes.pipeflow(net, max_iter_hyd=100, use_numba=False)
        return net.res_junction.p_bar.to_numpy()

    return run


class HydraulicEngine:
    """The same topology of water pipes between reservoirs of 10 to 30 m, opened once."""

    def __init__(self, orifices: Orifices, sources: int, accuracy: float) -> None:
        self.engine: Any = pytest.importorskip("epanet.toolkit", reason=ABSENT)
        engine = self.engine
        self.project = engine.createproject()
        engine.init(self.project, "", "", engine.LPS, engine.DW)
        for number in range(orifices.free):
            engine.addnode(self.project, f"n{number}", engine.JUNCTION)
        engine.setoption(self.project, engine.ACCURACY, accuracy)
        self.reservoirs = [
            engine.addnode(self.project, f"n{orifices.free + number}", engine.RESERVOIR) for number in range(sources)
        ]
        bores = BORE_MM * np.sqrt(orifices.area_m2 / 1e-6)
        ends = zip(orifices.start.tolist(), orifices.end.tolist(), bores.tolist(), strict=True)
        for number, (start, end, bore) in enumerate(ends):
            link = engine.addlink(self.project, f"p{number}", engine.PIPE, f"n{start}", f"n{end}")
            engine.setlinkvalue(self.project, link, engine.LENGTH, LENGTH_M)
            engine.setlinkvalue(self.project, link, engine.DIAMETER, bore)
            engine.setlinkvalue(self.project, link, engine.ROUGHNESS, ROUGHNESS_MM)
        engine.openH(self.project)

    def run(self, sources: np.ndarray) -> float:
        """One solve; the head at the first node, m."""
        engine, project = self.engine, self.project
        for node, pressure in zip(self.reservoirs, sources.tolist(), strict=True):
            engine.setnodevalue(project, node, engine.ELEVATION, pressure / 1e4)
        engine.initH(project, engine.INITFLOW)
        engine.runH(project)
        return float(engine.getnodevalue(project, 1, engine.HEAD))

    def close(self) -> None:
        self.engine.closeH(self.project)
        self.engine.close(self.project)
        self.engine.deleteproject(self.project)


# --- for the table of pytest-benchmark, and that what is measured is right ---------------------------------------


@pytest.mark.parametrize("one_way", [0.0, 0.1])
def test_one_solve_of_sixty_spaces(benchmark: BenchmarkFixture, one_way: float) -> None:
    assert benchmark(solve, *network(SPACES, one_way)).residual <= TOLERANCE


@pytest.mark.parametrize("areas", ["the same", "sampled"])
def test_many_solves_of_sixty_spaces(benchmark: BenchmarkFixture, areas: str) -> None:
    orifices, sources = network(SPACES, cases=200)
    found = benchmark(solve, sampled(orifices, 200) if areas == "sampled" else orifices, sources)
    assert found.pressure_pa_abs.shape == (200, SPACES)
    assert found.residual <= TOLERANCE


@pytest.mark.parametrize("spaces", [1000, 10_000])
def test_large_network_needs_one_factorization_a_step_and_no_dense_matrix(
    benchmark: BenchmarkFixture, spaces: int
) -> None:
    orifices, sources = network(spaces)
    found = benchmark.pedantic(solve, args=(orifices, sources), rounds=2)
    assert found.residual <= TOLERANCE
    assert found.factorizations == found.steps + 1
    assert found.steps < 15
    tracemalloc.start()
    solve(orifices, sources)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # Arrays of numpy are traced. One dense matrix alone would take 8 bytes times the square of the spaces.
    assert peak < 4000 * spaces


def test_pipe_library(benchmark: BenchmarkFixture) -> None:
    orifices, sources = network(SPACES)
    found = benchmark.pedantic(pipe_library(orifices, sources[0]), rounds=5)
    assert np.isfinite(found).all()


def test_hydraulic_engine(benchmark: BenchmarkFixture) -> None:
    orifices, sources = network(SPACES)
    engine = HydraulicEngine(orifices, sources.shape[1], USUAL)
    assert 10 <= benchmark(engine.run, sources[0]) <= 30
    engine.close()


# --- the tables --------------------------------------------------------------------------------------------------


def in_turn(runs: int, *calls: Callable[[], object]) -> list[list[float]]:
    """Processor times of each call, s, taken in turn after one run of each that is not counted."""
    for call in calls:
        call()
    times: list[list[float]] = [[] for _ in calls]
    for _ in range(runs):
        for call, taken in zip(calls, times, strict=True):
            start = time.process_time()
            call()
            taken.append(time.process_time() - start)
    return times


def line(name: str, seconds: list[float], ours: list[float], solves: int = 1) -> None:
    ratio = statistics.median(other / own for other, own in zip(seconds, ours, strict=True))
    print(f"{name:<52} {statistics.median(seconds) * 1e3 / solves:>9.3f} {ratio:>8.2f}")


def small(runs: int) -> None:
    """One solve, and many, beside the peers."""
    orifices, sources = network(SPACES, cases=CASES)
    valves = network(SPACES, 0.1, CASES)[0]
    samples = sampled(orifices, CASES)
    usual, best = (HydraulicEngine(orifices, sources.shape[1], accuracy) for accuracy in (USUAL, BEST))
    one = in_turn(
        runs,
        lambda: solve(orifices, sources[:1]),
        pipe_library(orifices, sources[0]),
        lambda: usual.run(sources[0]),
        lambda: best.run(sources[0]),
        lambda: solve(valves, sources[:1]),
    )
    print(f"{f'one solve of {SPACES} spaces':<52} {'ms':>9} {'to ours':>8}")
    engines = ("compiled hydraulic engine, as it comes", "compiled hydraulic engine, at its best")
    names = ("ours", "pipe-network library", *engines, "ours, a tenth one-way valves")
    for name, seconds in zip(names, one, strict=True):
        line(name, seconds, one[0])
    many = in_turn(
        max(3, runs // 3),
        lambda: solve(orifices, sources),
        lambda: [usual.run(each) for each in sources],
        lambda: [best.run(each) for each in sources],
        lambda: solve(samples, sources),
        lambda: solve(valves, sources),
    )
    usual.close()
    best.close()
    print(f"\n{f'each of {CASES} solves of {SPACES} spaces':<52} {'ms':>9} {'to ours':>8}")
    names = ("ours", *engines, "ours, areas sampled too", "ours, a tenth one-way valves")
    for name, seconds in zip(names, many, strict=True):
        line(name, seconds, many[0], CASES)


PEAK = """
import pathlib, re, sys
sys.path[:0] = {paths!r}
import scipy.sparse.linalg
from test_solver_peers import network, solve
def held(name):
    return int(re.search(name + r":\\s+(\\d+)", pathlib.Path("/proc/self/status").read_text())[1])
orifices, sources = network({spaces}, {one_way})
before = held("VmRSS")
solve(orifices, sources)
print(before, held("VmHWM"))
"""


def peak_mb(spaces: int, one_way: float) -> float:
    """What a process of its own holds at most, above what it held before the solve, MB; of Linux."""
    here = Path(__file__).parent
    paths = [str(here), str(here.parent / "solving")]
    code = PEAK.format(paths=paths, spaces=spaces, one_way=one_way)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=600)
    before, after = map(int, done.stdout.split())
    return (after - before) / 1024


def growth(runs: int) -> None:
    """Larger networks, alone."""
    print(f"\n{'spaces':>7} {'valves':>7} {'ms':>9} {'ms/1000':>8} {'steps':>6} {'factorized':>11} {'peak MB':>8}")
    for one_way in (0.0, 0.1):
        for spaces in (SPACES, 1000, 10_000):
            orifices, sources = network(spaces, one_way)
            found = solve(orifices, sources)
            seconds = statistics.median(in_turn(runs, lambda o=orifices, s=sources: solve(o, s))[0])  # type: ignore[misc]
            print(
                f"{spaces:>7} {one_way:>7.0%} {seconds * 1e3:>9.1f} {seconds * 1e6 / spaces:>8.1f} {found.steps:>6} "
                f"{found.factorizations:>11} {peak_mb(spaces, one_way):>8.1f}"
            )
    orifices, sources = network(10_000)
    engine = HydraulicEngine(orifices, sources.shape[1], BEST)
    times = in_turn(runs, lambda: solve(orifices, sources), lambda: engine.run(sources[0]))
    engine.close()
    print(f"\n{'one solve of 10,000 spaces':<52} {'ms':>9} {'to ours':>8}")
    for name, taken in zip(("ours", "compiled hydraulic engine, at its best"), times, strict=True):
        line(name, taken, times[0])


def main() -> None:
    """Print the tables."""
    sys.path.insert(0, str(Path(__file__).parents[1] / "solving"))
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    try:
        small(runs)
        growth(max(3, runs // 3))
    except pytest.skip.Exception as absent:
        sys.exit(str(absent))


if __name__ == "__main__":
    main()
