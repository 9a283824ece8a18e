"""`boostcarb families`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from boostcarb.cli.options import DataOption, Format, FormatOption

Check = Annotated[
    Path | None,
    typer.Option("--check", metavar="FILE", help="Check a family file of your own, try it in every mode, and stop."),
]
Name = Annotated[str | None, typer.Argument(metavar="[NAME]", help="One family, in full.", show_default=False)]


def families(
    name: Name = None, check: Check = None, data: DataOption = None, output: FormatOption = Format.text
) -> None:
    """The carburetor families that are known; with a name, every word a job file can use for it.

    Example: boostcarb families modular_four_barrel
    """
    if check is not None:
        _check(check, data, output)
        return
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


def _check(path: Path, data: Path | None, output: Format) -> None:
    """Messages name file and line; a right entry of every section with a mistake is shown with them."""
    from boostcarb.description.family_check import EXAMPLES
    from boostcarb.description.library import open_library
    from boostcarb.errors import BadDescription, Problem
    from boostcarb.family_trial import check_family
    from boostcarb.report import catalogue_text, records

    try:
        checked = check_family(path, open_library(data))
    except BadDescription as error:
        sections = dict.fromkeys((problem.field or "").partition(".")[0] for problem in error.problems)
        right = [Problem(f"right is, for example: {EXAMPLES[each]}") for each in sections if each in EXAMPLES]
        raise BadDescription([*error.problems, *right]) from error
    if output is Format.json:
        typer.echo(records.as_json(records.family_check_record(checked)))
    else:
        typer.echo(catalogue_text.family_check_text(checked))
