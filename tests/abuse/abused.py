"""Commands run in this process on whatever they are given, and what none of them may ever do."""

from __future__ import annotations

import contextlib
import io
import json
import random
import signal
import sys
import time
import traceback
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path
from types import FrameType
from unittest import mock

from spoiling import KINDS, ROOT, Kind, loaded

LONGEST_S = 60.0
"""Time of this process that one command may take: ten times what the slowest takes on a shipped file."""
MOST_MESSAGES, LONGEST_MESSAGE = 60, 2500
JOB = ROOT / "scenarios" / "constant_depression_draw_through.yaml"
OWN_JOB = "job.yaml"


class Misdeed(AssertionError):
    """A command did what no command may do."""


@dataclass(frozen=True)
class Heard:
    """What a command answered, and how long it worked, in seconds of this process."""

    code: int
    out: str
    err: str
    seconds: float


class TooLong(BaseException):
    """Not to be caught by what it interrupts."""


@contextlib.contextmanager
def limited(seconds: float) -> Iterator[None]:
    """Interrupt what takes longer than this, in seconds of this process."""

    def end(number: int, frame: FrameType | None) -> None:
        raise TooLong

    before = signal.signal(signal.SIGPROF, end)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def heard(arguments: Sequence[str], typed: bytes = b"", *, longest_s: float = LONGEST_S) -> Heard:
    """Run a command in this process. Raises Misdeed for a traceback, a hang or a strange exit code."""
    from boostcarb.cli.app import main

    out, err = io.StringIO(), io.StringIO()
    start = time.process_time()
    keyboard = io.TextIOWrapper(io.BytesIO(typed), encoding="utf-8", errors="replace")
    code: object = 0
    with mock.patch.object(sys, "argv", ["boostcarb", *arguments]), mock.patch.object(sys, "stdin", keyboard):
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), limited(longest_s):
                main()
        except SystemExit as left:
            code = left.code
        except TooLong:
            raise Misdeed(f"takes longer than {longest_s:.0f} s\n{traceback.format_exc()}") from None
        except BaseException as error:
            if isinstance(error, KeyboardInterrupt):
                raise
            raise Misdeed(f"ends with a traceback\n{traceback.format_exc()}") from error
    if code not in (0, 1, 2):
        raise Misdeed(f"exit code {code!r}\n{err.getvalue()}")
    assert isinstance(code, int)
    return Heard(code, out.getvalue(), err.getvalue(), time.process_time() - start)


def attempted(arguments: Sequence[str], folder: Path, typed: bytes = b"") -> Heard:
    """Run a command in a folder of its own and look at all that it did. Raises Misdeed."""
    before = {path for path in folder.rglob("*") if path.name != OWN_JOB}
    said = heard(arguments, typed)
    if said.code == 2:
        _check_messages(said, arguments)
    elif "--format" in arguments and "json" in arguments:
        _check_json(said.out)
    if "\x1b" in said.out or "\x1b" in said.err or "Traceback" in said.err:
        raise Misdeed(f"writes what no terminal should get\n{said.err[-2000:]}")
    fresh = sorted(str(path) for path in folder.rglob("*") if path not in before and path.name != OWN_JOB)
    wanted = [str(each) for each in arguments if each in fresh] if said.code != 2 else []
    if fresh != sorted(wanted):
        raise Misdeed(f"leaves behind {fresh}, expected {wanted}")
    for path in wanted:
        check_page(Path(path).read_text(encoding="utf-8"), Path(path).suffix)
    return said


def _check_messages(said: Heard, arguments: Sequence[str]) -> None:
    lines = said.err.splitlines()
    if said.err.startswith("Usage:"):  # the command line itself was wrong
        raise Misdeed(f"is called wrongly\n{said.err}")
    if said.out and arguments[0] not in ("review", "new"):
        raise Misdeed(f"answers and refuses at once\n{said.out[:500]}\n{said.err}")
    if not lines or not lines[0].startswith("boostcarb: "):
        raise Misdeed(f"exit code 2 without a message\n{said.err[:2000]}")
    if len(lines) > MOST_MESSAGES or max(map(len, lines)) > LONGEST_MESSAGE:
        raise Misdeed(f"{len(lines)} lines of messages, the longest of {max(map(len, lines))}\n{said.err[:4000]}")
    if said.err.endswith(": \n"):
        raise Misdeed(f"an empty message\n{said.err}")


def _check_json(text: str) -> None:
    def refuse(word: str) -> None:
        raise Misdeed(f"{word} in JSON")

    try:
        json.loads(text, parse_constant=refuse)
    except ValueError as error:
        raise Misdeed(f"no JSON: {error}\n{text[-500:]}") from error


class Page(HTMLParser):
    """Every element of a page with the names of its attributes."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: set[tuple[str, tuple[str, ...]]] = set()
        self.targets: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.add((tag, tuple(sorted(name for name, _ in attrs))))
        self.targets += [value or "" for name, value in attrs if name in ("href", "src", "action", "xlink:href")]


def elements(text: str) -> set[tuple[str, tuple[str, ...]]]:
    """Which elements with which attributes a page has."""
    page = Page()
    page.feed(text)
    page.close()
    if any(target.strip().lower().startswith(("javascript:", "http:", "https:")) for target in page.targets):
        raise Misdeed("a page that points elsewhere")
    return page.elements


def check_page(text: str, suffix: str) -> None:
    """A page or drawing has no element or attribute of a stranger. Raises Misdeed."""
    if suffix not in (".html", ".svg"):
        return
    for tag, names in elements(text):
        if tag in ("img", "iframe", "object", "embed") or any(name.startswith("on") for name in names):
            raise Misdeed(f"a page with <{tag} {' '.join(names)}>")


LIGHT = (
    ("trace", "JOB", "--from", "manifold"), ("trace", "JOB", "--from", "air_horn", "--format", "json"),
    ("review", "JOB"), ("review", "JOB", "--format", "json"), ("review", "JOB", "JOB"),
    ("graph", "JOB", "--out", "OUT.dot"),
    ("graph", "JOB", "--out", "OUT.graphml"), ("backfire", "JOB"), ("fuel", "JOB", "--format", "json"),
    ("bench", "JOB", "--as", "found"),
)  # fmt: skip
HEAVY = (
    ("plan", "JOB"), ("plan", "JOB", "--format", "json"), ("faults", "JOB"),
    ("faults", "JOB", "--as", "found", "--all"), ("fuel", "JOB"), ("fuel", "JOB", "--how-sure"), ("bench", "JOB"),
    ("backfire", "JOB", "--as", "planned", "--out", "OUT.svg"),
    ("bench", "JOB", "--format", "json"), ("backfire", "JOB", "--format", "json"),
    ("faults", "JOB", "--format", "json"),
    ("sheet", "JOB", "--out", "OUT.html"), ("sheet", "JOB", "--out", "OUT.md", "--format", "md"),
    ("sheet", "JOB", "--out", "OUT.html", "--parts-csv", "OUT.csv", "--states-csv", "OUT2.csv", "--units", "us"),
)  # fmt: skip
OWN = {
    "family": (("families", "--check", "FILE"), ("families", "--data", "DATA"), ("families", "NAME", "--data", "DATA")),
    "rule": (
        ("rules", "--data", "DATA"), ("rules", "NAME", "--data", "DATA"),
        ("rules", "--data", "DATA", "--format", "json"),
    ),
    "example": (("rules", "NAME", "--data", "DATA"), ("rules", "--data", "DATA")),
    "material": (("materials", "--data", "DATA"), ("materials", "NAME", "--data", "DATA", "--format", "json")),
}  # fmt: skip
CHECKED = ("rules", "--check", "DATA")


def arguments_for(kind: Kind, content: bytes, folder: Path, chance: random.Random, *, heavy: float) -> list[str]:
    """Write a spoiled file where a command finds it, and choose that command."""
    folder.mkdir(parents=True)
    job, data = folder / OWN_JOB, folder / "data"
    if kind.home is None:
        job.write_bytes(content)
        words = chance.choice(HEAVY if chance.random() < heavy else LIGHT)
        return _filled(words, job, folder, job, data, "")
    name = _name_in(content) or chance.choice(kind.shipped).stem
    file = data / kind.home / f"{name}.yaml"
    file.parent.mkdir(parents=True)
    file.write_bytes(content)
    if kind.name == "example":
        (data / "rules" / f"{name}.yaml").write_text(loaded(_shipped("rule", name)), encoding="utf-8")
    text = loaded(JOB)
    if kind.name == "family":
        text = text.replace("carburetor: constant_depression_single", f"carburetor: {name}")
    job.write_text(text, encoding="utf-8")
    with_job = (*LIGHT, *(HEAVY if chance.random() < heavy else ()))
    choices = [*OWN[kind.name] * 2, CHECKED, (*chance.choice(with_job), "--data", "DATA")]
    return _filled(chance.choice(choices), job, folder, file, data, name)


def _shipped(kind: str, name: str) -> Path:
    known = {path.stem: path for path in KINDS[kind].shipped}
    return known.get(name, KINDS[kind].shipped[0])


def _name_in(content: bytes) -> str:
    """What a shipped file of this content would be called."""
    for line in content[:4000].decode("utf-8", "replace").splitlines():
        key, _, value = line.partition(":")
        if key in ("id", "family", "material", "rule") and value.strip().isidentifier() and len(value) < 100:
            return value.strip()
    return ""


def _filled(words: Sequence[str], job: Path, folder: Path, file: Path, data: Path, name: str) -> list[str]:
    filled = {"JOB": str(job), "FILE": str(file), "DATA": str(data), "NAME": name}
    return [str(folder / word) if word.startswith("OUT") else filled.get(word, word) for word in words]
