"""An air valve holds its pull: against the orifice law, and where it cannot."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.physics.gas import orifice_mass_flow
from boostcarb.states.carburetor_air import all_groups, choke_area, share_of, throat_pressures, wide_open
from boostcarb.states.inputs import Barrels, Carburetor

HORN, TEMPERATURE, PULL, REST = 101_325.0, 293.15, 2000.0, 0.03
AREA = math.pi / 4 * 0.044**2
ONE = Carburetor.of_groups([Barrels("main", AREA, depression_pa=PULL, rest_share=REST)],
                           rated_flow_m3_s=0.1, booster_gain=1.0)  # fmt: skip
FIXED = Carburetor.of_groups([Barrels("main", AREA)], rated_flow_m3_s=0.1, booster_gain=1.0)


def pull(carburetor: Carburetor, flow: float) -> float:
    found = throat_pressures(
        carburetor, mass_flow_kg_s=flow, air_horn_pa_abs=HORN, temperature_k=TEMPERATURE, flowing=all_groups(carburetor)
    )
    return HORN - found["main.venturi_throat"]


def flow_through(share: float, drop: float) -> float:
    """Flow of an opening of the valve with a drop to its throat: ideal to the throat, as the law of a nozzle."""
    area = share * choke_area(ONE, flowing=all_groups(ONE))
    return orifice_mass_flow(
        effective_area_m2=area, pressure_1_pa_abs=HORN, pressure_2_pa_abs=HORN - drop, temperature_k=TEMPERATURE
    )


def test_pull_is_the_same_over_a_wide_range_of_flow() -> None:
    for share in (0.05, 0.2, 0.5, 0.9):
        assert pull(ONE, flow_through(share, PULL)) == pytest.approx(PULL, rel=1e-9)


def test_pull_is_that_of_the_rest_opening_below_and_of_the_whole_bore_above() -> None:
    """Source: the nozzle equation; Heywood, Internal Combustion Engine Fundamentals, appendix C (from memory)."""
    assert pull(ONE, flow_through(REST, 500.0)) == pytest.approx(500.0, rel=1e-6)
    assert pull(ONE, flow_through(1.0, 6000.0)) == pytest.approx(6000.0, rel=1e-6)
    assert pull(ONE, 0.05) == pytest.approx(max(PULL, pull(FIXED, 0.05)))


@given(st.floats(1e-4, 0.2), st.floats(1.0, 1.5))
def test_pull_never_falls_with_the_flow(flow: float, factor: float) -> None:
    most = 0.9 * flow_through(1.0, 0.47 * HORN)
    low, high = min(flow, most), min(flow * factor, most)
    assert pull(ONE, high) >= pull(ONE, low) - 1e-6


def test_two_carburetors_share_the_air_and_are_one_of_twice_the_area() -> None:
    """Conservation of mass: a pair of halves is the whole."""
    half = Carburetor.of_groups([Barrels("main", AREA)], rated_flow_m3_s=0.1, booster_gain=2.0, count=2)
    whole = Carburetor.of_groups([Barrels("main", 2 * AREA)], rated_flow_m3_s=0.2, booster_gain=2.0)
    flowing = all_groups(half)
    assert share_of(half, "main", flowing=flowing) == pytest.approx(0.5 * share_of(whole, "main", flowing=flowing))
    assert wide_open(half, flowing=flowing) == wide_open(whole, flowing=flowing)
    assert throat_pressures(half, mass_flow_kg_s=0.2, air_horn_pa_abs=HORN, temperature_k=TEMPERATURE,
                            flowing=flowing) == throat_pressures(
        whole, mass_flow_kg_s=0.2, air_horn_pa_abs=HORN, temperature_k=TEMPERATURE, flowing=flowing)  # fmt: skip


def test_groups_of_any_name_are_those_of_primary_and_secondary() -> None:
    named = Carburetor.of_groups(
        [Barrels("front", 1e-3), Barrels("rear", 2e-3, "vacuum")], rated_flow_m3_s=0.2, booster_gain=2.0
    )
    old = Carburetor(rated_flow_m3_s=0.2, primary_venturi_area_m2=1e-3, secondary_venturi_area_m2=2e-3,
                     booster_gain=2.0, secondary_opening="vacuum")  # fmt: skip
    assert named.secondary_opening == old.secondary_opening
    given_new = wide_open(named, flowing=frozenset({"front"}))
    assert given_new == wide_open(old, flowing=frozenset({"primary"}))
