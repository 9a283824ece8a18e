"""What happens when diaphragm, cover, return spring and cam of an accelerator pump are not of one size.

Common practice, no source: the trade has two sizes, by the output of ten strokes. The larger diaphragm and its cover
are taller, with a conical spring as wide as the diaphragm's wider top; the smaller takes a straight spring.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from boostcarb.description.supply import PumpSet
from boostcarb.fueling.given import Given

CAPACITY_M3: Final = {"small": 30e-6, "large": 50e-6}
"""Output of ten strokes of the two usual sizes (common practice, no source)."""

SPRING_OF: Final = {"small": "straight", "large": "conical"}


@dataclass(frozen=True, slots=True)
class Mismatch:
    """Two parts that do not go together, what that does, and whether fuel can come out."""

    parts: tuple[str, str]
    effect: str
    leaks: bool = False


@dataclass(frozen=True, slots=True)
class SetVerdict:
    """The set as described. `capacity_m3` is the output of ten strokes; None where no figure would be honest."""

    parts: PumpSet
    mismatches: tuple[Mismatch, ...]
    capacity_m3: float | None

    @property
    def one_size(self) -> bool:
        """Whether every part that is known is of the size of the others."""
        return not self.mismatches


def judge_set(given: Given, group: str) -> SetVerdict | None:
    """Judge the parts the job names for a pump; None where it names fewer than two."""
    pump = (given.job.pump or {}).get(group)
    if pump is None:
        return None
    parts = pump.parts
    known = [part for part in (parts.diaphragm, parts.cover, parts.spring, parts.cam) if part is not None]
    return verdict(parts) if len(known) > 1 else None


def verdict(parts: PumpSet) -> SetVerdict:
    """What a set of parts does.

    >>> verdict(PumpSet(diaphragm="large", cover="large", spring="conical", cam="small")).capacity_m3
    3e-05
    """
    found = tuple(_mismatches(parts))
    pump = parts.diaphragm or parts.cover or _size_of_spring(parts.spring)
    capacity = None
    if not found:
        capacity = CAPACITY_M3[pump or parts.cam or "small"]
    elif pump == "large" and parts.cam == "small" and len(found) == 1:
        capacity = CAPACITY_M3["small"]
    elif pump == "small" and parts.cam == "large":
        capacity = 0.0
    return SetVerdict(parts, found, capacity)


def _size_of_spring(spring: str | None) -> str | None:
    return next((size for size, shape in SPRING_OF.items() if shape == spring), None)


def _mismatches(parts: PumpSet) -> Iterator[Mismatch]:
    body, cover, spring = parts.diaphragm, parts.cover, parts.spring
    pump = body or cover or _size_of_spring(spring)
    if pump == "large" and parts.cam == "small":
        yield Mismatch(("large pump", "small cam"), "the cam lifts only enough for the small shot")
    if pump == "small" and parts.cam == "large":
        yield Mismatch(("small pump", "large cam"), "the lever bottoms at once and the pump gives no shot worth having")
    if body is not None and cover is not None and body != cover:
        tall = "the large diaphragm is taller than the small cover: it bottoms"
        loose = "the small diaphragm hangs loose in the large cover: the lever reaches it late"
        yield Mismatch((f"{body} diaphragm", f"{cover} cover"), tall if body == "large" else loose)
    where = body or cover
    if where == "small" and spring == "conical":
        yield Mismatch(("small diaphragm", "conical spring"), "the spring is too wide: it binds and takes the stroke")
    if where == "large" and spring == "straight":
        yield Mismatch(
            ("large diaphragm", "straight spring"),
            "the narrow spring stands on the bare cloth and can wear a hole in it: fuel comes out at the lever",
            leaks=True,
        )
