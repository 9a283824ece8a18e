"""Arguments and options that commands share."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from boostcarb.quantities import UnitSystem


class Format(StrEnum):
    """How an answer is written."""

    text = "text"
    json = "json"


JobFile = Annotated[Path, typer.Argument(metavar="JOB", help="Job file (YAML).", show_default=False)]
FormatOption = Annotated[Format, typer.Option("--format", help="Text for the bench, or JSON for scripts.")]
UnitsOption = Annotated[UnitSystem, typer.Option("--units", help="Units of the text; JSON is always SI.")]
