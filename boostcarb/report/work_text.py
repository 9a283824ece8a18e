"""The work behind numbers, to follow by hand: formula, inputs with units and origin, source, result. Always SI."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from boostcarb.fueling.records import Input, Worked
from boostcarb.report.wrapping import wrapped

DIGITS = 7
"""Digits printed, enough that the difference of two pressures keeps four."""

Record = dict[str, Any]


def work_text(work: Mapping[str, Worked]) -> str:
    """Every number of some, one paragraph each."""
    return "\n\n".join("\n".join(_lines(name, worked)) for name, worked in work.items())


def names_text(names: Iterable[str]) -> str:
    """Only what can be asked for."""
    return "\n".join(names)


def work_records(work: Mapping[str, Worked]) -> list[Record]:
    """The same as plain data."""
    return [
        {
            "path": name,
            "name": worked.name,
            "value": worked.value,
            "unit": worked.unit,
            "formula": worked.formula,
            "inputs": [
                {"name": each.name, "value": each.value, "unit": each.unit, "origin": each.origin}
                for each in worked.inputs
            ],
            "source": worked.source,
        }
        for name, worked in work.items()
    ]


def _lines(name: str, worked: Worked) -> Iterator[str]:
    yield name
    yield wrapped(f"{worked.name} = {_value(worked.value, worked.unit)}", first="  ")
    yield wrapped(f"formula: {worked.formula}", first="  ", rest="    ")
    for each in worked.inputs:
        yield wrapped(_input(each), first="    ", rest="      ")
    yield wrapped(f"source: {worked.source}", first="  ", rest="    ")


def _input(given: Input) -> str:
    return f"{given.name} = {_value(given.value, given.unit)}  [{given.origin}]"


def _value(value: float, unit: str) -> str:
    return f"{value:.{DIGITS}g} {unit}".rstrip()
