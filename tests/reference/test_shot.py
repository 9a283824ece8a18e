"""Accelerator pump against second solutions: no published measurement was found."""

from __future__ import annotations

import math

import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from boostcarb.physics.shot import boost_load, boosted_travel, fade_pressure, pump_stroke, shot_duration


# Oracle: scipy finds the pressure between screw and nozzles from two separate orifices. Tolerance: rounding.
@pytest.mark.parametrize("screw", [0.3e-6, 0.8e-6, 2e-6])
@pytest.mark.parametrize("drop", [5e3, 20e3, 60e3])
def test_duration_matches_two_orifices(screw: float, drop: float) -> None:
    nozzles = 0.4e-6

    def volume_flow(area: float, difference: float) -> float:
        return area * math.sqrt(2.0 * max(0.0, difference) / 745.0)

    between = brentq(lambda p: volume_flow(screw, drop - p) - volume_flow(nozzles, p), 0.0, drop, xtol=1e-9)
    found = shot_duration(
        volume_m3=3e-6,
        nozzles_effective_area_m2=nozzles,
        screw_effective_area_m2=screw,
        pump_pressure_pa_abs=1e5 + drop,
        nozzle_pressure_pa_abs=1e5,
        density_kg_m3=745.0,
    )
    assert found == pytest.approx(3e-6 / volume_flow(nozzles, between), rel=1e-9)


# Oracle: scipy integrates the diaphragm of a soft override spring, whose force falls along the stroke by
# 10 %. Tolerance 0.2 %: the mean force stands for the falling one.
def test_duration_with_a_falling_spring_force() -> None:
    area, travel, first, last = 1e-3, 3e-3, 31.5, 28.5
    effective = 0.4e-6

    def speed(_: float, moved: list[float]) -> list[float]:
        force = first + (last - first) * moved[0] / travel
        return [effective * math.sqrt(2.0 * force / area / 745.0) / area]

    def done(_: float, moved: list[float]) -> float:
        return moved[0] - travel

    done.terminal = True  # type: ignore[attr-defined]
    path = solve_ivp(speed, (0.0, 10.0), [0.0], events=done, rtol=1e-9, atol=1e-12)
    found = shot_duration(
        volume_m3=area * travel,
        nozzles_effective_area_m2=effective,
        screw_effective_area_m2=1.0,
        pump_pressure_pa_abs=1e5 + 0.5 * (first + last) / area,
        nozzle_pressure_pa_abs=1e5,
        density_kg_m3=745.0,
    )
    assert found == pytest.approx(float(path.t_events[0][0]), rel=2e-3)


# Source: force = pressure times circle, worked by hand for 38 mm: 1.13 N per kPa; preloads of 25 and 45 N
# give way at 22 and 40 kPa above the dry side. Tolerance: the digits given.
def test_boost_on_a_diaphragm_of_38_mm() -> None:
    area = 0.25 * math.pi * 0.038**2
    load = boost_load(wet_pressure_pa_abs=102e3, dry_pressure_pa_abs=101e3, effective_area_m2=area)
    assert load == pytest.approx(1.13, abs=5e-3)
    for preload, kilopascals in ((25.0, 22.0), (45.0, 40.0)):
        fade = fade_pressure(override_preload_n=preload, dry_pressure_pa_abs=101e3, effective_area_m2=area)
        assert (fade - 101e3) / 1e3 == pytest.approx(kilopascals, abs=0.5)


# Source: volume of a cylinder, worked by hand: 30 mm bore, 4.244 mm travel, 3.0 cm3.
def test_stroke_of_a_plunger() -> None:
    stroke = pump_stroke(
        cam_lift_m=4.244e-3, lever_ratio=1.0, diaphragm_travel_m=6e-3, effective_area_m2=0.25 * math.pi * 0.030**2
    )
    assert stroke.volume_m3 * 1e6 == pytest.approx(3.0, abs=1e-3)


# Oracle: scipy balances the spring's force with the pressure's. Tolerance: rounding.
def test_boosted_travel_matches_a_force_balance() -> None:
    area, preload, rate, load = 1.134e-3, 35.0, 4e3, 40e3 * 1.134e-3
    given = brentq(lambda x: preload + rate * x - load, 0.0, 0.05, xtol=1e-15)
    found = boosted_travel(
        travel_m=5e-3,
        override_preload_n=preload,
        override_rate_n_m=rate,
        override_free_travel_m=8e-3,
        wet_pressure_pa_abs=141325.0,
        dry_pressure_pa_abs=101325.0,
        effective_area_m2=area,
    )
    assert found == pytest.approx(5e-3 - given, rel=1e-9)
