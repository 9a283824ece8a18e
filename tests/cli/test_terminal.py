"""The command line as a program: streams, widths, pipes and how it is started."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from command_line import JOB, Said, edited, line_of, run

COMMANDS = {
    "plan": ("plan", "JOB"),
    "review": ("review", "JOB"),
    "trace": ("trace", "JOB", "--from", "manifold"),
    "fuel": ("fuel", "JOB"),
    "bench": ("bench", "JOB"),
    "backfire": ("backfire", "JOB", "--as", "planned"),
    "rules": ("rules",),
    "rule": ("rules", "bowl_open_to_atmosphere"),
    "families": ("families",),
    "manual": ("manual",),
}
NARROW = 40

Here = Callable[..., Said]


def arguments(name: str, job: Path) -> list[str]:
    return [str(job) if word == "JOB" else word for word in COMMANDS[name]]


@pytest.mark.parametrize("name", COMMANDS)
def test_piped_output_is_plain_and_errors_are_empty(name: str, job: Path) -> None:
    said = run(*arguments(name, job), FORCE_COLOR="1", CLICOLOR_FORCE="1", TERM="xterm-256color")
    assert said.code == (1 if name == "review" else 0)
    assert said.err == ""
    assert "\x1b" not in said.out
    assert said.out.endswith("\n")
    assert not said.out.endswith("\n\n")
    assert not [line for line in said.out.splitlines() if line != line.rstrip()]


@pytest.mark.parametrize("name", COMMANDS)
def test_narrow_terminal(name: str, job: Path, here: Here, monkeypatch: pytest.MonkeyPatch) -> None:
    """Headings, tables and words longer than the terminal may run over; running text may not."""
    monkeypatch.setenv("COLUMNS", str(NARROW))
    said = here(*arguments(name, job))
    prose = [line for line in said.out.splitlines() if line.startswith("  ") and len(line.split()) > 4]
    assert prose
    over = [line for line in prose if len(line) > NARROW and not any(word[0].isdigit() for word in line.split())]
    assert not over, "\n".join(over)


def test_wide_terminal_is_not_filled(job: Path) -> None:
    said = run("plan", job, COLUMNS="400")
    assert max(map(len, said.out.splitlines())) <= 120


def test_error_goes_to_the_error_stream_without_a_traceback(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(edited("fuel: gasoline", "fuel: gasolin"), encoding="utf-8")
    said = run("plan", path)
    assert (said.code, said.out) == (2, "")
    assert said.err == f"boostcarb: {path}:{line_of(JOB, 'fuel:')}: fuel: found 'gasolin'; did you mean 'gasoline'?\n"


def test_installed_command_says_the_same_as_the_module(job: Path) -> None:
    program = Path(sys.executable).with_name("boostcarb")
    assert program.exists(), "the package is not installed in this environment"
    done = subprocess.run(
        [program, "rules"], capture_output=True, text=True, check=True, timeout=60, env={**os.environ, "COLUMNS": "90"}
    )
    assert done.stdout == run("rules", COLUMNS="90").out


def test_reader_that_leaves_early(job: Path) -> None:
    """As with `| head`: quiet, and not a success."""
    with subprocess.Popen(
        [sys.executable, "-m", "boostcarb", "plan", str(job)], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        error = process.stderr.read()
        code = process.wait(timeout=300)
    assert error == b""
    assert code == 1


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no /dev/full on this system")
def test_full_disk_is_an_error(job: Path) -> None:
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "boostcarb", "rules"], stdout=full, stderr=subprocess.PIPE, check=False, timeout=60
        )
    assert done.returncode != 0
    assert b"No space left" in done.stderr


def test_works_from_any_folder_and_leaves_nothing_behind(tmp_path: Path, job: Path) -> None:
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    shutil.copy(job, folder / "job.yaml")
    assert run("plan", "job.yaml", cwd=folder).code == 0
    assert [path.name for path in folder.iterdir()] == ["job.yaml"]


def test_title_that_the_terminal_cannot_write(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(edited("A small test job", "Café ☃"), encoding="utf-8")
    said = run("plan", path, PYTHONIOENCODING="ascii")
    assert said.code == 0
    assert said.err == ""
    assert said.out.startswith("Caf")
