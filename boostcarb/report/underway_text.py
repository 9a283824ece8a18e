"""The fuel in the bowls under way, and what evaporates, as text for the bench."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.fueling.bowl import BowlUnderway, Cover
from boostcarb.fueling.evaporation import HUMIDITIES, BowlBoiling, Evaporation, Icing
from boostcarb.fueling.side import FuelSide
from boostcarb.network.model import Network
from boostcarb.quantities import (
    UnitSystem,
    format_absolute,
    format_fraction,
    format_temperature,
    format_value,
    units,
)
from boostcarb.report.wording import PRESSURE_UNIT
from boostcarb.report.wrapping import wrapped


def underway_sections(side: FuelSide, network: Network, system: UnitSystem) -> Iterator[str]:
    """Bowls under acceleration, evaporation and ice, boiling after lift-off."""
    if side.bowls:
        yield from ("", "FLOAT BOWLS UNDER WAY  quasi-steady, no baffles, the needle neither fills nor spills")
        for bowl in side.bowls:
            yield from _bowl(bowl, network.title_of(f"{bowl.group}.bowl"), system)
    found = side.evaporation
    if found.cooling:
        yield from ("", "EVAPORATION AND ICE")
        yield from _evaporation(found, system)
    if found.boiling or found.not_said:
        yield from ("", "HOT BOWL WHEN THE BOOST IS LET OFF  upper bounds")
        for boiling in found.boiling:
            yield _line(_boiling(boiling, network.title_of(f"{boiling.group}.bowl"), system))
        if found.not_said:
            yield _line(f"Not computed: {found.not_said}.")


def _line(text: str, indent: str = "  ") -> str:
    return wrapped(text, first=indent, rest=indent + "  ")


def _bowl(bowl: BowlUnderway, title: str, system: UnitSystem) -> Iterator[str]:
    fitted = "with pickup extensions" if bowl.extensions else "no pickup extensions"
    yield _line(f"{title}, {fitted}:")
    own = [cover for cover in bowl.covers if cover.extension == bowl.extensions]
    other = [cover for cover in bowl.covers if cover.extension != bowl.extensions]
    for mine, instead in zip(own, other, strict=True):
        otherwise = "" if _at(mine) == _at(instead) else (
            f"; {'without' if bowl.extensions else 'with'} extensions {_at(instead)}"
        )
        mark = "" if mine.covered else "  JETS RUN DRY"
        yield _line(f"{mine.maneuver} at {_amount(mine.wanted.value, mine)}: {_depth(mine, system)}, {_at(mine)}"
                    f"{otherwise}{mark}", "    ")  # fmt: skip
    if bowl.extension_fouls_float:
        yield _line("EXTENSIONS FOUL THE FLOAT: cut the float away over them, and check that it swings freely", "    ")


def _amount(value: float, cover: Cover) -> str:
    kind = units.ACCELERATION if cover.wanted.unit == "m/s2" else units.FRACTION
    return format_value(kind, value, "g" if cover.wanted.unit == "m/s2" else "%", digits=2)


def _depth(cover: Cover, system: UnitSystem) -> str:
    if cover.level.value > 0.0:
        return f"{format_value(units.LENGTH, cover.level.value, system, digits=2)} of fuel over the inlet"
    return "inlet out of the fuel"


def _at(cover: Cover) -> str:
    return "uncovers at none" if cover.uncovers_at is None else f"uncovers at {_amount(cover.uncovers_at.value, cover)}"


def _evaporation(found: Evaporation, system: UnitSystem) -> Iterator[str]:
    for cooling in found.cooling:
        drops = ", ".join(f"{_drop(worked.value, system)} at {share:.0%}" for share, worked in cooling.drops)
        yield _line(f"{cooling.title}: cools by {drops} of the fuel evaporated (all of it: a bound not reached)")
    if found.icing is not None:
        yield from _icing(found.icing, system)


def _drop(kelvin: float, system: UnitSystem) -> str:
    return f"{kelvin:.0f} K" if system is UnitSystem.METRIC else f"{kelvin * 1.8:.0f} °F"


def _icing(icing: Icing, system: UnitSystem) -> Iterator[str]:
    here = f"{format_temperature(icing.ambient.value, system)} and {format_fraction(icing.humidity.value)} humidity"
    yield _line(
        f"Ice at {here}: {icing.here}. A warning, not a forecast: warm the air or the plates where it is likely."
    )
    head = "".join(format_fraction(humidity).rjust(10) for humidity in HUMIDITIES)
    yield f"    {'air':<8}{head} humidity"
    for air, risks in icing.table:
        yield f"    {format_temperature(air, system):<8}{''.join(risk.rjust(10) for risk in risks)}"


def _boiling(found: BowlBoiling, title: str, system: UnitSystem) -> str:
    unit = PRESSURE_UNIT[system]
    text = (
        f"{title}, fuel at {format_temperature(found.temperature.value, system)}: "
        f"{format_absolute(found.before.value, unit)} in boost, {format_absolute(found.after.value, unit)} after; "
        f"vapor pressure {format_absolute(found.vapor.value, unit)}{f' ({found.bound})' if found.bound else ''}"
    )
    if found.margin.value >= 1.0:
        return f"{text}: does not boil"
    share = "" if found.flash is None else f", up to {format_fraction(found.flash.value, digits=2)} of the fuel"
    return f"{text}: BOILS as the boost is let off{share}; insulate the bowl, cool the fuel, fit a return line"
