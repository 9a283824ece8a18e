"""Named margins: each is known to rules, found where it belongs, and judged only where the job says something."""

from __future__ import annotations

from typing import Any, get_args

import pytest
from fuel_jobs import BONNET, given, solved

from boostcarb.fueling.air_margins import air_margins
from boostcarb.fueling.margins import QUANTITIES, margins
from boostcarb.fueling.needle import seats
from boostcarb.rulebook import schema
from boostcarb.rulebook.loading import shipped_rules
from boostcarb.rulebook.margins import NEEDS

AIR = {"venturi_flow", "rated_flow"}
NAMED = set(get_args(schema.Margin.model_fields["of"].annotation))


def test_the_lists_of_margins_are_one_list() -> None:
    assert set(QUANTITIES) | AIR == set(NEEDS) == NAMED
    assert {name for name, needs in NEEDS.items() if not needs} == AIR


def test_every_margin_is_used_by_a_rule() -> None:
    used = {rule.requirement.of for rule in shipped_rules() if isinstance(rule.requirement, schema.Margin)}
    assert used == NAMED


@pytest.mark.parametrize("target", ["naturally_aspirated", "blow_through", "draw_through"])
@pytest.mark.parametrize("quantity", sorted(NAMED))
def test_margins_name_places_that_exist(target: str, quantity: str) -> None:
    job = solved(target, pump={"primary": {"set": {"diaphragm": "large", "cam": "small"}}},
                 supply={"return": False})  # fmt: skip
    found = tuple(air_margins(job, quantity)) if quantity in AIR else margins(job, quantity)
    known = {*job.network.spaces, *job.network.items, *(way.name for way in job.network.ways)}
    for margin in found:
        assert margin.place in known
        assert set(margin.spaces) <= set(job.pressures.spaces)
        assert set(margin.items) <= set(job.network.items)
        assert margin.value >= 0.0
        assert margin.state is None or job.state(margin.state) is not None


@pytest.mark.parametrize("quantity", sorted(NAMED - AIR))
def test_margins_stand_any_single_passage_closed(quantity: str) -> None:
    network = solved("blow_through").network
    found = network.found()
    passages = [item.name for item in network.items.values()
                if item.kind == "passage" and ("needle" in item.name or "pump" in item.name)
                and all(found[other] in forms for other, forms in item.conditions)]  # fmt: skip
    assert len(passages) > 8
    for passage in passages:
        job = solved("blow_through", found={passage: "plugged"}, supply={"return": False})
        assert isinstance(margins(job, quantity), tuple)


def test_a_closed_needle_seat_is_a_margin_of_nothing() -> None:
    job = solved("naturally_aspirated", found={"primary.needle_seat": "plugged"})
    found = {margin.value for margin in margins(job, "needle_flow") if margin.place == "primary.needle_seat"}
    assert found == {0.0}
    assert [seat.group for seat in seats(job, given(job))] == ["secondary"]


def test_needle_margins_are_those_of_the_supply() -> None:
    sections: dict[str, Any] = {"found": BONNET}
    values = [margin.value for margin in margins(solved("blow_through", **sections), "needle_flow")]
    assert min(values) > 1.3
