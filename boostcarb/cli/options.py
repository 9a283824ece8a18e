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


class Target(StrEnum):
    """What a carburetor is to become."""

    naturally_aspirated = "naturally_aspirated"
    blow_through = "blow_through"
    draw_through = "draw_through"


class Fuel(StrEnum):
    """Fuels by the names of a job file."""

    petrol = "petrol"
    e10 = "E10"
    e85 = "E85"
    ethanol = "ethanol"
    methanol = "methanol"
    custom = "custom"


JobFile = Annotated[Path, typer.Argument(metavar="JOB", help="Job file (YAML).", show_default=False)]
DataOption = Annotated[
    Path | None,
    typer.Option(
        "--data",
        metavar="DIR",
        help="Folder of your own rules/, families/ and materials/; they come before those of the program.",
        show_default=False,
    ),
]
FormatOption = Annotated[Format, typer.Option("--format", help="Text for the bench, or JSON for scripts.")]
UnitsOption = Annotated[UnitSystem, typer.Option("--units", help="Units of the text; JSON is always SI.")]
