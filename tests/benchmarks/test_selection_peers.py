"""How long the cheapest selection among random choices takes, against two general exact engines.

Run alone, with all engines in turn on each problem so that a busy machine slows all alike; processor time. The peers
are in the extra `benchmark`. Each one's answers must cost the same:

    python tests/benchmarks/test_selection_peers.py 20
    python tests/benchmarks/test_selection_peers.py 4 1000/2000

The last are far larger than any job; ours has no limit of time there.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from random import Random

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from boostcarb.planning.problem import FREE, Choice, Cost, Item, Problem
from boostcarb.planning.selection import Scale, Selection

SIZES = {"40/30": (40, 30), "200/300": (200, 300), "1000/2000": (1000, 2000)}
COSTS: dict[str, Callable[[Random], Cost]] = {
    "three costs": lambda rng: Cost(rng.randint(0, 2), rng.randint(5, 60), rng.randint(0, 3)),
    "minutes": lambda rng: Cost(0, rng.randint(1, 100), 0),
}
LIMIT_S = 60.0
Clauses = list[list[Choice]]
Engine = Callable[[Problem, Clauses], Cost | None]


def random_problem(seed: int, candidates: int, clauses: int, costs: str) -> tuple[Problem, Clauses]:
    """Each clause wants one of two to six changes."""
    rng = Random(seed)
    items = [Item(f"i{n:04}", "old", {"old": FREE, "new": COSTS[costs](rng)}) for n in range(candidates)]
    items = [item if item.options["new"] != FREE else Item(item.name, "old", {"old": FREE, "new": Cost(parts=1)})
             for item in items]  # fmt: skip
    wanted = [sorted(rng.sample(range(candidates), rng.randint(2, 6))) for _ in range(clauses)]
    return Problem(items), [[Choice(items[n].name, "new") for n in numbers] for numbers in wanted]


def ours(problem: Problem, clauses: Clauses) -> Cost | None:
    """With the order of preference among equally cheap ones, which the peers are not asked for."""
    selection = Selection(problem)
    for clause in clauses:
        selection.add(clause)
    selected = selection.solve()
    return None if selected is None else selected.cost


def by_constraints(problem: Problem, clauses: Clauses) -> Cost | None:
    """CP-SAT of OR-tools, one worker, linear relaxation in full."""
    from ortools.sat.python import cp_model

    scale = Scale.of(problem)
    model = cp_model.CpModel()
    made = {item.name: model.new_bool_var(item.name) for item in problem.items}
    for clause in clauses:
        model.add_bool_or([made[choice.item] for choice in clause])
    model.minimize(sum(scale.weight(item.options["new"], changes=1) * made[item.name] for item in problem.items))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2
    solver.parameters.max_time_in_seconds = LIMIT_S
    if solver.solve(model) != cp_model.OPTIMAL:
        return None
    return problem.cost({name: "new" if solver.value(variable) else "old" for name, variable in made.items()})


def by_integers(problem: Problem, clauses: Clauses) -> Cost | None:
    """HiGHS, one thread, no gap left."""
    import highspy

    scale = Scale.of(problem)
    solver = highspy.Highs()
    solver.silent()
    for option, value in (("output_flag", False), ("threads", 1), ("mip_rel_gap", 0.0), ("time_limit", LIMIT_S)):
        solver.setOptionValue(option, value)
    column = {item.name: index for index, item in enumerate(problem.items)}
    for item in problem.items:
        solver.addVar(0.0, 1.0)
        solver.changeColCost(column[item.name], float(scale.weight(item.options["new"], changes=1)))
        solver.changeColIntegrality(column[item.name], highspy.HighsVarType.kInteger)
    for clause in clauses:
        indices = [column[choice.item] for choice in clause]
        solver.addRow(1.0, highspy.kHighsInf, len(indices), indices, [1.0] * len(indices))
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    values = solver.getSolution().col_value
    return problem.cost({name: "new" if values[index] > 0.5 else "old" for name, index in column.items()})


ENGINES: dict[str, tuple[Engine, str]] = {
    "boostcarb": (ours, "pysat"),
    "CP-SAT": (by_constraints, "ortools"),
    "HiGHS": (by_integers, "highspy"),
}


def engine(name: str) -> Engine:
    """The engine of that name; the test is skipped if it is not installed."""
    solve, package = ENGINES[name]
    if find_spec(package) is None:
        pytest.skip(f"{package} is not installed: pip install 'boostcarb[benchmark]'")
    return solve


@pytest.mark.parametrize("name", ENGINES)
def test_selection_of_the_size_of_a_job(benchmark: BenchmarkFixture, name: str) -> None:
    solve = engine(name)
    problem, clauses = random_problem(1, *SIZES["40/30"], "three costs")
    assert benchmark(solve, problem, clauses) == ours(problem, clauses)


@pytest.mark.parametrize("name", ENGINES)
def test_large_selection(benchmark: BenchmarkFixture, name: str) -> None:
    solve = engine(name)
    problem, clauses = random_problem(1, *SIZES["200/300"], "three costs")
    assert benchmark(solve, problem, clauses) == ours(problem, clauses)


def peak_mb(name: str, size: str, costs: str) -> float:
    """Memory of a process that only does one problem with this engine."""
    code = f"import test_selection_peers as t; t.show_peak({name!r}, {size!r}, {costs!r})"
    command = (sys.executable, "-c", code)
    folder = __file__.rpartition("/")[0]
    return float(subprocess.run(command, capture_output=True, text=True, check=True, cwd=folder).stdout.split()[-1])


def show_peak(name: str, size: str, costs: str) -> None:
    """Print the peak memory of this process in MB after one problem."""
    ENGINES[name][0](*random_problem(0, *SIZES[size], costs))
    # Not from getrusage: that keeps the peak of the process which started this one.
    status = dict(line.split(":", 1) for line in Path("/proc/self/status").read_text().splitlines())
    print(int(status["VmHWM"].split()[0]) / 1024)


def timed(solve: Engine, problem: Problem, clauses: Clauses) -> tuple[float, Cost | None]:
    """Processor time in s and the cost found, None if not within the limit."""
    start = time.process_time()
    cost = solve(problem, clauses)
    return time.process_time() - start, cost


def compare(size: str, costs: str, problems: int, names: list[str]) -> None:
    """Print a row for each engine; the first run of each is not counted."""
    seconds: dict[str, list[float]] = {name: [] for name in names}
    open_: dict[str, int] = dict.fromkeys(names, 0)
    for name in names:
        timed(ENGINES[name][0], *random_problem(0, *SIZES["40/30"], costs))
    for seed in range(problems):
        problem, clauses = random_problem(seed, *SIZES[size], costs)
        found = {}
        for name in names:
            taken, cost = timed(ENGINES[name][0], problem, clauses)
            seconds[name].append(taken)
            open_[name] += cost is None
            if cost is not None:
                found[name] = cost
        if len(set(found.values())) > 1:
            raise SystemExit(f"{size}, {costs}, problem {seed}: the engines disagree: {found}")
    for name in names:
        median, worst = statistics.median(seconds[name]) * 1000, max(seconds[name]) * 1000
        peak = peak_mb(name, size, costs)
        print(f"{size:>10} {costs:>12} {name:>10} {median:9.1f} {worst:9.1f} {peak:8.0f} {open_[name]:6}", flush=True)


def main() -> None:
    """Print the comparison."""
    problems = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    sizes = sys.argv[2:] or ["40/30", "200/300"]
    names = [name for name, (_, package) in ENGINES.items() if find_spec(package) is not None]
    for missing in sorted(set(ENGINES) - set(names)):
        print(f"{missing} left out: not installed (pip install 'boostcarb[benchmark]')")
    print(f"{'size':>10} {'costs':>12} {'engine':>10} {'median ms':>9} {'worst ms':>9} {'peak MB':>8} {'open':>6}")
    for size in sizes:
        for costs in COSTS:
            compare(size, costs, problems, names)


if __name__ == "__main__":
    main()
