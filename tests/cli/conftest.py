"""What the tests of the command line share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from command_line import JOB, Said, run_here

Run = Callable[..., Said]


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command in this process."""
    return lambda *arguments: run_here(monkeypatch, capsys, *arguments)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job file that is right in itself; its carburetor is not right for its target."""
    path = tmp_path / "job.yaml"
    path.write_text(JOB, encoding="utf-8")
    return path
