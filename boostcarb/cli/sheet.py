"""`boostcarb sheet`."""

from __future__ import annotations

import gc
import os
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from boostcarb.cli.options import DataOption, JobFile, UnitsOption, units_for

if TYPE_CHECKING:
    from boostcarb.sheet.answers import Answers


class Kind(StrEnum):
    """How the sheet is written."""

    html = "html"
    md = "md"


Out = Annotated[Path, typer.Option("--out", metavar="FILE", help="File to write.", show_default=False)]
KindOption = Annotated[Kind, typer.Option("--format", help="A page with drawings, or Markdown to paste.")]
Parts = Annotated[
    Path | None,
    typer.Option("--parts-csv", metavar="FILE", help="Also write the parts as a table.", show_default=False),
]
States = Annotated[
    Path | None,
    typer.Option(
        "--states-csv", metavar="FILE", help="Also write the pressures of all spaces in all states.", show_default=False
    ),
]
Date = Annotated[str, typer.Option("--date", metavar="TEXT", help="Date to put on the sheet.", show_default=False)]
Force = Annotated[bool, typer.Option("--force", help="Overwrite files that exist.")]


def sheet(
    job: JobFile,
    out: Out,
    kind: KindOption = Kind.html,
    parts: Parts = None,
    states: States = None,
    date: Date = "",
    force: Force = False,
    units: UnitsOption = None,
    data: DataOption = None,
) -> None:
    """The whole answer on one page, to print or to read on a phone at the bench: work list, drawings, numbers.

    Exit codes: 0 nothing blocks; 1 something does, or no plan exists; 2 bad input. In the first two the sheet is there.

    Example: boostcarb sheet scenarios/street_blow_through.yaml --out sheet.html
    """
    # One job, then the process ends: nothing is worth collecting before.
    gc.disable()
    from boostcarb import pipeline
    from boostcarb.sheet.answers import Answers
    from boostcarb.work.order import work_order

    wanted = [path for path in (out, parts, states) if path is not None]
    _check_free(wanted, job, force=force)
    read = pipeline.load(job, pipeline.library(data))
    planned = pipeline.plan(pipeline.set_up(read))
    faulted = pipeline.faults_after(planned, read)
    checks = pipeline.bench_checks_after(planned, read)
    answers = Answers(planned, faulted, work_order(planned), checks, units_for(read.job, units), date)
    _write(answers, kind, out, parts, states, force=force)
    for path in wanted:
        typer.echo(f"wrote {path}")
    raise typer.Exit(0 if planned.clean else 1)


def _check_free(paths: list[Path], job: Path, *, force: bool) -> None:
    """Say before the work what would fail after it: a name that is taken, or given twice. Raises: BadDescription."""
    from boostcarb.errors import BadDescription, Problem

    problems = [
        Problem("exists already; choose another name, or overwrite it with --force", path)
        for path in paths
        if os.path.lexists(path) and not force
    ]
    lost = [path for path in paths if not path.parent.is_dir()]
    problems += [Problem("cannot be written: its folder does not exist", path) for path in lost]
    own = [path for path in paths if os.path.realpath(path) == os.path.realpath(job)]
    problems += [Problem("is the job itself; choose another name", path) for path in own]
    problems += [Problem("is given for two files; give each a name of its own", path) for path in _twice(paths)]
    if problems:
        raise BadDescription(problems)


def _twice(paths: list[Path]) -> list[Path]:
    whole = [os.path.realpath(path) for path in paths]
    return [path for index, path in enumerate(paths) if whole[index] in whole[:index]]


def _write(
    answers: Answers, kind: Kind, out: Path, parts: Path | None, states: Path | None, *, force: bool
) -> None:
    from boostcarb.description.saving import save_text
    from boostcarb.sheet.csv_tables import parts_csv, states_csv
    from boostcarb.sheet.html import html_page
    from boostcarb.sheet.markdown import markdown_page
    from boostcarb.sheet.page import sheet as whole

    document = whole(answers)
    texts = {out: html_page(document) if kind is Kind.html else markdown_page(document)}
    if parts is not None:
        texts[parts] = parts_csv(answers)
    if states is not None:
        texts[states] = states_csv(answers)
    for path, text in texts.items():
        save_text(path, text, force=force)
