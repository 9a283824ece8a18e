"""The work behind every number of the metering: formula, inputs, source, under the name that a report can ask for.

Names read from the outside in: `planned/full_boost_redline/primary/lambda`, `sizes/primary/main_jets/bore`.
"""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.fueling.circuit import Drilling, Origin
from boostcarb.fueling.given import FROM_JOB
from boostcarb.fueling.metering import Metering
from boostcarb.fueling.mixture import GroupMixture, Point, Pull, StateMixture
from boostcarb.fueling.model import Fueling
from boostcarb.fueling.records import Input, Worked
from boostcarb.physics.constants import GAS_CONSTANT_AIR, STANDARD_GRAVITY
from boostcarb.physics.fuels import Fuel
from boostcarb.solving.situation import StateView

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


def work_of(called: str, fueling: Fueling) -> Named:
    """Every number of every state of one configuration; names begin with what it is called."""
    metering = fueling.metering
    for circuit in fueling.circuits.values():
        for drilling in (circuit.main, circuit.restriction, circuit.bleed, circuit.nozzle):
            if drilling is not None and drilling.origin is not Origin.unknown:
                yield f"{called}/holes/{drilling.passage}/area", effective_area(drilling)
    views = {view.name: view for view in metering.states}
    for state in fueling.table:
        yield f"{called}/{state.state}/wanted", _wanted(metering, views[state.state])
        for group in state.groups:
            place = f"{called}/{state.state}/{group.group}"
            if group.pull is not None:
                yield from _pull(metering, place, group.pull)
                for name, point in _points(group):
                    yield from _point(metering, place, name, group, point)
        yield from _whole(f"{called}/{state.state}", state)


def _wanted(metering: Metering, state: StateView) -> Worked:
    """The lambda wanted in a state, from those wanted for the loads."""
    targets, pressures = metering.targets, state.result.pressures_pa_abs
    loads = tuple(
        Input(f"{load.replace('_', ' ')}", target.value, "", FROM_JOB if target.given else "usual, common practice")
        for load, target in targets.loads.items()
    )
    over = tuple(Input(space, pressures[space], "Pa abs", STATE) for space in ("manifold", "ambient"))
    return Worked(
        "lambda wanted", targets.in_state(state), "",
        "cruise where nothing enriches; wide open at full load without boost; boost at full boost; in boost at part "
        "throttle wide open + (manifold - ambient) / full boost, at most 1, x (boost - wide open)",
        (*loads, *over, Input("full boost over ambient", targets.full_boost_pa, "Pa", FROM_JOB)),
        "common practice, no source",
    )  # fmt: skip


def _whole(place: str, state: StateMixture) -> Named:
    """Lambda of all groups together, where every one that flows has one."""
    flowing = [group for group in state.groups if group.pull is not None]
    for name, whole in (("leanest", state.leanest), ("richest", state.richest)):
        if whole is None or (name == "richest" and state.leanest == state.richest):
            continue
        inputs = []
        for group in flowing:
            point = group.leanest if name == "leanest" else group.richest
            if group.pull is not None and point is not None:
                at, which = f"{place}/{group.group}", "" if group.leanest is group.richest else f"/{name}"
                inputs.append(Input(f"{group.group} air", group.pull.air_kg_s, "kg/s", f"{at}/air"))
                inputs.append(Input(f"{group.group} lambda", point.mixture, "", f"{at}{which}/lambda"))
        yield f"{place}/lambda" + ("" if state.leanest == state.richest else f"/{name}"), Worked(
            "lambda of all groups that flow", whole, "", "sum of air / sum of (air / lambda)", tuple(inputs),
            "conservation of mass",
        )  # fmt: skip


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


def _point(metering: Metering, group_place: str, which: str, group: GroupMixture, point: Point) -> Named:
    pull, place = group.pull, group_place + which
    if pull is None:
        raise ValueError(f"{place}: a flow without what drives it")
    density, lift = metering.fuel.density_kg_m3, metering.spill_height_m
    jets = (
        Input("effective area of the main jets", point.main_area_m2, "m2", "holes as drilled, with calibration"),
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
            Input("air horn temperature", pull.air_horn_temperature_k, "K", STATE),
            Input("booster throat", point.booster_pa_abs, "Pa abs", f"{group_place}/booster"),
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
            Input("air", pull.air_kg_s, "kg/s", f"{group_place}/air"),
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
