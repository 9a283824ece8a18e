"""What a whole `boostcarb plan` costs from the shell, against loading the packages of others.

Run alone, with the runs of all taken in turn; what counts is processor time, which a busy machine changes least:

    python tests/benchmarks/test_startup.py 15
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
from pathlib import Path

from pytest_benchmark.fixture import BenchmarkFixture

SCENARIO = Path(__file__).parents[2] / "scenarios" / "street_blow_through.yaml"
PLAN = (sys.executable, "-m", "boostcarb", "plan", str(SCENARIO))

LOADED = ("numpy", "pydantic.main", "pydantic.fields", "pysat.examples.rc2", "pysat.solvers", "typer", "yaml")
"""What a plan loads of others: all that it can be quicker than by no work of ours."""

DECLARED = (*LOADED, "networkx", "scipy.integrate", "starlette.applications", "uvicorn")
"""Every dependency of the installed package, with the part of it that some command uses."""

COMMANDS = {
    "plan": PLAN,
    "what it loads": (sys.executable, "-c", f"import {', '.join(LOADED)}"),
    "all dependencies": (sys.executable, "-c", f"import {', '.join(DECLARED)}"),
}
# Compiled modules are kept, as after an installation; without them each run would compile all of ours anew.
ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
NAMES_OF_OTHERS = """
import contextlib, io, sys
from boostcarb.cli.app import app
with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):
    app(["plan", sys.argv[1]])
print(*sorted({name.partition(".")[0] for name in sys.modules}))
"""


def call(command: tuple[str, ...]) -> str:
    """Output of one whole process, which must succeed."""
    return subprocess.run(command, capture_output=True, text=True, check=True, timeout=300, env=ENVIRONMENT).stdout


def seconds(command: tuple[str, ...]) -> float:
    """Processor time of one whole process, user and system."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    call(command)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


def compared(runs: int) -> dict[str, float]:
    """Medians of all commands, run in turn, after one run of each that is not counted."""
    for command in COMMANDS.values():
        call(command)
    rounds = [{name: seconds(command) for name, command in COMMANDS.items()} for _ in range(runs)]
    return {name: statistics.median(each[name] for each in rounds) for name in COMMANDS}


def test_plan(benchmark: BenchmarkFixture) -> None:
    assert "VERDICT" in benchmark(call, PLAN)


def test_imports_alone(benchmark: BenchmarkFixture) -> None:
    assert benchmark(call, COMMANDS["what it loads"]) == ""


def test_a_plan_loads_what_it_is_compared_with() -> None:
    loaded = set(call((sys.executable, "-c", NAMES_OF_OTHERS, str(SCENARIO))).split())
    compared_with = {name.partition(".")[0] for name in LOADED}
    assert compared_with <= loaded
    assert not {name.partition(".")[0] for name in DECLARED} - compared_with & loaded


def main() -> None:
    """Print the comparison."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    found = compared(runs)
    for name, median in found.items():
        print(f"{name:17} {median * 1000:6.0f} ms of processor time   plan is {found['plan'] / median:5.2f} times that")
    print(f"\n{runs} runs each. A plan loads: {', '.join(LOADED)}")


if __name__ == "__main__":
    main()
