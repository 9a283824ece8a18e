"""One backfire out of one operating state: its sources over time, and what chambers make of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from boostcarb.network.model import Limit, Network, Way
from boostcarb.solving.pressures import Pressures
from boostcarb.solving.situation import StateView
from boostcarb.states.air_path import SPIKED, SPIKED_IN_DRAW_THROUGH
from boostcarb.transient.answer import Peak
from boostcarb.transient.chambers import Piece
from boostcarb.transient.inputs import BackfireInputs
from boostcarb.transient.lag import passes_in
from boostcarb.transient.pulse import Curve, Pulse
from boostcarb.transient.relief import Relief, Relieved, relieved
from boostcarb.transient.stiff import Integration, Run, Setting

Array = NDArray[np.float64]

MANIFOLD, BASE, AIR_HORN = "manifold", "base", "air_horn"
AFTER_END_S = 10e-3
"""Time that is followed after the pulse has gone, s: checks open again, chambers vent."""

SAME_PA = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Sides:
    """Both sides of a diaphragm over time, lowest and highest where a start is not known, Pa absolute."""

    times_s: Array
    first: tuple[Array, Array]
    second: tuple[Array, Array]
    shut_at_s: Mapping[str, float]

    def peak(self) -> Peak:
        """The largest differences over all time."""
        return self._peak(slice(None))

    def start(self) -> Peak:
        """The differences before."""
        return self._peak(slice(0, 1))

    def _peak(self, span: slice) -> Peak:
        forward, reverse = (self.first[1] - self.second[0])[span], (self.second[1] - self.first[0])[span]
        at, back = int(forward.argmax()), int(reverse.argmax())
        times = self.times_s[span]
        return Peak(float(forward[at]), float(times[at]), float(reverse[back]), float(times[back]))

    def exceeds_at(self, limit: Limit) -> float | None:
        """When a limit is first exceeded, s."""
        forward, reverse = self.first[1] - self.second[0], self.second[1] - self.first[0]
        over = np.flatnonzero((forward > limit.forward_pa) | (reverse > limit.reverse_pa))
        return float(self.times_s[over[0]]) if over.size else None


@dataclass(frozen=True, eq=False)
class Event:
    """A backfire: pressures of all sources over time; keeps the runs of pieces it has integrated."""

    name: str
    title: str
    before: StateView
    pulse: Pulse
    setting: Setting
    sources: Mapping[str, Curve]
    burning: tuple[str, ...]
    end_s: float
    _runs: dict[Piece, tuple[Run, ...]] = field(default_factory=dict)
    _closings: dict[float, Event] = field(default_factory=dict)

    @classmethod
    def of(cls, view: StateView, before: StateView, network: Network, inputs: BackfireInputs) -> Event:
        """The event of a state that comes out of another."""
        known = before.result.pressures_pa_abs
        drawn = inputs.draw_through
        pulse, end = inputs.pulse, inputs.pulse.duration_s + AFTER_END_S
        shares = dict.fromkeys(SPIKED_IN_DRAW_THROUGH if drawn else SPIKED, 1.0)
        if drawn:
            shares |= dict.fromkeys((BASE, "compressor_inlet"), inputs.through_compressor)
        if inputs.into_air_horn > 0.0:
            shares[AIR_HORN] = inputs.into_air_horn
        sources = {
            name: Curve.level(known.get(name, known["ambient"])) for name, each in network.spaces.items() if each.source
        }
        for name, share in shares.items():
            if name in sources:
                sources[name] = pulse.curve(known[name], share=share, end_s=end)
        burning = tuple(name for name, share in shares.items() if name in sources and share > 0.0)
        return cls(view.name, view.title, before, pulse, inputs.setting, sources, burning, end)

    @property
    def manifold(self) -> Curve:
        """The manifold over time."""
        return self.sources[MANIFOLD]

    def passes(self, way: Way) -> bool:
        """Whether a way that exists stands open: a pressure switch stays where the state before has put it."""
        return passes_in(way, self.before)

    def relieved(self, relief: Relief | None) -> Relieved | None:
        """The manifold with a relief valve."""
        if relief is None:
            return None
        return relieved(self.manifold, relief, lambda pressure: self.gas_k(MANIFOLD, pressure), end_s=self.end_s)

    def with_manifold(self, curve: Curve) -> Event:
        """The same event with another manifold pressure; spaces that ducts join to it go with it."""
        level = self.manifold.at(0.0)
        joined = {
            name: curve
            for name in self.burning
            if name == MANIFOLD or (abs(self.sources[name].at(0.0) - level) < SAME_PA and name != AIR_HORN)
        }
        return replace(self, sources={**self.sources, **joined}, _runs={}, _closings={})

    def hotter(self, gas_k: float) -> Event:
        """The same event with gas of another temperature, K."""
        return replace(self, pulse=replace(self.pulse, gas_k=gas_k), _runs={}, _closings={})

    def closing(self, closing_s: float) -> Event:
        """The same event with checks of another closing time, s."""
        if closing_s not in self._closings:
            setting = replace(self.setting, closing_s=closing_s)
            self._closings[closing_s] = replace(self, setting=setting, _runs={}, _closings={})
        return self._closings[closing_s]

    def gas_k(self, source: str, pressure_pa_abs: float) -> float:
        """Temperature of what streams out of a source, K."""
        temperatures = self.before.result.temperatures_k
        if source in self.burning:
            return self.pulse.gas_temperature(temperatures[MANIFOLD], pressure_pa_abs / self.sources[source].at(0.0))
        return temperatures[AIR_HORN] if source.endswith(("air_horn", "throat")) else temperatures["ambient"]

    def runs(self, pressures: Pressures, piece: Piece) -> tuple[Run, ...]:
        """A piece integrated from its pressures in the state before: one run, or two where those are a range."""
        if piece not in self._runs:
            ranges = {name: pressures.range_of(name, self.before.name) for name in piece.names}
            starts = [{name: each[end] for name, each in ranges.items()} for end in (0, 1)]
            same = all(high - low < SAME_PA for low, high in ranges.values())
            self._runs[piece] = tuple(self._run(piece, start) for start in (starts[:1] if same else starts))
        return self._runs[piece]

    def _run(self, piece: Piece, start: Mapping[str, float]) -> Run:
        chamber_k = self.before.result.temperatures_k[AIR_HORN]
        return Integration(piece, self.sources, self.gas_k, start, chamber_k, self.setting).run(self.end_s)

    def sides(self, pressures: Pressures, among: tuple[Piece, ...], first: str, second: str) -> Sides:
        """Both sides of a diaphragm over time."""
        found = {side: self._runs_of(pressures, among, side) for side in (first, second)}
        corners = [np.array(self.sources[side].times_s) for side in (first, second) if side in self.sources]
        steps = [run.times_s for runs in found.values() for run in runs]
        times = np.unique(np.concatenate([np.array([0.0, self.end_s]), *corners, *steps]))
        shut = {check: time for runs in found.values() for run in runs for check, time in run.shut_at_s.items()}
        return Sides(
            times,
            self._over(times, pressures, first, found[first]),
            self._over(times, pressures, second, found[second]),
            shut,
        )

    def _runs_of(self, pressures: Pressures, among: tuple[Piece, ...], side: str) -> tuple[Run, ...]:
        piece = next((each for each in among if side in each.names), None)
        return () if piece is None else self.runs(pressures, piece)

    def _over(self, times: Array, pressures: Pressures, side: str, runs: tuple[Run, ...]) -> tuple[Array, Array]:
        if runs:
            each = [np.interp(times, run.times_s, run.pressures_pa_abs[side]) for run in runs]
            return np.minimum.reduce(each), np.maximum.reduce(each)
        if side in self.sources:
            curve = self.sources[side]
            level = np.interp(times, curve.times_s, curve.pressures_pa_abs)
            return level, level
        low, high = pressures.range_of(side, self.before.name)
        return np.full_like(times, low), np.full_like(times, high)
