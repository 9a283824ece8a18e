"""`boostcarb review`."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

import typer

from boostcarb.cli.options import DataOption, Format, FormatOption, UnitsOption, units_for
from boostcarb.errors import BadDescription, BoostcarbError, Problem
from boostcarb.quantities import UnitSystem

Jobs = Annotated[
    list[Path],
    typer.Argument(metavar="JOB...", help="One or more job files, or folders of them.", show_default=False),
]
Workers = Annotated[
    int | None,
    typer.Option(
        "--jobs", metavar="N", min=1, max=256, help="Files judged at the same time; without it as suits the machine.",
        show_default=False,
    ),
]  # fmt: skip


def review(
    jobs: Jobs,
    output: FormatOption = Format.text,
    workers: Workers = None,
    units: UnitsOption = None,
    data: DataOption = None,
) -> None:
    """Judge a carburetor, or somebody's proposed plan for it: what is wrong, missing, needless or harmful.

    Several files are judged on all processors and told in the order given; a folder stands for the .yaml and .yml
    files in it, by name. A file that cannot be read is reported, the rest go on, and the end says what came of all.
    JSON is then one document: `reviews`, one on a line, and `summary`.

    Exit codes: 0 nothing blocks in any; 1 something does; 2 a file could not be read; 130 ended with Ctrl+C.

    Example: boostcarb review scenarios/ --format json
    """
    from boostcarb import pipeline

    if len(jobs) == 1 and not os.path.isdir(jobs[0]):
        raise typer.Exit(_one(jobs[0], data, output, units))
    from boostcarb.cli import review_many

    pipeline.library(data)  # what is wrong with it is said once, before any file
    raise typer.Exit(review_many.review_many(jobs, review_many.Way(data, output, units), workers))


def _one(job: Path, data: Path | None, output: Format, units: UnitSystem | None) -> int:
    from boostcarb import pipeline
    from boostcarb.report import records, review_text

    library = pipeline.library(data)
    try:
        reviewed = pipeline.review(pipeline.load(job, library))
    except BoostcarbError as error:
        if output is Format.text:
            raise
        problems, code = why_not(error, job)
        for problem in problems:
            typer.echo(f"boostcarb: {problem}", err=True)
        typer.echo(records.as_json(records.unread_record(str(job), problems)))
        return code
    if output is Format.json:
        typer.echo(records.as_json(records.review_record(reviewed)))
    else:
        typer.echo(review_text.review_text(reviewed, units_for(reviewed.bench.job, units)))
    return 0 if reviewed.clean else 1


def why_not(error: BoostcarbError, job: Path) -> tuple[tuple[Problem, ...], int]:
    """Why a file has no review, and the exit code that goes with it."""
    if isinstance(error, BadDescription):
        return error.problems, 2
    return (Problem(f"no answer: {error}", file=job),), 1
