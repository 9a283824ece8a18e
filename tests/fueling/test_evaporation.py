"""Cooling by evaporation, ice, and a hot bowl when the boost is let off."""

from __future__ import annotations

from typing import Any

import pytest
from fuel_jobs import BONNET, side

from boostcarb.fueling.evaporation import Evaporation

RISKS = ("none", "possible", "likely")


def evaporation(target: str, **sections: Any) -> Evaporation:
    return side(target, **sections).evaporation


def test_ice_is_no_matter_behind_a_compressor() -> None:
    found = evaporation("blow_through")
    assert found.cooling == ()
    assert found.icing is None


@pytest.mark.parametrize("target", ["naturally_aspirated", "draw_through"])
def test_cooling_is_in_proportion_to_what_evaporates(target: str) -> None:
    found = evaporation(target)
    assert found.cooling
    for state in found.cooling:
        whole = state.drops[-1][1].value
        for share, drop in state.drops:
            assert drop.value == pytest.approx(share * whole)


def test_alcohols_cool_far_more_than_gasoline() -> None:
    drops = [evaporation("draw_through", fuel=fuel).cooling[0].drops[-1][1].value
             for fuel in ("petrol", "E85", "ethanol", "methanol")]  # fmt: skip
    assert drops == sorted(drops)
    assert drops[-1] > 5.0 * drops[0]


def test_more_humid_air_is_never_safer() -> None:
    icing = evaporation("draw_through").icing
    assert icing is not None
    for _, risks in icing.table:
        order = [RISKS.index(risk) for risk in risks]
        assert order == sorted(order)
    assert {risk for _, risks in icing.table for risk in risks} == set(RISKS)


def test_the_jobs_own_weather_is_judged() -> None:
    def risk(temperature: str, humidity: str) -> str:
        site = {"ambient_temperature": temperature, "humidity": humidity}
        icing = evaporation("naturally_aspirated", site=site).icing
        assert icing is not None
        return icing.here

    assert risk("5 degC", "95 %") == "likely"
    assert risk("5 degC", "5 %") == "none"
    assert risk("35 degC", "60 %") == "none"


def test_hot_fuel_boils_only_when_the_boost_is_let_off() -> None:
    found = evaporation("blow_through", found=BONNET, supply={"bowl_temperature": "60 degC"})
    assert [each.group for each in found.boiling] == ["primary", "secondary"]
    for bowl in found.boiling:
        assert bowl.after.value < bowl.vapor.value < bowl.before.value
        assert bowl.margin.value < 1.0
        assert bowl.flash is not None
        assert 0.0 < bowl.flash.value < 0.15


def test_cool_fuel_does_not_boil_and_hotter_fuel_flashes_more() -> None:
    def flash(temperature: str) -> float:
        found = evaporation("blow_through", supply={"bowl_temperature": temperature}).boiling[0]
        assert found.flash is not None
        assert (found.margin.value < 1.0) == (found.flash.value > 0.0)
        return found.flash.value

    shares = [flash(temperature) for temperature in ("30 degC", "40 degC", "55 degC", "60 degC", "65 degC")]
    assert shares[:2] == [0.0, 0.0]
    assert shares[2:] == sorted(shares[2:])
    assert shares[2] > 0.0


def test_winter_fuel_boils_sooner() -> None:
    winter, summer = (
        evaporation("blow_through", supply={"reid_vapor_pressure": reid}).boiling[0].margin.value
        for reid in ("95 kPa", "50 kPa")
    )
    assert winter < summer


@pytest.mark.parametrize("fuel", ["E10", "E85"])
def test_of_a_blend_nothing_is_claimed(fuel: str) -> None:
    found = evaporation("blow_through", fuel=fuel)
    assert found.boiling == ()
    assert found.not_said is not None
    assert fuel in found.not_said


def test_beyond_its_curve_nothing_is_claimed() -> None:
    found = evaporation("blow_through", supply={"bowl_temperature": "90 degC"})
    assert found.boiling == ()
    assert found.not_said is not None


def test_an_unboosted_bowl_has_nothing_to_let_off() -> None:
    for target in ("naturally_aspirated", "draw_through"):
        found = evaporation(target)
        assert found.boiling == ()
        assert found.not_said is None
