"""Properties of fuels and blends, and their limits."""

from __future__ import annotations

import dataclasses
import math
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.physics.fuels import (
    E10,
    ETHANOL,
    GASOLINE,
    METHANOL,
    Composition,
    Fuel,
    Source,
    Status,
    blend,
    custom_fuel,
    e85,
    ethanol_blend,
    gasoline,
    stoichiometric_air_fuel_ratio,
)

BASES = [GASOLINE, ETHANOL, METHANOL]
VALUES = ["density_kg_m3", "latent_heat_j_kg", "heat_capacity_j_kg_k", "viscosity_pa_s", "lower_heating_value_j_kg"]
shares = st.floats(0.0, 1.0)


@pytest.mark.parametrize("fuel", [*BASES, E10, e85()], ids=lambda fuel: fuel.name)
def test_every_value_names_its_source(fuel: Fuel) -> None:
    assert set(fuel.sources) == {"composition", *VALUES}
    assert all(source.text for source in fuel.sources.values())
    assert {source.status for source in fuel.sources.values()} <= set(get_args(Status))


def test_what_is_estimated_says_so() -> None:
    def estimated(fuel: Fuel) -> set[str]:
        return {name for name, source in fuel.sources.items() if source.status == "estimate"}

    assert estimated(GASOLINE) == {"composition", "density_kg_m3", "viscosity_pa_s"}
    assert estimated(ETHANOL) == estimated(METHANOL) == set()
    assert estimated(E10) == {"viscosity_pa_s"}


def test_fuels_are_called_by_their_names() -> None:
    assert [fuel.name for fuel in (*BASES, E10, e85())] == ["gasoline", "ethanol", "methanol", "E10", "E85"]
    assert "90 % gasoline, 10 % ethanol" in E10.sources["density_kg_m3"].text


@given(share=shares)
def test_blend_lies_between_its_parts(share: float) -> None:
    mixed = ethanol_blend(name="mixed", ethanol_volume_share=share)
    rounding = 1e-12
    for name in [*VALUES, "stoichiometric_air_fuel_ratio"]:
        low, high = sorted((getattr(GASOLINE, name), getattr(ETHANOL, name)))
        assert low * (1.0 - rounding) <= getattr(mixed, name) <= high * (1.0 + rounding)


@given(share=shares, more=shares)
def test_more_ethanol_needs_less_air(share: float, more: float) -> None:
    low, high = sorted((share, more))
    lean = ethanol_blend(name="low", ethanol_volume_share=low).stoichiometric_air_fuel_ratio
    rich = ethanol_blend(name="high", ethanol_volume_share=high).stoichiometric_air_fuel_ratio
    assert rich <= lean * (1.0 + 1e-12)


@given(share=shares)
def test_stoichiometry_is_linear_in_mass(share: float) -> None:
    mixed = ethanol_blend(name="mixed", ethanol_volume_share=share)
    ethanol_mass = share * ETHANOL.density_kg_m3 / mixed.density_kg_m3
    expected = (
        ethanol_mass * ETHANOL.stoichiometric_air_fuel_ratio
        + (1.0 - ethanol_mass) * GASOLINE.stoichiometric_air_fuel_ratio
    )
    assert mixed.stoichiometric_air_fuel_ratio == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("fuel", BASES, ids=lambda fuel: fuel.name)
def test_blend_of_one_is_that_fuel(fuel: Fuel) -> None:
    alone = blend(name="alone", parts=[(fuel, 1.0), (E10, 0.0)])
    for name in [*VALUES, "stoichiometric_air_fuel_ratio"]:
        assert getattr(alone, name) == pytest.approx(getattr(fuel, name), rel=1e-12)
    assert alone.vapor == fuel.vapor


def test_blend_of_blends_is_one_blend() -> None:
    twice = blend(name="twice", parts=[(E10, 0.5), (GASOLINE, 0.5)])
    once = ethanol_blend(name="once", ethanol_volume_share=0.05)
    for name in [*VALUES, "stoichiometric_air_fuel_ratio"]:
        assert getattr(twice, name) == pytest.approx(getattr(once, name), rel=1e-12)


def test_blends_with_alcohol_claim_no_vapor_curve() -> None:
    assert E10.vapor is None
    assert e85().vapor is None


def test_e85_default_and_share() -> None:
    assert e85() == ethanol_blend(name="E85", ethanol_volume_share=0.85)
    winter = e85(ethanol_volume_share=0.51)
    assert winter.stoichiometric_air_fuel_ratio > e85().stoichiometric_air_fuel_ratio


def test_gasoline_of_another_volatility() -> None:
    winter = gasoline(reid_vapor_pressure_pa=90e3)
    assert winter.vapor is not None
    assert winter.vapor != GASOLINE.vapor
    assert winter.density_kg_m3 == GASOLINE.density_kg_m3


def test_custom_fuel_is_marked_as_given() -> None:
    fuel = custom_fuel(
        name="own",
        composition=Composition(carbon=0.86, hydrogen=0.14),
        density_kg_m3=740.0,
        latent_heat_j_kg=350e3,
        heat_capacity_j_kg_k=2000.0,
        viscosity_pa_s=4e-4,
        lower_heating_value_j_kg=43e6,
        source="data sheet",
        vapor=GASOLINE.vapor,
    )
    assert set(fuel.sources.values()) == {Source("data sheet", "given")}
    assert "given" in get_args(Status)
    assert fuel.vapor == GASOLINE.vapor
    assert fuel.stoichiometric_air_fuel_ratio == stoichiometric_air_fuel_ratio(composition=fuel.composition)


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize("name", VALUES)
def test_fuel_refuses_impossible_values(name: str, value: float) -> None:
    with pytest.raises(ValueError, match=f"{name} must be finite and above 0"):
        dataclasses.replace(GASOLINE, **{name: value})


def test_fuel_refuses_a_value_without_source() -> None:
    with pytest.raises(ValueError, match="missing composition, density_kg_m3"):
        dataclasses.replace(GASOLINE, sources={name: GASOLINE.sources[name] for name in VALUES[1:]})


def test_composition_limits() -> None:
    with pytest.raises(ValueError, match=r"carbon \+ hydrogen \+ oxygen must be from 0 to 1"):
        Composition(carbon=0.9, hydrogen=0.2)
    with pytest.raises(ValueError, match="hydrogen must be finite and at least 0"):
        Composition(carbon=0.9, hydrogen=-0.1)
    with pytest.raises(ValueError, match="mass of the formula must be finite and above 0"):
        Composition.of_formula(carbon=0, hydrogen=0)
    with pytest.raises(ValueError, match="oxygen needed must be finite and above 0"):
        stoichiometric_air_fuel_ratio(composition=Composition.of_formula(carbon=1, hydrogen=0, oxygen=2))


@pytest.mark.parametrize("parts", [[], [(GASOLINE, 0.5)], [(GASOLINE, 0.6), (ETHANOL, 0.6)]])
def test_volume_shares_must_add_up(parts: list[tuple[Fuel, float]]) -> None:
    with pytest.raises(ValueError, match="sum of the volume shares must be from"):
        blend(name="wrong", parts=parts)


def test_negative_share_is_refused() -> None:
    with pytest.raises(ValueError, match="volume share must be finite and at least 0"):
        blend(name="wrong", parts=[(GASOLINE, 1.5), (ETHANOL, -0.5)])
