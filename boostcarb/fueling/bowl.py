"""Fuel level at the jets under acceleration: which come out of the fuel at how much, with and without extensions."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from boostcarb.fueling.given import FROM_STATES, Given
from boostcarb.fueling.records import Input, Worked
from boostcarb.fueling.solved import Solved
from boostcarb.physics.slosh import free_surface, surface_slope, uncovering_acceleration, uncovering_slope

Maneuver = Literal["launch", "braking", "cornering", "climbing", "descending", "launch on the grade"]
_HYDROSTATICS: Final = "rigid-body acceleration: surface at right angles to gravity and acceleration; volume kept"


@dataclass(frozen=True, slots=True)
class Cover:
    """Fuel at the jets of one bowl in one maneuver.

    `uncovers_at` is the acceleration in m/s2 (for a standing grade its rise over run) at which the inlet comes out of
    the fuel, None where none does; `wanted` is what the job asks for; `margin` the first over the second, None where
    nothing uncovers the jet. `level` is the depth over the inlet at `wanted`.
    """

    maneuver: Maneuver
    extension: bool
    wanted: Input
    level: Worked
    uncovers_at: Worked | None
    margin: Worked | None

    @property
    def covered(self) -> bool:
        """Whether the inlet stays in the fuel."""
        return self.margin is None or self.margin.value > 1.0


@dataclass(frozen=True, slots=True)
class BowlUnderway:
    """One bowl: every maneuver with the jets as they are and with the other choice of extensions."""

    group: str
    extensions: bool
    float_cut_away: bool
    covers: tuple[Cover, ...]

    @property
    def extension_fouls_float(self) -> bool:
        """Whether extensions are fitted under a float that was not cut away for them."""
        return self.extensions and not self.float_cut_away

    @property
    def worst(self) -> Cover | None:
        """The maneuver, as fitted, with the least margin."""
        own = [cover for cover in self.covers if cover.extension == self.extensions and cover.margin is not None]
        return min(own, key=lambda cover: cover.margin.value if cover.margin else math.inf, default=None)


@dataclass(frozen=True, slots=True)
class _Box:
    """The bowl along one direction. `position` is the inlet's, ahead of the middle in the direction of travel."""

    length: Input
    height: Input
    level: Input
    jet_height: Input
    position: Input

    def facing(self, sign: float) -> float:
        return sign * self.position.value


def bowls(solved: Solved, given: Given) -> Iterator[BowlUnderway]:
    """Every bowl that has a needle and seat."""
    for way in solved.ways_of_kind("needle_seat"):
        yield _bowl(given, way.name.partition(".")[0])


def _bowl(given: Given, group: str) -> BowlUnderway:
    fitted = given.word(f"bowls.{group}.extensions", f"pickup extensions of the {group} jets") == "fitted"
    cut = given.word(f"bowls.{group}.float_", f"float of the {group} bowl") == "cut away"
    covers = tuple(cover for extension in (False, True) for cover in _covers(given, group, extension))
    return BowlUnderway(group, fitted, cut, covers)


def _covers(given: Given, group: str, extension: bool) -> Iterator[Cover]:
    ahead, aside = _along(given, group, extension), _across(given, group)
    launch, braking, cornering = (
        given.number(f"driving.{name}", name, "m/s2") for name in ("launch", "braking", "cornering")
    )
    grade = given.number("driving.grade", "grade, rise over run", "")
    yield _cover("launch", ahead, 1.0, extension, launch)
    yield _cover("braking", ahead, -1.0, extension, braking)
    yield _cover("cornering", aside, 1.0, extension, cornering)
    yield _cover("launch on the grade", ahead, 1.0, extension, launch, grade=grade)
    yield _standing("climbing", ahead, 1.0, extension, grade)
    yield _standing("descending", ahead, -1.0, extension, grade)


def _along(given: Given, group: str, extension: bool) -> _Box:
    position = given.number(f"bowls.{group}.jets_ahead", f"{group} jets ahead of the bowl's middle", "m")
    if extension:
        # The tube leads from the wall with the jets towards the opposite one, and ends before it.
        reach = given.number(f"bowls.{group}.extension_reach", f"reach of the {group} pickup extensions", "m")
        half = 0.5 * given.number(f"bowls.{group}.length", f"length of the {group} bowl", "m").value
        moved = position.value - math.copysign(reach.value, position.value)
        position = Input(f"{position.name}, less the extension", max(-half, min(half, moved)), "m", position.origin)
    return _box(given, group, "length", position)


def _across(given: Given, group: str) -> _Box:
    aside = given.number(f"bowls.{group}.jets_aside", f"outer {group} jet from the middle", "m")
    return _box(given, group, "width", aside)


def _box(given: Given, group: str, size: str, position: Input) -> _Box:
    length, height, level, jet = (
        given.number(f"bowls.{group}.{field}", f"{name} of the {group} bowl", "m")
        for field, name in ((size, size), ("height", "height"), ("level", "level"), ("jet_height", "inlet height"))
    )
    return _Box(length, height, level, jet, position)


def _depth(box: _Box, sign: float, slope: float) -> float:
    surface = free_surface(length_m=box.length.value, height_m=box.height.value, still_level_m=box.level.value,
                           slope=slope)  # fmt: skip
    return surface.level_m(position_m=box.facing(sign)) - box.jet_height.value


def _uncovering(box: _Box, sign: float) -> float:
    return uncovering_slope(length_m=box.length.value, height_m=box.height.value, still_level_m=box.level.value,
                            position_m=box.facing(sign), jet_height_m=box.jet_height.value)  # fmt: skip


def _cover(
    maneuver: Maneuver, box: _Box, sign: float, extension: bool, wanted: Input, *, grade: Input | None = None
) -> Cover:
    inputs = (box.length, box.height, box.level, box.jet_height, box.position, *([grade] if grade else []))
    angle = math.atan(grade.value) if grade else 0.0
    slope = surface_slope(acceleration_m_s2=wanted.value, grade_rad=angle)
    level = Worked("fuel over the inlet", _depth(box, sign, slope), "m",
                   "level of the tilted surface at the inlet - its height", (*inputs, wanted),
                   _HYDROSTATICS)  # fmt: skip
    least = _uncovering(box, sign)
    if math.isinf(least):
        return Cover(maneuver, extension, wanted, level, None, None)
    acceleration = max(0.0, uncovering_acceleration(slope=least, grade_rad=angle))
    at = Worked("acceleration that uncovers the inlet", acceleration, "m/s2",
                "g x the slope at which the surface meets the inlet", inputs, _HYDROSTATICS)  # fmt: skip
    return Cover(maneuver, extension, wanted, level, at, _margin(at, wanted))


def _standing(maneuver: Maneuver, box: _Box, sign: float, extension: bool, grade: Input) -> Cover:
    inputs = (box.length, box.height, box.level, box.jet_height, box.position)
    level = Worked("fuel over the inlet", _depth(box, sign, grade.value), "m",
                   "level of the tilted surface at the inlet - its height", (*inputs, grade),
                   _HYDROSTATICS)  # fmt: skip
    least = _uncovering(box, sign)
    if math.isinf(least):
        return Cover(maneuver, extension, grade, level, None, None)
    at = Worked("grade that uncovers the inlet", least, "", "slope at which the surface meets the inlet", inputs,
                _HYDROSTATICS)  # fmt: skip
    return Cover(maneuver, extension, grade, level, at, _margin(at, grade))


def _margin(at: Worked, wanted: Input) -> Worked | None:
    if wanted.value <= 0.0:
        return None
    found = Input(at.name, at.value, at.unit, FROM_STATES)
    return Worked("uncovering over wanted", at.value / wanted.value, "", "uncovers at / wanted", (found, wanted))
