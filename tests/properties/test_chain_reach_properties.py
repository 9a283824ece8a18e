"""Who feels whom in generated and shipped carburetors: what closing a passage can and cannot do.

That reach is right on random networks, against a graph library, is in `tests/network/test_tracing.py`.
"""

from __future__ import annotations

from typing import Any

from generated_carburetors import Made, carburetors, configurations, shipped, tried
from generated_families import Entry
from hypothesis import assume, event, given
from hypothesis import strategies as st

from boostcarb import pipeline
from boostcarb.answers import Reach
from boostcarb.network.model import OPEN, PLUGGED
from boostcarb.network.tracing import disjoint_paths, reached, shortest_path

OF_PATHS = frozenset({"isolated", "guarded"})
"""Kinds of requirement that only an open path can break."""


def closed(data: st.DataObject, made: Made) -> tuple[Any, dict[str, str], dict[str, str], str]:
    """A carburetor in any configuration, the same with one open passage plugged, and which."""
    bench = made.bench(latent=True)
    network = bench.network
    configuration = data.draw(configurations(network))
    open_now = (name for name, each in network.items.items() if PLUGGED in each.forms and configuration[name] == OPEN)
    is_open = sorted(open_now)
    assume(is_open)
    name = data.draw(st.sampled_from(is_open))
    return bench, configuration, {**configuration, name: PLUGGED}, name


@tried(8)
@given(st.data(), st.one_of(carburetors(), carburetors(), shipped()))
def test_a_passage_that_is_closed_lets_no_signal_reach_more(data: st.DataObject, made: Made) -> None:
    bench, before, after, _ = closed(data, made)
    network = bench.network
    fewer = 0
    for start in network.spaces:
        for against in (False, True):
            for ducts in (False, True):
                wide = reached(network, before, start, against=against, through_ducts=ducts)
                narrow = reached(network, after, start, against=against, through_ducts=ducts)
                assert set(narrow) <= set(wide), start
                assert all(len(path) >= len(wide[space]) for space, path in narrow.items()), start
                fewer += len(wide) - len(narrow)
    event("somebody feels less" if fewer else "nobody feels less")


@tried(8)
@given(st.data(), st.one_of(carburetors(), carburetors(), shipped()))
def test_a_passage_that_is_closed_opens_no_path_in_any_state(data: st.DataObject, made: Made) -> None:
    """As the command that traces says it: by ways open in a state, both ways, through ducts."""
    bench, before, after, _ = closed(data, made)
    start = data.draw(st.sampled_from(sorted(bench.network.spaces)))
    for state in (None, *(each.name for each in bench.view(before).states)):
        wide = pipeline.reaches(bench, before, start, state)[1]
        narrow = pipeline.reaches(bench, after, start, state)[1]
        assert set(narrow) <= set(wide)
        for name, each in narrow.items():
            assert each.reach in (wide[name].reach, Reach.into, Reach.out_of)
            if wide[name].reach is not Reach.both:
                assert each.reach is wide[name].reach


@tried(8)
@given(st.data(), st.one_of(carburetors(), carburetors(), shipped()))
def test_a_passage_that_is_closed_breaks_no_rule_on_paths(data: st.DataObject, made: Made) -> None:
    """Only rules on paths: a closed passage may well starve a valve, or seal a chamber.

    A rule that looks at paths in some states only, or only where a valve works, is still one: neither hangs on a
    passage.
    """
    bench, before, after, name = closed(data, made)

    def broken(configuration: dict[str, str]) -> set[tuple[str, str]]:
        return {
            (judgement.finding.rule, judgement.finding.place)
            for judgement in bench.judge.judgements(configuration)
            if bench.judge.instances[judgement.instance].rule.requirement.kind in OF_PATHS
        }

    assert broken(after) <= broken(before), name


@tried(20)
@given(st.data(), carburetors())
def test_a_path_can_be_walked_and_no_shorter_one_is_there(data: st.DataObject, made: Made) -> None:
    bench = made.bench(latent=True)
    network = bench.network
    configuration = data.draw(configurations(network))
    ends = sorted({end for way in network.ways for end in (way.a, way.b) if way.inline or "main." in way.name})
    start, goal = data.draw(st.lists(st.sampled_from(ends), min_size=2, max_size=2, unique=True))
    ways = {way.name: way for way in network.ways}
    used: set[str] = set()
    for path in disjoint_paths(network, configuration, start, goal):
        here = start
        for step in path:
            way = ways[step.way]
            valve = way.one_way or (way.inline is not None and configuration[way.inline] == "one_way_valve")
            assert all(configuration[item] in forms for item, forms in way.conditions)
            assert (way.a, way.b) == (here, step.into) or ((way.b, way.a) == (here, step.into) and not valve)
            assert here == start or not network.spaces[here].source
            assert step.way not in used
            used.add(step.way)
            here = step.into
        assert here == goal
    everywhere = reached(network, configuration, start)
    for other in network.spaces:
        path = shortest_path(network, configuration, start, other) if other != start else ()
        assert (path is None) == (other not in everywhere), other
        assert path is None or len(path) == len(everywhere[other])


# --- the network against the file -------------------------------------------------------------------------


def as_written(family: Entry, configuration: dict[str, str], spaces: set[str]) -> set[tuple[str, str, str]]:
    """What passes from where to where, read from the file of a family anew: item, start, end."""
    found: set[tuple[str, str, str]] = set()

    def is_so(conditions: dict[str, list[str]]) -> bool:
        return all(configuration[part] in forms for part, forms in conditions.items())

    for name, passage in family["passages"].items():
        a, b = passage["joins"]
        blocked = passage.get("blocked_by", {})
        if configuration[name] != "open" or not {a, b} <= spaces or not is_so(passage.get("when", {})):
            continue
        if any(configuration[part] in forms for part, forms in blocked.items()):
            continue
        turned = passage.get("only_back_by", {})
        back_only = bool(turned) and any(configuration[part] in forms for part, forms in turned.items())
        if not back_only:
            found.add((name, a, b))
        if back_only or not passage.get("one_way"):
            found.add((name, b, a))
    for name, line in family["lines"].items():
        tap = line["taps"][configuration[name]]
        switched = tap.get("switched", {})
        ends = {switched["below"], switched["above"]} if switched else {tap["to"]} if "to" in tap else set()
        for end in ends & spaces:
            found.add((name, line["of"], end))
            if configuration[f"{name}.inline"] == "none":
                found.add((name, end, line["of"]))
    return found


@tried(25)
@given(st.data(), carburetors())
def test_what_passes_is_what_the_file_of_the_family_says(data: st.DataObject, made: Made) -> None:
    assert made.family is not None
    network = made.bench().network
    configuration = data.draw(configurations(network))
    own = {*made.family["passages"], *made.family["lines"]}
    passing: set[tuple[str, str, str]] = set()
    for way in network.existing(configuration):
        if way.item in own:
            passing.add((way.item, way.a, way.b))
            if not way.is_one_way(configuration):
                passing.add((way.item, way.b, way.a))
    assert passing == as_written(made.family, configuration, set(network.spaces))
