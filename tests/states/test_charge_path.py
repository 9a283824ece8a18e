import pytest

from boostcarb.states.charge_path import ChargePath
from boostcarb.states.inputs import Engine, Site, Turbo
from boostcarb.states.operating_state import Mode


def test_losses_are_the_rated_ones_until_their_flow_is_known(engine: Engine, cooled: Turbo) -> None:
    path = ChargePath.of(Mode.blow_through, engine, cooled, Site())
    assert path.cooler_loss(0.1) == path.cooler_loss(0.4) == 7e3
    rated = path.rated_at(0.4)
    assert rated.cooler_loss(0.4) == pytest.approx(7e3)
    assert rated.cooler_loss(0.2) == pytest.approx(7e3 / 4.0)
    assert rated.after_filter(0.4) == pytest.approx(101325.0 - 2.5e3)


def test_order_of_the_parts(engine: Engine, cooled: Turbo) -> None:
    blow = ChargePath.of(Mode.blow_through, engine, cooled, Site()).rated_at(0.4)
    draw = ChargePath.of(Mode.draw_through, engine, cooled, Site()).rated_at(0.4)
    assert blow.air_horn(0.4, 2.0) == pytest.approx(2.0 * (101325.0 - 2.5e3) - 7e3)
    assert blow.base(0.4, 2.0, 150e3) == 150e3
    assert draw.air_horn(0.4, 2.0) == pytest.approx(101325.0 - 2.5e3)
    assert draw.base(0.4, 2.0, 150e3) == pytest.approx((150e3 + 7e3) / 2.0)
    assert draw.compressor_outlet(0.4, 2.0, 78.5e3) == pytest.approx(157e3)


def test_hot_side_of_the_carburetor(engine: Engine, turbo: Turbo) -> None:
    blow = ChargePath.of(Mode.blow_through, engine, turbo, Site())
    draw = ChargePath.of(Mode.draw_through, engine, turbo, Site())
    assert blow.air_horn_temperature(1.8) == blow.charge_temperature(1.8) > 350.0
    assert draw.air_horn_temperature(1.8) == Site().ambient_temperature_k
    assert draw.charge_temperature(1.8) == blow.charge_temperature(1.8)


def test_cooler_cools(engine: Engine, turbo: Turbo, cooled: Turbo) -> None:
    hot = ChargePath.of(Mode.blow_through, engine, turbo, Site()).charge_temperature(1.8)
    cool = ChargePath.of(Mode.blow_through, engine, cooled, Site()).charge_temperature(1.8)
    assert Site().ambient_temperature_k < cool < hot
