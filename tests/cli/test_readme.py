"""What README.md and DEVELOPERS.md tell a reader to type, and what they point to."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable
from pathlib import Path

import pytest
from command_line import Said

from boostcarb.description.library import read_job

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
TEXTS = {name: (ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md")}
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def blocks(language: str, text: str = README) -> list[str]:
    return [body for kind, body in BLOCK.findall(text) if kind == language]


def shown(block: str) -> list[tuple[str, list[str]]]:
    """The commands of a console block, each with the lines of its output that are shown."""
    commands: list[tuple[str, list[str]]] = []
    for line in block.splitlines():
        if line.startswith("$ "):
            commands.append((line.removeprefix("$ "), []))
        else:
            commands[-1][1].append(line)
    return commands


SHOWN = [example for block in blocks("console") for example in shown(block)]


def test_the_first_two_commands_are_one_line_each() -> None:
    run_it, test_it = blocks("bash")[:2]
    for command in (run_it, test_it):
        assert len(command.splitlines()) == 1
        assert command.startswith("python3 -m venv .venv && ")
    assert "boostcarb plan scenarios/street_blow_through.yaml" in run_it
    assert "test" not in run_it
    assert "[test]" in test_it
    assert "pytest" in test_it


def test_every_command_has_an_example() -> None:
    assert {shlex.split(line)[1] for line, _ in SHOWN} == {
        "plan", "review", "trace", "fuel", "faults", "bench", "backfire", "rules", "families", "materials", "schema"
    }  # fmt: skip


@pytest.mark.parametrize(("line", "output"), SHOWN, ids=[line for line, _ in SHOWN])
def test_example_runs(line: str, output: list[str], here: Callable[..., Said], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", "100")
    program, *arguments = shlex.split(line)
    said = here(*arguments)
    assert program == "boostcarb"
    assert said.err == ""
    assert said.code == (1 if arguments[0] in ("review", "faults") else 0)
    said_lines = said.out.splitlines()
    assert [shown_line for shown_line in output if shown_line not in said_lines] == []


def test_job_file_of_the_readme_is_a_job(tmp_path: Path) -> None:
    (text,) = blocks("yaml")
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
