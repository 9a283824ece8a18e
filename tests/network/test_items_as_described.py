"""Items of shipped families in the words of the bench: what is drilled, what only leaks, what a part is made of."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from boostcarb import pipeline
from boostcarb.network.model import ABSENT, OPEN, PLUGGED, Network

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = ("constant_depression_pair_blow_through", "street_blow_through")


@cache
def network(name: str) -> Network:
    return pipeline.set_up(pipeline.load(SCENARIOS / f"{name}.yaml")).network


@pytest.mark.parametrize("name", NAMES)
def test_passages_are_open_or_plugged_and_joints_leak_or_are_sound(name: str) -> None:
    built = network(name)
    kinds = {way.item: way.kind for way in built.ways}
    words = {
        each.name: {form: each.forms[form].title for form in each.forms}
        for each in built.items.values()
        if each.kind == "passage"
    }
    drilled, tight = {OPEN: "open", PLUGGED: "plugged"}, {OPEN: "leaking", PLUGGED: "sound"}
    assert all(said in (drilled, tight, {ABSENT: "absent", OPEN: "open"}) for said in words.values())
    assert {kinds[each] for each in words if words[each] == tight} <= {"joint", "clearance", "gasket_window"}
    assert all(built.items[each].found == ABSENT for each in words if ABSENT in words[each])
    assert {ABSENT in said for said in words.values()} == {True, False}


@pytest.mark.parametrize("name", NAMES)
def test_what_a_part_is_made_of_is_not_named_twice(name: str) -> None:
    titles = [each.title for each in network(name).items.values() if each.kind == "material"]
    for title in titles:
        made_of, _, part = title.partition(" of the ")
        assert made_of not in part or made_of == "material"
    assert any(title.startswith("material of the ") for title in titles)
    assert not all(title.startswith("material of the ") for title in titles)


def test_only_an_air_valve_makes_the_venturi_variable() -> None:
    assert network("constant_depression_pair_blow_through").circuit("main").variable
    four_barrel = network("street_blow_through")
    assert not any(four_barrel.circuit(group).variable for group in ("primary", "secondary"))


def test_a_bore_is_measured_where_somebody_measured_it() -> None:
    job = pipeline.load(SCENARIOS / "fuel_side_blow_through.yaml")
    built = pipeline.set_up(job).network
    measured = {name for name, state in job.job.found.items() if state.bore is not None}
    assert measured
    assert {way.item for way in built.ways if way.bore_measured} == measured


def test_volumes_of_the_description_reach_the_spaces() -> None:
    known = [space for space in network("street_blow_through").spaces.values() if space.volume_m3 is not None]
    assert known
    assert all(0.0 < space.volume_m3 < 0.1 for space in known if space.volume_m3 is not None)
