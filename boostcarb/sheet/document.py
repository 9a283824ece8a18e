"""A page as records: sections of paragraphs, lists, tables and figures. Writers turn it into HTML or Markdown.

All text is plain; every writer escapes it in its own way.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Manner = Literal["plain", "caution", "label"]
Width = Literal["fits", "wide"]


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text; a caution stands out, a label heads what follows."""

    text: str
    manner: Manner = "plain"


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a list: its number, its text, marks and cautions not to be missed, lines that go with it."""

    text: str
    number: str = ""
    marks: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    anchor: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Entries:
    """A list; a checklist has a box to tick before each entry, a compact one stands in columns where there is room."""

    entries: tuple[Entry, ...]
    boxes: bool = False
    cautions: bool = False
    compact: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table whose first column heads the rows. One that is `wide` is for numbers and scrolls on a phone."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    width: Width = "fits"


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing with its caption, and what it shows in words for those who cannot see it."""

    caption: str
    svg: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Gallery:
    """Figures that stand side by side where there is room."""

    figures: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class Blanks:
    """Lines to be filled in by hand."""

    labels: tuple[str, ...]


Block = Paragraph | Entries | Table | Gallery | Blanks


@dataclass(frozen=True, slots=True)
class Part:
    """A heading of the second rank within a section, with what stands under it."""

    title: str
    blocks: tuple[Block, ...]
    together: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with what stands under it."""

    title: str
    blocks: tuple[Block | Part, ...]

    @property
    def anchor(self) -> str:
        """Its name in links.

        >>> Section("If one thing fails", ()).anchor
        'if-one-thing-fails'
        """
        return re.sub(r"[^a-z0-9]+", "-", self.title.lower()).strip("-")


@dataclass(frozen=True, slots=True)
class Document:
    """The whole page; the lead is its answer in a few lines."""

    title: str
    subtitle: tuple[str, ...]
    lead: str
    sections: tuple[Section, ...]


def plain(text: str) -> str:
    """One line of text without what no page can hold: control characters, marks that turn the direction of writing.

    >>> plain("a \\x00 b\\n c \\u202e d")
    'a b c d'
    """
    return " ".join("".join(each if each.isprintable() else " " for each in text).split())


def listed(words: Sequence[str]) -> str:
    """Words as a person lists them.

    >>> listed(["a", "b", "c"]), listed(["a"])
    ('a, b and c', 'a')
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if words[1:] else words)
