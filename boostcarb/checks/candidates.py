"""Every test worth comparing, with what each mistake shows on it.

A test is put to one hole, to a diaphragm that lies open, or to the whole inside; blocked are none of the holes it
comes out of, one of them, all of them, or also those that show only then.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from boostcarb.checks.model import Candidate, Hole, Kind, Mistake, Outcome, Test
from boostcarb.checks.parting import BenchStage
from boostcarb.checks.passing import Passes, passing
from boostcarb.checks.trying import StageTrials
from boostcarb.network.model import PLUGGED, Configuration, Network

MOST_BLOCKED = 4
"""Holes that one person can hold shut with fingers and caps; a pressure test takes as many caps as it needs."""

SETUP_MINUTES = {Kind.spray: 2, Kind.air: 3, Kind.vacuum: 3, Kind.pressure: 15}
"""Minutes that a test takes to set up (assumption; for comparing tests)."""


@dataclass(frozen=True, slots=True)
class Broken:
    """A mistake with the configuration it makes, the ways that pass in it, and where it differs."""

    mistake: Mistake
    configuration: Configuration
    passes: Mapping[str, Passes]
    ways: frozenset[str]
    sides: frozenset[str]


def broken_by(network: Network, configuration: Configuration, mistakes: Sequence[Mistake]) -> tuple[Broken, ...]:
    """Each mistake made in a configuration."""
    sound = passing(network, configuration)
    found = []
    for mistake in mistakes:
        wrong = {**configuration, mistake.item: mistake.form}
        passes = passing(network, wrong)
        names = passes.keys() | sound.keys()
        ways = frozenset(name for name in names if passes.get(name) != sound.get(name))
        sides = frozenset(
            side
            for each in network.diaphragms.values()
            if (each.exists(wrong), each.is_torn(wrong)) != (each.exists(configuration), each.is_torn(configuration))
            for side in (each.first, each.second)
        )
        found.append(Broken(mistake, wrong, passes, ways, sides))
    return tuple(found)


def candidates(
    network: Network, stage: BenchStage, configuration: Configuration, broken: Sequence[Broken], *, dry: bool = True
) -> Iterator[Candidate]:
    """Every test of one stage that a mistake could show on; without `dry` nothing is blown into it."""
    trials = StageTrials(network, stage)
    sound = passing(network, configuration)
    touched = [_nodes(trials, each) for each in broken]
    for kind, at in starts(network, stage, configuration):
        if not dry and kind is not Kind.vacuum:
            continue
        for blocked in blockings(trials, kind, at, sound):
            test = Test(stage.name, kind, at, blocked)
            got = trials.reach(test, sound)
            near = got.inside | set(at)
            seen = trials.seen(test, got, configuration)
            shown: dict[Mistake, Outcome] = {}
            for each, nodes in zip(broken, touched, strict=True):
                if not near.isdisjoint(nodes):
                    outcome = trials.seen(test, trials.reach(test, each.passes), each.configuration)
                    if outcome != seen:
                        shown[each.mistake] = outcome
            if shown:
                yield Candidate(test, minutes_of(test, seen), seen, shown)


def _nodes(trials: StageTrials, broken: Broken) -> frozenset[str]:
    """Ends, at this stage, of what a mistake changes."""
    ends = {end for way in broken.ways if way in trials.ends for end in trials.ends[way]}
    return frozenset(ends | broken.sides)


def starts(network: Network, stage: BenchStage, configuration: Configuration) -> Iterator[tuple[Kind, tuple[str, ...]]]:
    """Where a test of each kind can be put to."""
    for name, hole in sorted(stage.holes.items()):
        if not hole.applied or not is_there(network, hole, configuration):
            continue
        yield Kind.vacuum, (name,)
        if not stage.on_engine:  # diaphragms of vacuum chambers in the car do not stand a puff
            yield Kind.spray, (name,)
            yield Kind.air, (name,)
    for holes in stage.faces.values():
        yield Kind.vacuum, holes
    inner = tuple(sorted(name for name, hole in stage.holes.items() if hole.inner))
    if stage.assembled and inner:
        yield Kind.pressure, inner


def is_there(network: Network, hole: Hole, configuration: Configuration) -> bool:
    """Whether there is such a hole: a plugged one is, an undrilled one is not."""
    if hole.item is None:
        return True
    return any(
        all(
            configuration[item] in forms
            or (item == hole.item and configuration[item] == PLUGGED and network.items[item].kind == "passage")
            for item, forms in way.conditions
        )
        for way in network.ways
        if way.item == hole.item and hole.space in (way.a, way.b)
    )


def blockings(
    trials: StageTrials, kind: Kind, at: tuple[str, ...], passes: Mapping[str, Passes]
) -> tuple[tuple[str, ...], ...]:
    """None of the holes it comes out of, each single one, all of them, and all that then show as well."""

    def can(blocked: tuple[str, ...]) -> tuple[str, ...]:
        got = trials.reach(Test(trials.stage.name, kind, at, blocked), passes)
        return tuple(sorted({*blocked, *(name for name in got.exits if trials.stage.holes[name].blocked)}))

    most = len(trials.stage.holes) if kind is Kind.pressure else MOST_BLOCKED
    shut = can(())
    sets: list[tuple[str, ...]] = [(), *((name,) for name in shut)]
    while len(shut) <= most and shut not in sets:
        sets.append(shut)
        shut = can(shut)
    return tuple(sets)


def minutes_of(test: Test, sound: Outcome) -> int:
    """Minutes that a test takes: to set up, a minute for each hole to shut, and one for every two to watch."""
    return SETUP_MINUTES[test.kind] + len(test.blocked) + (len(sound.exits) + 1) // 2
