"""How long a whole `boostcarb plan` takes from the shell, against loading the packages it stands on.

Run alone, with the runs of both taken in turn so that a busy machine slows both alike:

    python tests/benchmarks/test_startup.py 15
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

from pytest_benchmark.fixture import BenchmarkFixture

SCENARIO = Path(__file__).parents[2] / "scenarios" / "street_blow_through.yaml"
PLAN = (sys.executable, "-m", "boostcarb", "plan", str(SCENARIO))
IMPORTS = (sys.executable, "-c", "import networkx, pydantic, typer, yaml, numpy")
# Compiled modules are kept, as after an installation; without them each run would compile all of ours anew.
ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def call(command: tuple[str, ...]) -> str:
    """Output of one whole process, which must succeed."""
    return subprocess.run(command, capture_output=True, text=True, check=True, timeout=300, env=ENVIRONMENT).stdout


def seconds(command: tuple[str, ...]) -> float:
    """Wall time of one whole process."""
    start = time.perf_counter()
    call(command)
    return time.perf_counter() - start


def compared(runs: int) -> tuple[float, float]:
    """Medians of both commands, run in turn, after one run of each that is not counted."""
    call(PLAN)
    call(IMPORTS)
    pairs = [(seconds(PLAN), seconds(IMPORTS)) for _ in range(runs)]
    plans, imports = zip(*pairs, strict=True)
    return statistics.median(plans), statistics.median(imports)


def test_plan(benchmark: BenchmarkFixture) -> None:
    assert "VERDICT" in benchmark(call, PLAN)


def test_imports_alone(benchmark: BenchmarkFixture) -> None:
    assert benchmark(call, IMPORTS) == ""


def main() -> None:
    """Print the comparison."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    plan, imports = compared(runs)
    print(f"plan {plan * 1000:.0f} ms, imports alone {imports * 1000:.0f} ms, ratio {plan / imports:.2f} ({runs} runs)")


if __name__ == "__main__":
    main()
