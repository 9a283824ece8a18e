"""Values of the fuel side: the job's where it says them, else those usual for the family, with what was assumed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from boostcarb.description.job import Job
from boostcarb.description.supply import FuelSide
from boostcarb.fueling.records import Input

FROM_JOB, USUAL = "job file", "usual for the family (common practice, no source)"
FROM_NETWORK = "carburetor as described"
FROM_STATES = "solved state"


@dataclass(frozen=True, slots=True)
class Default:
    """A value that the job does not give: where it would stand, what it is, and what was taken, in SI or in words."""

    path: str
    name: str
    value: float | str
    unit: str


@dataclass(frozen=True)
class Given:
    """Looks values up by their place in the job, for example `supply.line.bore`."""

    job: Job
    typical: FuelSide
    _defaults: dict[str, Default] = field(default_factory=dict)

    @property
    def defaults(self) -> tuple[Default, ...]:
        """Every default that was asked for, in that order."""
        return tuple(self._defaults.values())

    def says(self, path: str) -> bool:
        """Whether the job itself gives a value."""
        return _at(self.job, path) is not None

    def number(self, path: str, name: str, unit: str) -> Input:
        """A value in SI. Raises: KeyError when neither the job nor the family has it."""
        value = _at(self.job, path)
        if value is not None:
            return Input(name, float(value), unit, FROM_JOB)
        usual = float(self._usual(path))
        self._defaults[path] = Default(path, name, usual, unit)
        return Input(name, usual, unit, USUAL)

    def word(self, path: str, name: str) -> str:
        """A choice. Raises: KeyError when neither the job nor the family has it."""
        value = _at(self.job, path)
        if value is not None:
            return _worded(value)
        usual = _worded(self._usual(path))
        self._defaults[path] = Default(path, name, usual, "")
        return usual

    def _usual(self, path: str) -> Any:
        value = _at(self.typical, path)
        if value is None:
            raise KeyError(f"{path} has no usual value")
        return value


def _worded(value: object) -> str:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def _at(record: object, path: str) -> Any:
    """The value at a dotted path through records and mappings, or None."""
    found: Any = record
    for name in path.split("."):
        found = found.get(name) if isinstance(found, dict) else getattr(found, name, None)
        if found is None:
            return None
    return found
