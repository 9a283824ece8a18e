"""`boostcarb bench`."""

from __future__ import annotations

from typing import Annotated

import typer

from boostcarb.cli.faults import Which
from boostcarb.cli.options import DataOption, Format, FormatOption, JobFile, UnitsOption, units_for

AsOption = Annotated[Which, typer.Option("--as", help="The carburetor after its plan, or as it was found.")]


def bench(
    job: JobFile,
    which: AsOption = Which.planned,
    output: FormatOption = Format.text,
    units: UnitsOption = None,
    data: DataOption = None,
) -> None:
    """Prove the work: the fewest minutes of bench tests that show every mistake any such test can show.

    Example: boostcarb bench scenarios/street_blow_through.yaml
    """
    from boostcarb import pipeline

    read = pipeline.load(job, pipeline.library(data))
    checks = pipeline.bench_checks(read, planned=which is Which.planned)
    if output is Format.json:
        from boostcarb.report.checks_records import checks_record
        from boostcarb.report.records import as_json

        typer.echo(as_json(checks_record(checks)))
    else:
        from boostcarb.report.checks_text import checks_text

        typer.echo(checks_text(checks, units_for(read.job, units)))
    raise typer.Exit(0 if checks.has_plan else 1)
