"""What a tear, a hose that comes off and a failed one-way valve open and shut, on a network small enough to draw.

    fitting --line--> manifold        chamber | wall | bowl        well --one-way check--> horn
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from boostcarb.network.latent import RUPTURE, TEAR_AREA_M2, with_latent
from boostcarb.network.model import Diaphragm, Form, Item, Network, Space, Stage, Way
from boostcarb.network.tracing import reached

SPACES = ("ambient", "bowl", "chamber", "fitting", "horn", "manifold", "well")


def item(name: str, kind: str, *forms: str) -> Item:
    return Item(name, f"the {name}", kind, "body", "on", {form: Form(form) for form in forms}, forms[0], confirmed=True)  # type: ignore[arg-type]


def way(name: str, a: str, b: str, kind: str, form: str, *, one_way: bool = False, carries: str = "air") -> Way:
    return Way(
        name=name, title=f"the {name}", kind=kind, a=a, b=b, area_m2=1e-6, carries=carries, casting="body", stage="on",
        item=name, conditions=((name, frozenset({form})),), one_way=one_way,
    )  # fmt: skip


def drawn(carries: str = "air", wets: str | None = None) -> Network:
    ways = (
        way("check", "well", "horn", "bore", "open", one_way=True, carries=carries),
        way("line", "fitting", "manifold", "line", "led"),
    )
    wall = Diaphragm(
        name="wall", title="the wall", first="chamber", second="bowl", role="pump", part="pump", feeds=None,
        works_through=(), conditions=(), valves={}, limits={"fitted": None}, wets=wets,  # type: ignore[dict-item]
    )  # fmt: skip
    return Network(
        spaces={name: Space(name, name, "body", "air", None, name in ("ambient", "manifold")) for name in SPACES},
        ways=ways,
        diaphragms={"wall": wall},
        items={
            "check": item("check", "passage", "open", "plugged"),
            "line": item("line", "line", "led", "capped"),
            "pump": item("pump", "part", "fitted", "removed"),
        },
        stages={"on": Stage("on", "as it stands", 0, ())},
        castings={"body": "body"},
        aliases={},
        ways_of={name: tuple(each for each in ways if name in (each.a, each.b)) for name in SPACES},
    )


def reach(network: Network, start: str, **forms: str) -> set[str]:
    named = {name.replace("__", "."): form for name, form in forms.items()}
    return set(reached(network, network.found() | named, start)) - {start}


def test_as_it_comes_everything_is_sound_and_nothing_is_added() -> None:
    plain, latent = drawn(), with_latent(drawn())
    added = {name: each for name, each in latent.items.items() if name not in plain.items}
    assert {name: each.found for name, each in added.items()} == {
        "check.one_way": "works", "line.hose": "sound", "wall.tear": "sound",
    }  # fmt: skip
    assert all(each.kind == "latent" and each.confirmed for each in added.values())
    assert {name: [form.title for form in each.forms.values()] for name, each in added.items()} == {
        "check.one_way": ["works", "lets flow pass back", "stuck shut", "fitted the wrong way round"],
        "line.hose": ["sound", "hose off", "hose pinched"],
        "wall.tear": ["sound", "torn"],
    }
    assert list(latent.items) == sorted(latent.items)
    assert latent.diaphragms["wall"].tear == "wall.tear"
    for start in SPACES:
        assert reach(latent, start) == reach(plain, start)
    for name in SPACES:
        assert latent.ways_of[name] == tuple(each for each in latent.ways if name in (each.a, each.b))


def test_what_can_fail_is_there_when_and_where_its_own_item_is() -> None:
    plain = drawn()
    fitted = (("pump", frozenset({"fitted"})),)
    items = {name: replace(each, casting="lid", stage="off", conditions=fitted) for name, each in plain.items.items()}
    latent = with_latent(replace(plain, items=items))
    for name in ("check.one_way", "line.hose", "wall.tear"):
        each = latent.items[name]
        assert (each.casting, each.stage, each.conditions) == ("lid", "off", fitted)


def test_tear_joins_both_sides_while_the_part_is_there() -> None:
    latent = with_latent(drawn())
    assert reach(latent, "bowl", wall__tear="torn") == {"chamber"}
    assert reach(latent, "chamber", wall__tear="torn") == {"bowl"}
    assert reach(latent, "bowl", wall__tear="torn", pump="removed") == set()


@pytest.mark.parametrize(("wets", "ends", "carries"), [
    (None, ("chamber", "bowl"), "air"), ("chamber", ("chamber", "bowl"), "fuel"), ("bowl", ("bowl", "chamber"), "fuel"),
])  # fmt: skip
def test_tear_lets_out_what_stands_against_it(wets: str | None, ends: tuple[str, str], carries: str) -> None:
    tear = next(each for each in with_latent(drawn(wets=wets)).ways if each.kind == RUPTURE)
    assert ((tear.a, tear.b), tear.carries, tear.area_m2) == (ends, carries, TEAR_AREA_M2)
    assert tear.title == "tear in the the wall"


def test_piston_has_nothing_to_tear() -> None:
    plain = drawn()
    piston = replace(plain, diaphragms={"wall": replace(plain.diaphragms["wall"], leak="clearance")})
    assert with_latent(piston).diaphragms["wall"].tear is None
    assert "wall.tear" not in with_latent(piston).items


def test_hose_off_opens_both_ends_and_a_pinched_one_none() -> None:
    latent = with_latent(drawn())
    assert reach(latent, "fitting") == {"manifold"}
    assert reach(latent, "fitting", line__hose="off") == {"ambient"}
    assert "ambient" in reach(latent, "manifold", line__hose="off")
    assert reach(latent, "fitting", line__hose="pinched") == set()
    assert reach(latent, "manifold", line__hose="pinched") == set()


def test_cap_can_come_off_a_line_that_leads_nowhere() -> None:
    latent = with_latent(drawn())
    assert reach(latent, "fitting", line="capped") == set()
    assert reach(latent, "fitting", line="capped", line__hose="off") == {"ambient"}
    assert reach(latent, "manifold", line="capped", line__hose="off") == set()


def test_one_way_valve_in_each_of_its_forms() -> None:
    latent = with_latent(drawn())

    def passes_to(end: str, start: str, form: str) -> bool:
        return end in reach(latent, start, check__one_way=form)

    passes = {
        form: (passes_to("horn", "well", form), passes_to("well", "horn", form))
        for form in latent.items["check.one_way"].forms
    }
    assert passes == {
        "works": (True, False), "leaks": (True, True), "stuck_shut": (False, False), "turned_round": (False, True),
    }  # fmt: skip
    assert not any(reach(latent, "well", check="plugged", check__one_way=form) for form in passes)


def test_check_ball_in_fuel_is_left_to_the_fuel_side() -> None:
    assert "check.one_way" not in with_latent(drawn(carries="fuel")).items
