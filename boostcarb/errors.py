"""What can go wrong, each with the data needed to put it right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path


class BoostcarbError(Exception):
    """Base of every error this package raises on purpose."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong in a file: where, what was found, what would be right."""

    message: str
    file: Path | None = None
    line: int | None = None
    field: str | None = None

    def __str__(self) -> str:
        place = ""
        if self.file is not None:
            place = f"{self.file}:{self.line}: " if self.line is not None else f"{self.file}: "
        return f"{place}{self.field}: {self.message}" if self.field else f"{place}{self.message}"


class BadDescription(BoostcarbError):
    """A job, family or rule file, or an argument, that cannot be understood. Exit code 2."""

    def __init__(self, problems: Problem | Sequence[Problem]) -> None:
        self.problems = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class NotSolved(BoostcarbError):
    """A balance that did not converge: no number may be shown for it."""

    def __init__(self, what: str, *, places: Sequence[str] = (), residual: float | None = None) -> None:
        self.what = what
        self.places = tuple(places)
        self.residual = residual
        where = f" at {', '.join(self.places)}" if self.places else ""
        left = f" (residual {residual:.3g})" if residual is not None else ""
        super().__init__(f"{what} did not converge{where}{left}")


class BudgetSpent(BoostcarbError):
    """A search stopped at its limit of rounds before it had an answer."""

    def __init__(self, what: str, *, rounds: int) -> None:
        self.what = what
        self.rounds = rounds
        super().__init__(f"{what}: no answer within {rounds} rounds")
