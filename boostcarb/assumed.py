"""Something a description does not say and that had to be assumed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Assumed:
    """Words with {} for the value, the value in SI, and what kind of quantity it is."""

    words: str
    value: float
    kind: Literal["fraction", "number", "gauge", "absolute", "difference", "temperature", "flow"]
