"""How well the laws agree with published values and independent libraries: the table of the README.

Each row works out its cases and gives the largest relative difference. `test_agreement.py` holds every row to its
limit and the README to the table; to write the table anew: `python tests/reference/agreement.py`.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import NamedTuple

import cantera
import fluids
from ambiance import Atmosphere
from CoolProp.CoolProp import PropsSI

from boostcarb.physics import gas, isentropic
from boostcarb.physics.atmosphere import geopotential_altitude, standard_pressure
from boostcarb.physics.charge import compressor_outlet_temperature
from boostcarb.physics.constants import GAS_CONSTANT_AIR
from boostcarb.physics.evaporation import ETHANOL_VAPOR, METHANOL_VAPOR, vapor_pressure
from boostcarb.physics.fuels import Composition, stoichiometric_air_fuel_ratio
from boostcarb.physics.liquid import effective_bore_area, friction_factor, line_pressure_loss
from boostcarb.physics.metering import elementary_air_fuel_ratio, elementary_flow
from boostcarb.physics.slosh import free_surface, surface_slope

README = Path(__file__).parents[2] / "README.md"
HEADER = "| what | against | cases | largest difference |\n|---|---|---|---|\n"

Pair = tuple[float, float]
"""Our value and the other one."""


class Row(NamedTuple):
    """One line of the table; `limit`: the largest relative difference that the tests let pass."""

    what: str
    against: str
    pairs: Callable[[], Iterable[Pair]]
    limit: float

    def worst(self) -> tuple[int, float]:
        """Number of cases, and the largest difference relative to the other value."""
        differences = [abs(ours / theirs - 1.0) for ours, theirs in self.pairs()]
        return len(differences), max(differences)


def atmosphere() -> Iterable[Pair]:
    for height in (-500.0, 0.0, 1000.0, 1500.0, 2000.0, 3000.0, 5000.0):
        ours = standard_pressure(altitude_m=geopotential_altitude(geometric_m=height))
        yield ours, float(Atmosphere(height).pressure[0])
        yield ours, fluids.ATMOSPHERE_1976(height).P


# As printed, k = 1.4; rows of Mach number, pressure and density over those of still gas.
PRINTED = ((0.1, 0.9930, 0.9950), (0.2, 0.9725, 0.9803), (0.5, 0.8430, 0.8852), (1.0, 0.5283, 0.6339))


def isentropic_table() -> Iterable[Pair]:
    for mach, pressure, density in PRINTED:
        yield isentropic.isentropic_pressure_ratio(mach=mach), pressure
        yield isentropic.isentropic_density_ratio(mach=mach), density


def hole_in_a_tire() -> Iterable[Pair]:
    flow = gas.orifice_mass_flow(
        effective_area_m2=math.pi / 4.0 * 0.004**2, pressure_1_pa_abs=314e3, pressure_2_pa_abs=94e3,
        temperature_k=298.0, gas_constant=287.0,
    )
    yield flow * 60.0, 0.554


def subsonic_orifice() -> Iterable[Pair]:
    upstream, temperature, area = 180e3, 330.0, 2e-6
    for ratio in (0.55, 0.6, 0.75, 0.9, 0.97, 0.995):
        expansibility = fluids.nozzle_expansibility(D=1.0, Do=1e-6, P1=upstream, P2=ratio * upstream, k=1.4, beta=1e-6)
        drop = upstream * (1.0 - ratio)
        theirs = area * expansibility * math.sqrt(2.0 * upstream / (GAS_CONSTANT_AIR * temperature) * drop)
        ours = gas.orifice_mass_flow(
            effective_area_m2=area, pressure_1_pa_abs=upstream, pressure_2_pa_abs=ratio * upstream,
            temperature_k=temperature,
        )
        yield ours, theirs


def orifice_of_real_air() -> Iterable[Pair]:
    for upstream, temperature in ((101325.0, 288.15), (250e3, 350.0)):
        entropy = PropsSI("S", "P", upstream, "T", temperature, "Air")
        still = PropsSI("H", "P", upstream, "T", temperature, "Air")
        for ratio in (0.55, 0.7, 0.9, 0.98):
            moving = PropsSI("H", "P", ratio * upstream, "S", entropy, "Air")
            theirs = PropsSI("D", "P", ratio * upstream, "S", entropy, "Air") * math.sqrt(2.0 * (still - moving))
            ours = gas.orifice_mass_flow(
                effective_area_m2=1.0, pressure_1_pa_abs=upstream, pressure_2_pa_abs=ratio * upstream,
                temperature_k=temperature,
            )
            yield ours, theirs


def compressor() -> Iterable[Pair]:
    for ratio in (1.3, 1.5, 1.7, 2.0):
        entropy, inlet = (PropsSI(name, "P", 1e5, "T", 298.15, "Air") for name in "SH")
        ideal = PropsSI("H", "P", ratio * 1e5, "S", entropy, "Air")
        theirs = PropsSI("T", "P", ratio * 1e5, "H", inlet + (ideal - inlet) / 0.7, "Air")
        yield compressor_outlet_temperature(inlet_temperature_k=298.15, pressure_ratio=ratio, efficiency=0.7), theirs


def stoichiometry() -> Iterable[Pair]:
    species = {
        "C8H18,isooctane": (8, 18, 0), "C7H16,n-heptane": (7, 16, 0), "C7H8": (7, 8, 0), "C2H5OH": (2, 6, 1),
        "CH3OH": (1, 4, 1),
    }
    wanted = {*species, "N2", "O2", "Ar", "CO2", "H2O"}
    known = [each for each in cantera.Species.list_from_file("nasa_gas.yaml") if each.name in wanted]
    mixture = cantera.Solution(thermo="ideal-gas", species=known)
    mixture.basis = "mass"
    dry_air = "N2:0.7809, O2:0.2095, Ar:0.0093, CO2:0.0003"
    for name, (carbon, hydrogen, oxygen) in species.items():
        composition = Composition.of_formula(carbon=carbon, hydrogen=hydrogen, oxygen=oxygen)
        theirs = mixture.stoich_air_fuel_ratio({name: 1.0}, dry_air, basis="mole")
        yield stoichiometric_air_fuel_ratio(composition=composition), theirs


def textbook_carburetors() -> Iterable[Pair]:
    for throat, coefficient, density, suction, air in (
        (0.030, 0.75, 1.15, 4543.0, 0.05419), (0.028, 0.80, 1.2, 4448.0, 0.05089),
    ):
        area = effective_bore_area(diameter_m=throat, discharge_coefficient=coefficient)
        yield elementary_flow(effective_area_m2=area, density_kg_m3=density, depression_pa=suction), air
    small = {
        "venturi_effective_area_m2": effective_bore_area(diameter_m=0.020, discharge_coefficient=0.8),
        "jet_effective_area_m2": effective_bore_area(diameter_m=1.14e-3, discharge_coefficient=0.65),
        "air_density_kg_m3": 1.2, "fuel_density_kg_m3": 750.0, "depression_pa": 8000.0,
    }
    yield elementary_air_fuel_ratio(**small), 15.15
    yield elementary_air_fuel_ratio(lip_m=0.005, **small), 15.19


def alcohol_vapor() -> Iterable[Pair]:
    for curve, name in ((ETHANOL_VAPOR, "Ethanol"), (METHANOL_VAPOR, "Methanol")):
        for celsius in (4.0, 20.0, 40.0, 60.0, 80.0):
            theirs = PropsSI("P", "T", 273.15 + celsius, "Q", 0, name)
            yield vapor_pressure(curve=curve, temperature_k=273.15 + celsius), theirs


def turbulent_friction() -> Iterable[Pair]:
    for reynolds in (4e3, 1e4, 1e5, 1e6, 1e8):
        for roughness in (0.0, 1e-5, 1e-4, 1e-3, 1e-2, 0.05):
            theirs = fluids.friction_factor(Re=reynolds, eD=roughness, Method="Colebrook")
            yield friction_factor(reynolds=reynolds, relative_roughness=roughness), theirs


def textbook_pipe() -> Iterable[Pair]:
    ours = line_pressure_loss(
        mass_flow_kg_s=999.0 * 6e-3, length_m=60.0, diameter_m=0.05, density_kg_m3=999.0, viscosity_pa_s=1.138e-3,
        roughness_m=2e-6,
    )
    yield ours, 96.2e3


def coffee_mug() -> Iterable[Pair]:
    slope = surface_slope(acceleration_m_s2=7.0)
    yield math.degrees(math.atan(slope)), 35.5
    surface = free_surface(length_m=0.06, height_m=0.10, still_level_m=0.07, slope=slope)
    yield surface.level_m(position_m=-0.03) - 0.07, 0.0214


ROWS = (
    Row("standard atmosphere to 5000 m", "ambiance and fluids (US Standard Atmosphere 1976, ISO 2533)",
        atmosphere, 2e-6),
    Row("isentropic flow", "Aeronautical Engineer's Data Book, tables A4.1 and A4.2, four printed digits",
        isentropic_table, 2e-4),
    Row("choked orifice", "Cengel & Cimbala, Fluid Mechanics, 4th ed. 2017, example 12-5", hole_in_a_tire, 5e-3),
    Row("orifice below choking", "expansibility of nozzles of ISO 5167 (fluids)", subsonic_orifice, 1e-9),
    Row("orifice, real air to 250 kPa", "CoolProp", orifice_of_real_air, 3e-3),
    Row("air after the compressor, kelvin, pressure ratio to 2", "CoolProp, real air", compressor, 1.5e-3),
    Row("stoichiometric air-fuel ratio, five fuels", "cantera", stoichiometry, 1e-4),
    Row("choke tube and jet", "Ganesan, Internal Combustion Engines, examples 8.2 and 8.5 (inferred)",
        textbook_carburetors, 1e-3),
    Row("vapor pressure of alcohols, 4 to 80 °C", "CoolProp", alcohol_vapor, 2e-2),
    Row("friction in fuel lines", "Colebrook's equation (fluids)", turbulent_friction, 1e-4),
    Row("pressure loss of a pipe", "Cengel & Cimbala, Fluid Mechanics, example 8-3", textbook_pipe, 5e-3),
    Row("fuel tilted by acceleration", "White, Fluid Mechanics, coffee mug (from memory)", coffee_mug, 2e-3),
)


def digits(difference: float) -> str:
    """A difference for the table, rounded up to one digit; what is left of rounding is called that.

    >>> digits(0.00044), digits(2e-6), digits(1e-14)
    ('0.05 %', '0.0002 %', 'rounding')
    """
    if difference < 1e-9:
        return "rounding"
    percent = difference * 100.0
    places = max(0, -math.floor(math.log10(percent)))
    return f"{math.ceil(percent * 10**places) / 10**places:.{places}f} %"


def table() -> str:
    """The table in Markdown."""
    lines = []
    for row in ROWS:
        cases, worst = row.worst()
        lines.append(f"| {row.what} | {row.against} | {cases} | {digits(worst)} |\n")
    return HEADER + "".join(lines)


def main() -> None:
    """Put the table in place of the one in the README."""
    text = README.read_text(encoding="utf-8")
    before, found, rest = text.partition(HEADER)
    if not found:
        sys.exit(f"{README}: there is no table with the heading of this one")
    lines = rest.splitlines(keepends=True)
    while lines and lines[0].startswith("|"):
        del lines[0]
    README.write_text(before + table() + "".join(lines), encoding="utf-8")


if __name__ == "__main__":
    main()
