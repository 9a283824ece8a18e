"""The work behind every size to fit: the fuel wanted, the area that passes it, the bore, and each drill's lambda."""

from __future__ import annotations

from boostcarb.fueling.circuit import Circuit
from boostcarb.fueling.metering import Metering
from boostcarb.fueling.mixture import Pull
from boostcarb.fueling.records import Input, Worked
from boostcarb.fueling.sizes import Part, Size
from boostcarb.fueling.worked import ASSUMED, BALANCE, FUEL, HOLES, STATE, Named

IN_SERIES = "; the main jets pass the rest, the valve's window stands in series"
"""What the area of a restriction leaves to others."""


def size_work(metering: Metering, circuit: Circuit, size: Size, *, staged: bool = False) -> Named:
    """A size to fit, or one of two stages."""
    place = f"{'stages' if staged else 'sizes'}/{size.group}/{size.part.name}"
    state = next(each for each in metering.states if each.name == size.state)
    pull = metering.pull(state, circuit)
    wanted = Worked(
        f"fuel wanted in {size.state_title}", pull.air_kg_s / (size.target * metering.stoichiometric), "kg/s",
        "air / (lambda x stoichiometric ratio)",
        (
            Input("air through the group", pull.air_kg_s, "kg/s", STATE),
            Input("lambda wanted", size.target, "", f"planned/{size.state}/wanted"),
            Input("stoichiometric air-fuel ratio", metering.stoichiometric, "", FUEL),
        ),
        "conservation of mass",
    )  # fmt: skip
    yield f"{place}/fuel", wanted
    yield f"{place}/area", _area(metering, circuit, size, pull, Input("fuel", wanted.value, "kg/s", f"{place}/fuel"))
    yield f"{place}/bore", Worked(
        f"bore of each of the {size.found.count} {size.group} {size.part.value}", size.bore_m, "m",
        "root of (4 x area / (pi x holes x discharge coefficient))",
        (
            Input("area", size.area_m2, "m2", f"{place}/area"),
            Input("holes", size.found.count, "", HOLES),
            Input("discharge coefficient", size.found.discharge, "", ASSUMED),
        ),
        "geometry",
    )  # fmt: skip
    yield from _drills(metering, size, place, pull.air_kg_s)


def _area(metering: Metering, circuit: Circuit, size: Size, pull: Pull, fuel: Input) -> Worked:
    """The area, with all that the balance of the main well needs."""
    bleed = metering.factors.bleeds * circuit.bleed.area_m2 if circuit.bleed else 0.0
    nozzle = circuit.nozzle.area_m2 if circuit.nozzle else 0.0
    density = metering.fuel.sources["density_kg_m3"].text
    booster = f"planned/{size.state}/{size.group}/booster"
    beside = IN_SERIES if size.part is Part.restrictions else ""
    return Worked(
        f"effective area of the {size.group} {size.part.value}", size.area_m2, "m2",
        f"the area, times its factors, with which the main circuit passes the fuel{beside}",
        (
            fuel,
            Input("factor of the jets", metering.factors.jets, "", ASSUMED),
            Input("factor of the channels", metering.factors.channels, "", ASSUMED),
            Input("density of the fuel", metering.fuel.density_kg_m3, "kg/m3", density),
            Input("bowl", pull.bowl_low_pa_abs, "Pa abs", STATE),
            Input("air horn", pull.air_horn_pa_abs, "Pa abs", STATE),
            Input("air horn temperature", pull.air_horn_temperature_k, "K", STATE),
            Input("booster throat", metering.booster_pressure(pull), "Pa abs", booster),
            Input("spill height", metering.spill_height_m, "m", ASSUMED),
            Input("effective area of the bleed", bleed, "m2", HOLES),
            Input("effective area of the nozzle", nozzle, "m2", HOLES),
        ),
        BALANCE,
    )  # fmt: skip


def _drills(metering: Metering, size: Size, place: str, air_kg_s: float) -> Named:
    for choice in size.drills:
        if choice.mixture is None:
            continue
        drill, fuel = choice.drill, air_kg_s / (choice.mixture * metering.stoichiometric)
        yield f"{place}/drill/{drill.name}", Worked(
            f"lambda with the drill {drill.name} in {size.state_title}", choice.mixture, "",
            "air / (fuel x stoichiometric ratio), the fuel by the main circuit with holes x discharge x pi / 4 x "
            f"bore^2 in place of the area{IN_SERIES if size.part is Part.restrictions else ''}",
            (
                Input("air through the group", air_kg_s, "kg/s", STATE),
                Input("fuel", fuel, "kg/s", f"main circuit with this drill, pressures as in {place}/area"),
                Input("bore", drill.diameter_m, "m", f"drill of the {drill.series} series"),
                Input("holes", size.found.count, "", HOLES),
                Input("discharge coefficient", size.found.discharge, "", ASSUMED),
                Input("stoichiometric air-fuel ratio", metering.stoichiometric, "", FUEL),
            ),
            BALANCE,
        )  # fmt: skip
