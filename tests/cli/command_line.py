"""Running commands, and a small job file to run them on."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from boostcarb.cli import main

JOB = """\
job: A small test job
carburetor: modular_four_barrel
target: blow_through
rest: as built
found:
  primary.power_valve: {is: vacuum_held, setting: 6.5 inHg}
  choke: hot_air
engine:
  displacement: 5.0 l
  compression_ratio: 8.5
  idle_speed: 850 rpm
  cruise_speed: 2300 rpm
  torque_peak_speed: 3600 rpm
  redline_speed: 5600 rpm
  idle_manifold: 18 inHg vacuum
charge:
  boost: 8 psi
  full_boost_speed: 3000 rpm
fuel: gasoline
site:
  altitude: 300 m
"""


@dataclass(frozen=True)
class Said:
    """What a command answered."""

    code: int
    out: str
    err: str


def edited(old: str, new: str, text: str = JOB) -> str:
    """The job with one piece replaced; the piece must be there once."""
    assert text.count(old) == 1, f"{old!r} is in the text {text.count(old)} times"
    return text.replace(old, new)


def line_of(text: str, marker: str) -> int:
    """Number of the last line that holds a marker."""
    return max(number for number, line in enumerate(text.splitlines(), 1) if marker in line)


def run_here(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> Said:
    """Run a command in this process."""
    monkeypatch.setattr(sys, "argv", ["boostcarb", *map(str, arguments)])
    capsys.readouterr()
    with pytest.raises(SystemExit) as left:
        main()
    out, err = capsys.readouterr()
    assert isinstance(left.value.code, int)
    return Said(left.value.code, out, err)


def run(*arguments: str | Path, cwd: Path | None = None, **environment: str) -> Said:
    """Run a command in a process of its own, its output piped."""
    done = subprocess.run(
        [sys.executable, "-m", "boostcarb", *map(str, arguments)],
        capture_output=True,
        encoding="utf-8",
        cwd=cwd,
        env={**os.environ, "PYTHONIOENCODING": "utf-8", **environment},
        timeout=300,
        check=False,
    )
    return Said(done.returncode, done.stdout, done.stderr)
