"""Materials that meet the fuel: what each fuel does to them, who says so, and where the sources differ."""

# Annotations are evaluated as written, not kept as text: compiling each again would slow every start.
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from pathlib import Path
from typing import Annotated, Literal, get_args

from pydantic import Field, ValidationInfo, field_validator

from boostcarb.description.family import Id, Strict
from boostcarb.description.loading import Read
from boostcarb.description.metering import BLENDS, FuelName
from boostcarb.description.source import data_files, read_document, validate
from boostcarb.errors import BadDescription, Problem
from boostcarb.suggest import suggest

RatedFuel = Literal["gasoline", "E10", "E85", "ethanol", "methanol"]
RATED_FUELS: tuple[RatedFuel, ...] = get_args(RatedFuel)
Confidence = Literal["high", "medium", "low"]

NO_SOURCE = "common practice, no source"
FROM_MEMORY = "(from memory)"
"""What a source ends with that was recalled and not looked up."""

MOST_ETHANOL_OF_E10 = 0.30
"""Up to this share by volume a blend is rated as E10. The published tests of low blends run with 10 to 25 % ethanol,
and rubber swells most in blends like these, not in alcohol alone; there is no sharp edge (assumption)."""

MOST_ETHANOL_OF_E85 = 0.90
"""Up to this share a blend is rated as E85: what is sold under that name goes down to about a half in winter, and some
gasoline is left to swell rubber. Above, next to none is: it is ethanol (assumption)."""


class Rating(Strict):
    """What one source says of a material in one or more fuels."""

    fuels: list[RatedFuel] = Field(min_length=1)
    rating: Literal["good", "limited", "unsuitable"] = Field(
        description="good: lasts; limited: for a while, in some grades, or under care; unsuitable: do not fit it"
    )
    source: Annotated[
        str,
        Field(
            min_length=10,
            description="author or body, title, year, section; or 'common practice, no source'; or '... (from memory)'",
        ),
    ]
    confidence: Confidence
    note: str | None = None

    @field_validator("fuels")
    @classmethod
    def _each_fuel_once(cls, fuels: list[RatedFuel]) -> list[RatedFuel]:
        twice = next((fuel for fuel in fuels if fuels.count(fuel) > 1), None)
        if twice is not None:
            raise ValueError(f"found {twice} twice; name each fuel once")
        return fuels

    @field_validator("confidence")
    @classmethod
    def _only_what_was_looked_up_is_sure(cls, confidence: Confidence, info: ValidationInfo) -> Confidence:
        source = info.data.get("source")
        if confidence == "high" and source is not None and not _can_be_looked_up(source):
            raise ValueError("high confidence needs a source that was looked up; write medium or low")
        return confidence

    @property
    def looked_up(self) -> bool:
        """Whether the source was looked up, not recalled and not common practice."""
        return _can_be_looked_up(self.source)


def _can_be_looked_up(source: str) -> bool:
    return source != NO_SOURCE and not source.endswith(FROM_MEMORY)


class Material(Strict):
    """A material that a piece in the fuel can be made of."""

    material: Id
    title: str
    kind: Literal["elastomer", "plastic", "metal", "plating", "float", "gasket", "sealant", "leather"]
    summary: str = Field(min_length=20, description="what it is, and how to tell it on the bench")
    ratings: list[Rating] = Field(min_length=1)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What is known of a material in one fuel.

    Attributes:
        material: its id.
        fuel: the fuel that was asked about, as the job names it.
        rating: what all sources say; `check grade` where they differ, `no data` where there are none.
        ratings: everything that was said of it in this fuel, so that both sides of a conflict can be shown.
    """

    material: str
    fuel: FuelName
    rating: Literal["good", "limited", "check grade", "unsuitable", "no data"]
    ratings: tuple[Rating, ...]

    @property
    def conflict(self) -> bool:
        """Whether the sources differ."""
        return self.rating == "check grade"

    @property
    def looked_up(self) -> bool:
        """Whether at least one of the sources was looked up."""
        return any(rating.looked_up for rating in self.ratings)


def verdict(material: Material, fuel: FuelName, ethanol: float | None = None) -> Verdict:
    """What becomes of a material in a fuel.

    Sources that differ are never averaged or outvoted: the grade that one of them tested may be the one at hand.

    Args:
        material: what the piece is made of.
        fuel: as the job names it.
        ethanol: measured share of ethanol by volume, 0 to 1; it counts only where the fuel is a blend.
    """
    rated_as = _rated_as(fuel, ethanol)
    ratings = tuple(rating for rating in material.ratings if rated_as in rating.fuels)
    said = {rating.rating for rating in ratings}
    if not said:
        return Verdict(material.material, fuel, "no data", ())
    return Verdict(material.material, fuel, said.pop() if len(said) == 1 else "check grade", ratings)


def _rated_as(fuel: FuelName, ethanol: float | None) -> FuelName:
    """The fuel whose ratings hold: what is in the tank counts, not what the pump was called."""
    if fuel not in BLENDS or ethanol is None:
        return fuel
    if ethanol <= MOST_ETHANOL_OF_E10:
        return "E10"
    return "E85" if ethanol <= MOST_ETHANOL_OF_E85 else "ethanol"


@dataclass(frozen=True, slots=True)
class ReadMaterial(Read):
    """A material and its file."""

    material: Material


def read_material(path: Path) -> ReadMaterial:
    """Read a material file. Raises BadDescription with file, line and field."""
    document = read_document(path)
    read = ReadMaterial(document, validate(Material, document))
    if read.material.material != path.stem:
        message = f"found {read.material.material!r}, but the file is named {path.name}"
        raise BadDescription(read.problem(("material",), message))
    return read


def read_materials(folder: Path) -> tuple[ReadMaterial, ...]:
    """Read every material of a folder, by id.

    Raises:
        BadDescription: a file that is no material, is not named as its id or ends in .yml; an empty folder.
    """
    read = [read_material(path) for path in data_files(folder, "materials")]
    return tuple(sorted(read, key=lambda each: each.material.material))


@cache
def shipped_materials() -> tuple[str, ...]:
    """Names of the materials that travel with the package, sorted; none of their files is read."""
    entries = files(__package__).joinpath("materials").iterdir()
    return tuple(sorted(entry.name.removesuffix(".yaml") for entry in entries if entry.name.endswith(".yaml")))


@cache
def shipped_material(name: str) -> Material:
    """One of the shipped materials; no other file is read.

    Raises:
        BadDescription: no such material.

    >>> verdict(shipped_material("natural_rubber"), "gasoline").rating
    'unsuitable'
    """
    if name not in shipped_materials():
        raise BadDescription(Problem(f"unknown material {name!r}; {suggest(name, shipped_materials())}"))
    with as_file(files(__package__).joinpath("materials", f"{name}.yaml")) as path:
        return read_material(path).material
