"""What goes for every family that travels with the package."""

from __future__ import annotations

from typing import get_args

import pytest
from family_jobs import bench_of

from boostcarb import pipeline
from boostcarb.description.family import Mode
from boostcarb.description.library import SHIPPED
from boostcarb.description.loading import shipped_families, shipped_family
from boostcarb.planning.search import Plan
from boostcarb.rulebook.loading import read_rules, shipped_rules_folder

FAMILIES = shipped_families()


def test_every_name_in_the_rulebook_is_one_of_some_family() -> None:
    """The program itself does not compare them at every start."""
    assert len(read_rules(shipped_rules_folder(), SHIPPED)) > 200


@pytest.mark.parametrize("name", FAMILIES)
def test_groups_have_venturis_throats_and_typical_values(name: str) -> None:
    family = shipped_family(name).family
    assert set(family.flow.venturis) == set(family.groups)
    for group in family.groups:
        assert family.spaces[f"{group}.venturi_throat"].source
        assert family.spaces[f"{group}.booster_throat"].source
    side = SHIPPED.fuel_side(name)
    assert {seat.partition(".")[0] for seat in family.passages if seat.endswith(".needle_seat")} <= set(side.bowls)


@pytest.mark.parametrize("name", FAMILIES)
def test_every_casting_that_comes_off_has_its_stage(name: str) -> None:
    family = shipped_family(name).family
    off = [casting for stage in family.stages.values() for casting in stage.takes_off]
    assert len(set(off)) == len(off)
    assert {"on_engine", "carburetor_off"} <= set(family.stages)


@pytest.mark.parametrize("mode", get_args(Mode))
@pytest.mark.parametrize("name", FAMILIES)
def test_as_built_there_is_a_plan_for_every_mode(name: str, mode: str) -> None:
    planned = pipeline.plan(bench_of({}, name, mode), alternatives=0)
    assert isinstance(planned.outcome, Plan)
    assert planned.clean


@pytest.mark.parametrize("name", FAMILIES)
def test_in_a_box_there_is_a_plan_too(name: str) -> None:
    bench = bench_of({}, name, enclosure="pressure_box")
    planned = pipeline.plan(bench, alternatives=0)
    assert isinstance(planned.outcome, Plan)


@pytest.mark.parametrize("name", FAMILIES)
def test_fuel_is_answered_for_every_family(name: str) -> None:
    """A mixture, or in so many words why there is none."""
    bench = bench_of({}, name)
    table = bench.fuel.model.fueling(bench.network.found(), fit_sizes=True).table
    assert {group.group for state in table for group in state.groups} == set(bench.family.family.groups)
