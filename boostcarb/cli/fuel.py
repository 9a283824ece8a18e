"""`boostcarb fuel`."""

from __future__ import annotations

import typer

from boostcarb.cli.options import Format, FormatOption, JobFile, UnitsOption
from boostcarb.quantities import UnitSystem


def fuel(job: JobFile, output: FormatOption = Format.text, units: UnitsOption = UnitSystem.METRIC) -> None:
    """What the jets and the enrichment must become, as drills, and the mixture in every state.

    Example: boostcarb fuel scenarios/street_blow_through.yaml
    """
    from boostcarb import pipeline

    fueled = pipeline.fuel(pipeline.load(job))
    if output is Format.json:
        from boostcarb.report.fuel_records import fuel_record
        from boostcarb.report.records import as_json

        typer.echo(as_json(fuel_record(fueled)))
    else:
        from boostcarb.report.fuel_text import fuel_text

        typer.echo(fuel_text(fueled, units))
    raise typer.Exit(0 if fueled.clean else 1)
