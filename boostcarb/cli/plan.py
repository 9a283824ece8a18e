"""`boostcarb plan`."""

from __future__ import annotations

import gc
from typing import Annotated

import typer

from boostcarb.cli.options import DataOption, Format, FormatOption, JobFile, UnitsOption, units_for

Brief = Annotated[bool, typer.Option("--brief", help="Text only: verdict, what to do, what is not judged.")]


def plan(
    job: JobFile,
    brief: Brief = False,
    output: FormatOption = Format.text,
    units: UnitsOption = None,
    data: DataOption = None,
) -> None:
    """The cheapest set of changes that makes the carburetor right for its target, and why.

    Example: boostcarb plan scenarios/street_blow_through.yaml
    """
    # One job, then the process ends: nothing is worth collecting before.
    gc.disable()
    from boostcarb import pipeline

    read = pipeline.load(job, pipeline.library(data))
    planned = pipeline.plan(pipeline.set_up(read))
    if brief and output is Format.text:
        from boostcarb.report.plan_brief_text import plan_brief_text

        typer.echo(plan_brief_text(planned, units_for(read.job, units)))
        raise typer.Exit(0 if planned.clean else 1)
    faulted = pipeline.faults_after(planned, read)
    if output is Format.json:
        from boostcarb.report.records import as_json, plan_record

        typer.echo(as_json(plan_record(planned, faulted)))
    else:
        from boostcarb.report.plan_text import plan_text

        typer.echo(plan_text(planned, units_for(read.job, units), faulted))
    raise typer.Exit(0 if planned.clean else 1)
