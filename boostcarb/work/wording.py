"""Titles of stages, which say how it is when they are reached, turned into things to do."""

from __future__ import annotations

import re
from typing import Final

from boostcarb.network.model import Stage

_ENDING: Final = re.compile(r"^(?P<part>.+?)( drained and)? (?P<how>off|out)(?P<where> the .*)?$")


def off_text(stage: Stage) -> str:
    """What to take off for a stage.

    >>> off_text(Stage("a", "primary bowl drained and off", 15, ()))
    'Take the primary bowl off'
    """
    found = _ENDING.match(stage.title)
    if found is None:
        return f"Strip down to: {stage.title}"
    return f"Take the {found['part']} {found['how']}{found['where'] or ''}"


def back_text(stage: Stage) -> str:
    """What to put back to close it.

    >>> back_text(Stage("a", "throttle shafts and plates out", 90, ()))
    'Put the throttle shafts and plates back'
    """
    found = _ENDING.match(stage.title)
    if found is None:
        return f"Put back what was taken off for: {stage.title}"
    return f"Put the {found['part']} back"


def part_text(stage: Stage) -> str:
    """What the stage takes off.

    >>> part_text(Stage("a", "carburetor off the engine", 25, ()))
    'carburetor'
    """
    found = _ENDING.match(stage.title)
    return stage.title if found is None else found["part"]
