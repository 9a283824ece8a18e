"""Bench tests and pressures worked out a second time, the plain way, to hold lessons and hunts against."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from chosen_jobs import FEW

from boostcarb import pipeline
from boostcarb.bench import Bench
from boostcarb.board.study import Study
from boostcarb.checks.parting import BenchStage, Piece, bench_stages, stage_order
from boostcarb.checks.passing import Passes, moved, passing, with_fuel_valves
from boostcarb.network.model import Network

SCENARIOS = Path(__file__).parents[2] / "scenarios"
JOBS = sorted(FEW)
ROOMY_M3, VENTED, BESIDE = 10e-6, 4.0, 10.0

_STUDIES: dict[str, Study] = {}


def study_of(job: str) -> Study:
    """A scenario under study, read once."""
    if job not in _STUDIES:
        _STUDIES[job] = Study.of(pipeline.load(SCENARIOS / f"{job}.yaml"))
    return _STUDIES[job]


def places(job: str) -> list[tuple[str, str]]:
    """Each mode of a scenario, with each base that it has."""
    study = study_of(job)
    return [(mode, base) for mode, why in study.modes().items() if why is None for base in study.bases(mode)]


def few(seeds: int, job: str, number: int, each: int) -> list[int]:
    """So many of all seeds for a place of a scenario, others for others."""
    share = seeds // each
    return [seed for seed in range(seeds) if seed % share == (JOBS.index(job) * 6 + number) % share]


def opened(bench: Bench) -> tuple[Network, dict[str, BenchStage]]:
    """The carburetor on the bench, stage by stage."""
    network = with_fuel_valves(bench.network)
    stages = bench_stages(network, frozenset(bench.family.family.castings), stage_order(network))
    return network, {stage.name: stage for stage in stages}


@dataclass(frozen=True)
class Bed:
    """A test being done, space after space; written apart from the product to hold it against."""

    network: Network
    stage: BenchStage
    configuration: Mapping[str, str]
    put: str
    at: tuple[str, ...]
    shut: tuple[str, ...]

    def seen(self) -> object:
        """What is seen: where it comes out, or whether it holds and what moves."""
        exits, inside = self._spread()
        if self.put != "vacuum":
            return tuple(sorted(exits))
        return (False,) if exits else (True, moved(self.network, self.configuration, inside))

    def _spread(self) -> tuple[set[str], set[str]]:
        """Widths grow to a fixed point first; then it is seen what each space lets out."""
        passes = passing(self.network, self.configuration)
        widths = dict.fromkeys(self.at, float("inf"))
        changed = True
        while changed:
            changed = False
            for here, width in list(widths.items()):
                steps = dict(self._steps(here, passes))
                if self._vents(here, steps, width):
                    continue
                for into, area in steps.items():
                    through = min(width, area)
                    if into not in self.stage.holes and through > widths.get(into, 0.0):
                        widths[into] = through
                        changed = True
        exits: set[str] = set()
        for here, width in widths.items():
            out = {into: area for into, area in self._steps(here, passes) if into in self.stage.holes}
            if self._vents(here, out, width):
                exits |= {into for into, area in out.items() if area * BESIDE >= max(out.values())}
            else:
                exits |= set(out)
        return exits, set(widths) - set(self.at)

    def _vents(self, here: str, steps: Mapping[str, float], width: float) -> bool:
        out = sum(area for into, area in steps.items() if into in self.stage.holes)
        return self.put != "vacuum" and out >= VENTED * width

    def _steps(self, here: str, passes: Mapping[str, Passes]) -> Iterator[tuple[str, float]]:
        space = self.network.spaces.get(here)
        roomy = space is not None and not space.source and (space.volume_m3 or 0.0) >= ROOMY_M3
        pulled = {self.stage.holes[hole].line for hole in self.at} - {None}
        lines = {way.name: way.item for way in self.network.ways if way.kind == "line"}
        for piece in self.stage.pieces:
            if here not in (piece.a, piece.b):
                continue
            into = piece.b if piece.a == here else piece.a
            hole = self.stage.holes.get(into)
            if into in (*self.at, *self.shut) or (hole is not None and hole.line is not None):
                continue
            if lines.get(piece.way or "") in pulled or not self._lets(piece, here, passes):
                continue
            if self.put != "spray" or not roomy or into.endswith("/open"):
                yield into, piece.area_m2

    def _lets(self, piece: Piece, here: str, passes: Mapping[str, Passes]) -> bool:
        if piece.way is None:
            return True
        if piece.way not in passes:
            return False
        along = piece.a == here if self.put != "vacuum" else piece.b == here
        if along:
            return True
        how = passes[piece.way]
        return not how.one_way and not (how.guarded and self.put in ("air", "pressure"))
