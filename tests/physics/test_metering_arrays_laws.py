"""The main circuit for arrays gives what the scalar law gives, lane by lane."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.errors import NotSolved
from boostcarb.physics import metering_arrays
from boostcarb.physics.gas import flow_function, flow_function_slope
from boostcarb.physics.metering import NO_FLOW_KG_S, main_circuit
from boostcarb.physics.metering_arrays import main_circuit_arrays

FIELDS = ("fuel_kg_s", "bleed_air_kg_s", "well_pressure_pa_abs", "mixture_density_kg_m3")
CIRCUIT: dict[str, Any] = {
    "main_jet_effective_area_m2": 1.5e-6,
    "nozzle_effective_area_m2": 6e-6,
    "bleed_effective_area_m2": 0.6e-6,
    "bowl_pressure_pa_abs": 101325.0,
    "air_horn_pressure_pa_abs": 101325.0,
    "booster_pressure_pa_abs": 93000.0,
    "air_temperature_k": 288.15,
    "fuel_density_kg_m3": 745.0,
    "spill_height_m": 0.008,
}


def assert_equals_scalar(arguments: dict[str, Any]) -> None:
    found = main_circuit_arrays(**arguments)
    lanes = np.broadcast_shapes(*(np.shape(value) for value in arguments.values()))
    each = {name: np.broadcast_to(value, lanes) for name, value in arguments.items()}
    assert found.fuel_kg_s.shape == lanes
    for index in np.ndindex(lanes):
        scalar = main_circuit(**{name: float(values[index]) for name, values in each.items()})
        total = scalar.fuel_kg_s + scalar.bleed_air_kg_s
        # Air that is about to stop flows by the last bits of the pressures: there no two codings agree closely.
        stopping = abs(scalar.well_pressure_pa_abs - each["air_horn_pressure_pa_abs"][index]) < 1e-6
        close = 1e-4 if stopping else 1e-9
        assert abs(found.residual_kg_s[index]) <= close * total
        for name in FIELDS:
            scale = total if name.endswith("kg_s") else 0.0  # a trickle beside a stream is as coarse as the stream
            assert getattr(found, name)[index] == pytest.approx(
                getattr(scalar, name), rel=close, abs=close * scale + NO_FLOW_KG_S
            )


@given(
    draw=st.floats(-100.0, 6e4),
    jet=st.floats(0.0, 5e-6),
    power=st.floats(0.0, 2e-6),
    bleed=st.one_of(st.just(0.0), st.floats(1e-8, 3e-6)),
    nozzle=st.floats(1e-6, 1.0),
    over=st.floats(-2e3, 2e3),
    spill=st.floats(-0.02, 0.05),
)
def test_equal_to_the_scalar_law(
    *, draw: float, jet: float, power: float, bleed: float, nozzle: float, over: float, spill: float
) -> None:
    assert_equals_scalar(
        CIRCUIT
        | {
            "main_jet_effective_area_m2": jet,
            "power_effective_area_m2": power,
            "bleed_effective_area_m2": bleed,
            "nozzle_effective_area_m2": nozzle,
            "bowl_pressure_pa_abs": 101325.0 + over,
            "booster_pressure_pa_abs": 101325.0 - draw,
            "spill_height_m": spill,
        }
    )


def test_samples_by_states() -> None:
    random = np.random.default_rng(20240501)
    samples, states = (60, 1), (1, 16)
    bonnet = random.uniform(9e4, 2.2e5, states)
    assert_equals_scalar(
        {
            "main_jet_effective_area_m2": random.uniform(0.5e-6, 3e-6, samples),
            "power_effective_area_m2": random.choice([0.0, 1e-6], states),
            "bleed_effective_area_m2": random.uniform(0.0, 1.5e-6, samples),
            "nozzle_effective_area_m2": random.uniform(2e-6, 1e-5, samples),
            "bowl_pressure_pa_abs": bonnet,
            "air_horn_pressure_pa_abs": bonnet,
            "booster_pressure_pa_abs": bonnet - 10.0 ** random.uniform(-1.0, 4.3, (60, 16)),
            "air_temperature_k": random.uniform(250.0, 380.0, states),
            "fuel_density_kg_m3": 745.0,
            "spill_height_m": random.uniform(0.0, 0.015, samples),
            "fuel_level_m": random.uniform(-0.002, 0.002, samples),
        }
    )


def test_numbers_give_an_array_without_axes() -> None:
    found = main_circuit_arrays(**CIRCUIT)
    assert found.fuel_kg_s.shape == ()
    assert float(found.fuel_kg_s) == pytest.approx(main_circuit(**CIRCUIT).fuel_kg_s, rel=1e-9)


def test_no_lanes() -> None:
    assert main_circuit_arrays(**(CIRCUIT | {"booster_pressure_pa_abs": np.empty(0)})).fuel_kg_s.shape == (0,)


def test_too_few_steps_is_an_error_that_names_the_lane(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(metering_arrays, "MOST_STEPS", 1)
    with pytest.raises(NotSolved, match="did not converge at sample 1") as caught:
        main_circuit_arrays(**(CIRCUIT | {"booster_pressure_pa_abs": [101325.0, 93000.0]}))
    assert caught.value.residual is not None
    assert caught.value.residual != 0.0


def test_gas_law_and_its_slope_are_those_of_the_scalar_law() -> None:
    drops = np.array([1e-6, 1e-3, 0.05, 0.3, 0.47, 0.48, 0.9])
    psi, slope = metering_arrays._flow_function(drops)
    for index, drop in enumerate(drops):
        ratio = 1.0 - float(drop)
        assert psi[index] == pytest.approx(flow_function(pressure_ratio=ratio), rel=1e-9)
        assert slope[index] == pytest.approx(-flow_function_slope(pressure_ratio=ratio), rel=1e-9)
    assert [float(each[0]) for each in metering_arrays._flow_function(np.zeros(1))] == [0.0, 0.0]


def test_few_steps_are_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    """Newton's steps double the digits; halving alone would need some forty."""
    change = {"booster_pressure_pa_abs": 101325.0 - np.geomspace(100.0, 6e4, 200), "fuel_level_m": 0.004}
    monkeypatch.setattr(metering_arrays, "MOST_STEPS", 12)
    assert np.all(main_circuit_arrays(**(CIRCUIT | change)).fuel_kg_s > 0.0)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"nozzle_effective_area_m2": [6e-6, 0.0]}, "nozzle_effective_area_m2 must be finite and above 0, got 0.0"),
        (
            {"bleed_effective_area_m2": [0.0, -1e-9]},
            "bleed_effective_area_m2 must be finite and at least 0, got -1e-09",
        ),
        ({"booster_pressure_pa_abs": math.nan}, "booster_pressure_pa_abs must be finite and above 0, got nan"),
        ({"spill_height_m": math.inf}, "spill_height_m must be finite, got inf"),
    ],
)
def test_limits(change: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        main_circuit_arrays(**(CIRCUIT | change))


AREAS = ("main_jet_effective_area_m2", "power_effective_area_m2", "bleed_effective_area_m2")
HEIGHTS = ("spill_height_m", "fuel_level_m")


@pytest.mark.parametrize("name", [*CIRCUIT, "power_effective_area_m2", "fuel_level_m"])
def test_every_argument_is_refused_by_name(name: str) -> None:
    refused = [math.nan, math.inf]
    if name not in HEIGHTS:
        refused.append(-1e-9)
    if name not in AREAS + HEIGHTS:
        refused.append(0.0)
    for value in refused:
        with pytest.raises(ValueError, match=f"^{name} must be finite"):
            main_circuit_arrays(**(CIRCUIT | {name: [CIRCUIT.get(name, 0.0), value]}))


def test_shapes_that_do_not_fit() -> None:
    with pytest.raises(ValueError, match="shape mismatch"):
        main_circuit_arrays(
            **(CIRCUIT | {"booster_pressure_pa_abs": np.full(3, 9e4), "air_temperature_k": np.full(2, 300.0)})
        )
