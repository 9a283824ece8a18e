"""`boostcarb trace`."""

from __future__ import annotations

from typing import Annotated

import typer

from boostcarb.cli.options import DataOption, Format, FormatOption, JobFile, UnitsOption, units_for

Start = Annotated[str, typer.Option("--from", metavar="SPACE", help="Where the signal starts.", show_default=False)]
State = Annotated[str | None, typer.Option("--state", metavar="STATE", help="One operating state only.")]


def trace(
    job: JobFile,
    start: Start,
    state: State = None,
    output: FormatOption = Format.text,
    units: UnitsOption = None,
    data: DataOption = None,
) -> None:
    """What a source reaches in the carburetor as found, by which path, at what pressure.

    Example: boostcarb trace scenarios/street_blow_through.yaml --from manifold --state part_throttle_boost_mid
    """
    from boostcarb import pipeline

    bench = pipeline.set_up(pipeline.load(job, pipeline.library(data)))
    traced = pipeline.trace(bench, start, state)
    if output is Format.json:
        from boostcarb.report.records import as_json, trace_record

        typer.echo(as_json(trace_record(bench, traced)))
    else:
        from boostcarb.report.trace_text import trace_text

        typer.echo(trace_text(bench, traced, units_for(bench.job, units)))
