"""Typical values of a family's fuel side, read only when somebody asks about fuel."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from importlib.resources import as_file, files

from boostcarb.description.loading import shipped_families, shipped_family
from boostcarb.description.source import read_document, validate
from boostcarb.description.supply import FuelSide
from boostcarb.errors import BadDescription, Problem


@cache
def typical_fuel_side(family: str) -> FuelSide:
    """Typical values for a family, by its name: its own, or those of the family it is based on.

    Raises:
        BadDescription: a family without such values, or a file that cannot be understood.

    >>> round(typical_fuel_side("modular_four_barrel").supply.regulator_pressure or 0.0)
    41369
    """
    entry = files(__package__).joinpath("typical", f"{family}.yaml")
    base = shipped_family(family).family.based_on if family in shipped_families() else None
    if not entry.is_file() and base is not None:
        return typical_fuel_side(base)
    if not entry.is_file():
        raise BadDescription(Problem(f"no typical values of the fuel side for {family!r}", field="carburetor"))
    with as_file(entry) as path:
        return validate(FuelSide, read_document(path))


def for_groups(side: FuelSide, groups: Sequence[str]) -> FuelSide:
    """Values with an entry for every barrel group; one that is not named has those of the first that is."""
    pump = {**{group: each for each in list(side.pump.values())[:1] for group in groups}, **side.pump}
    bowls = {**{group: each for each in list(side.bowls.values())[:1] for group in groups}, **side.bowls}
    return side.model_copy(update={"pump": pump, "bowls": bowls})
