"""Following a signal, and where cleaner comes out that is sprayed in, for what stands on the board."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable

from boostcarb import pipeline
from boostcarb.answers import Reach, ReachedSpace
from boostcarb.board.question import Record
from boostcarb.board.study import Asked, Study
from boostcarb.checks.passing import passing
from boostcarb.errors import BadDescription, Problem
from boostcarb.findings import Step
from boostcarb.network.model import Network
from boostcarb.suggest import suggest

HOW = {Reach.both: "both", Reach.into: "into", Reach.out_of: "out_of"}
AMBIENT = "ambient"


def trace_record(study: Study, asked: Asked, space: str, state: str | None = None) -> Record:
    """Everything that feels a space, and by which path; in one state or in every one. Raises: BadDescription."""
    configuration = study.configuration(asked)
    traced = pipeline.trace(study.bench(asked.mode), space, state, configuration)
    reaches = {name: _reached(each) for name, each in traced.spaces.items()}
    return {"from": traced.start, "reaches": reaches}


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
    into: dict[str, tuple[Step, ...]] = dict.fromkeys(starts, ())
    queue = deque(starts)
    exits: dict[tuple[str, str], Step] = {}
    used: dict[str, None] = {} if way is None else {way: None}
    if way is not None:
        exits |= {(way, end): Step(way, end) for end in starts if _open(network, end)}
    while queue:
        here = queue.popleft()
        if _open(network, here) and here != space:
            continue
        for each in network.ways_of[here]:
            how = passes.get(each.name)
            if how is None or each.name == way or (how.one_way and each.b == here):
                continue
            end = each.other(here)
            used[each.name] = None
            if _open(network, end):
                exits[each.name, end] = Step(each.name, end)
            elif end not in into:
                into[end] = (*into[here], Step(each.name, end))
                queue.append(end)
    titles = {each.name: each.title for each in network.ways}
    inside = [name for name in into if not _open(network, name)]
    return {
        "at": space or way,
        "exits": [
            {"space": step.into, "way": step.way, "title": f"{titles[step.way]}, at the {network.title_of(step.into)}"}
            for step in exits.values()
        ],
        "inside": inside,
        "ways": list(used),
    }


def _open(network: Network, space: str) -> bool:
    """Whether a space lies open on the bench: the atmosphere, and the bores of the air path."""
    return space == AMBIENT or network.spaces[space].source


def _starts(network: Network, space: str | None, way: str | None) -> list[str]:
    if space is not None:
        if space not in network.spaces:
            raise BadDescription(Problem(f"no such space {space!r}; {suggest(space, network.spaces)}", field="space"))
        return [space]
    ways = {each.name: each for each in network.ways}
    if way not in ways:
        raise BadDescription(Problem(f"no such way {way!r}; {suggest(way or '', ways)}", field="way"))
    return [ways[way].a, ways[way].b]
