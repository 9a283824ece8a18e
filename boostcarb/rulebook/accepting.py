"""Which rules a builder may knowingly live with."""

from __future__ import annotations

from collections.abc import Iterable

from boostcarb.errors import BadDescription, Problem
from boostcarb.rulebook.judging import LOOKED_AT
from boostcarb.rulebook.schema import Rule
from boostcarb.suggest import suggest


def check_accepted(accepted: Iterable[str], rules: Iterable[Rule]) -> None:
    """Only a fix can be lived with, and nobody can accept what nobody has looked at. Raises: BadDescription."""
    book = {rule.id: rule for rule in rules}
    problems = []
    for name in accepted:
        message = None
        if name not in book:
            message = f"no such rule {name!r}; {suggest(name, book)}"
        elif book[name].severity == "stop":
            message = f"{name} is a stop: it destroys the engine or endangers people, and cannot be accepted"
        elif book[name].requirement.kind == LOOKED_AT:
            message = f"{name} cannot be accepted: look, and write down what you find"
        if message is not None:
            problems.append(Problem(message, field="pinned.accept"))
    if problems:
        raise BadDescription(problems)
