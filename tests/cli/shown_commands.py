"""The commands that README and the manual show, with the lines of their output: what is shown must be what is said."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from command_line import Said, run_here

ROOT = Path(__file__).parents[2]
MANUAL = ROOT / "boostcarb" / "manual"
README = "README.md"
MAY_BLOCK = ("plan", "review", "faults", "fuel")
"""Commands that end with 1 where something blocks: it may, in what is shown."""

_BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def text_of(name: str) -> str:
    """A Markdown file of the repository, by its path in it."""
    return (ROOT / name).read_text(encoding="utf-8")


def pages() -> list[str]:
    """README and every page of the manual."""
    return [README, *sorted(str(path.relative_to(ROOT)) for path in MANUAL.glob("*.md"))]


def blocks(language: str, text: str) -> list[str]:
    """What stands in the blocks of one language."""
    return [body for kind, body in _BLOCK.findall(text) if kind == language]


def shown(block: str) -> list[tuple[str, list[str]]]:
    """The commands of a console block, each with the lines of its output that are shown."""
    commands: list[tuple[str, list[str]]] = []
    for line in block.splitlines():
        if line.startswith("$ "):
            commands.append((line.removeprefix("$ "), []))
        else:
            commands[-1][1].append(line)
    return commands


def commands_of(name: str) -> list[str]:
    """The commands that a file shows, each once."""
    return list(dict.fromkeys(line for block in blocks("console", text_of(name)) for line, _ in shown(block)))


def everywhere() -> dict[str, list[str]]:
    """Every command that is shown anywhere, with the lines that any file shows of its output."""
    lines: dict[str, list[str]] = {}
    for name in pages():
        for block in blocks("console", text_of(name)):
            for command, output in shown(block):
                lines.setdefault(command, []).extend(output)
    return lines


def check(command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Said:
    """Runs a command as it is shown and looks for every line that any file shows of it."""
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", "100")
    program, *arguments = shlex.split(command)
    said = run_here(monkeypatch, capsys, *arguments)
    assert program == "boostcarb"
    assert said.err == ""
    assert said.code in ((0, 1) if arguments[0] in MAY_BLOCK else (0,))
    said_lines = said.out.splitlines()
    assert [line for line in everywhere()[command] if line not in said_lines] == []
    return said
