"""How long a review of many files takes with several processes, and how much memory.

The files are the scenarios with small edits: each is another job. Run by hand:

    python tests/benchmarks/test_review_many.py 1000 [PROCESSES...]
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from itertools import cycle, islice
from pathlib import Path

from pytest_benchmark.fixture import BenchmarkFixture

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def edited(text: str, number: int) -> str:
    """A job with another title and, where it names one, another altitude, in meters."""
    lines = []
    for line in text.splitlines():
        if line.startswith("job:"):
            line = f"job: Car number {number}"  # noqa: PLW2901  the rest of the line is not wanted
        elif line.strip().startswith("altitude:"):
            line = f"{line.partition('altitude:')[0]}altitude: {number % 1500} m"  # noqa: PLW2901
        lines.append(line)
    return "\n".join(lines) + "\n"


def written(folder: Path, count: int) -> None:
    """So many job files in a folder."""
    for number, scenario in enumerate(islice(cycle(SCENARIOS), count)):
        text = edited(scenario.read_text(encoding="utf-8"), number)
        (folder / f"{number:05}.yaml").write_text(text, encoding="utf-8")


def reviewed(folder: Path, *options: str) -> bytes:
    """Output of one whole review of a folder; it must be one that found something."""
    done = subprocess.run(
        [sys.executable, "-m", "boostcarb", "review", str(folder), "--format", "json", *options],
        stdout=subprocess.PIPE,
        env=ENVIRONMENT,
        check=False,
    )
    assert done.returncode == 1
    return done.stdout


def test_review_of_many(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    written(tmp_path, len(SCENARIOS))
    assert b"summary" in benchmark.pedantic(reviewed, (tmp_path,), rounds=1)


def main() -> None:
    """Print seconds of wall and processor time, and the largest process."""
    count, *processes = [int(word) for word in sys.argv[1:]] or [1000]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        written(folder, count)
        outputs = set()
        for workers in processes or [1, os.cpu_count() or 1]:
            before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
            outputs.add(reviewed(folder, "--jobs", str(workers)))
            wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
            used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
            print(
                f"{count} files, {workers} processes: {wall:.0f} s, {used:.0f} s of processor, "
                f"largest process so far {after.ru_maxrss / 1024:.0f} MiB",
                flush=True,
            )
        print("the same output each time" if len(outputs) == 1 else "DIFFERENT OUTPUT")


if __name__ == "__main__":
    main()
