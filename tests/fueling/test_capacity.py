"""The carburetor's size: shares of the rating, losses, settings, choking."""

from __future__ import annotations

import pytest
from fuel_jobs import solved

from boostcarb.fueling.capacity import Capacity, Fit, capacity
from boostcarb.fueling.solved import Solved
from boostcarb.physics.gas import density

TARGETS = ("naturally_aspirated", "blow_through", "draw_through")


def sized(target: str, cfm: float) -> Capacity:
    return capacity(solved(target, flow={"rated_flow": f"{cfm} cfm"}))


@pytest.mark.parametrize("target", TARGETS)
def test_share_is_one_where_the_loss_is_the_rated_drop(target: str) -> None:
    """Loss over rated drop goes as the square of the share, but for the air's expansion: some 5 % at a drop of 5 %."""
    found = sized(target, 650)
    for load in found.loads:
        if load.wide_open and load.all_open:
            ratio = load.loss.value / found.rated_drop.value
            assert load.share.value**2 == pytest.approx(ratio, rel=0.06)


@pytest.mark.parametrize("target", TARGETS)
def test_a_larger_carburetor_is_used_less_and_loses_less(target: str) -> None:
    found = [sized(target, cfm) for cfm in (400, 550, 700, 950)]
    shares = [each.worst.share.value for each in found]
    losses = [each.worst.loss.value for each in found]
    assert shares == sorted(shares, reverse=True)
    assert losses == sorted(losses, reverse=True)


def test_verdicts_come_in_order_of_size() -> None:
    fits = [sized("blow_through", cfm).fit for cfm in (120, 330, 650, 1200)]
    assert fits == [Fit.chokes, Fit.too_small, Fit.fits, Fit.generous]


def test_draw_through_needs_more_volume_than_no_boost() -> None:
    plain, drawn = (sized(target, 650).worst for target in ("naturally_aspirated", "draw_through"))
    assert drawn.volume_flow.value > 1.2 * plain.volume_flow.value


def test_blow_through_passes_no_more_volume_but_denser_air() -> None:
    plain, blown = (sized(target, 650).worst for target in ("naturally_aspirated", "blow_through"))
    assert blown.volume_flow.value == pytest.approx(plain.volume_flow.value, rel=0.08)
    assert blown.loss.value > plain.loss.value


def density_in(found: Solved, state: str) -> float:
    result = next(each.result for each in found.states if each.name == state)
    return density(pressure_pa_abs=result.pressures_pa_abs["air_horn"], temperature_k=result.temperatures_k["air_horn"])


def test_volume_flow_times_density_is_the_air_flow() -> None:
    found = solved("blow_through")
    for load in capacity(found).loads:
        mass = next(each.value for each in load.volume_flow.inputs if each.unit == "kg/s")
        assert load.volume_flow.value * density_in(found, load.state) == pytest.approx(mass)


def test_setting_is_held_against_the_difference_across_the_diaphragm() -> None:
    found = capacity(solved("naturally_aspirated", flow={"rated_flow": "280 cfm"}))
    valve = next(each for each in found.valves if each.diaphragm == "primary.power_valve_diaphragm")
    assert valve.worst_state == "wide open at the redline"
    assert valve.ratio is not None
    assert valve.needed_setting.value == pytest.approx(1.5 * valve.setting.value / valve.ratio.value)
    assert found.base_setting.value == pytest.approx(1.5 * found.worst.loss.value)


def test_a_chamber_at_the_bonnet_feels_no_loss() -> None:
    found = {
        "primary.power_valve_reference_port": "open",
        "primary.power_valve_vacuum_passage": "plugged",
        "primary.power_valve_reference_line": "air_horn",
    }
    valve = capacity(solved("blow_through", found=found)).valves[0]
    assert valve.ratio is None
    assert valve.needed_setting.value == pytest.approx(0.0, abs=1.0)


def test_choking_venturis_are_told_by_a_margin_of_one() -> None:
    found = sized("blow_through", 120)
    tightest = min(load.choke_margin.value for load in found.loads)
    assert tightest == pytest.approx(1.0, abs=1e-6)
    assert min(load.choke_margin.value for load in sized("blow_through", 650).loads) > 2.0
