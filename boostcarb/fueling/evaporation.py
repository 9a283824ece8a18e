"""Evaporation behind the nozzle, ice, and a hot bowl that boils when the boost is let off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from boostcarb.errors import NotSolved
from boostcarb.fueling.demand import LambdaOf
from boostcarb.fueling.given import FROM_JOB, FROM_STATES, Given
from boostcarb.fueling.records import Input, Worked
from boostcarb.fueling.solved import Solved
from boostcarb.physics.evaporation import (
    AIR_HEAT_CAPACITY,
    VaporCurve,
    boiling_temperature,
    evaporative_temperature_drop,
    flash_share,
    icing_risk,
    vapor_pressure,
)
from boostcarb.physics.fuels import GASOLINE, Fuel, gasoline
from boostcarb.solving.situation import StateView

SHARES: Final = (0.2, 0.5, 1.0)
"""Evaporated shares that are shown: about what evaporates at the plate, least and most, and the bound (estimate)."""

AMBIENTS_K: Final = (263.15, 273.15, 278.15, 283.15, 293.15, 303.15)
HUMIDITIES: Final = (0.5, 0.8, 0.95)
USUAL_HUMIDITY: Final = 0.8
"""Relative humidity where the job says nothing (assumption: a damp day)."""

ICING_SHARE: Final = 0.5
"""Evaporated share that icing is judged with: the most that usually evaporates at the plate (estimate)."""

CP_OF_AIR = Input("cp of air", AIR_HEAT_CAPACITY, "J/(kg K)", "dry air near 300 K")


@dataclass(frozen=True, slots=True)
class Cooling:
    """Temperature drop in one state for each evaporated share; the last is an upper bound that is not reached."""

    state: str
    title: str
    drops: tuple[tuple[float, Worked], ...]


@dataclass(frozen=True, slots=True)
class Icing:
    """Risk by air temperature in K and relative humidity, for the drop of the coolest state at half evaporation."""

    drop: Worked
    here: str
    ambient: Input
    humidity: Input
    table: tuple[tuple[float, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class BowlBoiling:
    """Hot fuel when the pressure over it is let off.

    `margin` is the pressure afterwards over the vapor pressure; `flash` the share that turns to vapor, an upper bound.
    `boils_at` is None where the vapor curve does not reach. `bound` says why the vapor pressure is only a lower bound,
    where it is one: then only what boils is here.
    """

    group: str
    temperature: Input
    before: Input
    after: Input
    vapor: Worked
    margin: Worked
    boils_at: Worked | None
    flash: Worked | None
    bound: str | None = None


@dataclass(frozen=True, slots=True)
class Evaporation:
    """Cooling, ice and boiling; `not_said` is why there is no figure for boiling, where there is none."""

    cooling: tuple[Cooling, ...]
    icing: Icing | None
    boiling: tuple[BowlBoiling, ...]
    not_said: str | None


def evaporation(solved: Solved, given: Given, fuel: Fuel, lambda_of: LambdaOf) -> Evaporation:
    """Everything that evaporation does. Ice is judged only where no compressor has warmed the air."""
    cooling: tuple[Cooling, ...] = ()
    icing = None
    if solved.job.target != "blow_through":
        shown = [state for state in solved.running if state.name == "cruise" or state.wide_open]
        cooling = tuple(_cooling(fuel, lambda_of, state) for state in shown)
        icing = _icing(solved, cooling)
    boiling, not_said = _boiling(solved, given, fuel)
    return Evaporation(cooling, icing, boiling, not_said)


def _cooling(fuel: Fuel, lambda_of: LambdaOf, state: StateView) -> Cooling:
    wanted = lambda_of(state)
    ratio = Input("air-fuel ratio", wanted.value * fuel.stoichiometric_air_fuel_ratio, "", wanted.origin)
    latent = Input("heat of evaporation", fuel.latent_heat_j_kg, "J/kg", fuel.sources["latent_heat_j_kg"].text)
    heat = Input("specific heat of the fuel", fuel.heat_capacity_j_kg_k, "J/(kg K)",
                 fuel.sources["heat_capacity_j_kg_k"].text)  # fmt: skip

    def drop(share: float) -> Worked:
        value = evaporative_temperature_drop(
            evaporated_share=share, air_fuel_ratio=ratio.value, latent_heat_j_kg=latent.value,
            fuel_heat_capacity_j_kg_k=heat.value,
        )  # fmt: skip
        evaporated = Input("evaporated share", share, "", "estimate")
        return Worked("cooling by evaporation", value, "K", "share x latent / (ratio x cp of air + c of fuel)",
                      (evaporated, ratio, latent, heat, CP_OF_AIR), "heat balance")  # fmt: skip

    return Cooling(state.name, state.title, tuple((share, drop(share)) for share in SHARES))


def _icing(solved: Solved, cooling: tuple[Cooling, ...]) -> Icing | None:
    drops = [worked for each in cooling for share, worked in each.drops if share == ICING_SHARE]
    if not drops:
        return None
    drop = max(drops, key=lambda worked: worked.value)
    said = solved.job.site.humidity
    humidity = Input("relative humidity", USUAL_HUMIDITY if said is None else said, "",
                     "assumption: a damp day" if said is None else FROM_JOB)  # fmt: skip
    ambient = Input("air temperature", solved.inputs.site.ambient_temperature_k, "K", FROM_STATES)

    def risk(temperature_k: float, moisture: float) -> str:
        return icing_risk(temperature_k=temperature_k, relative_humidity=moisture, temperature_drop_k=drop.value)

    table = tuple((air, tuple(risk(air, moisture) for moisture in HUMIDITIES)) for air in AMBIENTS_K)
    return Icing(drop, risk(ambient.value, humidity.value), ambient, humidity, table)


def _boiling(solved: Solved, given: Given, fuel: Fuel) -> tuple[tuple[BowlBoiling, ...], str | None]:
    before, after = _around_lift_off(solved)
    if before is None or after is None or solved.job.target != "blow_through":
        return (), None
    reid = given.number("supply.reid_vapor_pressure", "Reid vapor pressure", "Pa")
    by_reid = fuel is GASOLINE or fuel.vapor is None
    curve = gasoline(reid_vapor_pressure_pa=reid.value).vapor if by_reid else fuel.vapor
    if curve is None:
        raise NotSolved(f"whether {fuel.name} boils (no vapor curve)")
    temperature = given.number("supply.bowl_temperature", "fuel in the hot bowl", "K")
    if temperature.value < curve.lowest_k:
        return (), (
            f"fuel at {temperature.value:.0f} K lies below the vapor curve, {curve.lowest_k:.0f} to "
            f"{curve.highest_k:.0f} K"
        )
    bound = _bound(fuel, curve, temperature.value)
    at = temperature
    if temperature.value > curve.highest_k:
        at = Input("highest temperature of the vapor curve", curve.highest_k, "K", curve.source)
    found = []
    not_said = None
    for way in solved.ways_of_kind("needle_seat"):
        group = way.name.partition(".")[0]
        space = f"{group}.bowl"
        high = Input(f"{group} bowl, {before.title}, absolute", solved.range_of(space, before)[1], "Pa", FROM_STATES)
        low = Input(f"{group} bowl, {after.title}, absolute", solved.range_of(space, after)[0], "Pa", FROM_STATES)
        pressure = Worked("vapor pressure of the fuel, absolute", vapor_pressure(curve=curve,
                          temperature_k=at.value), "Pa", "ln p = a - b / (T + c)",
                          (at, *([reid] if by_reid else []), *_constants(curve)),
                          curve.source)  # fmt: skip
        margin = Worked("pressure afterwards over vapor pressure", low.value / pressure.value, "", "p / vapor pressure",
                        (low, Input(pressure.name, pressure.value, "Pa", FROM_STATES)))  # fmt: skip
        if bound is not None and margin.value >= 1.0:
            not_said = f"{bound}, and at that bound it does not boil yet: it may all the same"
            continue
        boils_at, flash = (None, None) if bound is not None else _flash(fuel, curve, temperature, low)
        found.append(BowlBoiling(group, temperature, high, low, pressure, margin, boils_at, flash, bound))
    return tuple(found), not_said


def _bound(fuel: Fuel, curve: VaporCurve, temperature_k: float) -> str | None:
    """Why the vapor pressure from a curve is only a lower bound, if it is one."""
    said = []
    if fuel.vapor is None:
        said.append(f"vapor pressure at least that of gasoline, for {fuel.name} has no curve of its own")
    if temperature_k > curve.highest_k:
        said.append(
            f"vapor pressure at least that at {curve.highest_k:.0f} K, where its curve ends, for fuel at "
            f"{temperature_k:.0f} K"
        )
    return "; ".join(said) or None


def _around_lift_off(solved: Solved) -> tuple[StateView | None, StateView | None]:
    boosted = [state for state in solved.running if state.boosted and state.wide_open]
    return (boosted[-1] if boosted else None), solved.state("overrun")


def _constants(curve: VaporCurve) -> tuple[Input, ...]:
    """The constants of a vapor curve, for T in K and p in Pa."""
    return (
        Input("a", curve.a, "", curve.source),
        Input("b", curve.b_k, "K", curve.source),
        Input("c", curve.c_k, "K", curve.source),
    )


def _flash(fuel: Fuel, curve: VaporCurve, temperature: Input, after: Input) -> tuple[Worked | None, Worked | None]:
    """Boiling point at the pressure afterwards, and the share that flashes; None where the curve does not reach."""
    covered = [vapor_pressure(curve=curve, temperature_k=each) for each in (curve.lowest_k, curve.highest_k)]
    if not covered[0] <= after.value <= covered[1]:
        return None, None
    boils = boiling_temperature(curve=curve, pressure_pa_abs=after.value)
    boils_at = Worked("boiling point at the pressure afterwards", boils, "K", "ln p = a - b / (T + c), for T",
                      (after, *_constants(curve)), curve.source)  # fmt: skip
    share = flash_share(
        temperature_k=temperature.value, boiling_temperature_k=boils,
        heat_capacity_j_kg_k=fuel.heat_capacity_j_kg_k, latent_heat_j_kg=fuel.latent_heat_j_kg,
    )  # fmt: skip
    flash = Worked("share of the fuel that flashes, at most", share, "", "c (T - boiling point) / latent heat",
                   (temperature, Input(boils_at.name, boils, "K", curve.source),
                    Input("specific heat of the fuel", fuel.heat_capacity_j_kg_k, "J/(kg K)",
                          fuel.sources["heat_capacity_j_kg_k"].text),
                    Input("heat of evaporation", fuel.latent_heat_j_kg, "J/kg", fuel.sources["latent_heat_j_kg"].text)),
                   "heat balance; an upper bound for gasoline, whose light ends go first")  # fmt: skip
    return boils_at, flash
