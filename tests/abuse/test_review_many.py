"""A review of many files: the rest goes on after a bad one, in the order given, however it is worked out."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from abused import JOB, Heard, heard
from spoiling import loaded

from boostcarb import pipeline
from boostcarb.cli import review_many
from boostcarb.cli.workers import Died, NoWorkers, over_workers
from boostcarb.errors import NotSolved

TEXT = loaded(JOB)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve jobs, of which one has a mistake, one is a folder by its name, and one is somebody's notes."""
    base = tmp_path_factory.mktemp("jobs")
    for number in range(12):
        (base / f"{number:02}.yaml").write_text(TEXT.replace("job: ", f"job: Number {number}, "), encoding="utf-8")
    (base / "03.yaml").write_text(TEXT.replace("fuel: ", "fuel: nothing # "), encoding="utf-8")
    (base / "05.yaml").unlink()
    (base / "05.yaml").mkdir()
    (base / "07.yml").write_text("milk, eggs\n", encoding="utf-8")
    (base / "notes.txt").write_text("not a job\n", encoding="utf-8")
    return base


def parted(said: Heard) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    document = json.loads(said.out)
    assert (document["schema"], document["job"]) == ("boostcarb.reviews.v1", None)
    return document["reviews"], document["summary"]


def test_many_processes_say_what_one_says(folder: Path) -> None:
    """Each process has a seed of its own for the order of sets: nothing hangs on it."""
    one = heard(["review", str(folder), "--format", "json", "--jobs", "1"])
    two = heard(["review", str(folder), "--format", "json", "--jobs", "2"])
    assert (two.code, two.out, two.err) == (one.code, one.out, one.err)
    reviews, summary = parted(two)
    assert two.code == 2
    names = [path.name for path in sorted(folder.iterdir()) if path.suffix in (".yaml", ".yml")]
    assert [Path(each["job"]["file"]).name for each in reviews] == names
    unread = ["03.yaml", "05.yaml", "07.yml"]
    assert [Path(each["file"]).name for each in summary["not_read"]] == unread
    assert [Path(each["job"]["file"]).name for each in reviews if "problems" in each] == unread
    assert (summary["files"], summary["not_fit"], summary["nothing_blocks"], summary["stopped"]) == (13, 10, 0, False)
    stops = [finding for each in reviews for finding in each["findings"] if finding["severity"] == "stop"]
    assert summary["findings"]["stop"] == len(stops) > 0
    places = [line.split(": ")[1].rpartition("/")[2] for line in two.err.splitlines()]
    assert places == ["03.yaml:34", "05.yaml", "07.yml:1"]


def test_each_review_is_that_of_the_file_alone(folder: Path) -> None:
    file = str(folder / "00.yaml")
    alone = json.loads(heard(["review", file, "--format", "json"]).out)
    reviews, _ = parted(heard(["review", file, file, "--format", "json"]))
    assert reviews == [alone, alone]


def test_end_of_the_text_says_what_came_of_all(folder: Path) -> None:
    said = heard(["review", str(folder / "00.yaml"), str(folder / "03.yaml"), str(folder / "none.yaml")])
    assert said.code == 2
    end = said.out[said.out.index("ALL 3 FILES") :]
    assert "1 not fit to run, 0 where nothing blocks, 2 that could not be read." in " ".join(end.split())
    assert "COULD NOT BE READ" in end
    for name in ("03.yaml:34: fuel: found 'nothing", "none.yaml: there is no such file"):
        assert name in " ".join(end.split())


def test_exit_code_is_that_of_the_worst(folder: Path, tmp_path: Path) -> None:
    file = str(folder / "00.yaml")
    assert heard(["review", file, file]).code == 1
    assert heard(["review", file, str(tmp_path / "none.yaml"), file]).code == 2
    empty = heard(["review", str(tmp_path)])
    assert (empty.code, "is a folder; give a YAML file" in empty.err) == (2, True)


def test_file_without_an_answer_and_a_fault_of_ours_cost_no_other(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = pipeline.review
    wrong = {"Number 1,": NotSolved("the pressure balance"), "Number 2,": ZeroDivisionError("secret")}

    def review(read: pipeline.ReadJob) -> Any:
        for start, error in wrong.items():
            if read.job.job.startswith(start):
                raise error
        return whole(read)

    monkeypatch.setattr(pipeline, "review", review)
    files = [str(folder / f"0{number}.yaml") for number in (0, 1, 2, 4)]
    said = heard(["review", *files, "--format", "json"])
    reviews, summary = parted(said)
    assert (said.code, len(reviews), summary["not_fit"]) == (1, 4, 2)
    messages = [each["problems"][0]["message"] for each in summary["no_answer"]]
    assert messages[0].startswith("no answer: the pressure balance did not converge")
    assert messages[1] == "no answer: the program failed (ZeroDivisionError: secret); please report it"
    assert "Traceback" in said.err, "whoever mends it needs the whole"


def test_process_that_dies_is_reported_with_its_file(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As when the machine has no memory left: signal 9 (POSIX, kill())."""
    monkeypatch.setattr(review_many, "WORKER", "dying_worker")
    said = heard(["review", str(folder), "--format", "json", "--jobs", "2"])
    reviews, summary = parted(said)
    assert len(reviews) == 13
    assert [(Path(each["file"]).name, each["problems"][0]["message"]) for each in summary["no_answer"]] == [
        ("04.yaml", "no answer: the process that reviewed it was ended by SIGKILL; review this file alone"),
        ("09.yaml", "no answer: the process that reviewed it ended with exit code 3; review this file alone"),
    ]
    assert summary["not_fit"] == 8


def test_answers_come_in_order_and_a_dead_process_is_replaced() -> None:
    questions = [f"{number}.yaml" for number in range(100)]
    answers = list(over_workers("dying_worker", ["echo"], questions, 2))
    assert [index for index, answer in enumerate(answers) if isinstance(answer, Died)] == [4, 9]
    assert [answer for answer in answers if not isinstance(answer, Died)] == [
        each for each in questions if each not in ("4.yaml", "9.yaml")
    ]


def test_process_that_cannot_begin_is_an_error_and_not_a_hang() -> None:
    with pytest.raises(NoWorkers, match="ended with exit code 1 before it began"):
        list(over_workers("no_such_module", [], ["x"] * 50, 2))


def started(folder: Path, *options: str, error: int) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "boostcarb", "review", *[str(folder)] * 40, "--jobs", "2", *options]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=error, env={**os.environ, "TERM": "xterm"})


def members(parent: int) -> list[int]:
    """Processes that a process has begun (Linux: proc(5))."""
    texts = [each.read_text(encoding="ascii") for each in Path(f"/proc/{parent}/task").glob("*/children")]
    return [int(word) for text in texts for word in text.split()]


@pytest.fixture
def watched(folder: Path) -> Iterator[tuple[subprocess.Popen[bytes], int]]:
    """A long review whose errors go to a terminal, and our end of that terminal."""
    ours, theirs = pty.openpty()
    with started(folder, "--format", "json", error=theirs) as process:
        os.close(theirs)
        yield process, ours
        process.kill()
    os.close(ours)


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="tells processes by /proc")
def test_ctrl_c_ends_it_cleanly(watched: tuple[subprocess.Popen[bytes], int]) -> None:
    """A whole document of what was done, no traceback, no process left; a bar was shown, to the terminal alone."""
    process, terminal = watched
    assert process.stdout is not None
    head = process.stdout.readline() + process.stdout.readline()
    begun = members(process.pid)
    assert begun
    process.send_signal(signal.SIGINT)
    out = head + process.stdout.read()
    assert process.wait(60) == 130
    document = json.loads(out)
    assert document["summary"]["stopped"] is True
    assert 0 < len(document["reviews"]) < document["summary"]["files"] == 520
    shown = os.read(terminal, 1_000_000).decode()
    assert "Traceback" not in shown
    assert "/520" in shown
    end = time.monotonic() + 20
    while any(Path(f"/proc/{each}").exists() for each in begun):
        assert time.monotonic() < end, "a process was left behind"
        time.sleep(0.05)


def test_no_bar_where_nobody_looks(folder: Path) -> None:
    command = [sys.executable, "-m", "boostcarb", "review", *[str(folder / "00.yaml")] * 2]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    assert (done.returncode, done.stderr) == (1, "")
    assert "\r" not in done.stdout
