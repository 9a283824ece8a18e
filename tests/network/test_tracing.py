"""Following signals: reach, shortest and disjoint paths, and the frontier that any opening must cross."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_flow
from scipy.sparse.csgraph import shortest_path as shortest_lengths

from boostcarb.findings import Step
from boostcarb.network.model import Network, Space, Way
from boostcarb.network.tracing import (
    disjoint_paths,
    frontier,
    matching,
    reached,
    region,
    shortest_path,
)

SOURCES = ("air_horn", "ambient", "manifold")


def way(
    name: str, a: str, b: str, *, one_way: bool = False, inline: str | None = None, kind: str = "bore"
) -> Way:
    return Way(
        name=name, title=name, kind=kind, a=a, b=b, area_m2=1e-6, carries="air", casting="body", stage="on",
        item=name, conditions=((name, frozenset({"open"})),), one_way=one_way, inline=inline,
    )


def built(*ways: Way, extra: tuple[str, ...] = ()) -> Network:
    names = sorted({end for each in ways for end in (each.a, each.b)} | set(extra))
    ordered = tuple(sorted(ways, key=lambda each: each.name))
    return Network(
        spaces={name: Space(name, name, "body", "air", None, name in SOURCES) for name in names}, ways=ordered,
        diaphragms={}, items={}, stages={}, castings={}, aliases={},
        ways_of={name: tuple(each for each in ordered if name in (each.a, each.b)) for name in names},
    )


def opened(network: Network, *plugged: str, **more: str) -> dict[str, str]:
    return {each.name: "plugged" if each.name in plugged else "open" for each in network.ways} | more


def everything(_: Way) -> bool:
    return True


CHAMBER = built(
    way("line", "fitting", "manifold", inline="line.inline"),
    way("passage", "chamber", "manifold"),
    way("port", "chamber", "fitting"),
    way("gasket", "bowl", "chamber"),
    way("vent", "bowl", "air_horn"),
    way("cap", "bowl", "ambient"),
    way("hose", "air_horn", "far"),
)
PLAIN = {"line.inline": "none"}


def test_patterns_cover_names_in_order() -> None:
    names = ["secondary.bowl", "primary.bowl", "primary.bowl_vent", "bowl"]
    assert matching("*.bowl", names) == ["primary.bowl", "secondary.bowl"]
    assert matching("primary.bowl", names) == ["primary.bowl"]
    assert matching("*.Bowl", names) == []


def test_each_path_leads_space_by_space_to_its_end() -> None:
    ways = {each.name: each for each in CHAMBER.ways}
    found = reached(CHAMBER, opened(CHAMBER, **PLAIN), "bowl")
    assert set(found) == set(CHAMBER.spaces) - {"far"}  # behind a source nothing is followed
    for end, path in found.items():
        here = "bowl"
        for step in path:
            assert {here, step.into} == {ways[step.way].a, ways[step.way].b}
            here = step.into
        assert here == end


def test_shortest_path_names_ways_and_spaces_in_order() -> None:
    assert shortest_path(CHAMBER, opened(CHAMBER, **PLAIN), "bowl", "manifold") == (
        Step("gasket", "chamber"), Step("passage", "manifold"),
    )
    assert shortest_path(CHAMBER, opened(CHAMBER, "passage", **PLAIN), "bowl", "manifold") == (
        Step("gasket", "chamber"), Step("port", "fitting"), Step("line", "manifold"),
    )
    assert shortest_path(CHAMBER, opened(CHAMBER, "passage", "port", **PLAIN), "bowl", "manifold") is None


def test_no_path_goes_on_through_a_source() -> None:
    configuration = opened(CHAMBER, **PLAIN)
    assert shortest_path(CHAMBER, configuration, "bowl", "far") is None
    assert shortest_path(CHAMBER, configuration, "air_horn", "far") == (Step("hose", "far"),)
    assert "far" not in reached(CHAMBER, configuration, "bowl")
    assert "air_horn" in reached(CHAMBER, configuration, "bowl")


def test_one_way_valve_is_passed_in_its_own_direction_only() -> None:
    check = built(way("check", "chamber", "manifold", one_way=True))
    assert shortest_path(check, opened(check), "chamber", "manifold") == (Step("check", "manifold"),)
    assert shortest_path(check, opened(check), "manifold", "chamber") is None
    fitted = opened(CHAMBER, "passage", **{"line.inline": "one_way_valve"})
    assert shortest_path(CHAMBER, fitted, "chamber", "manifold") is not None
    assert shortest_path(CHAMBER, fitted, "manifold", "chamber") is None


def test_filter_takes_ways_away() -> None:
    path = shortest_path(
        CHAMBER, opened(CHAMBER, **PLAIN), "chamber", "manifold", lambda way: way.name != "passage"
    )
    assert path == (Step("port", "fitting"), Step("line", "manifold"))


def test_ties_go_to_the_first_name_whatever_the_order_of_the_ways() -> None:
    twins = built(way("b", "x", "manifold"), way("a", "x", "manifold"), way("c", "manifold", "x"))
    assert shortest_path(twins, opened(twins), "x", "manifold") == (Step("a", "manifold"),)


def test_disjoint_paths_share_no_way_and_grow_longer() -> None:
    configuration = opened(CHAMBER, **PLAIN)
    paths = list(disjoint_paths(CHAMBER, configuration, "chamber", "manifold"))
    assert [len(path) for path in paths] == [1, 2]
    used = [step.way for path in paths for step in path]
    assert len(used) == len(set(used))
    many = built(*(way(f"w{index}", "x", "manifold") for index in range(6)))
    assert len(list(disjoint_paths(many, opened(many), "x", "manifold", most=3))) == 3
    assert list(disjoint_paths(many, dict.fromkeys(opened(many), "plugged"), "x", "manifold")) == []


def test_region_is_bounded_by_sources_and_blind_to_direction() -> None:
    assert region(CHAMBER, "chamber", everything) == {"chamber", "bowl", "fitting", "manifold", "air_horn", "ambient"}
    assert region(CHAMBER, "manifold", everything) == {"manifold"}
    check = built(way("check", "chamber", "manifold", one_way=True), way("a", "x", "chamber", one_way=True))
    assert region(check, "chamber", everything) == region(check, "x", everything) == {"x", "chamber", "manifold"}


def test_paths_that_meet_in_one_way_are_not_disjoint() -> None:
    # Both branches must come through the neck.
    neck = built(way("a", "x", "y"), way("b", "x", "y"), way("neck", "y", "manifold"), way("c", "x", "z"),
                 way("d", "z", "y"))
    assert list(disjoint_paths(neck, opened(neck), "x", "manifold")) == [
        (Step("a", "y"), Step("neck", "manifold"))
    ]


@pytest.mark.parametrize("leak", ["a_leak", "z_leak"])
def test_sources_joined_by_ducts_are_one_whatever_else_joins_them(leak: str) -> None:
    stack = built(
        way("bores", "manifold", "ambient", kind="duct"), way(leak, "manifold", "ambient"),
        way("further", "ambient", "air_horn", kind="duct"), way("vent", "air_horn", "bowl"),
        way("tap", "ambient", "gauge"),
    )
    through = reached(stack, opened(stack), "manifold", through_ducts=True)
    assert set(through) == {"manifold", "ambient", "air_horn", "bowl", "gauge"}
    assert set(reached(stack, opened(stack), "manifold")) == {"manifold", "ambient"}
    assert set(reached(stack, opened(stack, "bores"), "manifold", through_ducts=True)) == {"manifold", "ambient"}
    # A filter that takes a duct away takes the joint away.
    kept = reached(stack, opened(stack), "manifold", lambda way: way.name != "bores", through_ducts=True)
    assert set(kept) == {"manifold", "ambient"}


# --- against brute force and another library --------------------------------------------------------------


def random_network(rng: np.random.Generator) -> tuple[Network, dict[str, str]]:
    free = [f"s{index}" for index in range(int(rng.integers(2, 7)))]
    names = [*free, *SOURCES]
    ways = []
    for index in range(int(rng.integers(4, 12))):
        a, b = (str(name) for name in rng.choice(names, 2, replace=False))
        ways.append(way(f"w{index:02}", a, b, one_way=bool(rng.random() < 0.3)))
    network = built(*ways, extra=tuple(names))
    return network, {each.name: "open" if rng.random() < 0.6 else "plugged" for each in ways}


def matrix(network: Network, configuration: dict[str, str], start: str) -> np.ndarray:
    """Number of ways that pass from each space to each other; none leads on from a source but the start."""
    number = {name: index for index, name in enumerate(network.spaces)}
    ways = np.zeros((len(number), len(number)), dtype=np.int32)
    for each in network.ways:
        if configuration[each.name] == "open":
            for a, b in [(each.a, each.b)] + ([] if each.one_way else [(each.b, each.a)]):
                if a == start or a not in SOURCES:
                    ways[number[a], number[b]] += 1
    return ways


def test_reach_and_lengths_agree_with_a_graph_library() -> None:
    rng = np.random.default_rng(10)
    for _ in range(150):
        network, configuration = random_network(rng)
        names = list(network.spaces)
        for start in names:
            ways = matrix(network, configuration, start)
            found = shortest_lengths(csr_array(ways), unweighted=True, indices=names.index(start))
            expected = {name: int(length) for name, length in zip(names, found, strict=True) if np.isfinite(length)}
            paths = reached(network, configuration, start)
            assert {space: len(path) for space, path in paths.items()} == expected
            for goal in set(names) - {start}:
                path = shortest_path(network, configuration, start, goal)
                assert (None if path is None else len(path)) == expected.get(goal)
                assert_walkable(network, configuration, start, path or ())
                assert (path or (Step("", goal),))[-1].into == goal


def assert_walkable(network: Network, configuration: dict[str, str], start: str, path: tuple[Step, ...]) -> None:
    here = start
    for step in path:
        taken = next(each for each in network.ways if each.name == step.way)
        assert configuration[step.way] == "open"
        assert (here, step.into) == (taken.a, taken.b) or (
            not taken.one_way and (here, step.into) == (taken.b, taken.a)
        )
        here = step.into


def test_what_a_start_draws_from_is_all_that_reaches_it() -> None:
    # A source in between ends a path either way; the ends themselves may be sources.
    rng = np.random.default_rng(13)
    for _ in range(60):
        network, configuration = random_network(rng)
        for goal in network.spaces:
            drawn = reached(network, configuration, goal, against=True)
            expected = {
                start for start in network.spaces
                if start == goal or shortest_path(network, configuration, start, goal) is not None
            }
            assert set(drawn) == expected


def test_number_of_disjoint_paths_is_never_more_than_the_cut() -> None:
    rng = np.random.default_rng(11)
    several = 0
    for _ in range(150):
        network, configuration = random_network(rng)
        names = list(network.spaces)
        ways = csr_array(matrix(network, configuration, "s0"))
        cut = maximum_flow(ways, names.index("s0"), names.index("manifold")).flow_value
        paths = list(disjoint_paths(network, configuration, "s0", "manifold", most=20))
        assert min(cut, 1) <= len(paths) <= cut
        several += len(paths) > 1
        used = [step.way for path in paths for step in path]
        assert len(used) == len(set(used))
        assert [len(path) for path in paths] == sorted(len(path) for path in paths)
        # Nothing is left once all of them are closed.
        closed = {**configuration, **dict.fromkeys(used, "plugged")}
        assert shortest_path(network, closed, "s0", "manifold") is None
    assert several


def test_every_set_of_openings_that_lets_a_signal_through_crosses_the_frontier() -> None:
    rng = np.random.default_rng(12)
    crossed = 0
    for _ in range(120):
        network, configuration = random_network(rng)
        edge = frontier(network, configuration, "s0", "manifold", everything, everything)
        if shortest_path(network, configuration, "s0", "manifold") is not None:
            assert edge is None
            continue
        assert edge is not None
        shut = [name for name, form in configuration.items() if form == "plugged"]
        for count in range(len(shut) + 1):
            for some in itertools.combinations(shut, count):
                after = {**configuration, **dict.fromkeys(some, "open")}
                if shortest_path(network, after, "s0", "manifold") is not None:
                    assert edge & set(some)
                    crossed += 1
        outside = {space for space in network.spaces if space not in reached(network, configuration, "s0")}
        for name in edge:
            joined = next(each for each in network.ways if each.name == name)
            assert {joined.a, joined.b} & outside
    assert crossed > 100


@pytest.mark.parametrize(("possible", "expected"), [(True, {"passage", "port"}), (False, {"port"})])
def test_frontier_holds_only_what_could_exist(possible: bool, expected: set[str]) -> None:
    configuration = opened(CHAMBER, "passage", "port", **PLAIN)
    edge = frontier(
        CHAMBER, configuration, "bowl", "manifold", everything, lambda way: possible or way.name != "passage"
    )
    assert edge == expected
