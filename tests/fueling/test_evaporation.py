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
             for fuel in ("gasoline", "E85", "ethanol", "methanol")]  # fmt: skip
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
def test_a_blend_boils_at_least_where_gasoline_does(fuel: str) -> None:
    blend, gasoline = (
        evaporation("blow_through", fuel=each, supply={"bowl_temperature": "65 degC"}) for each in (fuel, "gasoline")
    )
    assert blend.not_said is None
    for bowl, other in zip(blend.boiling, gasoline.boiling, strict=True):
        assert bowl.vapor.value == other.vapor.value
        assert bowl.margin.value < 1.0
        assert bowl.bound is not None
        assert fuel in bowl.bound
        assert other.bound is None
        assert bowl.flash is None


@pytest.mark.parametrize("fuel", ["E10", "E85"])
def test_a_blend_that_does_not_boil_at_the_bound_is_not_cleared(fuel: str) -> None:
    found = evaporation("blow_through", fuel=fuel, supply={"bowl_temperature": "30 degC"})
    assert found.boiling == ()
    assert found.not_said is not None
    assert fuel in found.not_said


@pytest.mark.parametrize("temperature", ["90 degC", "110 degC"])
def test_fuel_hotter_than_its_curve_boils_if_it_does_at_the_end_of_it(temperature: str) -> None:
    """A hotter bowl never passes where a cooler one fails: the pressure at the end of the curve is a lower bound."""
    found = evaporation("blow_through", supply={"bowl_temperature": temperature})
    assert len(found.boiling) == 2
    for bowl in found.boiling:
        assert bowl.margin.value < 1.0
        assert bowl.bound is not None
        assert bowl.vapor.value > 100e3  # gasoline of 60 kPa at 37.8 degC, some 30 K hotter: about twice that and more


def test_hot_fuel_that_does_not_boil_at_the_end_of_its_curve_is_not_computed() -> None:
    found = evaporation("blow_through", supply={"bowl_temperature": "100 degC", "reid_vapor_pressure": "15 kPa"})
    assert found.boiling == ()
    assert found.not_said is not None
    assert "at least" in found.not_said


def test_an_unboosted_bowl_has_nothing_to_let_off() -> None:
    for target in ("naturally_aspirated", "draw_through"):
        found = evaporation(target)
        assert found.boiling == ()
        assert found.not_said is None
