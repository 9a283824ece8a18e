"""`boostcarb new` as a program: in pipes, in a terminal, interrupted, and what it leaves behind."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterable
from pathlib import Path

import pytest
from command_line import JOB, Said, run

HEAD = ["Small job", "modular_four_barrel"]
ENGINE = ["302 cu in", "850 rpm", "2300 rpm", "3600 rpm", "5600 rpm", "skip"]
CAR = {
    "naturally_aspirated": [*HEAD, "naturally_aspirated", *ENGINE],
    "blow_through": [*HEAD, "blow_through", *ENGINE, "8 psi", "3000 rpm"],
    "draw_through": [*HEAD, "draw_through", *ENGINE, "8 psi", "3000 rpm"],
}
STAGES = 10
"""More stages than a carburetor has; what is left over is not read."""


def new(folder: Path, lines: Iterable[str], *more: str, **environment: str) -> Said:
    """The command with piped answers, one a line."""
    done = subprocess.run(
        [sys.executable, "-m", "boostcarb", "new", "car.yaml", *more],
        input="".join(f"{line}\n" for line in lines),
        capture_output=True,
        encoding="utf-8",
        cwd=folder,
        env={**os.environ, "PYTHONIOENCODING": "utf-8", **environment},
        timeout=120,
        check=False,
    )
    return Said(done.returncode, done.stdout, done.stderr)


@pytest.mark.parametrize("target", CAR)
def test_everything_as_built(tmp_path: Path, target: str) -> None:
    said = new(tmp_path, [*CAR[target], *["built"] * STAGES], FORCE_COLOR="1", TERM="xterm-256color")
    assert (said.code, said.err) == (0, "")
    assert said.out.endswith("Written: car.yaml. Next: boostcarb plan car.yaml\n")
    assert "\x1b" not in said.out
    assert max(map(len, said.out.splitlines())) <= 80
    assert [path.name for path in tmp_path.iterdir()] == ["car.yaml"]
    planned = run("plan", "car.yaml", cwd=tmp_path)
    assert planned.code in (0, 1), planned.err
    assert "VERDICT" in planned.out


@pytest.mark.parametrize("target", CAR)
def test_nobody_has_looked(tmp_path: Path, target: str) -> None:
    said = new(tmp_path, [*CAR[target], *["skip"] * STAGES])
    assert (said.code, said.err) == (0, "")
    text = (tmp_path / "car.yaml").read_text(encoding="utf-8")
    assert text.count(": not looked at") > 50
    assert run("trace", "car.yaml", "--from", "manifold", cwd=tmp_path).code == 0


def test_left_and_taken_up(tmp_path: Path) -> None:
    whole = tmp_path / "whole"
    parts = tmp_path / "parts"
    whole.mkdir()
    parts.mkdir()
    lines = [*CAR["draw_through"], "1", "2", "", "built", "skip", "done"]
    assert new(whole, lines).code == 0
    for start, end in ((0, 1), (1, 6), (6, 6), (6, 12), (12, 15)):
        said = new(parts, lines[start:end])
        assert (said.code, said.err) == (1, "")
        assert said.out.rstrip().endswith("Go on with: boostcarb new car.yaml")
        assert not (parts / "car.yaml").exists()
    said = new(parts, lines[15:])
    assert said.code == 0
    assert said.out.startswith("Going on from car.yaml.draft: ")
    assert (parts / "car.yaml").read_bytes() == (whole / "car.yaml").read_bytes()
    assert [path.name for path in parts.iterdir()] == ["car.yaml"]


def test_nothing_answered_leaves_nothing(tmp_path: Path) -> None:
    said = new(tmp_path, [])
    assert (said.code, said.err) == (1, "")
    assert "Nothing was answered" in said.out
    assert list(tmp_path.iterdir()) == []


def test_a_wrong_answer_names_question_and_line(tmp_path: Path) -> None:
    said = new(tmp_path, [*HEAD, "blow", "302"])
    assert said.code == 2
    message = "boostcarb: standard input:4: engine.displacement: found 302 without a unit; write for example "
    assert said.err.startswith(message)
    assert "Traceback" not in said.err
    assert (tmp_path / "car.yaml.draft").exists()


def test_a_file_that_exists_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "car.yaml").write_text(JOB, encoding="utf-8")
    said = new(tmp_path, CAR["blow_through"])
    assert (said.code, said.out) == (2, "")
    assert said.err == "boostcarb: car.yaml: exists already and is left as it is; choose another name\n"
    assert (tmp_path / "car.yaml").read_text(encoding="utf-8") == JOB
    assert [path.name for path in tmp_path.iterdir()] == ["car.yaml"]


def test_fresh_moves_the_draft_aside(tmp_path: Path) -> None:
    assert new(tmp_path, ["Old job"]).code == 1
    old = (tmp_path / "car.yaml.draft").read_bytes()
    said = new(tmp_path, ["Other job"], "--fresh")
    assert said.code == 1
    assert "is kept as car.yaml.draft.1" in said.out
    assert (tmp_path / "car.yaml.draft.1").read_bytes() == old
    assert "Other job" in (tmp_path / "car.yaml.draft").read_text(encoding="utf-8")


def test_a_broken_draft(tmp_path: Path) -> None:
    draft = tmp_path / "car.yaml.draft"
    draft.write_text('draft: 9\nanswers: {job: "x"}\n', encoding="utf-8")
    said = new(tmp_path, ["y"])
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith("boostcarb: car.yaml.draft:1: draft: is a draft of version 9")
    assert draft.read_text(encoding="utf-8") == 'draft: 9\nanswers: {job: "x"}\n'


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_that_cannot_be_written_to(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    try:
        said = new(tmp_path, ["Small job"])
    finally:
        tmp_path.chmod(0o700)
    assert said.code == 2
    assert "cannot be written" in said.err


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    said = run("new", "nowhere/car.yaml", cwd=tmp_path)
    assert (said.code, said.out) == (2, "")
    assert said.err == "boostcarb: nowhere: there is no such folder; make it first\n"


def test_text_that_is_no_text(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "boostcarb", "new", "car.yaml"],
        input=b"\xff\xfe\n",
        capture_output=True,
        cwd=tmp_path,
        timeout=60,
        check=False,
    )
    assert done.returncode == 2
    assert b"standard input:1: job: found a line that is too long or no plain text" in done.stderr


def test_names_beyond_ascii(tmp_path: Path) -> None:
    said = new(tmp_path, ["Café ☃", *CAR["naturally_aspirated"][1:], "done"], PYTHONIOENCODING="ascii")
    assert (said.code, said.err) == (0, "")
    assert "Café ☃" in (tmp_path / "car.yaml").read_text(encoding="utf-8")


def test_interrupted(tmp_path: Path) -> None:
    """Ctrl-C while a question is open: what was answered is on disk."""
    with subprocess.Popen(
        [sys.executable, "-m", "boostcarb", "new", "car.yaml"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
    ) as process:
        assert process.stdin is not None
        process.stdin.write(b"Small job\nmodular_four_barrel\nblow\n302 cu in\n")
        process.stdin.flush()
        draft = tmp_path / "car.yaml.draft"
        until = time.monotonic() + 60
        while not (draft.exists() and "302 cu in" in draft.read_text(encoding="utf-8")):
            assert time.monotonic() < until
            time.sleep(0.05)
        process.send_signal(signal.SIGINT)
        process.stdin.close()
        process.stdin = None
        out, err = process.communicate(timeout=60)
    assert (process.returncode, err) == (1, b"")
    assert b"4 answers kept in car.yaml.draft" in out
    assert [path.name for path in tmp_path.iterdir()] == ["car.yaml.draft"]


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals")
def test_in_a_terminal(tmp_path: Path) -> None:
    """A wrong answer is explained and asked again; Ctrl-D leaves; nothing but plain text is sent."""
    code, out = in_terminal(tmp_path, [*HEAD, "turbo", "2", "302", "302 cu in", "?", "850 rpm"], end=b"\x04")
    assert code == 1
    assert "! found 'turbo'; choose from" in out
    assert "! found 302 without a unit" in out
    assert "5 answers kept in car.yaml.draft" in out
    rest = [*CAR["blow_through"][5:], *["built"] * STAGES]
    code, out = in_terminal(tmp_path, rest)
    assert code == 0
    assert "Going on from car.yaml.draft: 5 answers." in out
    assert (tmp_path / "car.yaml").exists()
    assert "\x1b[3" not in out


def in_terminal(folder: Path, lines: list[str], *, end: bytes = b"") -> tuple[int, str]:
    """The command in a pseudo-terminal, each line typed when it asks for one."""
    import pty

    terminal, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "boostcarb", "new", "car.yaml"],
        stdin=theirs, stdout=theirs, stderr=theirs, cwd=folder, env={**os.environ, "TERM": "dumb"},
    ) as process:  # fmt: skip
        os.close(theirs)
        out = b""
        for typed in (*(f"{line}\n".encode() for line in lines), end):
            out += read_until(terminal, b"> ")
            if process.poll() is not None:
                break
            os.write(terminal, typed)
        out += read_until(terminal, None)
        code = process.wait(timeout=60)
    os.close(terminal)
    return code, out.decode("utf-8")


def read_until(terminal: int, mark: bytes | None) -> bytes:
    """What the terminal shows up to a prompt, or to its end."""
    said, until = b"", time.monotonic() + 60
    while time.monotonic() < until and not (mark and said.endswith(mark)):
        if not select.select([terminal], [], [], 0.1)[0]:
            continue
        try:
            more = os.read(terminal, 65536)
        except OSError:
            break
        if not more:
            break
        said += more
    return said
