"""The work behind every number of the metering: formula, inputs, source, under the name that a report can ask for.

Names read from the outside in: `planned/full_boost_redline/primary/lambda`, `sizes/primary/main jets/bore`.
"""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.fueling.circuit import Drilling, Origin
from boostcarb.fueling.metering import Metering
from boostcarb.fueling.mixture import GroupMixture, Point, Pull
from boostcarb.fueling.model import Fueling
from boostcarb.fueling.records import Input, Worked
from boostcarb.fueling.sizes import Part, Size
from boostcarb.physics.constants import GAS_CONSTANT_AIR, STANDARD_GRAVITY
from boostcarb.physics.fuels import Fuel

STATE, HOLES, FUEL, ASSUMED = "solved state", "holes as drilled", "fuel", "documented default or calibration"
TORRICELLI = "Torricelli: flow of a liquid through an orifice"
BALANCE = "mass balance of the main well, homogeneous mixture through the nozzle"
ELEMENTARY = "elementary carburetor: fuel goes with the root of air density, air with density itself"
Named = Iterator[tuple[str, Worked]]


def effective_area(drilling: Drilling) -> Worked:
    """Effective area of all holes of a passage.

    >>> from boostcarb.fueling.circuit import Origin
    >>> round(effective_area(Drilling("jet", "jets", 2, 1.6e-3, 0.8, Origin.usual)).value * 1e6, 3)
    3.217
    """
    return Worked(
        f"effective area of the {drilling.title}", drilling.area_m2, "m2",
        "holes x discharge coefficient x pi / 4 x bore^2",
        (
            Input("holes", drilling.count, "", HOLES),
            Input("discharge coefficient", drilling.discharge, "", ASSUMED),
            Input("bore", drilling.bore_m, "m", drilling.origin.value),
        ),
        "geometry",
    )  # fmt: skip


def stoichiometric(fuel: Fuel) -> Worked:
    """Air that unit mass of the fuel needs."""
    made_of = fuel.composition
    source = fuel.sources["composition"].text
    return Worked(
        f"stoichiometric air-fuel ratio of {fuel.name}", fuel.stoichiometric_air_fuel_ratio, "",
        "(C / 12.011 + H / 4.032 - O / 31.998) / 0.2095 x 28.9644, C, H, O being shares by mass",
        (
            Input("carbon", made_of.carbon, "", source),
            Input("hydrogen", made_of.hydrogen, "", source),
            Input("oxygen", made_of.oxygen, "", source),
        ),
        "complete combustion, 20.95 % oxygen in dry air",
    )  # fmt: skip


def fuel_change(before: Fuel, now: Fuel) -> Worked:
    """How many times the effective area of every jet a change of fuel asks for, at the same lambda."""
    ratio = before.stoichiometric_air_fuel_ratio / now.stoichiometric_air_fuel_ratio
    return Worked(
        f"effective area of the jets, {now.name} over {before.name}",
        ratio * (before.density_kg_m3 / now.density_kg_m3) ** 0.5, "",
        "air-fuel ratio before / now x root of (density before / now)",
        (
            Input(f"air-fuel ratio of {before.name}", before.stoichiometric_air_fuel_ratio, "", FUEL),
            Input(f"air-fuel ratio of {now.name}", now.stoichiometric_air_fuel_ratio, "", FUEL),
            Input(f"density of {before.name}", before.density_kg_m3, "kg/m3", before.sources["density_kg_m3"].text),
            Input(f"density of {now.name}", now.density_kg_m3, "kg/m3", now.sources["density_kg_m3"].text),
        ),
        TORRICELLI,
    )  # fmt: skip


def work_of(fueling: Fueling) -> Named:
    """Every number of every state of one configuration."""
    metering = fueling.metering
    for circuit in fueling.circuits.values():
        for drilling in (circuit.main, circuit.restriction, circuit.bleed, circuit.nozzle):
            if drilling is not None and drilling.origin is not Origin.unknown:
                yield f"holes/{drilling.passage}/area", effective_area(drilling)
    for state in fueling.table:
        for group in state.groups:
            place = f"{state.state}/{group.group}"
            if group.pull is not None:
                yield from _pull(metering, place, group.pull)
                for name, point in _points(group):
                    yield from _point(metering, f"{place}{name}", group, group.pull, point)


def _points(group: GroupMixture) -> list[tuple[str, Point]]:
    if group.leanest is None or group.richest is None:
        return []
    if group.leanest is group.richest:
        return [("", group.leanest)]
    return [("/leanest", group.leanest), ("/richest", group.richest)]


def _pull(metering: Metering, place: str, pull: Pull) -> Named:
    yield f"{place}/air", Worked(
        "air through the group", pull.air_kg_s, "kg/s", "air of the engine x share of the group by venturi area",
        (
            Input("air of the engine", pull.air_kg_s / pull.group_share, "kg/s", STATE),
            Input("share of the group", pull.group_share, "", "venturi areas of the groups that flow"),
        ),
        "one air speed through all venturis that flow",
    )  # fmt: skip
    yield f"{place}/density", Worked(
        "density of the air in front of the venturi", pull.air_density_kg_m3, "kg/m3", "p / (R T)",
        (
            Input("air horn", pull.air_horn_pa_abs, "Pa abs", STATE),
            Input("air horn temperature", pull.air_horn_temperature_k, "K", STATE),
            Input("R", GAS_CONSTANT_AIR, "J/(kg K)", "US Standard Atmosphere 1976"),
        ),
        "ideal gas",
    )  # fmt: skip
    yield f"{place}/lean_shift", Worked(
        "lambda of the same jets over lambda where they were right", pull.lean_shift, "",
        "root of (density here / density where they were right)",
        (
            Input("density here", pull.air_density_kg_m3, "kg/m3", STATE),
            Input("density where they were right", pull.reference_density_kg_m3, "kg/m3", "site or metering.right_for"),
        ),
        ELEMENTARY,
    )  # fmt: skip
    yield f"{place}/booster", Worked(
        "pressure at the booster's throat", metering.booster_pressure(pull), "Pa abs",
        "air horn - gain x (air horn - venturi throat), at least the pressure at which the throat chokes",
        (
            Input("air horn", pull.air_horn_pa_abs, "Pa abs", STATE),
            Input("venturi throat", pull.venturi_throat_pa_abs, "Pa abs", STATE),
            Input("gain", metering.factors.booster_gain, "", ASSUMED),
        ),
        "common practice, no source",
    )  # fmt: skip


def _point(metering: Metering, place: str, group: GroupMixture, pull: Pull, point: Point) -> Named:
    density, lift = metering.fuel.density_kg_m3, metering.spill_height_m
    jets = (
        Input("effective area of the main jets", point.main_area_m2, "m2", f"holes/{group.group}, with calibration"),
        Input("effective area of the open channels", point.power_area_m2, "m2", f"valve {group.enrichment.value}"),
        Input("density of the fuel", density, "kg/m3", metering.fuel.sources["density_kg_m3"].text),
        Input("bowl", point.bowl_pa_abs, "Pa abs", STATE),
        Input("spill height", lift, "m", ASSUMED),
    )
    well = Input("main well", point.well_pa_abs, "Pa abs", f"{place}/well")
    yield f"{place}/well", Worked(
        "pressure in the main well", point.well_pa_abs, "Pa abs",
        "where jets and bleed pass what the nozzle passes: (fuel + bleed air)^2 = 2 x nozzle area^2 x mixture density"
        " x (well - booster)",
        (
            *jets,
            Input("effective area of the bleed", point.bleed_area_m2, "m2", HOLES),
            Input("effective area of the nozzle", point.nozzle_area_m2, "m2", HOLES),
            Input("air horn", pull.air_horn_pa_abs, "Pa abs", STATE),
            Input("booster throat", point.booster_pa_abs, "Pa abs", f"{group.state}/{group.group}/booster"),
        ),
        BALANCE,
    )  # fmt: skip
    yield f"{place}/fuel", Worked(
        "fuel through the group", point.fuel_kg_s, "kg/s",
        "(jets + channels) x root of (2 x density x (bowl - well - density x g x spill height))",
        (*jets, well, Input("g", STANDARD_GRAVITY, "m/s2", "standard gravity")),
        TORRICELLI,
    )  # fmt: skip
    yield f"{place}/bleed_air", Worked(
        "air through the high-speed bleed", point.bleed_air_kg_s, "kg/s",
        "bleed area x p / root of (R T) x flow function of (well / air horn)",
        (
            Input("effective area of the bleed", point.bleed_area_m2, "m2", HOLES),
            Input("air horn", pull.air_horn_pa_abs, "Pa abs", STATE),
            Input("air horn temperature", pull.air_horn_temperature_k, "K", STATE),
            well,
        ),
        "Saint-Venant and Wantzel: isentropic flow of a gas through an orifice",
    )  # fmt: skip
    yield f"{place}/air_fuel_ratio", Worked(
        "air-fuel ratio", point.air_fuel_ratio, "", "air / fuel",
        (
            Input("air", pull.air_kg_s, "kg/s", f"{group.state}/{group.group}/air"),
            Input("fuel", point.fuel_kg_s, "kg/s", f"{place}/fuel"),
        ),
        "definition",
    )  # fmt: skip
    yield f"{place}/lambda", Worked(
        "lambda", point.mixture, "", "air-fuel ratio / stoichiometric air-fuel ratio",
        (
            Input("air-fuel ratio", point.air_fuel_ratio, "", f"{place}/air_fuel_ratio"),
            Input("stoichiometric air-fuel ratio", metering.stoichiometric, "", FUEL),
        ),
        "definition",
    )  # fmt: skip


def size_work(metering: Metering, size: Size, *, staged: bool = False) -> Named:
    """A size to fit, or one of two stages."""
    place = f"{'stages' if staged else 'sizes'}/{size.group}/{size.part.value}"
    origin = f"area for lambda {size.target:.3g} in {size.state_title}"
    beside = "" if size.part is Part.main_jets else "; the main jets pass the rest, the valve's window stands in series"
    yield f"{place}/area", Worked(
        f"effective area of the {size.group} {size.part.value}", size.area_m2, "m2",
        f"the area with which the main circuit passes air / (lambda x stoichiometric ratio){beside}",
        (
            Input("lambda wanted", size.target, "", "metering.targets, or usual for the fuel"),
            Input("stoichiometric air-fuel ratio", metering.stoichiometric, "", FUEL),
            Input("factor of the jets", metering.factors.jets, "", ASSUMED),
            Input("factor of the channels", metering.factors.channels, "", ASSUMED),
        ),
        BALANCE,
    )  # fmt: skip
    yield f"{place}/bore", Worked(
        f"bore of each of the {size.found.count} {size.group} {size.part.value}", size.bore_m, "m",
        "root of (4 x area / (pi x holes x discharge coefficient))",
        (
            Input("area", size.area_m2, "m2", origin),
            Input("holes", size.found.count, "", HOLES),
            Input("discharge coefficient", size.found.discharge, "", ASSUMED),
        ),
        "geometry",
    )  # fmt: skip
