"""`boostcarb materials`."""

from __future__ import annotations

from typing import Annotated

import typer

from boostcarb.cli.options import DataOption, Format, FormatOption, Fuel
from boostcarb.errors import BadDescription, Problem

Name = Annotated[str | None, typer.Argument(metavar="[NAME]", help="One material, with all sources.")]
FuelFilter = Annotated[Fuel | None, typer.Option("--fuel", help="Only what is said of this fuel.")]


def materials(
    name: Name = None, fuel: FuelFilter = None, data: DataOption = None, output: FormatOption = Format.text
) -> None:
    """What fuels do to rubbers, metals, platings, floats, gaskets and sealants, and who says so.

    Where sources differ the answer is to check the grade, never a middle.

    Example: boostcarb materials fluorocarbon --fuel methanol
    """
    from boostcarb.description.library import open_library
    from boostcarb.description.material import RATED_FUELS, verdict
    from boostcarb.report import catalogue_text

    if fuel is Fuel.custom:
        message = f"no source rates a fuel of your own; choose from: {', '.join(RATED_FUELS)}"
        raise BadDescription(Problem(message, field="--fuel"))
    library = open_library(data)
    known = [library.material(each) for each in (library.materials() if name is None else (name,))]
    fuels = RATED_FUELS if fuel is None else tuple(each for each in RATED_FUELS if each == fuel.value)
    table = [(material, [verdict(material, each) for each in fuels]) for material in known]
    if output is Format.json:
        from boostcarb.report import records

        typer.echo(records.as_json(records.materials_record(table)))
    else:
        typer.echo(catalogue_text.materials_text(table) if name is None else catalogue_text.material_text(*table[0]))
