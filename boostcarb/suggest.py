"""Offering the right word when a wrong one was written."""

from __future__ import annotations

from collections.abc import Iterable

_SHOWN = 16


def suggest(word: str, candidates: Iterable[str]) -> str:
    """The tail of a message: the nearest candidate, or else the first few to choose from.

    Args:
        word: what was written.
        candidates: the words that would be right, in the order to show them.

    Returns:
        Text to append after a semicolon; empty when there are no candidates.

    >>> suggest("bor", ["bore", "length"])
    "did you mean 'bore'?"
    >>> suggest("zzz", ["bore", "length"])
    'choose from: bore, length'
    """
    from difflib import get_close_matches  # noqa: PLC0415  only a wrong word pays for the import

    choices = list(dict.fromkeys(candidates))
    by_lower = {choice.lower(): choice for choice in reversed(choices)}
    near = get_close_matches(word.lower()[:60], list(by_lower), n=1, cutoff=0.6)
    if near:
        return f"did you mean '{by_lower[near[0]]}'?"
    if not choices:
        return ""
    more = ", ..." if len(choices) > _SHOWN else ""
    return f"choose from: {', '.join(choices[:_SHOWN])}{more}"
