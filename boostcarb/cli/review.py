"""`boostcarb review`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from boostcarb.cli.options import DataOption, Format, FormatOption, UnitsOption
from boostcarb.errors import BadDescription, BoostcarbError, Problem
from boostcarb.quantities import UnitSystem

if TYPE_CHECKING:
    from boostcarb.description.library import Library

Jobs = Annotated[list[Path], typer.Argument(metavar="JOB...", help="One or more job files.", show_default=False)]


def review(
    jobs: Jobs,
    output: FormatOption = Format.text,
    units: UnitsOption = UnitSystem.METRIC,
    data: DataOption = None,
) -> None:
    """Judge a carburetor, or somebody's proposed plan for it: what is wrong, missing, needless or harmful.

    With several files, JSON is one object a line; a file that cannot be read or solved is reported
    and the rest go on.

    Example: boostcarb review scenarios/*.yaml --format json
    """
    from boostcarb import pipeline

    library = pipeline.library(data)
    results = [_one(job, library, output, units, single=len(jobs) == 1) for job in jobs]
    raise typer.Exit(max(results))


def _one(job: Path, library: Library, output: Format, units: UnitSystem, *, single: bool) -> int:
    from boostcarb import pipeline
    from boostcarb.report import records, review_text

    try:
        reviewed = pipeline.review(pipeline.load(job, library))
    except BoostcarbError as error:
        if single and output is Format.text:
            raise
        if isinstance(error, BadDescription):
            problems, code = error.problems, 2
        else:
            problems, code = (Problem(f"no answer: {error}", file=job),), 1
        for problem in problems:
            typer.echo(f"boostcarb: {problem}", err=True)
        if output is Format.json:
            typer.echo(records.as_json(records.unread_record(str(job), problems), lines=not single))
        return code
    if output is Format.json:
        typer.echo(records.as_json(records.review_record(reviewed), lines=not single))
    else:
        typer.echo(review_text.review_text(reviewed, units) + ("" if single else "\n"))
    return 0 if reviewed.clean else 1
