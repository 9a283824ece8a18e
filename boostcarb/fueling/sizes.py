"""Sizes to fit, as records: a bore, the drills round it, and what each gives."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from boostcarb.drills import Drill, Series, nearest_drills
from boostcarb.fueling.circuit import Drilling, Origin

SERIES_SHOWN: tuple[Series, ...] = ("number", "fraction", "metric")
PLACES = ("smaller", "nearest", "larger")


class Part(StrEnum):
    """What a size is of."""

    main_jets = "main jets"
    restrictions = "channel restrictions"
    second_stage = "restrictions of a second stage that only boost opens"


@dataclass(frozen=True, slots=True)
class DrillChoice:
    """A drill near the size and the lambda that it gives in the state that the size is for; None without fuel."""

    drill: Drill
    place: str
    mixture: float | None


@dataclass(frozen=True, slots=True)
class RichStart:
    """The drill to start with where no reading at full load has proved the size; None where none is rich enough."""

    drill: Drill | None


@dataclass(frozen=True, slots=True)
class Size:
    """A size to fit: bore of each of `count` holes, m, for a target lambda in a state.

    `area_m2` is the effective area of the holes together. `fit` is the first drill that is not smaller: it errs on
    the rich side. `found` are the holes as they are now. `rich_start` is for boost without a reading at full load.
    """

    group: str
    part: Part
    found: Drilling
    state: str
    state_title: str
    target: float
    enrichment_open: bool
    area_m2: float
    bore_m: float
    fit: Drill
    drills: tuple[DrillChoice, ...]
    rich_start: RichStart | None = None

    @property
    def area_ratio(self) -> float | None:
        """Effective area wanted over that of the holes as they are now; None where those are not known."""
        return None if self.found.origin is Origin.unknown else self.area_m2 / self.found.area_m2


@dataclass(frozen=True, slots=True)
class GroupSizes:
    """All sizes of one group, what a single stage does before boost, what could not be sized, and which holes are tight
    for what is fitted, in words.
    """

    group: str
    sizes: tuple[Size, ...]
    stages: tuple[Size, ...] = ()
    single_stage_mixture: float | None = None
    not_sized: tuple[str, ...] = ()
    tight: tuple[str, ...] = ()

    def from_unknown_jets(self) -> GroupSizes:
        """The same sizes where nobody knows the main jets that are to be replaced."""

        def unknown(size: Size) -> Size:
            if size.part is not Part.main_jets:
                return size
            return replace(size, found=replace(size.found, origin=Origin.unknown))

        sizes, stages = (tuple(unknown(size) for size in each) for each in (self.sizes, self.stages))
        return replace(self, sizes=sizes, stages=stages)

    @property
    def bores(self) -> dict[str, float]:
        """The drills to fit, m, by passage."""
        return {size.found.passage: size.fit.diameter_m for size in self.sizes}


def first_not_smaller(bore_m: float, choices: Sequence[DrillChoice]) -> Drill:
    """The smallest drill of any series that is not smaller than a bore; else the largest there is."""
    drills = sorted((choice.drill for choice in choices), key=lambda drill: drill.diameter_m)
    return next((drill for drill in drills if drill.diameter_m >= bore_m - 1e-9), drills[-1])


def three_around(series: Series, bore_m: float) -> tuple[Drill | None, Drill, Drill | None]:
    """The drill nearest to a bore, with the next smaller and the next larger one."""
    nearest = nearest_drills(bore_m)[series].nearest
    around = nearest_drills(nearest.diameter_m)[series]
    return around.smaller, nearest, around.larger
