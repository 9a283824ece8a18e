"""From a carburetor to its bench tests."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from boostcarb.checks.candidates import broken_by, candidates, is_there
from boostcarb.checks.cover import cheapest_cover, undominated
from boostcarb.checks.mistakes import mistakes_of
from boostcarb.checks.model import (
    BenchAnswer,
    Candidate,
    Check,
    Deviation,
    Hole,
    Kind,
    Mistake,
    Outcome,
    Route,
    StageTitle,
    Test,
    Unseen,
)
from boostcarb.checks.parting import CARBURETOR_OFF, BenchStage, bench_stages, stage_order
from boostcarb.checks.passing import passing, with_fuel_valves
from boostcarb.checks.trying import StageTrials
from boostcarb.network.model import Configuration, Network


def bench_answer(
    network: Network,
    configuration: Configuration,
    own: Collection[str],
    *,
    taken_off: Collection[str] = (),
    assembling: bool = True,
) -> BenchAnswer:
    """The cheapest tests that show every mistake of a configuration that any test shows.

    `network` has its latent items, `own` are the castings of the carburetor. `taken_off` names the stages that the
    work takes anyway. With `assembling` the tests come in the order in which it goes together, before any fuel is let
    in; without, in the order in which it comes apart, and nothing is blown into it while it is still on the engine.
    """
    network = with_fuel_valves(network)
    before = network.found()
    mistakes = mistakes_of(network, configuration, before)
    order = stage_order(network, taken_off)
    stages = bench_stages(network, own, order)
    extra = _extra_minutes(network, [stage.name for stage in order], stages, taken_off)
    broken = broken_by(network, configuration, mistakes)
    every = [
        each
        for stage in stages
        for each in candidates(network, stage, configuration, broken, dry=assembling or not stage.on_engine)
    ]
    names = [stage.name for stage in stages]
    chosen = cheapest_cover(undominated(every, names, extra), names, extra) if every else ()
    placed = sorted(chosen, key=lambda each: _when(each, names, assembling=assembling))
    checks = _checks(placed)
    seen = {mistake for each in every for mistake in each.shown}
    at = {stage.name: stage for stage in stages}
    whole = next((stage for stage in stages if stage.name == CARBURETOR_OFF), stages[0])
    passage = {each.mistake for each in broken if each.ways or each.sides}
    return BenchAnswer(
        checks=checks,
        unseen=tuple(
            Unseen(each, network.items[each.item].look, each in passage) for each in mistakes if each not in seen
        ),
        routes=tuple(
            route
            for stage in dict.fromkeys((whole.name, names[-1]))
            for route in _routes(network, at[stage], before, configuration)
        ),
        holes=_holes(stages),
        stages={
            stage.name: StageTitle(stage.name, stage.title, stage.off, stage.on_engine, extra[stage.name])
            for stage in stages
        },
        mistakes=len(passage),
        tried=len(every),
        minutes=_minutes(checks, names, extra),
    )


def _minutes(checks: Iterable[Check], names: list[str], extra: Mapping[str, int]) -> int:
    """Minutes of tests, with the strip-down down to the deepest of their stages that nothing else needs."""
    deepest = max((names.index(check.test.stage) for check in checks), default=-1)
    return sum(extra[name] for name in names[: deepest + 1]) + sum(check.minutes for check in checks)


def _extra_minutes(
    network: Network, order: list[str], stages: Iterable[BenchStage], taken_off: Collection[str]
) -> dict[str, int]:
    """Minutes of strip-down that each bench stage takes beyond the one before it and beyond the work."""
    extra: dict[str, int] = {}
    reached = 0
    for stage in stages:
        at = order.index(stage.name) + 1
        extra[stage.name] = sum(network.stages[name].minutes for name in order[reached:at] if name not in taken_off)
        reached = at
    return extra


def _when(each: Candidate, names: list[str], *, assembling: bool) -> tuple[int, Test]:
    place = names.index(each.test.stage)
    return -place if assembling else place, each.test


def _checks(placed: Iterable[Candidate]) -> tuple[Check, ...]:
    known: set[Mistake] = set()
    checks = []
    for each in placed:
        groups: dict[Outcome, list[Mistake]] = {}
        for mistake, outcome in each.shown.items():
            groups.setdefault(outcome, []).append(mistake)
        deviations = tuple(
            Deviation(outcome, tuple(sorted(groups[outcome], key=lambda mistake: mistake.name)))
            for outcome in sorted(groups, key=lambda outcome: (outcome.holds is None, outcome.exits, outcome.moves))
        )
        first = tuple(sorted((m for m in each.shown if m not in known), key=lambda mistake: mistake.name))
        known.update(each.shown)
        checks.append(Check(each.test, each.minutes, each.sound, deviations, first))
    return tuple(checks)


def _holes(stages: Iterable[BenchStage]) -> dict[str, Hole]:
    return dict(sorted({name: hole for stage in stages for name, hole in stage.holes.items()}.items()))


def _routes(network: Network, stage: BenchStage, before: Configuration, after: Configuration) -> tuple[Route, ...]:
    """Where cleaner sprayed into each hole comes out at a stage, as found and in a configuration."""
    trials = StageTrials(network, stage)
    ways: Mapping[str, dict[str, tuple[str, ...]]] = {"before": {}, "after": {}}
    for label, configuration in (("before", before), ("after", after)):
        passes = passing(network, configuration)
        for name, hole in stage.holes.items():
            if hole.applied and is_there(network, hole, configuration):
                test = Test(stage.name, Kind.spray, (name,))
                ways[label][name] = tuple(sorted(trials.reach(test, passes).exits))
    names = sorted(ways["before"].keys() | ways["after"].keys())
    return tuple(Route(stage.name, name, ways["before"].get(name), ways["after"].get(name)) for name in names)
