"""Pressures of generated and shipped carburetors in any configuration, held against laws that need no solver.

On random orifices and on small networks by hand these are in `tests/solving`; here they go through the whole chain,
with hoses, pressure switches, backfire checks, parts that shut or turn a passage, tears and hoses off.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from generated_carburetors import Made, carburetors, configurations, shipped, shuffled, tried
from hypothesis import assume, event, example, given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from boostcarb.bench import Bench
from boostcarb.network.model import Configuration, Way
from boostcarb.solving.balance import Orifices, solve
from boostcarb.solving.pressures import Nature, Pressures
from boostcarb.solving.situation import StateView

CLOSES = 3e-6
"""Share of what all openings of a space could pass: the solver's tolerance, and the leaks of its shut valves."""
NEAR = 1e-6

anything = st.one_of(carburetors(), carburetors(), shipped())


def drawn(data: st.DataObject, made: Made, *, latent: bool = True) -> tuple[Bench, dict[str, str]]:
    """A carburetor with everything that can fail, in any configuration."""
    bench = made.bench(latent=latent)
    return bench, data.draw(configurations(bench.network))


def sources_in(bench: Bench, state: StateView) -> dict[str, float]:
    """Pressures of the sources; one that nothing is said of stands at the atmosphere."""
    said = state.result.pressures_pa_abs
    return {name: said.get(name, said["ambient"]) for name, space in bench.network.spaces.items() if space.source}


def air_ways(bench: Bench, configuration: Configuration, state: StateView) -> list[Way]:
    """Air ways that stand open in a state, worked out from their conditions."""
    given_pressures = sources_in(bench, state)
    return [
        way
        for way in bench.network.ways
        if way.carries == "air"
        and all(configuration[item] in forms for item, forms in way.conditions)
        and not (state.event and way.guard is not None and configuration[way.guard] == "fitted")
        and _gate_open(way, given_pressures)
    ]


def _gate_open(way: Way, sources: Mapping[str, float]) -> bool:
    if way.gate is None:
        return True
    level = way.gate.level_pa + (sources["ambient"] if way.gate.level_is_gauge else 0.0)
    return (sources[way.gate.senses] > level) is way.gate.open_above


def one_way(way: Way, configuration: Configuration) -> bool:
    """Whether flow passes from `a` to `b` only."""
    return way.one_way or (way.inline is not None and configuration[way.inline] == "one_way_valve")


def joined(bench: Bench, ways: list[Way]) -> Iterator[tuple[set[str], set[str]]]:
    """Spaces joined by ways, whatever their direction, with the sources that they are joined to."""
    left = {name for name, space in bench.network.spaces.items() if not space.source}
    while left:
        members, queue, sources = set[str](), [left.pop()], set[str]()
        while queue:
            here = queue.pop()
            members.add(here)
            for end in (way.other(here) for way in ways if here in (way.a, way.b)):
                if bench.network.spaces[end].source:
                    sources.add(end)
                elif end in left:
                    left.discard(end)
                    queue.append(end)
        yield members, sources


def is_air(bench: Bench, name: str, ways: list[Way]) -> bool:
    """Whether air decides the pressure of a space."""
    return bench.network.spaces[name].holds not in ("fuel", "emulsion") or any(name in (way.a, way.b) for way in ways)


@st.composite
def with_valves(draw: Any, most: int = 9) -> Made:
    """A carburetor many of whose passages are open and one-way, `most` of them at most."""
    made = draw(carburetors())
    assert made.family is not None
    passages = made.family["passages"]
    both_ways = draw(st.sets(st.sampled_from(sorted(passages)), max_size=1))
    for name in [name for name in sorted(set(passages) - both_ways) if "passage_" in name][:most]:
        made = made.with_entry("passages", name, {**passages[name], "one_way": True, "as_built": "open"})
    return made.with_job(found={name: form for name, form in made.job["found"].items() if name not in passages})


@tried(9)
@given(st.data(), anything)
def test_every_pressure_lies_between_the_sources_that_it_is_joined_to(data: st.DataObject, made: Made) -> None:
    bench, configuration = drawn(data, made)
    view = bench.view(configuration)
    solved, seal = view.pressures, bench.situations.for_(configuration).inputs.sealing.pressure_pa_abs
    open_in = {state.name: air_ways(bench, configuration, state) for state in view.states}
    ever = {way.name: way for ways in open_in.values() for way in ways}
    past: dict[str, tuple[float, float]] = {}
    for members, sources in joined(bench, list(ever.values())):
        met = [sources_in(bench, state)[name] for state in view.states for name in sources]
        past.update(dict.fromkeys(members, (min([seal, *met]), max([seal, *met]))))
    for state in view.states:
        for members, sources in joined(bench, open_in[state.name]):
            values = [sources_in(bench, state)[name] for name in sources]
            for name in members:
                low, high = solved.range_of(name, state.name)
                assert 0.0 < low <= high < math.inf
                nature = solved.spaces[name].nature
                if nature is Nature.held and low < high:
                    least, most = past[name]
                elif nature in (Nature.tied, Nature.held) and values:
                    least, most = min(values), max(values)
                else:
                    continue
                assert least * (1 - NEAR) <= low <= high <= most * (1 + NEAR), (name, state.name, nature)


# --- mass balance -----------------------------------------------------------------------------------------


CRITICAL = (2 / 2.4) ** (1.4 / 0.4)


def orifice(ratio: float) -> float:
    """Saint-Venant and Wantzel for air."""
    ratio = max(ratio, CRITICAL)
    return math.sqrt(7.0 * (ratio ** (2 / 1.4) - ratio ** (2.4 / 1.4)))


AT_EDGE = orifice(0.999)
RISE = 0.001 * (orifice(0.999 - 1e-6) - AT_EDGE) / 1e-6


def psi(ratio: float) -> float:
    """The same with the parabola of the package's law close to no difference, written anew."""
    if ratio <= 0.999:
        return orifice(ratio)
    x = (1.0 - ratio) / 0.001
    return x * ((2 * AT_EDGE - RISE) + (RISE - AT_EDGE) * x)


def flow(area: float, start: float, end: float) -> float:
    """Mass flow from start to end times sqrt(R T)."""
    return area * start * psi(end / start) if start >= end else -area * end * psi(start / end)


@tried(9)
@given(st.data(), st.one_of(anything, with_valves()))
def test_what_flows_into_a_space_flows_out_again(data: st.DataObject, made: Made) -> None:
    """Between spaces whose pressure is a point; what leads to one that holds its past is a shut valve."""
    bench, configuration = drawn(data, made)
    view = bench.view(configuration)
    for state in view.states:
        at = {name: view.pressures.range_of(name, state.name) for name in bench.network.spaces}
        ways = air_ways(bench, configuration, state)
        for name, (low, high) in at.items():
            here = [way for way in ways if name in (way.a, way.b)]
            if bench.network.spaces[name].source or low < high or not here:
                continue
            balance = passing = 0.0
            for way in here:
                passing += way.area_m2 * max(at[way.a][1], at[way.b][1])
                valve = one_way(way, configuration)
                other = at[way.other(name)]
                if other[0] < other[1]:
                    assert valve, f"{way.name} joins a point to a range"
                    continue
                moved = flow(way.area_m2, at[way.a][0], at[way.b][0])
                moved = max(moved, 0.0) if valve else moved
                balance += moved if way.b == name else -moved
            assert abs(balance) <= CLOSES * passing, (name, state.name)


@tried(14)
@given(st.data(), with_valves())
def test_no_valve_that_is_shut_would_be_pushed_open(data: st.DataObject, made: Made) -> None:
    """What a space holds is never below what could flow in, nor above what could flow out."""
    bench, configuration = drawn(data, made)
    view = bench.view(configuration)
    held = {name for name, each in view.pressures.spaces.items() if each.nature is Nature.held}
    event("something is held" if held else "nothing is held")
    for state in view.states:
        at = {name: view.pressures.range_of(name, state.name) for name in bench.network.spaces}
        for way in air_ways(bench, configuration, state):
            if not one_way(way, configuration):
                if at[way.a][0] < at[way.a][1] and not bench.network.spaces[way.b].source:
                    assert at[way.a] == at[way.b], (way.name, state.name)
                continue
            for mine, its, is_end in ((way.b, way.a, True), (way.a, way.b, False)):
                if mine in held and at[mine][0] < at[mine][1] and at[its][0] == at[its][1]:
                    if is_end:
                        assert at[mine][0] >= at[its][0] * (1 - NEAR), (way.name, state.name)
                    else:
                        assert at[mine][1] <= at[its][1] * (1 + NEAR), (way.name, state.name)


@tried(25)
@given(
    st.lists(st.tuples(st.floats(-1, 1.5), st.floats(20e3, 250e3)), min_size=1, max_size=4)
)
@example([(math.log10(3.2), 191_325.0), (math.log10(24.0), 132_825.0), (math.log10(4.948), 101_325.0)])
def test_a_space_with_a_few_openings_is_where_a_bracketed_root_puts_it(openings: list[tuple[float, float]]) -> None:
    """Oracle: scipy's bracketed root of the balance, which rises steadily with the pressure of the space."""
    areas, sources = np.array([1e-6 * 10**decade for decade, _ in openings]), np.array([each for _, each in openings])
    count = len(openings)
    star = Orifices(1, np.zeros(count, int), np.arange(1, count + 1), areas, np.zeros(count, bool))
    found = float(solve(star, sources[None]).pressure_pa_abs[0, 0])

    def leaving(pressure: float) -> float:
        return sum(flow(area, pressure, source) for area, source in zip(areas.tolist(), sources.tolist(), strict=True))

    low, high = sources.min(), sources.max()
    wanted = low if low == high else brentq(leaving, low, high, xtol=1e-6, rtol=1e-13)
    assert abs(leaving(found)) <= CLOSES * sources.max() * areas.sum()
    assert abs(found - wanted) <= 1e-4 * wanted


# --- pasts ------------------------------------------------------------------------------------------------

SLACK = 3e-3
"""As in `tests/solving/test_histories.py`: what is still on its way, and leaks larger than the solver's."""


def settled(
    ways: list[Way],
    configuration: Configuration,
    pressure: dict[str, float],
    given_pressures: Mapping[str, float],
    *,
    volume: Mapping[str, float],
    leak: float,
    seconds: float,
) -> dict[str, float]:
    """Isothermal filling and emptying of all spaces for some time, each shut valve with its leak."""
    names = list(pressure)
    size = np.array([volume[name] for name in names])
    valves = {way.name for way in ways if one_way(way, configuration)}

    def rate(_: float, now: np.ndarray) -> np.ndarray:
        at = {**given_pressures, **dict(zip(names, np.maximum(now, 1.0).tolist(), strict=True))}
        gain = dict.fromkeys(at, 0.0)
        for way in ways:
            moved = flow(way.area_m2, at[way.a], at[way.b])
            moved *= leak if way.name in valves and moved < 0.0 else 1.0
            gain[way.a] -= moved
            gain[way.b] += moved
        return np.array([gain[name] for name in names]) * math.sqrt(287.05 * 300.0) / size

    done = solve_ivp(rate, (0.0, seconds), np.array(list(pressure.values())), method="LSODA", rtol=1e-6, atol=0.1)
    assert done.success, done.message
    return dict(zip(names, done.y[:, -1].tolist(), strict=True))


@tried(3)
@given(st.data(), with_valves(most=2), st.randoms(use_true_random=False))
def test_every_sampled_past_lies_in_the_ranges(data: st.DataObject, made: Made, rng: random.Random) -> None:
    """Random drives with random leaks and volumes, and at their end perhaps a backfire.

    What a backfire leaves behind a valve for the drive after it is not asked for: it is no part of the ranges.
    """
    bench, configuration = drawn(data, made, latent=False)
    view = bench.view(configuration)
    solved = view.pressures
    drive = [state for state in view.states if not state.event]
    own = {name for name in solved.spaces if name.startswith("main.") and not bench.network.spaces[name].source}
    held = {name for name in own if solved.spaces[name].nature is Nature.held}
    assume(held)
    seal = bench.situations.for_(configuration).inputs.sealing
    open_in = {state.name: air_ways(bench, configuration, state) for state in view.states}
    spaces = sorted(
        name for name in own if any(name in (way.a, way.b) for ways in open_in.values() for way in ways)
    )
    volume = {name: 10 ** rng.uniform(-6.5, -5.5) for name in spaces}
    pressure = dict.fromkeys(spaces, seal.pressure_pa_abs)
    path = [rng.choice(drive) for _ in range(rng.randint(2, 3))]
    leak = 10 ** rng.uniform(-6, -4)
    after = [
        state for state in view.states if state.event and path[-1].name in state.result.state.follows[:1]
    ]
    for state in [*path, *after[:1]]:
        ways = [way for way in open_in[state.name] if way.a in pressure or way.b in pressure]
        pressure = settled(
            ways, configuration, pressure, sources_in(bench, state), volume=volume,
            leak=1e-9 if state.event else leak, seconds=30.0 if state.event else 10 ** rng.uniform(1, 3),
        )  # fmt: skip
        event("a backfire" if state.event else "a drive")
        for name, value in pressure.items():
            if solved.spaces[name].nature is Nature.sealed:
                continue
            low, high = solved.range_of(name, state.name)
            assert low * (1 - SLACK) <= value <= high * (1 + SLACK), (name, state.name, solved.spaces[name].nature)


@tried(5)
@given(st.data(), carburetors(), st.floats(0, 1), st.floats(-1, 1))
def test_a_sealed_space_lies_in_its_range_at_every_temperature(
    data: st.DataObject, made: Made, warmth: float, travel: float
) -> None:
    """Gay-Lussac from assembly to hot soak, and up to a twentieth of the volume displaced."""
    bench, configuration = drawn(data, made)
    solved = bench.view(configuration).pressures
    seal = bench.situations.for_(configuration).inputs.sealing
    sealed = [name for name, each in solved.spaces.items() if each.nature is Nature.sealed]
    kelvin = seal.coldest_k + warmth * (seal.hottest_k - seal.coldest_k)
    now = seal.pressure_pa_abs * kelvin / seal.temperature_k * (1 + 0.05 * travel)
    for name in sealed:
        for state in solved.states:
            low, high = solved.range_of(name, state)
            assert low * (1 - 1e-12) <= now <= high * (1 + 1e-12), (name, state)
        ways = [way for way in bench.network.ways_of[name] if way.exists(configuration) and way.carries == "air"]
        assert not any(bench.network.spaces[way.other(name)].source for way in ways), name


# --- order ------------------------------------------------------------------------------------------------


def turned(made: Made, rng: random.Random) -> Made:
    """The same, where some ways that pass both ways are written from the other end."""
    assert made.family is not None
    for name, passage in made.family["passages"].items():
        if not passage.get("one_way") and not passage.get("only_back_by") and rng.random() < 0.5:
            made = made.with_entry("passages", name, {**passage, "joins": passage["joins"][::-1]})
    return made


def table(solved: Pressures, name: str) -> list[tuple[float, float]]:
    """Ranges of a space, state by state."""
    return [solved.range_of(name, state) for state in solved.states]


@tried(5)
@given(st.data(), carburetors(), st.randoms(use_true_random=False))
def test_order_of_entries_in_the_files_does_not_matter_for_pressures(
    data: st.DataObject, made: Made, rng: random.Random
) -> None:
    bench, configuration = drawn(data, made)
    other = turned(shuffled(made, rng), rng).bench(latent=True)
    one, two = bench.view(configuration).pressures, other.view(configuration).pressures
    assert one.states == two.states
    for name in bench.network.spaces:
        assert one.spaces[name].nature is two.spaces[name].nature
        np.testing.assert_allclose(table(one, name), table(two, name), rtol=1e-7)
