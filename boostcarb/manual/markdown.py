"""Running text as Markdown of even width, so that a page reads the same on a screen and in a terminal."""

from __future__ import annotations

import re
import textwrap

WIDTH = 118
_CODE = re.compile(r"(`[^`]*`|\[[^\]]*\]\([^)]*\))")
_PATTERN = re.compile(r"[a-z][a-z0-9_.]*\.\*|\*[._a-z][a-z0-9_.*]*")
_NO_START = re.compile(r" (?=(?:[-+*#>]+|\d+[.)]) )")
"""A blank after which no line may end: what follows would start a list, a heading or a quotation."""
_TOGETHER = re.compile(r"`[^`]{1,60}`|\d %")
_HELD = "\0"


def plain(text: str) -> str:
    """Text in which nothing is taken for Markdown: patterns of names become code; < is masked.

    >>> plain("no way leads from *.bowl to air < 3")
    'no way leads from `*.bowl` to air \\\\< 3'
    """
    parts = _CODE.split(" ".join(text.split()))
    for index in range(0, len(parts), 2):
        parts[index] = _PATTERN.sub(lambda found: f"`{found[0]}`", parts[index]).replace("<", "\\<")
    return "".join(parts)


def paragraph(text: str, *, first: str = "", rest: str = "") -> str:
    """Text wrapped to the width of a page, with a first and a hanging indent.

    >>> paragraph("one " * 3, first="- ", rest="  ")
    '- one one one'
    """
    whole = _TOGETHER.sub(lambda found: found[0].replace(" ", _HELD), " ".join(text.split()))
    held = _NO_START.sub(_HELD, whole)
    lines = textwrap.fill(
        held, width=WIDTH, initial_indent=first, subsequent_indent=rest, break_long_words=False, break_on_hyphens=False
    )
    return lines.replace(_HELD, " ")


def item(text: str, *, depth: int = 0) -> str:
    """An item of a list."""
    indent = "  " * depth
    return paragraph(text, first=f"{indent}- ", rest=f"{indent}  ")


def code(name: str) -> str:
    """A name as it stands in a file."""
    return f"`{name}`"


def codes(names: list[str] | tuple[str, ...]) -> str:
    """Names as they stand in a file, in a row."""
    return ", ".join(code(name) for name in names)
