"""Sanity values of the design for a 70 kPa conversion: assumed defaults, no source, wide tolerances.

Kilopascals absolute. They catch a mistake of kind (a sign, a missing loss), not one of a few percent.
"""

from __future__ import annotations

import pytest

from boostcarb.states.air_path import boundary_states
from boostcarb.states.inputs import Backfire, Carburetor, Engine, Site, Turbo
from boostcarb.states.operating_state import Mode

TOLERANCE = 9.0

NATURALLY_ASPIRATED = {
    "crank": {"air_horn": 101.2, "base": 94.0},
    "idle": {"air_horn": 101.2, "primary.booster_throat": 101.1, "base": 41.0},
    "cruise": {"air_horn": 100.9, "primary.booster_throat": 100.5, "base": 57.0},
    "tip_in": {"air_horn": 100.6, "primary.booster_throat": 97.0, "base": 94.0},
    "wide_open_torque_peak": {"air_horn": 100.0, "primary.booster_throat": 95.5, "base": 96.5},
    "wide_open_redline": {"air_horn": 99.0, "primary.booster_throat": 92.0, "base": 93.5},
    "overrun": {"air_horn": 101.2, "base": 23.0},
}
BLOW_THROUGH = {
    "crank": {"compressor_outlet": 101.3, "air_horn": 101.3, "manifold": 96.0},
    "idle": {"compressor_outlet": 101.3, "air_horn": 101.2, "manifold": 38.0},
    "cruise": {"compressor_outlet": 104.0, "air_horn": 103.0, "manifold": 58.0},
    "tip_in": {"air_horn": 103.0, "primary.booster_throat": 100.0, "manifold": 98.0},
    "wide_open_before_boost": {"air_horn": 102.0, "primary.booster_throat": 98.0, "manifold": 99.5},
    "part_throttle_boost_light": {"compressor_outlet": 127.0, "air_horn": 125.0, "manifold": 105.0},
    "part_throttle_boost_mid": {"compressor_outlet": 153.0, "air_horn": 150.0, "manifold": 115.0},
    "part_throttle_boost_deep": {"compressor_outlet": 174.0, "air_horn": 170.0, "manifold": 125.0},
    "full_boost_torque_peak": {"compressor_inlet": 99.0, "compressor_outlet": 180.0, "manifold": 171.0},
    "full_boost_redline": {"compressor_inlet": 97.0, "air_horn": 172.0, "manifold": 163.0},
    "lift_off": {"compressor_inlet": 103.0, "air_horn": 185.0},
    "overrun": {"air_horn": 102.0, "manifold": 23.0},
}
DRAW_THROUGH = {
    "crank": {"air_horn": 101.2, "base": 96.0, "manifold": 96.0},
    "idle": {"air_horn": 101.2, "base": 38.0, "manifold": 38.0},
    "cruise": {"air_horn": 101.0, "base": 52.0, "manifold": 60.0},
    "tip_in": {"air_horn": 100.5, "base": 92.0},
    "wide_open_before_boost": {"air_horn": 100.3, "primary.booster_throat": 96.0, "base": 96.0},
    "part_throttle_boost_light": {"air_horn": 100.5, "base": 78.0, "manifold": 105.0},
    "part_throttle_boost_mid": {"air_horn": 100.0, "base": 75.0, "manifold": 118.0},
    "full_boost_torque_peak": {
        "air_horn": 99.5,
        "primary.booster_throat": 91.0,
        "base": 94.0,
        "manifold": 171.0,
    },
    "full_boost_redline": {"air_horn": 98.5, "primary.booster_throat": 86.0, "base": 89.0, "manifold": 168.0},
    "overrun": {"air_horn": 101.2, "base": 18.0, "manifold": 23.0},
}


@pytest.mark.parametrize(
    ("mode", "table"),
    [
        (Mode.naturally_aspirated, NATURALLY_ASPIRATED),
        (Mode.blow_through, BLOW_THROUGH),
        (Mode.draw_through, DRAW_THROUGH),
    ],
)
def test_pressures_are_near_the_design_table(
    mode: Mode,
    table: dict[str, dict[str, float]],
    engine: Engine,
    carburetor: Carburetor,
    turbo: Turbo,
    cooled: Turbo,
) -> None:
    fitted = cooled if mode is Mode.blow_through else turbo
    results = boundary_states(mode, engine, carburetor, fitted, Site(), Backfire())
    by_id = {each.state.id: each for each in results}
    for name, row in table.items():
        for space, expected in row.items():
            found = by_id[name].pressures_pa_abs[space] / 1e3
            assert found == pytest.approx(expected, abs=TOLERANCE), (name, space)


def test_light_throttle_difference_of_a_blow_through(engine: Engine, carburetor: Carburetor, cooled: Turbo) -> None:
    results = boundary_states(Mode.blow_through, engine, carburetor, cooled, Site(), Backfire())
    across = {
        each.state.id: (each.pressures_pa_abs["air_horn"] - each.pressures_pa_abs["manifold"]) / 1e3 for each in results
    }
    assert 10.0 < across["part_throttle_boost_light"] < 30.0
    assert 35.0 < across["part_throttle_boost_deep"] < 55.0
    assert across["full_boost_redline"] < 12.0
    assert 120.0 < across["lift_off"] < 180.0


@pytest.mark.parametrize("mode", list(Mode))
def test_speed_of_all_states(
    mode: Mode,
    engine: Engine,
    carburetor: Carburetor,
    turbo: Turbo,
    benchmark,  # type: ignore[no-untyped-def]
) -> None:
    results = benchmark(boundary_states, mode, engine, carburetor, turbo, Site(), Backfire())
    assert max(each.residual for each in results) < 1e-9
