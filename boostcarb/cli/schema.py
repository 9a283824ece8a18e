"""`boostcarb schema`."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer


class Kind(StrEnum):
    """Which kind of file."""

    job = "job"
    family = "family"
    rule = "rule"
    example = "example"
    material = "material"


Which = Annotated[Kind, typer.Argument(metavar="[KIND]", help="Which kind of file.")]


def schema(kind: Which = Kind.job) -> None:
    """The JSON Schema of a kind of file, for editors and scripts.

    Example: boostcarb schema job > job.schema.json
    """
    from boostcarb.report.schemas import schema_text

    typer.echo(schema_text(kind.value), nl=False)
