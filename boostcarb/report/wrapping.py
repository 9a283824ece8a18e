"""Text of the width of the terminal. Loads nothing else."""

from __future__ import annotations

import shutil
import textwrap

WIDEST, USUAL, NARROWEST = 100, 80, 40


def width() -> int:
    """Columns to write in: the terminal's, within reason."""
    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size((USUAL, 24)).columns))


def wrapped(text: str, *, first: str = "", rest: str | None = None) -> str:
    """Text wrapped to the terminal, with a first and a hanging indent."""
    return textwrap.fill(
        " ".join(text.split()),
        width=width(),
        initial_indent=first,
        subsequent_indent=" " * len(first) if rest is None else rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
