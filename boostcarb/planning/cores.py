"""The cheapest selection among few choices, by cores: sets of choices of which one at least must be made."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pysat.examples.rc2 import RC2Stratified
from pysat.formula import WCNF


class ManyConflicts(Exception):
    """The search is given up: it ran into as many conflicts as it was allowed."""


class Cores(RC2Stratified):  # type: ignore[misc]
    """Weighted literals and clauses; gives up with :class:`ManyConflicts` after so many conflicts as are ``enough``."""

    def __init__(
        self,
        clauses: Sequence[Sequence[int]],
        weights: Mapping[int, int],
        literals: int,
        solver: str,
        enough: int | None,
    ) -> None:
        formula = WCNF()
        formula.extend(clauses)
        formula.extend([[-literal] for literal in weights], weights=list(weights.values()))
        formula.nv = literals
        self._enough = enough
        super().__init__(formula, solver=solver, minz=True, exhaust=True, adapt=True)

    def _call_oracle(self, assumptions: Sequence[int] = (), expect_interrupt: bool = False) -> bool | None:
        """As inherited, within what is left of the conflicts."""
        if self._enough is not None:
            self.oracle.conf_budget(self._enough - self._spent())
        met: bool | None = super()._call_oracle(assumptions, expect_interrupt)
        if met is None or (self._enough is not None and self._spent() >= self._enough):
            raise ManyConflicts
        return met

    def _spent(self) -> int:
        return int(self.oracle.accum_stats()["conflicts"])
