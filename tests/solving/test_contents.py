"""What spaces can hold: laws of the fixed point on random networks, and cases worked out by hand."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from networks import all_open, four_barrel, network, solver, state, way

from boostcarb.network.latent import with_latent
from boostcarb.network.model import Form, Item, Network, Way
from boostcarb.solving.contents import Content, Contents
from boostcarb.solving.pressures import StateInput

AIR, VAPOR, MIXTURE, LIQUID, EXHAUST, CRANKCASE = Content
STATES = (
    state("standing", manifold=101.3, horn=101.3, air_horn=101.3, base=101.3),
    state("idle", manifold=40, horn=101, air_horn=101, base=40),
    state("boost", manifold=170, horn=175, air_horn=175, base=171),
    state("backfire", event=True, manifold=400, horn=101, air_horn=101, base=400),
)


def contents(
    built: Network, states: Sequence[StateInput] = STATES, configuration: Mapping[str, str] | None = None
) -> Contents:
    chosen = all_open(built) if configuration is None else configuration
    return Contents(built, chosen, solver(built, *states).solve(chosen), states)


def held(built: Network, space: str, state: str, configuration: Mapping[str, str] | None = None) -> set[Content]:
    return set(contents(built, configuration=configuration).of(space, state))


# --- chambers on a manifold -------------------------------------------------------------------------------


def on_manifold(**more: object) -> Network:
    return network([way("hose", "x", "manifold", **more)], ["manifold", "ambient"], manifold="mixture")


@pytest.mark.parametrize("name", ["standing", "idle", "boost"])
def test_dead_end_breathes_what_its_source_holds(name: str) -> None:
    assert held(on_manifold(), "x", name) == {AIR, MIXTURE}


def test_burnt_gas_is_there_in_a_backfire_only() -> None:
    assert held(on_manifold(), "x", "backfire") == {AIR, MIXTURE, EXHAUST}


def test_one_way_valve_keeps_mixture_out() -> None:
    assert held(on_manifold(one_way=True), "x", "boost") == {AIR}


def test_one_way_valve_the_wrong_way_round_lets_it_in() -> None:
    built = network([way("hose", "manifold", "x", one_way=True)], ["manifold"], manifold="mixture")
    assert held(built, "x", "boost") == {AIR, MIXTURE}


def test_closed_way_brings_nothing() -> None:
    built = on_manifold()
    assert held(built, "x", "boost", {"hose": "plugged"}) == {AIR}


def test_fitted_guard_keeps_a_backfire_out() -> None:
    built = on_manifold(guard="check")
    for form, burnt in (("fitted", set()), ("missing", {EXHAUST})):
        assert held(built, "x", "backfire", {"hose": "open", "check": form}) & {EXHAUST} == burnt


def test_flow_through_a_chamber_sweeps_it_from_the_higher_end() -> None:
    ways = [way("bleed", "horn", "x", area=4e-6), way("hole", "x", "manifold", area=1e-6)]
    built = network(ways, ["horn", "manifold"], manifold="mixture")
    assert held(built, "x", "idle") == {AIR}
    assert held(built, "x", "backfire") == {AIR, MIXTURE, EXHAUST}


def test_nothing_breathes_from_one_source_into_another_at_equal_pressure() -> None:
    ways = [way("valve", "crankcase", "manifold")]
    built = network(ways, ["crankcase", "manifold"], manifold="mixture", crankcase="crankcase_gas")
    assert held(built, "crankcase", "standing") == {CRANKCASE}
    assert held(built, "crankcase", "boost") == {CRANKCASE, MIXTURE}
    assert held(built, "manifold", "idle") == {CRANKCASE, MIXTURE}
    assert held(built, "manifold", "boost") == {MIXTURE}


def test_atmosphere_stays_air_whatever_escapes() -> None:
    ways = [way("leak", "manifold", "ambient"), way("hose", "x", "ambient")]
    built = network(ways, ["manifold", "ambient"], manifold="mixture")
    assert held(built, "ambient", "boost") == {AIR}
    assert held(built, "x", "boost") == {AIR}


# --- fuel -------------------------------------------------------------------------------------------------


def bowl(*more: Way) -> Network:
    """A bowl with needle and seat, vented into the air horn, over a barrel with a throat."""
    ways = [
        way("needle_seat", "fuel_line", "bowl", kind="seat", carries="fuel"),
        way("vent", "bowl", "air_horn", area=1e-5),
        *more,
    ]
    sources = ["air_horn", "booster_throat", "base", "fuel_line", "ambient"]
    return network(ways, sources, fuel_line="fuel", base="mixture", booster_throat="mixture", well="emulsion")


def test_bowl_holds_fuel_and_its_vapor_and_vents_vapor_only() -> None:
    built = bowl()
    assert held(built, "bowl", "idle") == {AIR, VAPOR, LIQUID}
    assert held(built, "air_horn", "idle") == {AIR, VAPOR}


def test_bowl_leaks_fuel_below_its_level() -> None:
    built = bowl(way("gasket", "bowl", "x", kind="gasket_window"))
    assert LIQUID in held(built, "x", "idle")


def test_bowl_that_runs_over_sends_fuel_out_of_its_vent() -> None:
    forms = {"seals": Form("seals"), "leaks": Form("leaks", floods="bowl")}
    needle = Item("needle", "needle", "part", "body", "on_engine", forms, "seals", confirmed=True)
    built = replace(bowl(), items={"needle": needle})
    assert LIQUID not in held(built, "air_horn", "idle", all_open(built, needle="seals"))
    assert LIQUID in held(built, "air_horn", "idle", all_open(built, needle="leaks"))
    assert LIQUID in held(built, "base", "idle", all_open(built, needle="leaks"))


def test_metered_fuel_becomes_mixture_and_torn_diaphragm_siphons() -> None:
    metered = bowl(
        way("jet", "bowl", "well", carries="fuel"),
        way("slot", "well", "base", carries="emulsion"),
        way("idle_bleed", "air_horn", "well", carries="emulsion"),
    )
    assert held(metered, "base", "idle") == {MIXTURE}
    torn = bowl(way("tear", "bowl", "chamber", carries="fuel"), way("passage", "chamber", "base"))
    for name in ("standing", "idle", "boost"):
        assert LIQUID in held(torn, "base", name)
    assert held(torn, "base", "backfire") & {LIQUID} == set()


def test_boost_blows_mixture_through_a_tear_into_a_bowl_of_lower_pressure() -> None:
    ways = [way("tear", "bowl", "chamber", carries="fuel"), way("port", "chamber", "manifold")]
    built = network(
        [*bowl().ways, *ways], ["air_horn", "base", "fuel_line", "manifold"], fuel_line="fuel", manifold="mixture",
        base="mixture",
    )  # fmt: skip
    states = [state("idle", manifold=40, air_horn=101, base=38), state("boost", manifold=170, air_horn=100, base=92)]
    found = contents(built, states)
    assert MIXTURE not in found.of("bowl", "idle")
    assert MIXTURE in found.of("bowl", "boost")
    assert MIXTURE in found.over("bowl", ["idle", "boost"])


def test_pump_pressure_sends_fuel_through_a_tear_against_boost() -> None:
    ways = [way("tear", "fuel_line", "dome", carries="fuel"), way("hose", "dome", "air_horn")]
    built = network(ways, ["air_horn", "fuel_line"], fuel_line="fuel")
    assert LIQUID in held(built, "air_horn", "boost")


# --- the four-barrel --------------------------------------------------------------------------------------


def four_barrel_contents(target: str, latent: Mapping[str, str] | None = None, **found: object) -> Contents:
    built = four_barrel(target, found)
    built = built if latent is None else with_latent(built)
    blow = target == "blow_through"
    boost = {"air_horn": 175, "compressor_inlet": 97, "compressor_outlet": 180, "base": 171, "manifold": 171}
    drawn = {"air_horn": 99, "compressor_inlet": 92, "compressor_outlet": 175, "base": 92, "manifold": 171}
    idle = {"air_horn": 101, "base": 38, "manifold": 38}
    idle |= {"compressor_inlet": 101, "compressor_outlet": 102} if blow else dict.fromkeys(drawn.keys() - idle, 38)
    throats = [name for name in built.spaces if name.endswith("_throat")]
    states = [
        state(name, **given, **dict.fromkeys(throats, given["air_horn"] - below))
        for name, given, below in (("idle", idle, 0.1), ("boost", boost if blow else drawn, 5))
    ]
    return contents(built, states, {**built.found(), **(latent or {})})


def test_draw_through_is_mixture_from_nozzle_to_valves() -> None:
    found = four_barrel_contents(
        "draw_through",
        crankcase_ventilation="boost_tight_check",
        brake_booster_line={"is": "manifold", "inline": "none"},
    )
    for space in ("compressor_inlet", "compressor_outlet", "manifold"):
        for name in ("idle", "boost"):
            assert set(found.of(space, name)) - {CRANKCASE} == {MIXTURE}, (space, name)
    for space in ("wastegate.chamber", "advance_chamber", "brake_booster", "primary.power_valve_chamber"):
        assert MIXTURE in found.of(space, "boost"), space
    assert MIXTURE not in found.of("air_horn", "boost")
    assert MIXTURE not in found.of("primary.bowl", "boost")


def test_blow_through_bonnet_is_dry_and_its_wastegate_feels_air() -> None:
    found = four_barrel_contents("blow_through", crankcase_ventilation="boost_tight_check")
    for space in ("compressor_inlet", "compressor_outlet", "air_horn", "wastegate.chamber", "primary.bowl"):
        assert MIXTURE not in found.of(space, "boost"), space
    assert LIQUID not in found.of("air_horn", "boost")
    assert MIXTURE in found.of("primary.power_valve_chamber", "boost")
    assert AIR in found.of("compressor_outlet", "boost")


def test_boost_comes_round_by_the_crankcase() -> None:
    found = four_barrel_contents(
        "blow_through", crankcase_ventilation="spring_valve", crankcase_breather_line="compressor_inlet"
    )
    assert MIXTURE in found.of("air_horn", "boost")
    assert MIXTURE not in found.of("air_horn", "idle")
    origin = next(found.origins("air_horn", [MIXTURE], ["idle", "boost"]))
    assert origin.start == "manifold"
    assert [step.into for step in origin.path] == ["crankcase", "compressor_inlet", "compressor_outlet", "air_horn"]
    assert origin.states == ("boost",)


@pytest.mark.parametrize("target", ["naturally_aspirated", "blow_through", "draw_through"])
def test_torn_power_valve_siphons_fuel_below_the_throttle(target: str) -> None:
    tear = "primary.power_valve_diaphragm.tear"
    assert LIQUID not in four_barrel_contents(target, {}).of("base", "idle")
    assert LIQUID in four_barrel_contents(target, {tear: "torn"}).of("base", "idle")


# --- laws -------------------------------------------------------------------------------------------------

SPACES = ("a", "b", "c", "d")
SOURCES = {"manifold": "mixture", "horn": "air", "crankcase": "crankcase_gas"}
ENDS = st.sampled_from((*SPACES, *SOURCES))
WAYS = st.lists(st.tuples(ENDS, ENDS, st.booleans()).filter(lambda each: each[0] != each[1]), min_size=1, max_size=9)
PRESSURES = st.lists(
    st.fixed_dictionaries(dict.fromkeys(SOURCES, st.sampled_from([40.0, 101.3, 170.0]))), min_size=1, max_size=3
)


def random_network(ways: Sequence[tuple[str, str, bool]]) -> Network:
    made = [way(f"w{index}", a, b, one_way=one_way) for index, (a, b, one_way) in enumerate(ways)]
    return network(made, list(SOURCES), SPACES, manifold="mixture", crankcase="crankcase_gas")


def states_of(pressures: Sequence[Mapping[str, float]]) -> list[StateInput]:
    return [state(f"s{index}", **given) for index, given in enumerate(pressures)]


def filled(built: Network, states: Sequence[StateInput], name: str, order: random.Random) -> dict[str, set[Content]]:
    """The least fixed point forward, one way after another in any order, written for itself."""
    solved = solver(built, *states).solve(all_open(built))
    own = {space: {Content(data.holds)} for space, data in built.spaces.items()}
    low = {space: solved.range_of(space, name)[0] for space in built.spaces}
    high = {space: solved.range_of(space, name)[1] for space in built.spaces}
    steps = [(each.a, each.b) for each in built.ways] + [(each.b, each.a) for each in built.ways if not each.one_way]
    changed = True
    while changed:
        changed = False
        order.shuffle(steps)
        for start, end in steps:
            least = 10.0 if end in SOURCES else -10.0
            new = own[start] - own[end] - ({AIR} if end == "manifold" else set())
            if new and high[start] - low[end] > least:
                own[end] |= new
                changed = True
    return own


@given(ways=WAYS, pressures=PRESSURES, seed=st.integers(0, 1000))
def test_search_backward_finds_the_least_fixed_point(
    ways: Sequence[tuple[str, str, bool]], pressures: Sequence[Mapping[str, float]], seed: int
) -> None:
    built, states = random_network(ways), states_of(pressures)
    found = contents(built, states)
    for each in states:
        expected = filled(built, states, each.name, random.Random(seed))
        assert {space: set(found.of(space, each.name)) for space in built.spaces} == expected


@given(ways=WAYS, pressures=PRESSURES, seed=st.integers(0, 1000))
def test_order_of_the_ways_does_not_matter(
    ways: Sequence[tuple[str, str, bool]], pressures: Sequence[Mapping[str, float]], seed: int
) -> None:
    built, states = random_network(ways), states_of(pressures)
    shuffled = random.Random(seed).sample(built.ways, len(built.ways))
    again = network(shuffled, list(SOURCES), SPACES, manifold="mixture", crankcase="crankcase_gas")
    for space in built.spaces:
        for each in states:
            assert set(contents(built, states).of(space, each.name)) == set(
                contents(again, states).of(space, each.name)
            )


@given(ways=WAYS, pressures=PRESSURES, added=st.tuples(st.sampled_from(SPACES), st.sampled_from(sorted(SOURCES))))
def test_a_new_dead_end_takes_nothing_out_of_any_space(
    ways: Sequence[tuple[str, str, bool]], pressures: Sequence[Mapping[str, float]], added: tuple[str, str]
) -> None:
    """A new way can turn a flow round, so contents do not only grow with ways; a new dead end moves no pressure."""
    built, states = random_network(ways), states_of(pressures)
    longer = network(
        [*built.ways, way("new", "end", added[0])], list(SOURCES), (*SPACES, "end"), manifold="mixture",
        crankcase="crankcase_gas",
    )  # fmt: skip
    before, after = contents(built, states), contents(longer, states)
    for each in states:
        for space in built.spaces:
            assert set(before.of(space, each.name)) == set(after.of(space, each.name)), space
        assert set(after.of(added[0], each.name)) <= set(after.of("end", each.name))


@given(ways=WAYS, pressures=PRESSURES)
def test_a_witness_is_a_path_of_ways_that_are_there_from_what_holds_it(
    ways: Sequence[tuple[str, str, bool]], pressures: Sequence[Mapping[str, float]]
) -> None:
    built, states = random_network(ways), states_of(pressures)
    found, names = contents(built, states), {each.name: each for each in built.ways}
    for space in built.spaces:
        for origin in found.origins(space, [MIXTURE, CRANKCASE], found.states):
            here = origin.start
            assert built.spaces[here].holds == origin.content
            for step in origin.path:
                passed = names[step.way]
                assert passed.other(here) == step.into
                assert not (passed.one_way and passed.b == here)
                here = step.into
            assert here == space


@given(ways=WAYS, pressures=PRESSURES)
def test_what_it_holds_over_states_is_what_it_holds_in_one_of_them(
    ways: Sequence[tuple[str, str, bool]], pressures: Sequence[Mapping[str, float]]
) -> None:
    built, states = random_network(ways), states_of(pressures)
    found = contents(built, states)
    for space in built.spaces:
        one_by_one = {content for each in states for content in found.of(space, each.name)}
        assert set(found.over(space, found.states)) == one_by_one
        by_state = found.by_state(space, found.states)
        assert by_state == {each.name: found.of(space, each.name) for each in states}
