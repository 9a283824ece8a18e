"""Typical values of a family's fuel side, read only when somebody asks about fuel."""

from __future__ import annotations

from functools import cache
from importlib.resources import as_file, files

from boostcarb.description.source import read_document, validate
from boostcarb.description.supply import FuelSide
from boostcarb.errors import BadDescription, Problem


@cache
def typical_fuel_side(family: str) -> FuelSide:
    """Typical values for a family, by its name.

    Raises:
        BadDescription: a family without such values, or a file that cannot be understood.

    >>> round(typical_fuel_side("modular_four_barrel").supply.regulator_pressure or 0.0)
    41369
    """
    entry = files(__package__).joinpath("typical", f"{family}.yaml")
    if not entry.is_file():
        raise BadDescription(Problem(f"no typical values of the fuel side for {family!r}", field="carburetor"))
    with as_file(entry) as path:
        return validate(FuelSide, read_document(path))
