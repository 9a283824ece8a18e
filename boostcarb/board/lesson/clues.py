"""Bench tests as clues: what each fault shows on each, which faults look alike, and the words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from boostcarb.board.lesson.ground import Ground
from boostcarb.checks.candidates import broken_by, candidates
from boostcarb.checks.model import Candidate, Kind, Mistake, Outcome
from boostcarb.checks.parting import BenchStage, bench_stages, stage_order
from boostcarb.checks.passing import with_fuel_valves
from boostcarb.network.model import Network

PUT = {Kind.spray: "Spray cleaner in at", Kind.air: "Blow air in at", Kind.vacuum: "Hand pump on"}
WHOLE = {False: "Put air into the bores, air horn and base covered", True: "Put air into the whole intake, air horn "
         "to manifold, its inlet covered and no fuel in it"}  # fmt: skip


@dataclass(frozen=True)
class Clues:
    """Every test of a configuration, and what a fault shows on each."""

    network: Network
    stages: Sequence[BenchStage]
    reach_minutes: Mapping[str, int]
    tests: Sequence[Candidate]

    @classmethod
    def of(cls, ground: Ground, faults: Iterable[Mistake]) -> Clues:
        """All tests on which one of these faults shows; nothing is blown into a carburetor with fuel in it."""
        network = with_fuel_valves(ground.network)
        order = stage_order(network)
        stages = bench_stages(network, frozenset(ground.bench.family.family.castings), order)
        broken = broken_by(network, ground.configuration, list(faults))
        tests = [
            each
            for stage in stages
            for each in candidates(network, stage, ground.configuration, broken, dry=not stage.on_engine)
        ]
        names = [stage.name for stage in order]
        minutes = {stage.name: sum(each.minutes for each in order[: names.index(stage.name) + 1]) for stage in stages}
        return cls(network, stages, minutes, tests)

    def depth(self, test: Candidate) -> int:
        """Which of the stages a test is done at, 0 the first."""
        return [stage.name for stage in self.stages].index(test.test.stage)

    def stage(self, test: Candidate) -> BenchStage:
        """The stage a test is done at."""
        return self.stages[self.depth(test)]

    def signature(self, fault: Mistake) -> tuple[Outcome, ...]:
        """What a fault shows on every test."""
        return tuple(result(test, fault) for test in self.tests)

    # --- words ----------------------------------------------------------------------------------------------

    def title(self, test: Candidate) -> str:
        """What is put to where."""
        stage = self.stage(test)
        if test.test.kind is Kind.pressure:
            return WHOLE[stage.on_engine]
        where = self._named(stage, test.test.at)
        return f"{PUT[test.test.kind]} the {f'cup over {where}' if test.test.at[1:] else where}"

    def how(self, test: Candidate) -> str:
        """What is off, and what is held shut."""
        stage = self.stage(test)
        off = ", ".join(self.network.castings[each] for each in stage.off)
        where = f"off: {off}" if off else "on the engine" if stage.on_engine else "off the engine, in one piece"
        if test.test.kind is not Kind.vacuum:
            where += "; drained and dry"
        shut = self._named(stage, test.test.blocked)
        return f"{where}; hold shut: {shut}" if shut else where

    def outcome(self, test: Candidate, outcome: Outcome) -> str:
        """What is seen."""
        if outcome.holds is None:
            where = self._named(self.stage(test), outcome.exits)
            return f"it comes out at the {where}" if where else "it comes out nowhere"
        if not outcome.holds:
            return "it does not hold"
        moves = [self.network.diaphragms[name].title for name in outcome.moves]
        return f"it holds and moves the {' and the '.join(moves)}" if moves else "it holds"

    @staticmethod
    def _named(stage: BenchStage, holes: Iterable[str]) -> str:
        return "; ".join(stage.holes[name].title for name in holes)


def result(test: Candidate, fault: Mistake) -> Outcome:
    """What a fault shows on a test."""
    return test.shown.get(fault, test.sound)
