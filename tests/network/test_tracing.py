"""Following signals: reach, shortest and disjoint paths, and the frontier that any opening must cross."""

from __future__ import annotations

import itertools

import networkx as nx
import numpy as np
import pytest

from boostcarb.findings import Step
from boostcarb.network.model import Network, Space, Way
from boostcarb.network.tracing import (
    disjoint_paths,
    frontier,
    matching,
    passable,
    reached,
    region,
    shortest_path,
)

SOURCES = ("air_horn", "ambient", "manifold")


def way(name: str, a: str, b: str, *, one_way: bool = False, inline: str | None = None, carries: str = "air") -> Way:
    return Way(
        name=name, title=name, kind="bore", a=a, b=b, area_m2=1e-6, carries=carries, casting="body", stage="on",
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


def graph_without_through_sources(network: Network, configuration: dict[str, str], start: str) -> nx.MultiDiGraph:
    graph = passable(network, configuration)
    graph.remove_edges_from(
        [edge for name in SOURCES if name != start for edge in list(graph.out_edges(name, keys=True))]
    )
    return graph


def test_reach_and_lengths_agree_with_a_graph_library() -> None:
    rng = np.random.default_rng(10)
    for _ in range(150):
        network, configuration = random_network(rng)
        for start in network.spaces:
            graph = graph_without_through_sources(network, configuration, start)
            expected = nx.single_source_shortest_path_length(graph, start)
            paths = reached(network, configuration, start)
            assert {space: len(path) for space, path in paths.items()} == expected
            for goal in network.spaces:
                if goal == start:
                    continue
                path = shortest_path(network, configuration, start, goal)
                assert (None if path is None else len(path)) == expected.get(goal)
                here = start
                for step in path or ():
                    here = step.into if graph.has_edge(here, step.into, key=step.way) else "nowhere"
                assert here == (goal if path else start)


def test_number_of_disjoint_paths_is_never_more_than_the_cut() -> None:
    rng = np.random.default_rng(11)
    for _ in range(80):
        network, configuration = random_network(rng)
        graph = graph_without_through_sources(network, configuration, "s0")
        flat = nx.DiGraph()
        flat.add_nodes_from(graph)
        for a, b in graph.edges():
            flat.add_edge(a, b, capacity=graph.number_of_edges(a, b))
        paths = list(disjoint_paths(network, configuration, "s0", "manifold", most=20))
        assert len(paths) <= nx.maximum_flow_value(flat, "s0", "manifold")
        assert bool(paths) == nx.has_path(graph, "s0", "manifold")
        # Nothing is left once all of them are closed.
        closed = {**configuration, **{step.way: "plugged" for path in paths for step in path}}
        assert shortest_path(network, closed, "s0", "manifold") is None


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
