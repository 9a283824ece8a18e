"""Following a signal, and where cleaner comes out that is sprayed in, for what stands on the board."""

from __future__ import annotations

from collections.abc import Iterable

from boostcarb import pipeline
from boostcarb.answers import Reach, ReachedSpace
from boostcarb.board.question import Record
from boostcarb.board.study import Asked, Study
from boostcarb.checks.passing import outside, passing
from boostcarb.errors import BadDescription, Problem
from boostcarb.findings import Step
from boostcarb.network.model import Network, Way
from boostcarb.network.tracing import reached
from boostcarb.suggest import suggest

HOW = {Reach.both: "both", Reach.into: "into", Reach.out_of: "out_of"}


def trace_record(study: Study, asked: Asked, space: str, state: str | None = None) -> Record:
    """Everything that feels a space, and by which path; in one state, or in any of them.

    What is felt in some states only, behind a valve that a pressure switches, names them in `states`; the path is that
    of the first. Raises: BadDescription.
    """
    bench, configuration = study.bench(asked.mode), study.configuration(asked)
    if state is not None:
        start, found = pipeline.reaches(bench, configuration, space, state)
        return {"from": start, "reaches": {name: _reached(each) for name, each in found.items()}}
    start, always = pipeline.reaches(bench, configuration, space)
    names = [view.name for view in bench.view(configuration).states]
    during = {name: pipeline.reaches(bench, configuration, space, name)[1] for name in names}
    sometimes = dict.fromkeys(name for found in during.values() for name in found if name not in always)
    reaches = {name: _reached(each) for name, each in always.items()}
    for name in sometimes:
        states = [each for each, found in during.items() if name in found]
        reaches[name] = _reached(during[states[0]][name])
        if len(states) < len(during):  # else by one way here, by another there
            reaches[name]["states"] = states
    return {"from": start, "reaches": reaches}


def _reached(each: ReachedSpace) -> Record:
    return {"how": HOW[each.reach], **_path(each.path)}


def _path(path: Iterable[Step]) -> Record:
    steps = list(path)
    return {"ways": [step.way for step in steps], "spaces": [step.into for step in steps]}


def spray_record(study: Study, asked: Asked, *, space: str | None = None, way: str | None = None) -> Record:
    """Where cleaner comes out that is sprayed into a space or a way, the carburetor together on the bench.

    One-way valves pass their direction only; it comes out wherever a way leads to the open: to the atmosphere, or
    into the bores. Where it is sprayed into a way it goes to both its ends.

    Raises: BadDescription for no such place, or a way that is not open.
    """
    configuration = study.configuration(asked)
    network = study.bench(asked.mode).network
    starts = _starts(network, space, way)
    passes = passing(network, configuration)
    if way is not None and way not in passes:
        return {"at": way, "exits": [], "inside": [], "ways": [], "blocked": True}

    def goes_on(each: Way) -> bool:
        return each.name in passes and each.name != way

    filled = [start for start in starts if start == space or not outside(network, start)]
    into = {name: None for start in filled for name in reached(network, configuration, start, goes_on)}
    inside = [name for name in into if not outside(network, name)]
    exits = [Step(way, end) for end in starts if way is not None and outside(network, end)]
    used = [] if way is None else [way]
    for here in dict.fromkeys((*filled, *inside)):
        for each in network.ways_of[here]:
            if goes_on(each) and not (passes[each.name].one_way and each.b == here):
                used.append(each.name)
                if outside(network, end := each.other(here)):
                    exits.append(Step(each.name, end))
    titles = {each.name: each.title for each in network.ways}
    return {
        "at": space or way,
        "exits": [
            {"space": step.into, "way": step.way, "title": f"{titles[step.way]}, at the {network.title_of(step.into)}"}
            for step in dict.fromkeys(exits)
        ],
        "inside": inside,
        "ways": list(dict.fromkeys(used)),
    }


def _starts(network: Network, space: str | None, way: str | None) -> list[str]:
    if space is not None:
        if space not in network.spaces:
            raise BadDescription(Problem(f"no such space {space!r}; {suggest(space, network.spaces)}", field="space"))
        return [space]
    ways = {each.name: each for each in network.ways}
    if way not in ways:
        raise BadDescription(Problem(f"no such way {way!r}; {suggest(way or '', ways)}", field="way"))
    return [ways[way].a, ways[way].b]
