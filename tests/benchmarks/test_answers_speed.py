"""What the answers of one carburetor cost: processor time and peak memory, each in a process of its own.

    python tests/benchmarks/test_answers_speed.py 5

The interpreter's start is left out; loading the packages is told apart, as a second answer would not pay for it.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

SCENARIO = Path(__file__).parents[2] / "scenarios" / "street_blow_through.yaml"
COMMANDS = {
    "plan": "VERDICT",
    "faults": "diaphragm",
    "bench": "Street coupe",
    "fuel --how-sure --samples 10000": "lambda",
    "review": "VERDICT",
}
"""Commands, and a word that their answer must hold."""

ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
TIMED = """
import contextlib, io, resource, sys, time
start = time.process_time()
import networkx, numpy, pydantic.main, pydantic.fields, pysat.examples.rc2, pysat.solvers, typer, yaml
packages = time.process_time()
from boostcarb.cli.app import app
text = io.StringIO()
with contextlib.redirect_stdout(text), contextlib.suppress(SystemExit):
    app(sys.argv[1:])
end = time.process_time()
print(packages - start, end - packages, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
print(text.getvalue())
"""


def answered(command: str) -> tuple[float, float, float, str]:
    """Processor time for the packages of others and for the answer, s; peak memory, MiB; and the answer."""
    name, *options = command.split()
    call = [sys.executable, "-c", TIMED, name, str(SCENARIO), *options]
    done = subprocess.run(call, capture_output=True, text=True, check=True, timeout=300, env=ENVIRONMENT)
    numbers, _, text = done.stdout.partition("\n")
    packages, answer, memory = map(float, numbers.split())
    return packages, answer, memory, text


@pytest.mark.parametrize("command", ["faults", "bench", "fuel --how-sure --samples 10000"])
def test_an_answer(benchmark: BenchmarkFixture, command: str) -> None:
    assert COMMANDS[command] in benchmark.pedantic(answered, (command,), rounds=1)[3]


def main() -> None:
    """Print a table of medians."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    rows = {command: [answered(command)[:3] for _ in range(runs)] for command in COMMANDS}
    print(f"{'command':32} {'packages':>9} {'answer':>9} {'memory':>9}   (medians of {runs} runs)")
    for command, found in rows.items():
        packages, answer, memory = (statistics.median(column) for column in zip(*found, strict=True))
        print(f"{command:32} {packages * 1000:6.0f} ms {answer * 1000:6.0f} ms {memory:5.0f} MiB")


if __name__ == "__main__":
    main()
