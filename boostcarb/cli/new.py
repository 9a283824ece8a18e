"""`boostcarb new`."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from boostcarb.cli.options import DataOption
from boostcarb.errors import BadDescription, Problem

if TYPE_CHECKING:
    from boostcarb.interview.answers import Draft
    from boostcarb.interview.questions import Questions

NewFile = Annotated[Path, typer.Argument(metavar="FILE", help="Job file to be written.", show_default=False)]
Fresh = Annotated[bool, typer.Option("--fresh", help="Start afresh; an unfinished draft is moved aside.")]


class Terminal:
    """Questions to standard output, answers from standard input, a line each; nothing but plain text."""

    def __init__(self) -> None:
        self.patient = sys.stdin.isatty()
        self._lines = 0
        if self.patient:
            import contextlib

            with contextlib.suppress(ImportError):
                import readline  # noqa: F401  lets a line be edited while it is typed
        else:
            sys.stdin.reconfigure(encoding="utf-8", errors="replace")  # type: ignore[union-attr]

    def say(self, text: str = "", *, first: str = "", rest: str | None = None) -> None:
        """A paragraph, wrapped."""
        from boostcarb.report.wrapping import wrapped

        typer.echo(wrapped(text, first=first, rest=rest) if text else "")

    def answer(self, prompt: str) -> str:
        """One line; in a pipe it is shown after the prompt, so that the whole can be read."""
        if self.patient:
            return input(prompt)
        typer.echo(prompt, nl=False)
        line = sys.stdin.readline()
        if not line:
            typer.echo()
            raise EOFError
        self._lines += 1
        said = line.rstrip("\r\n")
        typer.echo(said)
        return said

    def lines_read(self) -> int:
        """Lines that came in."""
        return self._lines


def new(file: NewFile, fresh: Fresh = False, data: DataOption = None) -> None:
    """Ask about the car and the carburetor, and write a job file.

    Can be left at any time: what was answered is kept in FILE.draft, and the same command goes on from there.

    Exit codes: 0 written; 1 left unfinished; 2 bad input.

    Example: boostcarb new my_car.yaml
    """
    from boostcarb import pipeline
    from boostcarb.interview.asking import Ending, Interview
    from boostcarb.interview.questions import Questions
    from boostcarb.interview.subject import Workshop

    if os.path.lexists(file):
        raise BadDescription(Problem("exists already and is left as it is; choose another name", file))
    if not file.parent.is_dir():
        raise BadDescription(Problem("there is no such folder; make it first", file.parent))
    questions = Questions(Workshop(pipeline.library(data), pipeline.set_up), file)
    desk = Terminal()
    draft = _draft(file, questions, desk, fresh=fresh)
    interview = Interview(questions, draft, desk)
    ending = interview.run()
    desk.say()
    if ending is Ending.written:
        desk.say(f"Written: {file}. Next: boostcarb plan {file}")
        return
    _left(file, draft, desk)
    raise typer.Exit(1)


def _draft(file: Path, questions: Questions, desk: Terminal, *, fresh: bool) -> Draft:
    from boostcarb.interview.answers import Draft, draft_path, resume, set_aside
    from boostcarb.interview.asking import HOW_TO

    path = draft_path(file)
    if fresh and os.path.lexists(path):
        desk.say(f"The draft there was is kept as {set_aside(path)}.")
    if os.path.lexists(path):
        draft, unknown = resume(path, questions)
        count = len(draft.answers)
        desk.say(f"Going on from {path}: {count} answer{'' if count == 1 else 's'}. To start afresh: --fresh.")
        for name in unknown:
            desk.say(f"Nothing is called {name} any more; its answer stays in the draft and is not used.", rest="  ")
    else:
        draft = Draft(path)
        draft.save()
        desk.say(f"This asks about the car, then about the carburetor as it comes apart, and writes {file}.")
    for typed, meaning in HOW_TO:
        desk.say(meaning, first=f"  {typed}".ljust(12))
    return draft


def _left(file: Path, draft: Draft, desk: Terminal) -> None:
    if not draft.answers:
        draft.remove()
        desk.say("Nothing was answered, nothing is kept.")
        return
    count = len(draft.answers)
    desk.say(f"{count} answer{'' if count == 1 else 's'} kept in {draft.path}. Go on with: boostcarb new {file}")
