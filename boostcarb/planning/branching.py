"""The cheapest selection among many choices, by branch and bound on prices of clauses.

A clause asks for one true literal, so it can be given a price: paid by the literals that meet it, due once. What is
due, and what literals cost below what they pay, is a lower bound for any prices [1]; a subgradient method with
memory [2] finds good ones. A branch is given up when its bound, worked out in whole numbers, exceeds the cheapest
selection known. How good the prices are decides how long the search takes and never what it finds.

References:
    [1] Held, M., Wolfe, P., Crowder, H. P.: Validation of subgradient optimization. Mathematical Programming 6 (1974).
    [2] Camerini, P. M., Fratta, L., Maffioli, F.: On improving relaxation methods by modified gradient techniques.
        Mathematical Programming Study 3 (1975).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pysat.solvers import Solver

from boostcarb.planning.selection import EXACT

AT_FIRST, LATER = 400, 28  # rounds for the prices of the first branch, and of one that inherits its prices
AIM, MEMORY, PATIENCE, SHORTER, LEAST = 1.05, 0.8, 8, 0.7, 0.002  # of the subgradient method
TRIES = 4  # one branch in so many is tried for a cheaper selection

Numbers = NDArray[np.float64]


class Branching:
    """Weights on positive literals, clauses on any; of equally cheap models the first in an order of preference wins.

    ``order`` has groups of literals, exactly one of each being true in every model, the preferred one first.

    Raises:
        ValueError: the weights are too large to be added exactly.
    """

    def __init__(
        self,
        clauses: Sequence[Sequence[int]],
        weights: Mapping[int, int],
        order: Sequence[Sequence[int]],
        solver: str,
    ) -> None:
        if 4 * sum(weights.values()) >= EXACT:
            raise ValueError("the weights are too large to be added exactly")
        self._clauses, self._weights, self._order = clauses, weights, order
        self._solver = solver
        lengths = np.array([len(clause) for clause in clauses])
        flat = np.array([literal for clause in clauses for literal in clause])
        self._row, self._column = np.repeat(np.arange(len(clauses)), lengths), abs(flat)
        self._sign = np.where(flat > 0, 1.0, -1.0)
        self._count = int(max(self._column.max(), *weights)) + 1
        self._weight = np.zeros(self._count)
        self._weight[list(weights)] = list(weights.values())
        self._asked = 1.0 - self._by_row(self._sign < 0)
        share = self._weight / np.maximum(1, np.bincount(self._column, minlength=self._count))
        paid = np.where(self._sign > 0, share[self._column], 0.0)
        self._slack = np.bincount(self._column, minlength=self._count)  # what whole prices can lose
        self._first_prices = np.minimum.reduceat(paid, np.r_[0, np.cumsum(lengths)[:-1]])
        self._where: dict[int, list[int]] = {literal: [] for literal in weights}
        self._touched: dict[int, list[tuple[int, int]]] = {literal: [] for literal in weights}
        for index, clause in enumerate(clauses):
            for literal in clause:
                if literal in self._where:
                    self._where[literal].append(index)
                if abs(literal) in self._touched:
                    self._touched[abs(literal)].append((index, 1 if literal > 0 else -1))
        self._known = np.inf
        self._model: set[int] = set()

    def solve(self) -> tuple[list[int], int] | None:
        """The literal that is true in each group in the first of the cheapest models, and their weight; None if none.

        Once the least weight is known, each group is asked whether a model of that weight has a preferred literal.
        """
        with Solver(name=self._solver, bootstrap_with=self._clauses) as oracle:
            prices = self._improved(self._first_prices, np.zeros(self._count), np.ones(self._count), AT_FIRST)
            self._search(oracle, [], prices)
            if not self._model:
                return None
            least, cheapest = int(self._known), self._model
            fixed: list[int] = []
            for group in self._order:
                for literal in group:
                    if literal not in cheapest:
                        self._known = least + 1
                        self._search(oracle, [*fixed, literal], prices, enough=least)
                        cheapest = self._model if self._known == least else cheapest
                    if literal in cheapest:
                        fixed.append(literal)
                        break
        return fixed, least

    def _search(self, oracle: Any, assumed: list[int], prices: Numbers, *, enough: int = -1) -> None:
        """Look for models lighter than the one known until there is none, or one is light enough."""
        waiting = [(assumed, prices)]
        branches = 0
        while waiting and self._known > enough:
            assumed, prices = waiting.pop()
            possible, implied = oracle.propagate(assumptions=assumed)
            if possible:
                branches += 1
                waiting += self._branch(oracle, [*assumed, *implied], prices, branches % TRIES == 1)

    def _branch(
        self, oracle: Any, fixed: list[int], prices: Numbers, trying: bool
    ) -> list[tuple[list[int], Numbers]]:
        """What is left to look at behind these fixed literals, the most promising last."""
        least, most = np.zeros(self._count), np.ones(self._count)
        least[[literal for literal in fixed if literal > 0]] = 1
        most[[-literal for literal in fixed if literal < 0]] = 0
        prices = self._improved(prices, least, most, LATER)
        bound, reduced = self._exact(prices, least, most)
        if bound >= self._known or (trying and not self._try(oracle, fixed, reduced)) or bound >= self._known:
            return []
        open_ = (most > least) & (self._weight > 0)
        false = open_ & (bound + reduced >= self._known)
        true = open_ & (bound - reduced >= self._known)
        fixed = [*fixed, *(-np.flatnonzero(false)).tolist(), *np.flatnonzero(true).tolist()]
        left = np.flatnonzero(open_ & ~false & ~true)
        if not len(left):
            self._try(oracle, fixed, reduced)
            return []
        paid = np.bincount(self._column, weights=prices[self._row], minlength=self._count)
        literal = int(left[np.argmin(abs(reduced[left]) - 0.02 * paid[left])])
        return [([*fixed, -literal], prices), ([*fixed, literal], prices)]

    def _try(self, oracle: Any, fixed: list[int], reduced: Numbers) -> bool:
        """Whether there is a model with these literals; what is needless in it is dropped, the dearest first."""
        slack = self._slack
        oracle.set_phases([each if reduced[each] <= slack[each] else -each for each in self._weights])
        if not oracle.solve(assumptions=fixed):
            return False
        model = set(oracle.get_model())
        met = [sum(literal in model for literal in clause) for clause in self._clauses]
        for literal in sorted(self._weights, key=lambda each: (-self._weights[each], each)):
            if literal in model and all(met[index] > 1 for index in self._where[literal]):
                model ^= {literal, -literal}
                for index, true in self._touched[literal]:
                    met[index] -= true
        weight = sum(weight for literal, weight in self._weights.items() if literal in model)
        if weight < self._known:
            self._known, self._model = weight, model
        return True

    def _by_row(self, values: NDArray[Any]) -> Numbers:
        return np.bincount(self._row, weights=values, minlength=len(self._clauses)).astype(float)

    def _reduced(self, prices: Numbers) -> Numbers:
        """What each literal costs beyond what it pays to the clauses it meets."""
        return self._weight - np.bincount(self._column, weights=self._sign * prices[self._row], minlength=self._count)

    def _exact(self, prices: Numbers, least: Numbers, most: Numbers) -> tuple[float, Numbers]:
        """The bound in whole numbers, and the reduced costs it stands on; no bound if they would be rounded."""
        whole = np.floor(prices)
        if float(whole[self._row].sum()) > EXACT:
            return -np.inf, self._reduced(prices)
        reduced = self._reduced(whole)
        return float(self._asked @ whole + reduced @ np.where(reduced < 0, most, least)), reduced

    def _improved(self, prices: Numbers, least: Numbers, most: Numbers, rounds: int) -> Numbers:
        """Prices with a higher bound, until it gives the branch up."""
        best, bound, step, waited, direction = prices, -np.inf, 1.0, 0, np.zeros(len(prices))
        for _ in range(rounds):
            reduced = self._reduced(prices)
            chosen = np.where(reduced < 0, most, least)
            value = float(self._asked @ prices + reduced @ chosen)
            waited = 0 if value > bound + 1e-5 * abs(bound) else waited + 1
            if value > bound:
                best, bound = prices, value
            # A little more than needed, for the fractions that whole numbers lose.
            if bound > self._known + len(prices) + 1:
                break
            if waited >= PATIENCE:
                prices, step, waited = best, step * SHORTER, 0
            direction = self._asked - self._by_row(self._sign * chosen[self._column]) + MEMORY * direction
            direction[(prices <= 0) & (direction < 0)] = 0.0
            length = float(direction @ direction)
            if length == 0:
                break
            gap = max(min(AIM * bound, 1.002 * self._known) - value, LEAST * abs(bound))
            prices = np.maximum(0.0, prices + step * gap / length * direction)
        return best

