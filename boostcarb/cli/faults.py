"""`boostcarb faults`."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from boostcarb.cli.options import DataOption, Format, FormatOption, JobFile


class Which(StrEnum):
    """Which carburetor is tried."""

    planned = "planned"
    found = "found"


AsOption = Annotated[Which, typer.Option("--as", help="The carburetor after its plan, or as it was found.")]
All = Annotated[bool, typer.Option("--all", help="Also list the faults that change nothing.")]


def faults(
    job: JobFile,
    which: AsOption = Which.planned,
    everything: All = False,
    output: FormatOption = Format.text,
    data: DataOption = None,
) -> None:
    """What happens if one thing fails: each single fault tried, judged in every state, and ranked.

    Example: boostcarb faults scenarios/street_blow_through.yaml
    """
    from boostcarb import pipeline

    read = pipeline.load(job, pipeline.library(data))
    faulted = pipeline.faults(read, planned=which is Which.planned)
    if output is Format.json:
        from boostcarb.report.faults_records import faults_record
        from boostcarb.report.records import as_json

        typer.echo(as_json(faults_record(faulted)))
    else:
        from boostcarb.report.faults_text import faults_text

        typer.echo(faults_text(faulted, everything=everything))
    raise typer.Exit(0 if faulted.clean else 1)
