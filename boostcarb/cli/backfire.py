"""`boostcarb backfire`."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from boostcarb.cli.options import DataOption, Format, FormatOption, JobFile, UnitsOption, units_for


class Which(StrEnum):
    """Which carburetor is looked at."""

    found = "found"
    planned = "planned"


AsOption = Annotated[Which, typer.Option("--as", help="The carburetor as found, or with its plan carried out.")]
Peak = Annotated[
    float | None,
    typer.Option(
        "--peak", metavar="RATIO", help="Absolute peak over the pressure before it, 1 to 9.5.", show_default=False
    ),
]
Out = Annotated[
    Path | None,
    typer.Option("--out", metavar="FILE.svg", help="Draw pressure against time into a file.", show_default=False),
]
Force = Annotated[bool, typer.Option("--force", help="Overwrite the drawing if it exists.")]


def backfire(
    job: JobFile,
    which: AsOption = Which.found,
    peak: Peak = None,
    out: Out = None,
    force: Force = False,
    output: FormatOption = Format.text,
    units: UnitsOption = None,
    data: DataOption = None,
) -> None:
    """What a backfire does to every diaphragm, over time, with and without each check; and how slow signals are.

    Exit codes: 0 nothing exceeds; 1 something does; 2 bad input.

    Example: boostcarb backfire scenarios/roadster_draw_through.yaml --as planned
    """
    from boostcarb import pipeline

    bench = pipeline.set_up(pipeline.load(job, pipeline.library(data)))
    _, answer = pipeline.backfire(bench, as_planned=which is Which.planned, peak_ratio=peak)
    shown = units_for(bench.job, units)
    if out is not None:
        from boostcarb.description.saving import save_text
        from boostcarb.report.backfire_svg import backfire_svg

        save_text(out, backfire_svg(bench.job.job, bench.network, answer, shown), force=force)
    if output is Format.json:
        from boostcarb.report.backfire_records import backfire_record
        from boostcarb.report.records import as_json

        typer.echo(as_json(backfire_record(bench, which.value, answer)))
    else:
        from boostcarb.report.backfire_text import backfire_text

        typer.echo(backfire_text(bench, f"as {which.value}", answer, shown))
    raise typer.Exit(0 if answer.clean else 1)
