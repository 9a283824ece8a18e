"""Bench tests: what each shows is worked out again, and the set is held against every other set."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from chosen_jobs import PATHS, plan_of
from hypothesis import given, settings
from hypothesis import strategies as st

from boostcarb import pipeline
from boostcarb.checks.answer import bench_answer
from boostcarb.checks.candidates import broken_by, candidates
from boostcarb.checks.cover import cheapest_cover, undominated
from boostcarb.checks.mistakes import mistakes_of
from boostcarb.checks.model import BenchAnswer, BenchChecks, Candidate, Kind, Mistake, Outcome, Test
from boostcarb.checks.parting import bench_stages, stage_order
from boostcarb.checks.passing import passing, with_fuel_valves
from boostcarb.network.latent import with_latent
from boostcarb.network.model import Form, Item, Network, Space, Stage, Way
from boostcarb.planning.search import Plan

SCENARIOS = PATHS
BOTH = [(path, planned) for path in SCENARIOS for planned in (True, False)]


@cache
def checked(path: Path, planned: bool) -> BenchChecks:
    read = pipeline.load(path)
    return pipeline.bench_checks_after(plan_of(path), read) if planned else pipeline.bench_checks(read, planned=False)


@cache
def configured(path: Path, planned: bool) -> tuple[Network, dict[str, str]]:
    read = pipeline.load(path)
    network = pipeline.set_up(read, latent=True).network
    outcome = plan_of(path).outcome if planned else None
    return network, {**network.found(), **(outcome.assignment if isinstance(outcome, Plan) else {})}


Oracle = Any
"""The class of `conftest.py`, which comes as a fixture."""


def oracles(
    oracle: Oracle, network: Network, own: Iterable[str], answer: BenchAnswer, taken_off: Iterable[str] = ()
) -> dict[str, Oracle]:
    order = [stage.name for stage in stage_order(network, tuple(taken_off))]
    return {
        name: oracle(network, frozenset(own), stage.off, order[: order.index(name) + 1], stage.on_engine)
        for name, stage in answer.stages.items()
    }


# --- every listed test against every mistake ---------------------------------------------------------------


@pytest.mark.parametrize(("path", "planned"), BOTH, ids=lambda value: getattr(value, "stem", str(value)))
def test_every_listed_test_shows_what_it_says_for_every_mistake(path: Path, planned: bool, oracle: Oracle) -> None:
    checks = checked(path, planned)
    network, configuration = configured(path, planned)
    answer = checks.answer
    taken_off = plan_of(path).outcome.steps if planned else ()
    at = oracles(oracle, network, checks.bench.family.family.castings, answer, taken_off)
    mistakes = mistakes_of(with_fuel_valves(network), configuration, network.found())
    caught: set[Mistake] = set()
    for check in answer.checks:
        again = at[check.test.stage]
        assert again.shown(check.test, configuration) == check.sound, check.test
        said = {mistake: each.outcome for each in check.deviations for mistake in each.mistakes}
        for mistake in mistakes:
            shown = again.shown(check.test, {**configuration, mistake.item: mistake.form})
            assert shown == said.get(mistake, check.sound), (check.test, mistake)
            if shown != check.sound:
                caught.add(mistake)
    assert caught.isdisjoint(each.mistake for each in answer.unseen)
    assert caught | {each.mistake for each in answer.unseen} == set(mistakes)
    assert answer.checks


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_tests_come_in_the_order_of_the_work(path: Path) -> None:
    for planned in (True, False):
        checks = checked(path, planned)
        order = list(checks.answer.stages)
        places = [order.index(check.test.stage) for check in checks.answer.checks]
        assert places == sorted(places, reverse=checks.as_planned)
        shown = [name for check in checks.answer.checks for name in check.first_for]
        assert len(shown) == len(set(shown))


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_nothing_is_blown_into_a_carburetor_with_fuel_in_it(path: Path) -> None:
    answer = checked(path, False).answer
    for check in answer.checks:
        if answer.stages[check.test.stage].on_engine:
            assert check.test.kind is Kind.vacuum


def test_nothing_is_left_out_of_what_is_blocked_or_put_to() -> None:
    for path, planned in BOTH:
        answer = checked(path, planned).answer
        for check in answer.checks:
            assert {*check.test.at, *check.test.blocked, *check.sound.exits} <= set(answer.holes)
            assert not set(check.test.at) & set(check.test.blocked)
            assert all(answer.holes[name].blocked for name in check.test.blocked)


# --- by hand -----------------------------------------------------------------------------------------------


STREET = next(path for path in SCENARIOS if path.stem == "street_blow_through")
PASSAGE = "primary.power_valve_vacuum_passage"


def test_vacuum_passage_is_open_before_and_closed_after() -> None:
    """As found it leads through the throttle body to the power valve chamber; the plan plugs it."""
    routes = {route.hole: route for route in checked(STREET, True).answer.routes if route.stage != "carburetor_off"}
    upper, lower = f"{PASSAGE}@primary.power_valve_chamber", f"{PASSAGE}@base"
    assert (routes[upper].before, routes[upper].after) == ((lower,), ())
    assert (routes[lower].before, routes[lower].after) == ((upper,), ())
    assert routes["primary.bowl_vent@air_horn"].after == ("primary.bowl_vent@primary.bowl",)


def test_plug_that_is_missing_shows_below_the_throttle() -> None:
    answer = checked(STREET, True).answer
    (check, outcome), *_ = (
        (check, each.outcome)
        for check in answer.checks
        for each in check.deviations
        if f"{PASSAGE}=open" in [mistake.name for mistake in each.mistakes]
    )
    assert f"{PASSAGE}@base" not in check.sound.exits
    assert f"{PASSAGE}@base" in outcome.exits


def test_cleaner_on_a_power_valve_that_rests_open_gets_to_the_main_well() -> None:
    """On the bench nothing holds a vacuum-held valve shut: from its window to the main well and the jets."""
    routes = {route.hole: route for route in checked(STREET, False).answer.routes if route.stage != "carburetor_off"}
    assert set(routes["primary.power_valve_window@primary.bowl"].before or ()) == {
        "primary.main_jet_hole@primary.bowl", "primary.main_well/open",
    }  # fmt: skip


def test_hand_pump_on_a_power_valve_in_its_block_shows_a_tear() -> None:
    network, configuration = configured(STREET, False)
    network = with_fuel_valves(network)
    own = checked(STREET, False).bench.family.family.castings
    stages = {stage.name: stage for stage in bench_stages(network, own, stage_order(network))}
    stage = stages["primary.block_off"]
    cup = stage.faces["primary_block@primary.power_valve_chamber"]
    torn = Mistake("primary.power_valve_diaphragm.tear", "torn", "torn")
    (shown,) = [
        each
        for each in candidates(network, stage, configuration, broken_by(network, configuration, [torn]))
        if each.test == Test(stage.name, Kind.vacuum, cup)
    ]
    assert shown.sound == Outcome(holds=True)
    assert shown.shown[torn] == Outcome(holds=False)


def test_bowl_stands_open_under_cover_plates_whose_gasket_alone_joined_them() -> None:
    """Nothing but the gasket of the plates ends in them, and yet the holes in the bowl cover are open without them."""
    network, _ = configured(next(path for path in SCENARIOS if path.stem.startswith("step_up_pistons")), False)
    family = ("main_body", "bowl_cover", "throttle_body", "step_up_cover")
    stages = {stage.name: stage for stage in bench_stages(network, family, stage_order(network))}
    gasket, opening = "primary.step_up_cover_leak", "primary.bowl/open"
    at = {name: (opening in stage.holes, gasket in [piece.way for piece in stage.pieces])
          for name, stage in stages.items()}  # fmt: skip
    assert at["carburetor_off"] == (False, True)
    assert at["step_up_out"] == (True, False)


def test_backfire_check_shuts_in_a_puff_and_stays_open_under_a_spray(oracle: Oracle) -> None:
    network, configuration = configured(STREET, True)
    checks = checked(STREET, True)
    assert configuration["primary.reference_check"] == "fitted"
    stub = ("primary.power_valve_reference_line/stub",)
    order = [stage.name for stage in stage_order(network)]
    stage = checks.answer.stages["primary.block_off"]
    again = oracle(network, checks.bench.family.family.castings, stage.off, order[:6], False)
    shown = {kind: again.shown(Test(stage.name, kind, stub), configuration).exits for kind in (Kind.spray, Kind.air)}
    assert shown == {Kind.spray: ("primary.power_valve_chamber/open",), Kind.air: ()}


@pytest.mark.parametrize("seed", range(5))
def test_order_of_the_network_does_not_matter(seed: int) -> None:
    network = small_carburetor(seed)
    turned = replace(
        network,
        ways=tuple(reversed(network.ways)),
        items=dict(reversed(network.items.items())),
        spaces=dict(reversed(network.spaces.items())),
        ways_of={name: tuple(reversed(ways)) for name, ways in reversed(network.ways_of.items())},
    )
    assert bench_answer(turned, turned.found(), OWN) == bench_answer(network, network.found(), OWN)


# --- small carburetors against trying everything -----------------------------------------------------------

OWN = frozenset({"body", "top"})
STAGES = {
    "on_engine": Stage("on_engine", "on the engine", 0, ()),
    "carburetor_off": Stage("carburetor_off", "carburetor off", 7, ("on_engine",)),
    "top_off": Stage("top_off", "top off", 5, ("carburetor_off",)),
}
SOURCES = ("air_horn", "ambient", "base")


def small_carburetor(seed: int) -> Network:
    """A few spaces in two castings, ways at random, some plugged, some one-way, some leaks."""
    rng = random.Random(seed)
    spaces = {name: Space(name, name, "engine", "air", None, True) for name in SOURCES}
    for index in range(rng.randint(2, 3)):
        volume = rng.choice([1e-6, 5e-6, 50e-6])
        spaces[f"s{index}"] = Space(f"s{index}", f"s{index}", rng.choice(["body", "top"]), "air", volume, False)
    ways, items = [], {}
    inner = [name for name in spaces if name not in SOURCES]
    for index in range(rng.randint(4, 6)):
        name = f"w{index}"
        a, b = rng.sample([*inner, rng.choice(SOURCES)], 2)
        form = rng.choice(["open", "open", "plugged"])
        other = "plugged" if form == "open" else "open"
        ways.append(
            Way(
                name, name, rng.choice(["bore", "restriction", "port", "joint", "clearance"]), a, b,
                rng.choice([0.2e-6, 1e-6, 4e-6, 30e-6]), rng.choice(["air", "fuel"]), rng.choice(["body", "top"]),
                rng.choice(list(STAGES)), name, ((name, frozenset({"open"})),), one_way=rng.random() < 0.2,
            )
        )  # fmt: skip
        forms = {form: Form(form), other: Form(other)}
        items[name] = Item(name, name, "passage", ways[-1].casting, ways[-1].stage, forms, form, True)
    castings = {"engine": "engine", "body": "body", "top": "top"}
    ordered = tuple(ways)
    at = {name: tuple(way for way in ordered if name in (way.a, way.b)) for name in spaces}
    return with_latent(Network(spaces, ordered, {}, items, STAGES, castings, {}, at))


def every_test(oracle: Oracle, stage: str, configuration: Mapping[str, str], network: Network) -> list[Test]:
    """All tests of the family, by the words of its description."""
    kinds = {way.item: way.kind for way in network.ways}
    port = {"bore", "restriction", "port", "line", "seat", "check_valve", "slot"}
    nodes = {end for edge in oracle.edges(configuration, False) for end in (edge.a, edge.b)}
    every = {
        f"{way.item}@{space}"
        for way in network.ways
        if oracle.on_engine or oracle.lies_here(way)
        for space in (way.a, way.b)
        if oracle.is_open(space) or oracle.lump(network.spaces[space].casting) != oracle.lump(way.casting)
    }
    every |= {node for node in nodes if node.endswith("/open")}

    def small(name: str) -> bool:
        return (network.spaces[name.removesuffix("/open")].volume_m3 or 1.0) < 10e-6

    holds = {name for name in every if (small(name) if name.endswith("/open") else kinds[name.split("@")[0]] in port)}
    tests = []
    for name in sorted(holds):
        if not oracle.on_engine:
            tests += [
                Test(stage, kind, (name,), blocked)
                for kind in (Kind.spray, Kind.air, Kind.vacuum)
                for blocked in blockings(oracle, Test(stage, kind, (name,)), configuration, holds, 4)
            ]
    if not oracle.off and oracle.inner():
        start = Test(stage, Kind.pressure, oracle.inner())
        tests += [
            Test(stage, Kind.pressure, start.at, blocked)
            for blocked in blockings(oracle, start, configuration, holds, 99)
        ]
    return tests  # fmt: skip


def blockings(
    oracle: Oracle, test: Test, configuration: Mapping[str, str], holds: set[str], most: int
) -> list[tuple[str, ...]]:
    def all_shut(blocked: tuple[str, ...]) -> tuple[str, ...]:
        kind = Kind.air if test.kind is Kind.pressure else test.kind
        if kind is Kind.vacuum:
            arcs = [(v, u, e.area) for e in oracle.edges(configuration, False)
                    for u, v, goes in ((e.a, e.b, e.forth), (e.b, e.a, e.back)) if goes]  # fmt: skip
            arcs = [arc for arc in arcs if arc[1] not in {*test.at, *blocked}]
            exits, _ = oracle.spread(test.at, arcs, vents=False)
        else:
            exits = set(oracle.shown(Test(test.stage, test.kind, test.at, blocked), configuration).exits)
        return tuple(sorted({*blocked, *(exits & holds)}))

    shut = all_shut(())
    sets: list[tuple[str, ...]] = [(), *((name,) for name in shut)]
    while len(shut) <= most and shut not in sets:
        sets.append(shut)
        shut = all_shut(shut)
    return sets


def minutes_of(test: Test, sound: Outcome) -> int:
    setup = {"spray": 2, "air": 3, "vacuum": 3, "pressure": 15}[test.kind]
    return setup + len(test.blocked) + -(-len(sound.exits) // 2)


def least(tests: Sequence[tuple[int, int, int]], extra: Sequence[int]) -> int:
    """Least minutes for (mask of mistakes, minutes, depth) to show all that any shows, every deepest stage tried."""
    whole = 0
    for mask, _, _ in tests:
        whole |= mask
    best = None if whole else 0
    for deepest in range(len(extra)):
        cost = {0: sum(extra[: deepest + 1])}
        for mask, minutes, depth in tests:
            if depth <= deepest:
                for got, spent in list(cost.items()):
                    cost[got | mask] = min(cost.get(got | mask, 10**9), spent + minutes)
        if whole in cost:
            best = cost[whole] if best is None else min(best, cost[whole])
    assert best is not None
    return best


@pytest.mark.parametrize("seed", range(60))
def test_no_cheaper_set_of_all_tests_shows_as_much(seed: int, oracle: Oracle) -> None:
    network = small_carburetor(seed)
    configuration = network.found()
    answer = bench_answer(network, configuration, OWN)
    at = oracles(oracle, network, OWN, answer)
    mistakes = list(mistakes_of(network, configuration, configuration))
    rows = []
    for depth, (stage, again) in enumerate(at.items()):
        for test in every_test(again, stage, configuration, network):
            sound = again.shown(test, configuration)
            mask = 0
            for number, mistake in enumerate(mistakes):
                if again.shown(test, {**configuration, mistake.item: mistake.form}) != sound:
                    mask |= 1 << number
            if mask:
                rows.append((mask, minutes_of(test, sound), depth))
    extra = [stage.extra_minutes for stage in answer.stages.values()]
    assert answer.minutes == least(sorted(set(rows)), extra)
    shown = 0
    for mask, _, _ in rows:
        shown |= mask
    unseen = {each.mistake for each in answer.unseen}
    assert unseen == {mistake for number, mistake in enumerate(mistakes) if not shown >> number & 1}


# --- the cover on its own ----------------------------------------------------------------------------------

ORDER = ("near", "middle", "deep")


def candidate(index: int, minutes: int, stage: str, shown: Iterable[int]) -> Candidate:
    wrong = {Mistake(f"m{each}", "bad", f"m{each}"): Outcome(exits=(f"x{each}",)) for each in shown}
    return Candidate(Test(stage, Kind.spray, (f"h{index:02d}",)), minutes, Outcome(), wrong)


tests_at_random = st.lists(
    st.tuples(st.integers(1, 9), st.sampled_from(ORDER), st.sets(st.integers(0, 5), min_size=1)), min_size=1, max_size=8
)


@settings(max_examples=80, deadline=None)
@given(tests_at_random, st.tuples(st.integers(0, 9), st.integers(0, 9), st.integers(0, 9)), st.randoms())
def test_cover_is_the_cheapest_and_does_not_hang_on_order(
    drawn: list[tuple[int, str, set[int]]], takes: tuple[int, int, int], rng: random.Random
) -> None:
    extra = dict(zip(ORDER, takes, strict=True))
    every = [candidate(index, *each) for index, each in enumerate(drawn)]
    whole = {mistake for each in every for mistake in each.shown}

    def cost(some: Iterable[Candidate]) -> int:
        some = list(some)
        depth = max(ORDER.index(each.test.stage) for each in some)
        return sum(takes[: depth + 1]) + sum(each.minutes for each in some)

    brute = min(
        cost(some)
        for size in range(1, len(every) + 1)
        for some in itertools.combinations(every, size)
        if {mistake for each in some for mistake in each.shown} == whole
    )
    chosen = cheapest_cover(undominated(every, ORDER, extra), ORDER, extra)
    assert {mistake for each in chosen for mistake in each.shown} == whole
    assert cost(chosen) == brute
    shuffled = list(every)
    rng.shuffle(shuffled)
    assert cheapest_cover(undominated(shuffled, ORDER, extra), ORDER, extra) == chosen


def test_stages_that_the_work_takes_anyway_cost_nothing_and_come_first() -> None:
    network = small_carburetor(3)
    order = stage_order(network, ("top_off",))
    assert [stage.name for stage in order] == ["on_engine", "carburetor_off", "top_off"]
    free = bench_answer(network, network.found(), OWN, taken_off=tuple(STAGES))
    paid = bench_answer(network, network.found(), OWN)
    assert free.minutes <= paid.minutes
    assert all(stage.extra_minutes == 0 for stage in free.stages.values())


@pytest.mark.parametrize("vents", [1, 2, 4])
def test_a_blocked_exit_is_no_exit_and_a_vent_hides_what_lies_beyond(vents: int) -> None:
    """A chamber with wide vents and a pinhole: the pinhole shows only with every vent held shut."""
    spaces = {name: Space(name, name, "engine", "air", None, True) for name in SOURCES}
    spaces["chamber"] = Space("chamber", "chamber", "body", "air", 1e-6, False)

    def way(name: str, to: str, area: float, kind: str = "bore") -> Way:
        conditions = ((name, frozenset({"open"})),)
        return Way(name, name, kind, "chamber", to, area, "air", "body", "on_engine", name, conditions)

    wide = [way(f"vent{index}", "air_horn", 40e-6) for index in range(vents)]
    ways = (way("feed", "base", 1e-6), way("pinhole", "ambient", 0.1e-6, "joint"), *wide)
    open_plugged = {"open": Form("open"), "plugged": Form("plugged")}
    items = {w.name: Item(w.name, w.name, "passage", "body", "on_engine", open_plugged, "open", True) for w in ways}
    network = Network(
        spaces, ways, {}, items, STAGES, {"engine": "engine", "body": "body"}, {},
        {name: tuple(w for w in ways if name in (w.a, w.b)) for name in spaces},
    )  # fmt: skip
    configuration = {**network.found(), "pinhole": "plugged"}
    stage = bench_stages(network, OWN, stage_order(network))[1]
    broken = broken_by(network, configuration, [Mistake("pinhole", "open", "pinhole: leaks")])
    shown = list(candidates(network, stage, configuration, broken))
    assert shown
    assert all(
        each.test.blocked == tuple(f"{each_vent.name}@air_horn" for each_vent in wide)
        for each in shown
        if each.test.at == ("feed@base",) and each.test.kind is not Kind.vacuum
    )
    assert any(each.test.at == ("feed@base",) and each.test.kind is Kind.air for each in shown)
    assert passing(network, configuration).keys() == {"feed", *(vent.name for vent in wide)}
