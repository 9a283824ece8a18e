"""Gas flow against tables, worked examples and independent libraries."""

from __future__ import annotations

import math

import fluids
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.constants import inch, torr
from scipy.optimize import brentq

from boostcarb.physics import gas, isentropic, iso_6358
from boostcarb.physics.constants import GAMMA_AIR, GAS_CONSTANT_AIR, STANDARD_PRESSURE, STANDARD_TEMPERATURE

INCH_OF_MERCURY = torr * 1000.0 * inch  # a torr is the pressure of 1 mm of mercury
CUBIC_FOOT_PER_MINUTE = (12.0 * inch) ** 3 / 60.0


# Source: Aeronautical Engineer's Data Book, tables A4.1 and A4.2 (the functions of NACA Report 1135),
# k = 1.4; a published copy was read for these rows. Tolerance: half of the last printed digit.
@pytest.mark.parametrize(
    ("mach", "pressure", "density", "temperature", "area"),
    [
        (0.1, 0.9930, 0.9950, 0.9980, 5.8218),
        (0.2, 0.9725, 0.9803, 0.9921, 2.9635),
        (0.5, 0.8430, 0.8852, 0.9524, 1.3398),
        (0.9, 0.5913, 0.6870, 0.8606, 1.0089),
        (1.0, 0.5283, 0.6339, 0.8333, 1.0000),
        (1.1, 0.4684, 0.5817, 0.8052, 1.0079),
    ],
)
def test_isentropic_functions_match_printed_tables(
    mach: float, pressure: float, density: float, temperature: float, area: float
) -> None:
    half_digit = 0.5e-4 + 1e-9
    assert isentropic.isentropic_pressure_ratio(mach=mach) == pytest.approx(pressure, abs=half_digit)
    assert isentropic.isentropic_density_ratio(mach=mach) == pytest.approx(density, abs=half_digit)
    assert isentropic.isentropic_temperature_ratio(mach=mach) == pytest.approx(temperature, abs=half_digit)
    assert isentropic.isentropic_area_ratio(mach=mach) == pytest.approx(area, abs=half_digit)


# Source: same printed tables, used crosswise: psi at p/p0 is the choked value over A/A*.
# Tolerance 0.2 %: p/p0 has four digits, and psi is steep near p/p0 = 1 (half a digit is 0.4 % at Mach 0.1,
# so that row is left out).
@pytest.mark.parametrize(
    ("pressure_ratio", "area_ratio"), [(0.9725, 2.9635), (0.8430, 1.3398), (0.5913, 1.0089)]
)
def test_flow_function_matches_area_ratio_tables(pressure_ratio: float, area_ratio: float) -> None:
    psi = gas.flow_function(pressure_ratio=pressure_ratio)
    assert psi * area_ratio == pytest.approx(gas.choked_flow_function(), rel=2e-3)


# Oracle: fluids.P_critical_flow, an independent implementation. Tolerance: rounding.
@pytest.mark.parametrize("gamma", [1.1, 1.3, GAMMA_AIR, 1.667])
def test_critical_ratio_matches_fluids(gamma: float) -> None:
    expected = fluids.P_critical_flow(1.0, gamma)
    assert gas.critical_pressure_ratio(gamma=gamma) == pytest.approx(expected, rel=1e-12)


# Oracle: fluids.T_critical_flow: 300 K still air is 250 K at Mach 1. Tolerance: rounding.
def test_sonic_temperature_matches_fluids() -> None:
    expected = fluids.T_critical_flow(300.0, GAMMA_AIR)
    assert 300.0 * isentropic.isentropic_temperature_ratio(mach=1.0) == pytest.approx(expected, rel=1e-12)


# Source: Fliegner's formula, 0.532 lbm sqrt(degR)/(lbf s), from memory. Tolerance 0.2 %: Fliegner's
# constant was measured and is given to three digits.
def test_choked_flow_matches_fliegner() -> None:
    pound, pound_force = 0.45359237, 4.4482216152605
    flow = gas.orifice_mass_flow(
        effective_area_m2=1.0, pressure_1_pa_abs=1.0, pressure_2_pa_abs=0.1, temperature_k=1.0
    )
    us_customary = flow / pound * math.sqrt(1.8) * pound_force
    assert us_customary == pytest.approx(0.532, rel=2e-3)


# Source: Cengel & Cimbala, Fluid Mechanics, 4th edition 2017, example 12-5 (hole in a tire): 220 kPa gauge
# over 94 kPa, 25 C, hole 4 mm, coefficient 1, gas constant 287. Inputs read in a published reworking of the
# example. Tolerance 0.5 %: the book rounds on its way.
def test_hole_in_a_tire() -> None:
    pressure = 220e3 + 94e3
    assert pressure * gas.critical_pressure_ratio() == pytest.approx(165.9e3, rel=5e-3)
    flow = gas.orifice_mass_flow(
        effective_area_m2=math.pi / 4.0 * 0.004**2,
        pressure_1_pa_abs=pressure,
        pressure_2_pa_abs=94e3,
        temperature_k=298.0,
        gas_constant=287.0,
    )
    assert flow * 60.0 == pytest.approx(0.554, rel=5e-3)


# Oracle: fluids.nozzle_expansibility, the expansibility factor of ISO 5167 for nozzles, which is the exact
# isentropic one; a vanishing diameter ratio removes the approach velocity. Tolerance 1e-9: rounding, with
# room for the cancellation in the oracle near ratio 1.
@pytest.mark.parametrize("ratio", [0.55, 0.6, 0.75, 0.9, 0.97, 0.995])
@pytest.mark.parametrize("gamma", [1.3, GAMMA_AIR])
def test_subsonic_flow_matches_nozzle_expansibility(ratio: float, gamma: float) -> None:
    upstream, temperature, area = 180e3, 330.0, 2e-6
    expansibility = fluids.nozzle_expansibility(
        D=1.0, Do=1e-6, P1=upstream, P2=ratio * upstream, k=gamma, beta=1e-6
    )
    drop = upstream * (1.0 - ratio)
    expected = area * expansibility * math.sqrt(2.0 * upstream / (GAS_CONSTANT_AIR * temperature) * drop)
    flow = gas.orifice_mass_flow(
        effective_area_m2=area,
        pressure_1_pa_abs=upstream,
        pressure_2_pa_abs=ratio * upstream,
        temperature_k=temperature,
        gamma=gamma,
    )
    assert flow == pytest.approx(expected, rel=1e-9)


# Oracle: CoolProp real air, expanded at constant entropy; the flow per area is density times the velocity
# that the enthalpy drop gives. Tolerance 0.3 %: air is not quite a perfect gas with gamma 1.4.
@pytest.mark.parametrize("ratio", [0.55, 0.7, 0.9, 0.98])
@pytest.mark.parametrize(("upstream", "temperature"), [(101325.0, 288.15), (250e3, 350.0)])
def test_subsonic_flow_matches_real_air(ratio: float, upstream: float, temperature: float) -> None:
    entropy = PropsSI("S", "P", upstream, "T", temperature, "Air")
    still = PropsSI("H", "P", upstream, "T", temperature, "Air")
    moving = PropsSI("H", "P", ratio * upstream, "S", entropy, "Air")
    expected = PropsSI("D", "P", ratio * upstream, "S", entropy, "Air") * math.sqrt(2.0 * (still - moving))
    flow = gas.orifice_mass_flow(
        effective_area_m2=1.0,
        pressure_1_pa_abs=upstream,
        pressure_2_pa_abs=ratio * upstream,
        temperature_k=temperature,
    )
    assert flow == pytest.approx(expected, rel=3e-3)


# Source: Bernoulli, the incompressible limit. Tolerance: the first compressible term, about 0.75/gamma of
# the relative drop, here 5e-5 of a drop of 1e-4.
def test_small_drop_is_incompressible() -> None:
    upstream, drop = 101325.0, 10.1325
    flow = gas.orifice_mass_flow(
        effective_area_m2=1e-4,
        pressure_1_pa_abs=upstream,
        pressure_2_pa_abs=upstream - drop,
        temperature_k=288.15,
    )
    rho = gas.density(pressure_pa_abs=upstream, temperature_k=288.15)
    assert flow == pytest.approx(1e-4 * math.sqrt(2.0 * rho * drop), rel=6e-5)


# Source: ISO 6358 with the reference density 1.185 kg/m3 of ISO 8778 (from memory): a part of
# 1 dm3/(s bar) at 7 bar passes 7 dm3/s of reference air when choked. Tolerance: rounding.
def test_iso_6358_choked_flow_is_conductance_times_pressure() -> None:
    flow = iso_6358.iso_6358_mass_flow(
        sonic_conductance_m3_s_pa=1e-3 / 1e5,
        critical_ratio=0.3,
        pressure_up_pa_abs=7e5,
        pressure_down_pa_abs=1e5,
        temperature_k=293.15,
    )
    assert flow == pytest.approx(7e-3 * 1.185, rel=1e-12)


# Source: the ellipse of ISO 6358 is a fit to the exact law. Tolerance 0.4 %: its known largest departure for
# an ideal orifice (recomputed: 0.32 % near ratio 1). The floor makes the test fail if both were one formula.
@pytest.mark.parametrize("ratio", [0.6, 0.7, 0.8, 0.9, 0.95, 0.98])
def test_iso_6358_ellipse_lies_close_to_exact_orifice(ratio: float) -> None:
    area, upstream, temperature = 1e-6, 3e5, 310.0
    conductance = (
        area
        * gas.choked_flow_function()
        / (iso_6358.ISO_6358_REFERENCE_DENSITY * math.sqrt(GAS_CONSTANT_AIR * iso_6358.ISO_6358_REFERENCE_TEMPERATURE))
    )
    ellipse = iso_6358.iso_6358_mass_flow(
        sonic_conductance_m3_s_pa=conductance,
        critical_ratio=gas.critical_pressure_ratio(),
        pressure_up_pa_abs=upstream,
        pressure_down_pa_abs=ratio * upstream,
        temperature_k=temperature,
    )
    exact = gas.orifice_mass_flow(
        effective_area_m2=area,
        pressure_1_pa_abs=upstream,
        pressure_2_pa_abs=ratio * upstream,
        temperature_k=temperature,
    )
    assert ellipse == pytest.approx(exact, rel=4e-3)
    assert ellipse < exact


# Oracle: CoolProp real air. Tolerance 0.5 %, the validity the function states; cold air at 5 bar is
# the worst.
@pytest.mark.parametrize("pressure", [50e3, 101325.0, 300e3, 500e3])
@pytest.mark.parametrize("temperature", [250.0, 288.15, 350.0, 450.0])
def test_density_matches_real_air(pressure: float, temperature: float) -> None:
    expected = PropsSI("D", "P", pressure, "T", temperature, "Air")
    assert gas.density(pressure_pa_abs=pressure, temperature_k=temperature) == pytest.approx(
        expected, rel=5e-3
    )


# Oracle: scipy's brentq on the flow function as printed in textbooks (two powers subtracted).
# Tolerance 1e-9: brentq's own, with the cancellation of the two powers.
@pytest.mark.parametrize("flow_share", [0.05, 0.3, 0.8, 0.99, 0.9999])
def test_throat_pressure_matches_bracketed_root(flow_share: float) -> None:
    pressure, temperature, area = 190e3, 325.0, 7e-4
    root_rt = math.sqrt(GAS_CONSTANT_AIR * temperature)
    choked_flow = 0.6847314563772704 * area * pressure / root_rt  # k = 1.4: sqrt(1.4) * (5/6)**3
    mass_flow = flow_share * choked_flow

    def missing(ratio: float) -> float:
        psi = math.sqrt(7.0 * (ratio ** (2.0 / 1.4) - ratio ** (2.4 / 1.4)))
        return area * pressure * psi / root_rt - mass_flow

    expected = pressure * brentq(missing, 0.5282817877, 1.0, xtol=1e-14, rtol=1e-14)
    found = isentropic.throat_pressure(
        mass_flow_kg_s=mass_flow, effective_area_m2=area, pressure_pa_abs=pressure, temperature_k=temperature
    )
    assert found == pytest.approx(expected, rel=1e-9)


# Source: Mathur & Sharma, Internal Combustion Engine, example 11.1 p. 243 (printed result read in a published
# reworking): 5 kg/min of air at 1.013 bar and 300 K through a 3.25 cm choke, velocity 90 m/s, velocity
# coefficient 0.8. The loss-free velocity is 90/0.8 m/s: by the energy equation it sets the throat pressure,
# and the loss-free flow 5/0.8 kg/min through the printed diameter must set the same one. Tolerance 0.1 %
# of the pressure: the book prints the diameter to three digits.
def test_choke_of_an_elementary_carburetor() -> None:
    diameter, velocity, velocity_coefficient = 3.25e-2, 90.0, 0.8
    found = isentropic.throat_pressure(
        mass_flow_kg_s=5.0 / 60.0 / velocity_coefficient,
        effective_area_m2=math.pi / 4.0 * diameter**2,
        pressure_pa_abs=1.013e5,
        temperature_k=300.0,
    )
    cp = 1005.0
    ideal = 1.013e5 * (1.0 - (velocity / velocity_coefficient) ** 2 / (2.0 * cp * 300.0)) ** 3.5
    assert found == pytest.approx(ideal, rel=1e-3)


# Source: common practice in the trade (from memory): four-barrels are rated at 1.5 inHg, one- and two-barrels
# at 3.0 inHg; the incompressible conversion between the two is the square root of 2.
# Regression value: the exact isentropic conversion is 1.3735 at 29.92 inHg (recomputed). Tolerance: its last
# digit.
def test_ratings_convert_between_the_two_drops() -> None:
    volume_flow = 600.0 * CUBIC_FOOT_PER_MINUTE
    at_low_drop = gas.effective_area_from_rating(
        volume_flow_m3_s=volume_flow, pressure_drop_pa=1.5 * INCH_OF_MERCURY
    )
    at_high_drop = gas.effective_area_from_rating(
        volume_flow_m3_s=volume_flow, pressure_drop_pa=3.0 * INCH_OF_MERCURY
    )
    assert at_low_drop / at_high_drop == pytest.approx(1.3735, abs=1e-4)
    assert at_low_drop / at_high_drop < math.sqrt(2.0)


# Oracle: fluids.nozzle_expansibility, as above. Tolerance: rounding.
def test_rating_area_matches_nozzle_expansibility() -> None:
    volume_flow, drop = 600.0 * CUBIC_FOOT_PER_MINUTE, 1.5 * INCH_OF_MERCURY
    expansibility = fluids.nozzle_expansibility(
        D=1.0, Do=1e-6, P1=STANDARD_PRESSURE, P2=STANDARD_PRESSURE - drop, k=GAMMA_AIR, beta=1e-6
    )
    rho = STANDARD_PRESSURE / (GAS_CONSTANT_AIR * STANDARD_TEMPERATURE)
    expected = volume_flow / (expansibility * math.sqrt(2.0 * drop / rho))
    found = gas.effective_area_from_rating(volume_flow_m3_s=volume_flow, pressure_drop_pa=drop)
    assert found == pytest.approx(expected, rel=1e-9)
