"""What README.md and DEVELOPERS.md tell a reader to type, and what they point to."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from shown_commands import README, ROOT, blocks, check, commands_of, text_of

from boostcarb.description.library import read_job

TEXTS = {name: text_of(name) for name in (README, "DEVELOPERS.md")}
SHOWN = commands_of(README)


def test_the_first_two_commands_are_one_line_each() -> None:
    run_it, test_it = blocks("bash", TEXTS[README])[:2]
    for command in (run_it, test_it):
        assert len(command.splitlines()) == 1
        assert command.startswith("python3 -m venv .venv && ")
    assert "boostcarb plan scenarios/street_blow_through.yaml" in run_it
    assert "test" not in run_it
    assert "[test]" in test_it
    assert "pytest" in test_it


def test_every_command_has_an_example() -> None:
    assert {shlex.split(line)[1] for line in SHOWN} == {
        "plan", "review", "trace", "fuel", "faults", "bench", "backfire", "rules", "families", "materials", "schema",
        "manual",
    }  # fmt: skip


@pytest.mark.parametrize("line", SHOWN)
def test_example_runs(line: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    said = check(line, monkeypatch, capsys)
    assert said.code == (1 if shlex.split(line)[1] in ("review", "faults") else 0)


def test_job_file_of_the_readme_is_a_job(tmp_path: Path) -> None:
    (text,) = blocks("yaml", TEXTS[README])
    path = tmp_path / "job.yaml"
    path.write_text(text, encoding="utf-8")
    assert read_job(path).job.target == "blow_through"


@pytest.mark.parametrize("name", TEXTS)
def test_paths_that_are_named_exist(name: str) -> None:
    named = re.findall(r"`((?:boostcarb|tests|rules|scenarios|\.ci)/[\w./-]*)`", TEXTS[name])
    named += re.findall(r"\]\(([^)#:]+)\)", TEXTS[name])
    assert named
    missing = [path for path in named if not (ROOT / path).exists()]
    assert missing == []


@pytest.mark.parametrize("name", TEXTS)
def test_text_is_plain(name: str) -> None:
    lines = [line for line in TEXTS[name].splitlines() if not line.startswith(("|", "python3 ", "$ "))]
    assert max(map(len, lines)) <= 120
    assert not re.search(r"colour|aluminium|carburett|behaviour|\blitre", TEXTS[name])
