"""How long the board takes to answer a change, over real HTTP on the loopback address.

Every change is asked for once, so that no answer is one that was kept. Run alone, with how many changes to ask for:

    python tests/benchmarks/test_board.py 300
"""

from __future__ import annotations

import http.client
import json
import random
import re
import signal
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from pytest_benchmark.fixture import BenchmarkFixture

SCENARIO = Path(__file__).parents[2] / "scenarios" / "street_blow_through.yaml"
SERVE = (sys.executable, "-m", "boostcarb", "board", str(SCENARIO), "--no-browser")
DATA = re.compile(r'<script type="application/json" id="board-data">(.*?)</script>', re.DOTALL)
MODE, MOST_AT_ONCE = "blow_through", 4
Record = dict[str, Any]


class Asking:
    """A page that asks, on one connection as a browser does."""

    def __init__(self, host: str, port: int) -> None:
        self.connection = http.client.HTTPConnection(host, port, timeout=120)
        self.connection.request("GET", "/")
        page = self.connection.getresponse().read().decode()
        found = DATA.search(page)
        assert found is not None
        self.headers = {
            "Content-Type": "application/json",
            "Origin": f"http://{host}:{port}",
            "X-Board-Token": json.loads(found[1])["token"],
        }

    def ask(self, path: str, record: Record) -> Record:
        """What it is told, which must be an answer."""
        body = json.dumps(record)
        self.connection.request("POST", path, body, self.headers)
        reply = self.connection.getresponse()
        text = reply.read()
        assert reply.status == 200, text
        told = json.loads(text)
        assert isinstance(told, dict)
        return told

    def seconds(self, path: str, record: Record) -> tuple[float, Record]:
        """The round trip, from the question as an object to the answer as one."""
        start = time.perf_counter()
        told = self.ask(path, record)
        return time.perf_counter() - start, told


@contextmanager
def served() -> Iterator[Asking]:
    """A board in a process of its own, which must end well."""
    with subprocess.Popen(SERVE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        said = process.stdout.readline()
        address = re.search(r"http://([\d.]+):(\d+)/", said)
        assert address is not None, said
        asking = Asking(address[1], int(address[2]))
        try:
            yield asking
        finally:
            asking.connection.close()
            process.send_signal(signal.SIGTERM)
            assert process.wait(30) == 0


def changes_of(scene: Record, configuration: dict[str, str], number: int, seed: int = 1) -> list[dict[str, str]]:
    """Single changes and a few at once, in turn, no two alike, of items that are there."""
    chance = random.Random(seed)
    items = [
        name
        for name, item in scene["items"].items()
        if all(configuration[other] in forms for other, forms in item.get("on", {}).items())
    ]
    single = [{item: form} for item in items for form in scene["items"][item]["forms"] if form != configuration[item]]
    chance.shuffle(single)
    several: list[dict[str, str]] = []
    while len(several) < number:
        some: dict[str, str] = {}
        for each in chance.sample(single, chance.randint(2, MOST_AT_ONCE)):
            some |= each
        if some not in several:
            several.append(some)
    wanted = [*single[: number // 2], *several]
    return wanted[:number]


def measured(number: int) -> tuple[dict[str, list[float]], list[tuple[Record, Record]]]:
    """Round trips in seconds by what was asked for, and every question with what was told."""
    from boostcarb.board.study import Asked, Study
    from boostcarb.description.library import read_job

    configuration = Study.of(read_job(SCENARIO)).configuration(Asked(MODE, "found", {}))
    times: dict[str, list[float]] = {"one change": [], "several changes": [], "dial": []}
    told: list[tuple[Record, Record]] = []
    with served() as asking:
        scene = asking.ask("/scene", {"mode": MODE})["scene"]
        for changes in changes_of(scene, configuration, number):
            question: Record = {"mode": MODE, "base": "found", "changes": changes}
            seconds, answer = asking.seconds("/answer", question)
            times["one change" if len(changes) == 1 else "several changes"].append(seconds)
            told.append((question, answer))
        chance = random.Random(2)
        for _ in range(number // 3):
            dialed = {"boost_pa": chance.uniform(0, 50_000), "throttle": chance.uniform(0.1, 1), "rpm": 3000}
            dialed = {"mode": MODE, "base": "found", "changes": {}, **dialed}
            times["dial"].append(asking.seconds("/dial", dialed)[0])
    return times, told


def test_answers_over_http_are_those_of_python(benchmark: BenchmarkFixture) -> None:
    """Never fails on time."""
    from boostcarb.board.answer import answer_record
    from boostcarb.board.study import Asked, Study
    from boostcarb.description.library import read_job

    _, told = benchmark.pedantic(measured, args=(30,), rounds=1)
    study = Study.of(read_job(SCENARIO))
    assert {len(question["changes"]) == 1 for question, _ in told} == {True, False}
    for question, answer in told:
        right = answer_record(study, Asked(**question))
        assert answer == json.loads(json.dumps(right)), question


def main() -> None:
    """Print the table."""
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    times, told = measured(number)
    sizes = [len(json.dumps(answer)) for _, answer in told]
    print(f"{'round trip':<16} {'number':>6} {'p50 ms':>7} {'p90 ms':>7} {'p99 ms':>7} {'worst':>7}")
    for name, seconds in {**times, "any change": times["one change"] + times["several changes"]}.items():
        parts = [part * 1000 for part in statistics.quantiles(seconds, n=100, method="inclusive")]
        print(
            f"{name:<16} {len(seconds):>6} {parts[49]:>7.1f} {parts[89]:>7.1f} {parts[98]:>7.1f} "
            f"{max(seconds) * 1000:>7.1f}"
        )
    print(f"an answer is {statistics.median(sizes) / 1000:.0f} kB of JSON, {max(sizes) / 1000:.0f} kB at most")


if __name__ == "__main__":
    main()
