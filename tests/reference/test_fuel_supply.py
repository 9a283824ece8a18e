"""The fuel side against the outside: libraries, textbook examples and the trade's ratings.

Pipe friction and pressure loss: `fluids` (Colebrook by iteration). Compressible flow: `fluids`. Vapor pressure:
`CoolProp`. Ratings and engine air: the trade's formulas, recomputed.
"""

from __future__ import annotations

import math

import fluids
import pytest
from CoolProp.CoolProp import PropsSI
from fuel_jobs import BONNET, given, side, solved

from boostcarb.fueling.bowl import bowls
from boostcarb.fueling.capacity import capacity
from boostcarb.fueling.fuel_pump import LINE_FITTINGS
from boostcarb.fueling.needle import seats

INCH_OF_MERCURY = 3386.389
GRAVITY = 9.80665


# --- fuel line ----------------------------------------------------------------------------------------------------


def test_line_loss_agrees_with_fluids() -> None:
    """Darcy-Weisbach with Colebrook's factor as `fluids` solves it; our explicit factor is within 0.01 %."""
    line = {"bore": "6.5 mm", "length": "3 m", "lift": "0 m"}
    found = side("blow_through", found=BONNET, supply={"line": line}).supply
    fuel = found.demand.fuel
    checked = 0
    for need in found.pump:
        speed = need.demand.value / fuel.density_kg_m3 / (0.25 * math.pi * 6.5e-3**2)
        reynolds = fluids.Reynolds(V=speed, D=6.5e-3, rho=fuel.density_kg_m3, mu=fuel.viscosity_pa_s)
        if reynolds < 4000.0:  # between laminar and turbulent no two formulas agree
            continue
        factor = fluids.friction_factor(reynolds, eD=1.5e-6 / 6.5e-3, Method="Colebrook")
        losses = fluids.K_from_f(fd=factor, L=3.0, D=6.5e-3) + LINE_FITTINGS
        expected = fluids.dP_from_K(losses, rho=fuel.density_kg_m3, V=speed)
        assert need.line_loss.value == pytest.approx(expected, rel=5e-4)
        checked += 1
    assert checked >= 2


def test_pressure_along_an_accelerated_line() -> None:
    """The project's check of the fuel pump's head: 1 g over 3 m of line costs 22 kPa of gasoline (rho a L)."""
    sections = {"supply": {"line": {"length": "3 m"}}, "driving": {"launch": "1 g"}}
    need = side("naturally_aspirated", **sections).supply.worst_pump
    assert need.pressure_in_launch.value - need.pressure.value == pytest.approx(22e3, rel=0.01)


# --- needle and seat ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("bore_mm", "liters_an_hour"), [(2.5, 110.0), (2.8, 138.0), (3.3, 191.0), (3.8, 254.0)]
)
def test_needle_flow_by_torricelli(bore_mm: float, liters_an_hour: float) -> None:
    """Q = Cd A sqrt(2 dp / rho), Cd 0.6, lift ample, 40 kPa: the flows of a practitioner's table, rounded there."""
    job = solved("naturally_aspirated", supply={"needle_lift": "3 mm", "needle_discharge": "60 %"},
                 found={"primary.needle_seat": {"is": "open", "bore": f"{bore_mm} mm"}})  # fmt: skip
    seat = next(each for each in seats(job, given(job)) if each.group == "primary")
    assert seat.passes(40e3, 745.0) / 745.0 * 3.6e6 == pytest.approx(liters_an_hour, rel=0.005)


def test_push_on_the_needle() -> None:
    """40 kPa on a seat of 8.6 mm2 push with 0.34 N (pressure times area)."""
    job = solved("naturally_aspirated", found={"primary.needle_seat": {"is": "open", "bore": "3.3 mm"}},
                 supply={"float_force": "0.86 N"})  # fmt: skip
    seat = next(each for each in seats(job, given(job)) if each.group == "primary")
    margin = seat.closing_margin(40e3)
    assert margin is not None
    assert margin == pytest.approx(0.86 / 0.342, rel=0.01)


# --- carburetor size ----------------------------------------------------------------------------------------------


def test_volume_flow_of_an_engine_by_the_trades_formula() -> None:
    """cfm = cubic inches x rpm / 3456 x volumetric efficiency, the air as dense as in the manifold.

    Within 0.5 %: our engine also takes a little less where the exhaust left in it stands above the manifold.
    """
    engine = {"displacement": "350 cu in", "volumetric_efficiency": "80 %"}
    found = solved("naturally_aspirated", engine=engine)
    state = next(each for each in found.states if each.name == "wide_open_redline")
    at_manifold = 350.0 * 5600.0 / 3456.0 * 0.80
    pressures = state.result.pressures_pa_abs
    at_horn = at_manifold * pressures["manifold"] / pressures["air_horn"]
    load = next(each for each in capacity(found).loads if each.state == "wide_open_redline")
    assert load.volume_flow.value / (0.3048**3 / 60.0) == pytest.approx(at_horn, rel=5e-3)


def test_two_ratings_of_one_carburetor_give_one_share() -> None:
    """A flow at 3.0 inHg is 1.3735 times that at 1.5 inHg (exact isentropic flow from 29.92 inHg; the square root of
    two would be 1.414), so that both ratings name the same carburetor. The shares differ by a little less at 300 m.
    """
    at_one_and_a_half, at_three = (
        capacity(solved("naturally_aspirated", flow={"rated_flow": f"{cfm} cfm", "rated_drop": drop})).worst
        for cfm, drop in ((500.0, "1.5 inHg"), (500.0 * 1.3735, "3.0 inHg"))
    )
    assert at_three.loss.value == pytest.approx(at_one_and_a_half.loss.value, rel=1e-3)
    assert at_one_and_a_half.share.value / at_three.share.value == pytest.approx(1.3735, rel=2e-3)


def test_choked_flow_agrees_with_fluids() -> None:
    """Mass flow at the speed of sound in the throat, from the critical pressure and temperature of `fluids`."""
    job = solved("naturally_aspirated", flow={"rated_flow": "400 cfm"})
    load = next(each for each in capacity(job).loads if each.state == "wide_open_redline")
    values = {each.name: each.value for each in load.choke_margin.inputs}
    pressure, temperature = values["air horn, absolute"], values["air horn temperature"]
    throat = fluids.P_critical_flow(pressure, 1.4), fluids.T_critical_flow(temperature, 1.4)
    speed = math.sqrt(1.4 * 287.053 * throat[1])
    most = values["venturi area"] * throat[0] / (287.053 * throat[1]) * speed
    assert load.choke_margin.value == pytest.approx(most / values["air flow"], rel=1e-5)


# --- float bowl ---------------------------------------------------------------------------------------------------


def test_tilted_surface_as_in_the_textbook() -> None:
    """Free surface at 7 m/s2: 35.5 degrees, and 2.14 cm of rise over half of 6 cm (a mug in F. M. White, Fluid
    Mechanics; from memory, recomputed: 3 cm x 7 / 9.80665).
    """
    job = solved(
        "naturally_aspirated",
        bowls={"secondary": {"length": "60 mm", "height": "100 mm", "level": "70 mm", "jets_ahead": "30 mm",
                             "jet_height": "0 mm"}},
        driving={"launch": "7 m/s2"},
    )  # fmt: skip
    found = next(each for each in bowls(job, given(job)) if each.group == "secondary")
    launch = next(each for each in found.covers if each.maneuver == "launch")
    assert 0.070 - launch.level.value == pytest.approx(0.02141, abs=5e-5)
    assert launch.level.value == pytest.approx(0.070 - 0.03 * math.tan(math.radians(35.52)), abs=2e-5)


def test_one_g_uncovers_at_forty_five_degrees() -> None:
    """40 mm of fuel over jets 40 mm off the middle: 1 g (tan 45 degrees = 1)."""
    job = solved(
        "naturally_aspirated",
        bowls={"secondary": {"length": "80 mm", "height": "200 mm", "level": "45 mm", "jets_ahead": "40 mm",
                             "jet_height": "5 mm"}},
    )  # fmt: skip
    found = next(each for each in bowls(job, given(job)) if each.group == "secondary")
    launch = next(each for each in found.covers if each.maneuver == "launch")
    assert launch.uncovers_at is not None
    assert launch.uncovers_at.value == pytest.approx(GRAVITY)


# --- evaporation --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("fuel", "fluid"), [("methanol", "Methanol"), ("ethanol", "Ethanol")])
def test_vapor_pressure_of_a_hot_bowl_agrees_with_coolprop(fuel: str, fluid: str) -> None:
    """Saturation pressure at 60 C; Antoine's curve is within 1 % of the reference equation."""
    found = side("blow_through", fuel=fuel, supply={"bowl_temperature": "60 degC"}).evaporation.boiling[0]
    expected = PropsSI("P", "T", 333.15, "Q", 0.0, fluid)
    assert found.vapor.value == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize(
    ("fuel", "bound_k"), [("gasoline", 23.1), ("ethanol", 101.8), ("methanol", 181.5)]
)
def test_cooling_stays_below_the_bound_from_the_published_latent_heats(fuel: str, bound_k: float) -> None:
    """US DOE, Properties of Fuels: latent heat per mass of air at stoichiometric over 1.005 kJ/(kg K), air alone. Ours
    has the fuel's own heat in it as well, so it must come out lower, and by no more than that heat explains.
    """
    targets = {"targets": {"cruise": 1.0, "wide_open": 1.0}}
    whole = side("naturally_aspirated", fuel=fuel, metering=targets).evaporation.cooling[0].drops[-1][1].value
    assert 0.68 * bound_k < whole < bound_k
