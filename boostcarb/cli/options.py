"""Arguments and options that commands share."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from boostcarb.quantities import UnitSystem

if TYPE_CHECKING:
    from boostcarb.description.job import Job


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

    gasoline = "gasoline"
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
UnitsOption = Annotated[
    UnitSystem | None,
    typer.Option(
        "--units",
        help="Units of the text, before those of the job file, before metric; JSON is always SI.",
        show_default=False,
    ),
]


def units_for(job: Job, asked: UnitSystem | None) -> UnitSystem:
    """The units to show an answer in: those asked for, else those that the job file names."""
    return asked or job.units
