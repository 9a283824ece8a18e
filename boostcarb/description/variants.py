"""What comes to the surroundings of a carburetor with an enclosure, or with several carburetors on one engine."""

from __future__ import annotations

from functools import cache
from importlib.resources import as_file, files

from boostcarb.description.family import Family
from boostcarb.description.job import Job
from boostcarb.description.loading import read_variant

SEVERAL, PRESSURE_BOX = "several_carburetors", "pressure_box"
VARIANTS = (PRESSURE_BOX, SEVERAL)


@cache
def variant(name: str) -> Family:
    """One of the shipped variants of the surroundings, by its name."""
    with as_file(files(__package__).joinpath("variants_of_surroundings", f"{name}.yaml")) as path:
        return read_variant(path)


def variants_of(job: Job) -> tuple[Family, ...]:
    """What a job adds to the surroundings."""
    names: list[str] = []
    if job.enclosure is not None:
        names.append(job.enclosure.kind)
    if job.carburetors is not None:
        names.append(SEVERAL)
    return tuple(variant(name) for name in names)
