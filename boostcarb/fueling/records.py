"""A computed number together with everything needed to follow it by hand."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Input:
    """A value that went into a computed number: SI value, SI unit (empty for a pure number) and where it comes from."""

    name: str
    value: float
    unit: str
    origin: str


@dataclass(frozen=True, slots=True)
class Worked:
    """A computed number: SI value and unit, the formula in words, what went in, and the source of the law."""

    name: str
    value: float
    unit: str
    formula: str
    inputs: tuple[Input, ...] = ()
    source: str = "definition"


@dataclass(frozen=True, slots=True)
class Margin:
    """A named margin at one place in one state, or in none: 1 is just enough. `spaces` and `items` show it."""

    place: str
    place_title: str
    name: str
    value: float
    statement: str
    state: str | None = None
    spaces: tuple[str, ...] = ()
    items: tuple[str, ...] = ()
