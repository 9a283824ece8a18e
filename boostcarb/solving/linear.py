"""Newton's linear systems of the pressure balance: where the slopes land, and how the matrices are solved.

A matrix holds the outflow of each free space with each free pressure. What leaves one space arrives at another, so
that each column has a positive diagonal, nothing positive beside it, and a sum that is not negative: elimination down
the diagonal is stable in any order, without a search for pivots (N. J. Higham, Accuracy and Stability of Numerical
Algorithms, 2nd ed., 2002, on diagonally dominant matrices; from memory).

Arrays lie the way they are worked on: entries, ways or spaces first, cases last.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

SPARSE_FROM = 250
"""Spaces from which a sparse factorization repays loading its package."""

TOGETHER_FROM = 48
"""Cases from which eliminating all of them at once is quicker than one dense matrix after the other."""

DENSE_BYTES = 64e6
"""Most that the dense matrices of one step may take; more cases are solved in portions."""


@dataclass(frozen=True, slots=True, eq=False)
class Sums:
    """Sums of rows by group; every group has rows. `order`: the rows by group; `first`: where each group begins."""

    order: Index
    first: Index

    @classmethod
    def by(cls, group: Index, kept: Index | None = None) -> tuple[Sums, Index]:
        """The sums of rows (or of those kept), and the groups that there are, in order."""
        rows = np.arange(group.size) if kept is None else kept
        order = rows[np.argsort(group[rows], kind="stable")]
        groups = group[order]
        first = np.flatnonzero(np.diff(groups, prepend=-1))
        return cls(order, first), groups[first]

    def of(self, rows: Array) -> Array:
        """Shape (rows, cases) to (groups, cases)."""
        total: Array = np.add.reduceat(rows.take(self.order, axis=0), self.first, axis=0)
        return total


@dataclass(frozen=True, slots=True, eq=False)
class Pattern:
    """Which entries of the matrix are there, by column and then by row, and what adds up to each.

    `row`, `column`: shape (entries,); `diagonal`: numbers of the diagonal's entries, shape (free,).
    """

    free: int
    row: Index
    column: Index
    diagonal: Index
    sums: Sums

    @classmethod
    def of(cls, free: int, start: Index, end: Index) -> Pattern:
        """The pattern of ways between numbered spaces, of which the first are free and each has a way."""
        row = np.concatenate([start, end, start, end])
        column = np.concatenate([start, end, end, start])
        kept = np.flatnonzero((row < free) & (column < free))
        sums, place = Sums.by(column * free + row, kept)
        column, row = np.divmod(place, free)
        return cls(free, row, column, np.flatnonzero(row == column), sums)

    def values(self, with_start: Array, with_end: Array) -> Array:
        """Slopes of the net outflows, shape (entries, cases), from those of the ways, shape (ways, cases)."""
        return self.sums.of(np.concatenate([with_start, -with_end, with_end, -with_start]))


class Dense:
    """One dense matrix after the other, with a search for pivots."""

    def __init__(self, pattern: Pattern) -> None:
        self._free = pattern.free
        self._place = pattern.row * pattern.free + pattern.column

    def solve(self, values: Array, right: Array) -> Array:
        """Solutions, shape (free, cases); `values` has as many cases, or one that holds for all."""
        free, cases = self._free, values.shape[1]
        if cases == 1:
            return np.linalg.solve(self._matrices(values)[0], right)
        portion = max(1, int(DENSE_BYTES / (8 * free * free)))
        found = np.empty_like(right)
        for first in range(0, cases, portion):
            some = slice(first, first + portion)
            matrices = self._matrices(values[:, some])
            found[:, some] = np.linalg.solve(matrices, right[:, some].T[..., None])[..., 0].T
        return found

    def _matrices(self, values: Array) -> Array:
        matrices = np.zeros((values.shape[1], self._free * self._free))
        matrices[:, self._place] = values.T
        return matrices.reshape(-1, self._free, self._free)


class Together:
    """Elimination of all cases at once, space by space, touching only what is there or fills in.

    Spaces with the fewest neighbors go first (W. F. Tinney and J. W. Walker, Proc. IEEE 55 (1967) 1801-1809; from
    memory). For each the diagonal, the entries right of it and those below it lie together.
    """

    def __init__(self, pattern: Pattern) -> None:
        neighbors: list[set[int]] = [set() for _ in range(pattern.free)]
        for row, column in zip(pattern.row.tolist(), pattern.column.tolist(), strict=True):
            if row != column:
                neighbors[row].add(column)
                neighbors[column].add(row)
        turns: list[tuple[int, list[int]]] = []
        left = set(range(pattern.free))
        while left:
            space = min(left, key=lambda each: (len(neighbors[each]), each))
            left.remove(space)
            around = sorted(neighbors[space])
            for other in around:
                neighbors[other].update(around)
                neighbors[other] -= {other, space}
            turns.append((space, around))
        self._lay_out(pattern, turns)

    def _lay_out(self, pattern: Pattern, turns: Sequence[tuple[int, list[int]]]) -> None:
        place: dict[tuple[int, int], int] = {}
        for space, around in turns:
            for pair in ((space, space), *((space, other) for other in around), *((other, space) for other in around)):
                place[pair] = len(place)
        self._entries = len(place)
        self._given = np.array(
            [place[pair] for pair in zip(pattern.row.tolist(), pattern.column.tolist(), strict=True)]
        )
        self._turns = [
            (
                space,
                place[space, space],
                np.array(around, dtype=np.intp),
                np.array([place[row, column] for row in around for column in around], dtype=np.intp),
            )
            for space, around in turns
        ]

    def solve(self, values: Array, right: Array) -> Array:
        """Solutions, shape (free, cases); `values` has as many cases, or one that holds for all."""
        work = np.zeros((self._entries, values.shape[1]))
        work[self._given] = values
        found = right.copy()
        for space, at, around, touched in self._turns:
            count = around.size
            across, below = work[at + 1 : at + 1 + count], work[at + 1 + count : at + 1 + 2 * count]
            below /= work[at]
            found[around] -= below * found[space]
            work[touched] -= (below[:, None] * across).reshape(count * count, values.shape[1])
        for space, at, around, _ in reversed(self._turns):
            across = work[at + 1 : at + 1 + around.size]
            found[space] -= (across * found[around]).sum(axis=0)
            found[space] /= work[at]
        return found


class Sparse:
    """One sparse factorization for each case (SuperLU), spaces with the fewest neighbors first."""

    def __init__(self, pattern: Pattern) -> None:
        self._free = pattern.free
        self._row = pattern.row.astype(np.int32)
        self._first = np.searchsorted(pattern.column, np.arange(pattern.free + 1)).astype(np.int32)

    def solve(self, values: Array, right: Array) -> Array:
        """Solutions, shape (free, cases); `values` has as many cases, or one that holds for all."""
        # Loaded only for large networks: it takes longer than a whole plan of an ordinary one.
        from scipy.sparse import csc_matrix  # noqa: PLC0415
        from scipy.sparse.linalg import splu  # noqa: PLC0415

        found = np.empty_like(right)
        for case in range(values.shape[1]):
            entries = np.ascontiguousarray(values[:, case])
            matrix = csc_matrix((entries, self._row, self._first), shape=(self._free, self._free))
            factors = splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
            some = slice(None) if values.shape[1] == 1 else slice(case, case + 1)
            found[:, some] = factors.solve(np.ascontiguousarray(right[:, some]))
        return found


def back_end(pattern: Pattern, cases: int) -> Dense | Together | Sparse:
    """What solves systems of this size quickest."""
    if pattern.free >= SPARSE_FROM:
        return Sparse(pattern)
    return Together(pattern) if cases >= TOGETHER_FROM else Dense(pattern)
