"""The air path against the outside world: other libraries, trade formulas, another way of solving it."""

from __future__ import annotations

import math

import pytest
from CoolProp.CoolProp import PropsSI
from fluids.compressible import isentropic_T_rise_compression
from scipy.optimize import brentq, fsolve

from boostcarb.states.air_path import StateResult, boundary_states
from boostcarb.states.inputs import RPM, Backfire, Carburetor, Cooler, Engine, Site, Turbo
from boostcarb.states.operating_state import Mode

INCH_OF_MERCURY = 3386.389  # conventional, 0 C
CUBIC_FOOT_A_MINUTE = 0.3048**3 / 60.0
CUBIC_INCH = 0.0254**3

ENGINE = Engine(displacement_m3=5.0e-3)
CARBURETOR = Carburetor(
    rated_flow_m3_s=600.0 * CUBIC_FOOT_A_MINUTE,
    primary_venturi_area_m2=15.8e-4,
    secondary_venturi_area_m2=17.5e-4,
    secondary_opening="mechanical",
)
SITE = Site()


def solve(
    mode: Mode, turbo: Turbo | None, engine: Engine = ENGINE, carburetor: Carburetor = CARBURETOR
) -> dict[str, StateResult]:
    results = boundary_states(mode, engine, carburetor, turbo, SITE, Backfire())
    return {each.state.id: each for each in results}


# --- The same balance, written and solved independently -------------------------------------------
# Saint-Venant and Wantzel's orifice law in terms of density and enthalpy; residual gas as in Heywood,
# Internal Combustion Engine Fundamentals (1988), equation 6.2 (from memory); all unknowns at once by
# a general solver. Only the inputs are shared with the package.

GAMMA = 1.4
GAS = 8.31432 / 28.9644e-3  # US Standard Atmosphere, 1976
AMBIENT, COLD = 101325.0, 288.15
TOLERANCE = 1e-6  # of pressures and flows: closes the solver's own tolerance and the gas constant's digits


def orifice(area: float, up: float, down: float, temperature: float) -> float:
    if down > up:
        return -orifice(area, down, up, temperature)
    ratio = max(down / up, (2.0 / (GAMMA + 1.0)) ** (GAMMA / (GAMMA - 1.0)))
    density = up / (GAS * temperature) * ratio ** (1.0 / GAMMA)
    heat = GAMMA / (GAMMA - 1.0) * GAS
    return area * density * math.sqrt(2.0 * heat * temperature * (1.0 - ratio ** ((GAMMA - 1.0) / GAMMA)))


def rated_area(carburetor: Carburetor) -> float:
    flow = carburetor.rated_flow_m3_s * AMBIENT / (GAS * COLD)
    return flow / orifice(1.0, AMBIENT, AMBIENT - carburetor.rated_drop_pa, COLD)


def swallowed(speed: float, manifold: float, temperature: float) -> float:
    r = ENGINE.compression_ratio
    exhaust = max(manifold, AMBIENT)
    ideal = r / (r - 1.0) - (exhaust / manifold + GAMMA - 1.0) / (GAMMA * (r - 1.0))
    filling = manifold / (GAS * temperature) * ENGINE.displacement_m3
    return 0.85 * ideal * filling * speed / 2.0


def charge_temperature(turbo: Turbo, ratio: float) -> float:
    hot = isentropic_T_rise_compression(COLD, 1.0, ratio, k=GAMMA, eta=turbo.efficiency)
    return hot if turbo.cooler is None else hot - turbo.cooler.effectiveness * (hot - COLD)


def wide_open_blow_through(
    turbo: Turbo, speed: float, rated_flow: float | None
) -> tuple[float, float, float]:
    """Flow, pressure ratio and manifold pressure with the air horn held at the boost."""
    assert turbo.cooler is not None
    horn = AMBIENT + turbo.boost_pa_gauge

    def balance(unknowns: list[float]) -> list[float]:
        flow, ratio, manifold = unknowns[0], unknowns[1], unknowns[2] * 1e5
        scale = 1.0 if rated_flow is None else (flow / rated_flow) ** 2
        outlet = ratio * (AMBIENT - scale * turbo.filter_loss_pa)
        temperature = charge_temperature(turbo, ratio)
        return [
            (outlet - scale * turbo.cooler.rated_loss_pa - horn) / 1e5,
            orifice(rated_area(CARBURETOR), horn, manifold, temperature) - flow,
            swallowed(speed, manifold, temperature) - flow,
        ]

    flow, ratio, manifold = fsolve(balance, [0.25, 1.7, 1.6], xtol=1e-13)
    return flow, ratio, manifold * 1e5


COOLED = Turbo(
    boost_pa_gauge=68.95e3,
    full_boost_speed_rev_s=3000.0 * RPM,
    wastegate_senses="air_horn",
    cooler=Cooler(),
)


@pytest.mark.parametrize(
    ("state", "speed"),
    [("full_boost_redline", 5500.0 * RPM), ("full_boost_torque_peak", 3500.0 * RPM)],
)
def test_full_boost_blow_through(state: str, speed: float) -> None:
    rated_flow = wide_open_blow_through(COOLED, 5500.0 * RPM, None)[0]
    flow, ratio, manifold = wide_open_blow_through(COOLED, speed, rated_flow)
    result = solve(Mode.blow_through, COOLED)[state]
    assert result.mass_flow_kg_s == pytest.approx(flow, rel=TOLERANCE)
    assert result.pressure_ratio == pytest.approx(ratio, rel=TOLERANCE)
    assert result.pressures_pa_abs["manifold"] == pytest.approx(manifold, rel=TOLERANCE)


@pytest.mark.parametrize(
    ("state", "share", "toward_redline"),
    [
        ("part_throttle_boost_light", 0.05, 0.0),
        ("part_throttle_boost_mid", 0.2, 0.25),
        ("part_throttle_boost_deep", 0.35, 0.5),
    ],
)
def test_part_throttle_boost_blow_through(state: str, share: float, toward_redline: float) -> None:
    rated_flow = wide_open_blow_through(COOLED, 5500.0 * RPM, None)[0]
    reference_flow, reference_ratio, _ = wide_open_blow_through(COOLED, 3000.0 * RPM, rated_flow)
    speed = (3000.0 + toward_redline * 2500.0) * RPM
    manifold = AMBIENT + share * COOLED.boost_pa_gauge
    assert COOLED.cooler is not None

    def horn(flow: float, ratio: float) -> float:
        scale = (flow / rated_flow) ** 2
        return ratio * (AMBIENT - scale * 2.5e3) - scale * 7.0e3

    def miss(flow: float) -> float:
        """Flow swallowed at the pressure ratio that this flow gives, less the flow."""
        ratio = 1.0 + (reference_ratio - 1.0) * (flow / reference_flow) ** 2
        scale = (flow / rated_flow) ** 2
        held = (AMBIENT + COOLED.boost_pa_gauge + scale * 7.0e3) / (AMBIENT - scale * 2.5e3)
        return swallowed(speed, manifold, charge_temperature(COOLED, min(ratio, held))) - flow

    flow = brentq(miss, 0.01, 0.5, xtol=1e-15, rtol=1e-14)
    result = solve(Mode.blow_through, COOLED)[state]
    temperature = charge_temperature(COOLED, result.pressure_ratio)
    assert result.mass_flow_kg_s == pytest.approx(flow, rel=TOLERANCE)
    assert result.pressures_pa_abs["air_horn"] == pytest.approx(
        horn(flow, result.pressure_ratio), rel=TOLERANCE
    )
    passed = orifice(result.throttle_area_m2, result.pressures_pa_abs["air_horn"], manifold, temperature)
    assert passed == pytest.approx(flow, rel=TOLERANCE)


def wide_open_draw_through(turbo: Turbo, speed: float, rated_flow: float | None) -> list[float]:
    """Flow, pressure ratio and base pressure with the compressor outlet held at the boost."""
    manifold = AMBIENT + turbo.boost_pa_gauge

    def balance(unknowns: list[float]) -> list[float]:
        flow, ratio, base = unknowns[0], unknowns[1], unknowns[2] * 1e5
        scale = 1.0 if rated_flow is None else (flow / rated_flow) ** 2
        return [
            orifice(rated_area(CARBURETOR), AMBIENT - scale * turbo.filter_loss_pa, base, COLD) - flow,
            swallowed(speed, manifold, charge_temperature(turbo, ratio)) - flow,
            ratio * base / manifold - 1.0,
        ]

    flow, ratio, base = fsolve(balance, [0.25, 1.8, 0.95], xtol=1e-13)
    return [flow, ratio, base * 1e5]


@pytest.mark.parametrize(
    ("state", "speed"),
    [("full_boost_redline", 5500.0 * RPM), ("full_boost_torque_peak", 3500.0 * RPM)],
)
def test_full_boost_draw_through(state: str, speed: float) -> None:
    turbo = Turbo(boost_pa_gauge=68.95e3, full_boost_speed_rev_s=3000.0 * RPM)
    rated_flow = wide_open_draw_through(turbo, 5500.0 * RPM, None)[0]
    flow, ratio, base = wide_open_draw_through(turbo, speed, rated_flow)
    result = solve(Mode.draw_through, turbo)[state]
    assert result.mass_flow_kg_s == pytest.approx(flow, rel=TOLERANCE)
    assert result.pressure_ratio == pytest.approx(ratio, rel=TOLERANCE)
    assert result.pressures_pa_abs["base"] == pytest.approx(base, rel=TOLERANCE)


def test_overrun_through_the_idle_opening() -> None:
    """Both choked at sea level: the same air as at idle, however fast the engine turns."""
    results = solve(Mode.naturally_aspirated, None)
    idle, overrun = results["idle"], results["overrun"]
    assert overrun.mass_flow_kg_s == pytest.approx(idle.mass_flow_kg_s, rel=1e-4)  # air cleaner loss only
    manifold = brentq(lambda p: swallowed(overrun.speed_rev_s, p, COLD) - overrun.mass_flow_kg_s, 10e3, 60e3)
    assert overrun.pressures_pa_abs["manifold"] == pytest.approx(manifold, rel=TOLERANCE)


# --- Properties of air ------------------------------------------------------------------------------


def test_charge_temperature_of_real_air() -> None:
    """CoolProp's real air, isentropic step divided by the efficiency; constant heat capacity is
    within 0.5 K of it at these pressure ratios.
    """
    turbo = Turbo(boost_pa_gauge=68.95e3, full_boost_speed_rev_s=3000.0 * RPM)
    result = solve(Mode.blow_through, turbo)["full_boost_redline"]
    at = result.pressures_pa_abs
    inlet, outlet = at["compressor_inlet"], at["compressor_outlet"]
    entropy = PropsSI("S", "T", COLD, "P", inlet, "Air")
    start = PropsSI("H", "T", COLD, "P", inlet, "Air")
    ideal = PropsSI("H", "S", entropy, "P", outlet, "Air")
    real = PropsSI("T", "H", start + (ideal - start) / turbo.efficiency, "P", outlet, "Air")
    assert result.temperatures_k["manifold"] == pytest.approx(real, abs=0.5)


def test_mass_flow_from_the_density_of_real_air() -> None:
    """Swept volume times CoolProp's density; perfect gas is within 0.2 %."""
    turbo = Turbo(boost_pa_gauge=68.95e3, full_boost_speed_rev_s=3000.0 * RPM)
    result = solve(Mode.blow_through, turbo)["full_boost_redline"]
    density = PropsSI(
        "D", "T", result.temperatures_k["manifold"], "P", result.pressures_pa_abs["manifold"], "Air"
    )
    volume_flow = 0.85 * ENGINE.displacement_m3 * result.speed_rev_s / 2.0
    assert result.mass_flow_kg_s == pytest.approx(volume_flow * density, rel=2e-3)


# --- Trade practice ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("rpm", "cfm"), [(3000.0, 303.8), (5000.0, 506.4), (6000.0, 607.6)])
def test_engine_volume_flow(rpm: float, cfm: float) -> None:
    """Trade formula: cubic inches times rpm over 3456 (exact: twice 1728) at 100 % filling. A carburetor
    without loss leaves only the printed digits, 0.02 %, and its own last bit of loss.
    """
    engine = Engine(
        displacement_m3=350.0 * CUBIC_INCH,
        redline_speed_rev_s=rpm * RPM,
        torque_peak_speed_rev_s=2500.0 * RPM,
        volumetric_efficiency=1.0,
        air_cleaner_loss_pa=0.0,
    )
    lossless = Carburetor(rated_flow_m3_s=20.0, primary_venturi_area_m2=0.3)
    result = solve(Mode.naturally_aspirated, None, engine, lossless)["wide_open_redline"]
    volume_flow = result.mass_flow_kg_s / (AMBIENT / (GAS * COLD))
    assert volume_flow / CUBIC_FOOT_A_MINUTE == pytest.approx(cfm, rel=5e-4)
    assert cfm == pytest.approx(350.0 * rpm / 3456.0, rel=2e-4)


def test_rating_at_two_drops() -> None:
    """Trade practice rates four-barrels at 1.5 and two-barrels at 3.0 inches of mercury. Exact isentropic
    flow between the two differs by 1.3735 at 29.92 inches (recomputed; printed to four digits), not by
    the root of two.
    """
    four_barrel = CARBURETOR
    as_two_barrel = Carburetor(
        rated_flow_m3_s=1.3735 * CARBURETOR.rated_flow_m3_s,
        rated_drop_pa=3.0 * INCH_OF_MERCURY,
        primary_venturi_area_m2=CARBURETOR.primary_venturi_area_m2,
        secondary_venturi_area_m2=CARBURETOR.secondary_venturi_area_m2,
        secondary_opening="mechanical",
    )
    one = solve(Mode.naturally_aspirated, None, ENGINE, four_barrel)["wide_open_redline"]
    other = solve(Mode.naturally_aspirated, None, ENGINE, as_two_barrel)["wide_open_redline"]
    assert one.throttle_area_m2 == pytest.approx(other.throttle_area_m2, rel=1e-4)
    assert one.pressures_pa_abs["base"] == pytest.approx(other.pressures_pa_abs["base"], rel=1e-5)


def expanded(drop: float, pressure: float) -> float:
    return drop * (1.0 - 1.5 / GAMMA * drop / pressure)


@pytest.mark.parametrize("mode", [Mode.naturally_aspirated, Mode.blow_through])
def test_carburetor_loss_scales_with_flow_and_density(mode: Mode) -> None:
    """Square law from the rated point, with the first-order expansion factor of gas through a nozzle,
    flow^2 = 2 density drop area^2 (1 - 3/(2 gamma) drop/pressure); the next order is below 0.3 % at
    drops of 5 %.
    """
    turbo = None if mode is Mode.naturally_aspirated else COOLED
    name = "wide_open_redline" if turbo is None else "full_boost_redline"
    result = solve(mode, turbo)[name]
    at = result.pressures_pa_abs
    standard = AMBIENT / (GAS * COLD)
    density = at["air_horn"] / (GAS * result.temperatures_k["air_horn"])
    rated_flow = CARBURETOR.rated_flow_m3_s * standard
    drop = at["air_horn"] - at["base"]
    at_rating = expanded(1.5 * INCH_OF_MERCURY, AMBIENT)
    square_law = at_rating * (result.mass_flow_kg_s / rated_flow) ** 2 * standard / density
    assert expanded(drop, at["air_horn"]) == pytest.approx(square_law, rel=0.003)


def test_unboosted_air_thins_with_altitude() -> None:
    """US Standard Atmosphere, 1976, geometric height (also fluids and ambiance): density at 1500 m is
    1.05810, at sea level 1.22500 kg/m3. A carburetor passes volume, so air flow follows density; 0.5 %
    covers the colder air, which loses a little less on the way.
    """
    flows = []
    for altitude in (0.0, 1500.0):
        results = boundary_states(
            Mode.naturally_aspirated, ENGINE, CARBURETOR, None, Site.at_altitude(altitude), Backfire()
        )
        flows.append(next(each for each in results if each.state.id == "wide_open_redline").mass_flow_kg_s)
    assert flows[1] / flows[0] == pytest.approx(1.05810 / 1.22500, rel=5e-3)
