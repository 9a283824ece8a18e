import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.states.engine_air import EngineAir, volumetric_efficiency_at
from boostcarb.states.inputs import Engine


@given(
    manifold=st.floats(15e3, 300e3),
    ambient=st.floats(60e3, 105e3),
    compression=st.floats(6.0, 13.0),
    temperature=st.floats(250.0, 450.0),
)
def test_manifold_for_is_the_inverse_of_flow(
    manifold: float, ambient: float, compression: float, temperature: float
) -> None:
    engine = Engine(displacement_m3=2e-3, compression_ratio=compression)
    air = EngineAir.at_speed(engine, speed_rev_s=50.0, ambient_pa_abs=ambient)
    flow = air.flow(manifold_pa_abs=manifold, temperature_k=temperature)
    back = air.manifold_for(flow_kg_s=flow, temperature_k=temperature)
    if flow > 0.0:
        assert back == pytest.approx(manifold, rel=1e-12)


def test_flow_is_continuous_at_ambient_pressure(engine: Engine) -> None:
    air = EngineAir.at_speed(engine, speed_rev_s=50.0, ambient_pa_abs=1e5)
    below, above = (air.flow(manifold_pa_abs=pressure, temperature_k=290.0) for pressure in (1e5 - 1e-3, 1e5 + 1e-3))
    assert below == pytest.approx(above, rel=1e-7)


def test_no_flow_leaves_residual_gas_alone(engine: Engine) -> None:
    air = EngineAir.at_speed(engine, speed_rev_s=50.0, ambient_pa_abs=1e5)
    least = air.manifold_for(flow_kg_s=0.0, temperature_k=290.0)
    assert 5e3 < least < 15e3
    assert air.flow(manifold_pa_abs=least, temperature_k=290.0) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(("speed", "expected"), [(0.0, 0.7), (20.0, 0.7), (30.0, 0.75), (60.0, 0.9), (90.0, 0.9)])
def test_volumetric_efficiency_between_and_outside_its_pairs(speed: float, expected: float) -> None:
    pairs = ((20.0, 0.7), (40.0, 0.8), (60.0, 0.9))
    assert volumetric_efficiency_at(pairs, speed_rev_s=speed) == pytest.approx(expected)
