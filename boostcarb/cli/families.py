"""`boostcarb families`."""

from __future__ import annotations

from typing import Annotated

import typer

from boostcarb.cli.options import DataOption, Format, FormatOption

Name = Annotated[str | None, typer.Argument(metavar="[NAME]", help="One family, in full.", show_default=False)]


def families(name: Name = None, data: DataOption = None, output: FormatOption = Format.text) -> None:
    """The carburetor families that are known; with a name, every word a job file can use for it.

    Example: boostcarb families modular_four_barrel
    """
    from boostcarb.description.library import open_library
    from boostcarb.description.loading import SURROUNDINGS
    from boostcarb.report import catalogue_text

    library = open_library(data)
    names = library.families() if name is None else (name,)
    known = {each: library.family(each).family for each in names}
    if output is Format.json:
        from boostcarb.report import records

        typer.echo(records.as_json(records.families_record(known, whole=name is not None)))
    elif name is None:
        typer.echo(catalogue_text.families_text(known))
    else:
        typer.echo(catalogue_text.family_text(known[name]))
        if name != SURROUNDINGS:
            typer.echo(f"What stands round the carburetor: boostcarb families {SURROUNDINGS}")
