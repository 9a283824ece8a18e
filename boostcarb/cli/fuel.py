"""`boostcarb fuel`."""

from __future__ import annotations

from typing import Annotated

import typer

from boostcarb.cli.options import DataOption, Format, FormatOption, JobFile, UnitsOption, units_for

LIST = "list"
Sure = Annotated[
    bool, typer.Option("--how-sure", help="Percentiles of lambda over the stated spreads, and what dominates.")
]
Samples = Annotated[int, typer.Option("--samples", help="Samples for --how-sure.")]
Seed = Annotated[int, typer.Option("--seed", help="Seed for --how-sure; the same seed gives the same answer.")]
Work = Annotated[
    str | None,
    typer.Option(
        "--show-work",
        metavar="NAME",
        help="Only the work behind these numbers: a name, the start of one, or a pattern with *; `list` lists names.",
    ),
]


def fuel(
    job: JobFile,
    output: FormatOption = Format.text,
    units: UnitsOption = None,
    how_sure: Sure = False,
    samples: Samples = 10_000,
    seed: Seed = 1,
    show_work: Work = None,
    data: DataOption = None,
) -> None:
    """What the jets and the enrichment must become, as drills, and the mixture in every state.

    Example: boostcarb fuel scenarios/street_blow_through.yaml
    """
    from boostcarb import pipeline

    read = pipeline.load(job, pipeline.library(data))
    fueled = pipeline.fuel(read)
    sure = fueled.how_sure(samples, seed) if how_sure else None
    work = None
    if show_work is not None:
        work = fueled.work if show_work == LIST else fueled.work_named(show_work)
    if output is Format.json:
        from boostcarb.report.fuel_records import fuel_record
        from boostcarb.report.records import as_json

        typer.echo(as_json(fuel_record(fueled, sure=sure, work=work)))
    elif work is not None:
        from boostcarb.report.work_text import names_text, work_text

        typer.echo(names_text(work) if show_work == LIST else work_text(work))
    else:
        from boostcarb.report.fuel_text import fuel_text

        typer.echo(fuel_text(fueled, units_for(read.job, units), sure))
    raise typer.Exit(0 if fueled.clean else 1)
