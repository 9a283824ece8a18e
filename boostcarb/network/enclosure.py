"""A carburetor in a box at bonnet pressure: what faced the atmosphere faces the box, but for what pierces its wall.

Leaks and vents of the carburetor then lose nothing; what the box itself lets out is described by its own variant file.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from boostcarb.description.family import Diaphragm, Family, Line, Passage, Tap

AMBIENT: Final = "ambient"
BOX: Final = "box"


def in_a_box(family: Family) -> Family:
    """The family with the box in place of the atmosphere.

    Passages that say `penetrates_box` still lead to the atmosphere. Lines led to the open end in the box.
    """
    return family.model_copy(
        update={
            "passages": {name: _passage(each) for name, each in family.passages.items()},
            "lines": {name: _line(each) for name, each in family.lines.items()},
            "diaphragms": {name: _diaphragm(each) for name, each in family.diaphragms.items()},
        }
    )


def without_replaced(surroundings: Family, variants: Sequence[Family]) -> Family:
    """The surroundings without the entries that a variant says it takes the place of."""
    update: dict[str, object] = {}
    for variant in variants:
        for section, names in variant.without.items():
            entries = update.get(section, getattr(surroundings, section))
            if isinstance(entries, dict):
                update[section] = {name: each for name, each in entries.items() if name not in names}
    return surroundings.model_copy(update=update) if update else surroundings


def _there(space: str) -> str:
    return BOX if space == AMBIENT else space


def _passage(passage: Passage) -> Passage:
    if passage.penetrates_box or AMBIENT not in passage.joins:
        return passage
    return passage.model_copy(update={"joins": tuple(_there(space) for space in passage.joins)})


def _diaphragm(diaphragm: Diaphragm) -> Diaphragm:
    return diaphragm.model_copy(update={"between": tuple(_there(space) for space in diaphragm.between)})


def _line(line: Line) -> Line:
    taps = {form: _tap(tap) for form, tap in line.taps.items()}
    return line.model_copy(update={"taps": taps})


def _tap(tap: Tap) -> Tap:
    switched = tap.switched
    if switched is not None:
        switched = switched.model_copy(update={"below": _there(switched.below), "above": _there(switched.above)})
    return tap.model_copy(update={"to": None if tap.to is None else _there(tap.to), "switched": switched})
