"""Quasi-steady mass balance of a network of orifices, solved for many sets of source pressures at once.

Unknown are the pressures of the free spaces; at each the orifice flows must cancel. All flows are divided by the
common factor 1/sqrt(R T): spaces joined by passages of one casting are taken to be at one temperature.

One method for every size. A start as if flow were in proportion to difference; a few steps in which flows are unknown
too, as is usual for pipe networks (E. Todini and S. Pilati, "A gradient algorithm for the analysis of pipe networks",
1988; from memory), which get near however steep the law is at small differences; then Newton on the pressures alone,
guarded, to the end. `boostcarb.solving.flow_law` has the law, `boostcarb.solving.linear` the ways to solve the
matrices. Inside, arrays have cases last; what others call has cases first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from boostcarb.errors import NotSolved
from boostcarb.solving.flow_law import flows, laminar_edge, squared_flows
from boostcarb.solving.linear import Pattern, Sums, back_end

Array = NDArray[np.float64]
Index = NDArray[np.intp]

TOLERANCE = 1e-9
"""Largest mass residual of a solved space, as a share of what its openings could pass when choked."""

CLOSED = TOLERANCE * 1e-2
"""Residual at which steps end, well below what is asked for."""

NEAR = 1e-4
"""Residual at which steps end while the leak is not yet the last, on the first try."""

SHUT_LEAK = 1e-6
"""Leak of a shut one-way valve over its open area."""

LEAK_LADDERS = (
    (1e-2, 1e-4),
    tuple(10.0**-step for step in range(6)),
    tuple(10.0 ** (-step / 4) for step in range(24)),
)
"""Leaks of a shut one-way valve on the way to `SHUT_LEAK`; each solve starts from the last.

A ladder is climbed only for the cases that are unsolved yet.
"""

PORTION = 60_000
"""Ways times cases that are worked on at once: more would no longer stay close to the processor."""

APPROACH_STEPS = 3
MAX_STEPS = 60
MAX_HALVINGS = 12

PROBLEM = "the pressure balance"


@dataclass(frozen=True, slots=True)
class Orifices:
    """Orifices between numbered spaces: first the free ones, then the sources.

    `start`, `end`: space numbers, shape (ways,); `area_m2`: effective areas, same shape, above 0, or of the shape
    (cases, ways) where they differ from case to case, 0 where a way is shut; `one_way`: True where only flow from
    start to end passes.
    """

    free: int
    start: Index
    end: Index
    area_m2: Array
    one_way: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Balance:
    """Solved pressures, shape (cases, free spaces), Pa absolute, and the largest relative residual.

    `steps`, `factorizations`: Newton steps and matrices factorized, those of all cases together.
    """

    pressure_pa_abs: Array
    residual: float
    steps: int
    factorizations: int


def solve(orifices: Orifices, sources_pa_abs: Array, names: Sequence[str] = ()) -> Balance:
    """Solve the balance for each case of source pressures, shape (cases, sources), Pa absolute.

    `names`: of the free spaces, then of the sources; an error calls a space by its number where they end.

    Raises:
        NotSolved: naming the spaces; a free space without a way to a source, a source pressure that is not
            finite and above zero, or a residual that stays above `TOLERANCE`.

    Two equal openings between 110 and 100 kPa: the flow in equals the flow out.

    >>> two = Orifices(1, np.array([0, 0]), np.array([1, 2]), np.array([1e-6, 1e-6]), np.array([False, False]))
    >>> round(float(solve(two, np.array([[110e3, 100e3]])).pressure_pa_abs[0, 0]))
    105126
    """
    _require_sources(orifices.free, sources_pa_abs, names)
    _require_ways(orifices, names)
    if not orifices.free:
        return Balance(np.empty((sources_pa_abs.shape[0], 0)), 0.0, 0, 0)
    network = _Network(orifices, sources_pa_abs.shape[0])
    everything = _Cases.of(orifices, sources_pa_abs, network.sums)
    pressure = np.empty((orifices.free, sources_pa_abs.shape[0]))
    residual = np.empty_like(pressure)
    portion = max(1, PORTION // max(1, orifices.start.size))
    for first in range(0, pressure.shape[1], portion):
        some = np.arange(first, min(first + portion, pressure.shape[1]))
        pressure[:, some], residual[:, some] = network.settled(everything.some(some))
    # Not "above": a residual that is no number is no solution either.
    if not (residual <= TOLERANCE).all():
        bad = np.flatnonzero(~(residual <= TOLERANCE).all(axis=1))
        raise NotSolved(PROBLEM, places=_called(bad, names), residual=float(residual.max()))
    return Balance(
        np.ascontiguousarray(pressure.T), float(residual.max(initial=0.0)), network.steps, network.factorizations
    )


def way_flows(orifices: Orifices, pressure_pa_abs: Array, leak: float = 0.0) -> tuple[Array, Array, Array]:
    """Flow of each way from start to end times sqrt(R T), and its slopes with the pressures at start and end.

    `pressure_pa_abs`: all spaces, shape (cases, spaces). Each result has the shape (cases, ways).
    """
    area = orifices.area_m2
    backward = np.where(orifices.one_way, area * leak, area)
    return flows(pressure_pa_abs[:, orifices.start], pressure_pa_abs[:, orifices.end], area, backward)


def _called(spaces: Index, names: Sequence[str]) -> list[str]:
    return [names[space] if space < len(names) else str(space) for space in spaces.tolist()]


def _require_sources(free: int, sources: Array, names: Sequence[str]) -> None:
    wrong = ~(np.isfinite(sources) & (sources > 0)).all(axis=0)
    if wrong.any():
        raise NotSolved(
            f"{PROBLEM}, a source without a pressure above zero,",
            places=_called(free + np.flatnonzero(wrong), names),
        )


def _require_ways(orifices: Orifices, names: Sequence[str]) -> None:
    """Refuse free spaces that in some case no way joins to a source: their pressure could be anything."""
    passing = np.atleast_2d(orifices.area_m2 > 0)
    for open_ways in passing[:1] if (passing == passing[0]).all() else passing:
        start, end = orifices.start[open_ways], orifices.end[open_ways]
        joined = np.arange(max(orifices.free, start.max(initial=0) + 1, end.max(initial=0) + 1)) >= orifices.free
        before, now = -1, int(joined.sum())
        while before < now < joined.size:
            joined[start[joined[end]]] = True
            joined[end[joined[start]]] = True
            before, now = now, int(joined.sum())
        if not joined.all():
            raise NotSolved(f"{PROBLEM}, no way to a source,", places=_called(np.flatnonzero(~joined), names))


def _some(values: Array, kept: Index) -> Array:
    """Some of the cases; what holds for all of them, or is of the only one, stays."""
    return values if values.shape[-1] == 1 else values.take(kept, axis=-1)


@dataclass(frozen=True, slots=True, eq=False)
class _Cases:
    """Cases to be solved, last in every shape: areas of the ways, pressures of the sources, and their extremes.

    `touching`: sum of the areas at each free space. Areas have one case where they are the same in all.
    """

    area: Array
    one_way: NDArray[np.bool_]
    touching: Array
    sources: Array
    low: Array
    high: Array

    @classmethod
    def of(cls, orifices: Orifices, sources_pa_abs: Array, sums: Sums) -> _Cases:
        area, sources = np.atleast_2d(orifices.area_m2).T, sources_pa_abs.T
        touching = sums.of(np.concatenate([area, area]))
        return cls(area, orifices.one_way[:, None], touching, sources, sources.min(axis=0), sources.max(axis=0))

    def some(self, kept: Index) -> _Cases:
        area, touching, sources = (_some(each, kept) for each in (self.area, self.touching, self.sources))
        return _Cases(area, self.one_way, touching, sources, _some(self.low, kept), _some(self.high, kept))

    def clipped(self, free: Array) -> Array:
        """Pressures kept between the lowest and the highest source."""
        kept: Array = np.minimum(np.maximum(free, self.low), self.high)
        return kept


@dataclass(frozen=True, slots=True, eq=False)
class _Point:
    """Pressures of the free spaces, the net flow into each, and the slopes of all ways; cases last."""

    free: Array
    imbalance: Array
    with_start: Array
    with_end: Array

    def some(self, kept: Index) -> _Point:
        return _Point(
            self.free.take(kept, axis=1),
            self.imbalance.take(kept, axis=1),
            self.with_start.take(kept, axis=1),
            self.with_end.take(kept, axis=1),
        )

    def put(self, kept: Index, other: _Point) -> None:
        """Take over some cases from another."""
        self.free[:, kept], self.imbalance[:, kept] = other.free, other.imbalance
        self.with_start[:, kept], self.with_end[:, kept] = other.with_start, other.with_end


class _Network:
    """What all cases share, and how much work went into solving them."""

    def __init__(self, orifices: Orifices, cases: int) -> None:
        self._start, self._end = orifices.start, orifices.end
        self._any_one_way = bool(orifices.one_way.any())
        self._pattern = Pattern.of(orifices.free, orifices.start, orifices.end)
        self._back_end = back_end(self._pattern, cases)
        ends = np.concatenate([orifices.end, orifices.start])
        self.sums, _ = Sums.by(ends, np.flatnonzero(ends < orifices.free))
        self.steps = self.factorizations = 0

    def settled(self, cases: _Cases) -> tuple[Array, Array]:
        """Pressures and residuals, shape (free, cases), as good as they become."""
        ladders = LEAK_LADDERS if self._any_one_way else ((),)
        start = self._linear_start(cases)
        near = self._approach(start, cases, (*ladders[0], SHUT_LEAK)[0])
        pressure, residual = self._climbed(near, cases, ladders[0], NEAR)
        for ladder in ladders:
            # The way that is quick for most leads a few astray: these take the slow one, from the very start.
            left = np.flatnonzero(~(residual <= TOLERANCE).all(axis=0))
            if not left.size:
                break
            pressure[:, left], residual[:, left] = self._climbed(
                start.take(left, axis=1), cases.some(left), ladder, CLOSED
            )
        return pressure, residual

    def _climbed(self, free: Array, cases: _Cases, ladder: Sequence[float], enough: float) -> tuple[Array, Array]:
        """Pressures and residuals at the end of a ladder of leaks; `enough`: residual to be left on each rung."""
        for leak in ladder:
            free, _ = self._newton(free, cases, leak, enough)
        return self._newton(free, cases, SHUT_LEAK, CLOSED)

    # --- one step ---------------------------------------------------------------------------------------------

    def _ends(self, free: Array, cases: _Cases) -> tuple[Array, Array]:
        """Pressures at both ends of all ways."""
        everything = np.concatenate([free, cases.sources])
        return everything.take(self._start, axis=0), everything.take(self._end, axis=0)

    def _backward(self, cases: _Cases, leak: float) -> Array:
        return np.where(cases.one_way, cases.area * leak, cases.area) if self._any_one_way else cases.area

    def _net(self, flow: Array) -> Array:
        """Net flow into each free space."""
        return self.sums.of(np.concatenate([flow, -flow]))

    def _move(self, net: Array, with_start: Array, with_end: Array, cases: _Cases) -> Array:
        """By how much the pressures must move for the net flows to vanish, with these slopes."""
        values = self._pattern.values(with_start, with_end)
        # A tiny diagonal keeps the step defined where every way of a space is choked.
        values[self._pattern.diagonal] += 1e-9 * cases.touching
        self.factorizations += values.shape[1]
        return self._back_end.solve(values, net)

    # --- getting near -----------------------------------------------------------------------------------------

    def _linear_start(self, cases: _Cases) -> Array:
        """Pressures if flow were in proportion to difference; each free space between its neighbors."""
        before, after = self._ends(np.zeros((self._pattern.free, cases.sources.shape[1])), cases)
        area = cases.area
        return cases.clipped(self._move(self._net(area * (before - after)), area, -area, cases))

    def _approach(self, free: Array, cases: _Cases, leak: float) -> Array:
        """Steps with pressures and flows unknown: q |q| = squared flow, and the flows q cancel at each space."""
        backward = self._backward(cases, leak)
        still = np.zeros_like(cases.sources)
        now, flow = free, flows(*self._ends(free, cases), cases.area, backward)[0]
        total = np.abs(self._net(flow)).sum(axis=0)
        for _ in range(APPROACH_STEPS):
            before, after = self._ends(now, cases)
            square, with_start, with_end = squared_flows(before, after, cases.area, backward)
            least = laminar_edge(cases.area, np.maximum(before, after))
            # A way without area passes nothing: no flow over nothing is no flow.
            twice = 2 * np.maximum(np.maximum(np.abs(flow), least), np.finfo(float).tiny)
            flow = flow - (flow * np.abs(flow) - square) / twice
            with_start, with_end = with_start / twice, with_end / twice
            move = self._move(self._net(flow), with_start, with_end, cases)
            moved = np.concatenate([move, still])
            flow = flow + with_start * moved.take(self._start, axis=0) + with_end * moved.take(self._end, axis=0)
            now = cases.clipped(now + move)
            self.steps += move.shape[1]
        nearer = np.abs(self._net(flows(*self._ends(now, cases), cases.area, backward)[0])).sum(axis=0) < total
        return np.where(nearer, now, free)

    # --- to the end -------------------------------------------------------------------------------------------

    def _at(self, free: Array, cases: _Cases, leak: float) -> _Point:
        flow, with_start, with_end = flows(*self._ends(free, cases), cases.area, self._backward(cases, leak))
        return _Point(free, self._net(flow), with_start, with_end)

    def _newton(self, free: Array, cases: _Cases, leak: float, enough: float) -> tuple[Array, Array]:
        """Newton from `free`, each case damped on its own, until residuals are small enough. Pressures, residuals."""
        found, residual = np.empty_like(free), np.empty_like(free)
        at = np.arange(free.shape[1])
        point = self._at(free, cases, leak)
        for step in range(MAX_STEPS + 1):
            open_share = np.abs(point.imbalance) / (cases.touching * cases.high)
            found[:, at], residual[:, at] = point.free, open_share
            left = np.flatnonzero(~(open_share.max(axis=0, initial=0.0) <= enough))
            if not left.size or step == MAX_STEPS:
                break
            if left.size < at.size:
                at, cases, point = at[left], cases.some(left), point.some(left)
            point = self._step(point, cases, leak)
        return found, residual

    def _step(self, point: _Point, cases: _Cases, leak: float) -> _Point:
        """One step with halving, kept between lowest and highest source.

        It must lower the sum of all imbalances: air that leaves one space arrives at another, so that filling
        and venting could only ever lower that sum, whereas the worst single imbalance may have to rise for a while.
        """
        move = self._move(point.imbalance, point.with_start, point.with_end, cases)
        self.steps += move.shape[1]
        total = np.abs(point.imbalance).sum(axis=0)
        after = self._at(cases.clipped(point.free + move), cases, leak)
        share = 1.0
        worse = np.arange(total.size)
        better = np.abs(after.imbalance).sum(axis=0) < total * (1 - 1e-4)
        for _ in range(MAX_HALVINGS - 1):
            worse = worse[~better]
            if not worse.size:
                break
            share /= 2
            some = cases.some(worse)
            free = point.free.take(worse, axis=1) + share * move.take(worse, axis=1)
            tried = self._at(some.clipped(free), some, leak)
            better = np.abs(tried.imbalance).sum(axis=0) < total[worse] * (1 - 1e-4 * share)
            after.put(worse, tried)
        return after
