"""A mild V8 of 5.0 L with a four-barrel carburetor, and a turbo of 69 kPa for it."""

from __future__ import annotations

import pytest

from boostcarb.states.inputs import RPM, Carburetor, Cooler, Engine, Turbo


@pytest.fixture
def engine() -> Engine:
    return Engine(displacement_m3=5.0e-3)


@pytest.fixture
def carburetor() -> Carburetor:
    return Carburetor(
        rated_flow_m3_s=0.28317,  # 600 cubic feet a minute
        primary_venturi_area_m2=15.8e-4,
        secondary_venturi_area_m2=17.5e-4,
        secondary_opening="vacuum",
    )


@pytest.fixture
def turbo() -> Turbo:
    return Turbo(boost_pa_gauge=68.95e3, full_boost_speed_rev_s=3000.0 * RPM)


@pytest.fixture
def cooled() -> Turbo:
    return Turbo(
        boost_pa_gauge=68.95e3,
        full_boost_speed_rev_s=3000.0 * RPM,
        wastegate_senses="air_horn",
        cooler=Cooler(),
    )
