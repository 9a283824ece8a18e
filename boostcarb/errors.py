"""What can go wrong, each with the data needed to put it right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path


class BoostcarbError(Exception):
    """Base of every error this package raises on purpose."""


LONGEST_MESSAGE = 1200
"""Characters of a message that are shown; of a longer one the start and the end, where it says what to do."""


def visible(text: str) -> str:
    """A text with whatever a terminal would obey, or cannot write, as its escape.

    >>> print(visible("a\\x1b[31mb"))
    a\\x1b[31mb
    """
    if text.isprintable():
        return text
    return "".join(each if each.isprintable() else each.encode("unicode_escape").decode() for each in text)


def _shortened(text: str) -> str:
    if len(text) <= LONGEST_MESSAGE:
        return text
    return f"{text[: LONGEST_MESSAGE // 2]} ... {text[-LONGEST_MESSAGE // 2 :]}"


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
            file = visible(str(self.file))
            place = f"{file}:{self.line}: " if self.line is not None else f"{file}: "
        message = _shortened(self.message)
        return f"{place}{self.field}: {message}" if self.field else f"{place}{message}"


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
