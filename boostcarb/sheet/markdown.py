"""A document as Markdown, for a forum or a log: drawings become what they show in words."""

from __future__ import annotations

import re
from collections.abc import Iterator

from boostcarb.sheet.document import (
    Blanks,
    Block,
    Document,
    Entries,
    Entry,
    Figure,
    Gallery,
    Paragraph,
    Part,
    Table,
    plain,
)

SPECIAL = re.compile(r"([\\`*_{}\[\]#|~$@])")
AT_START = re.compile(r"^(\d+)([.)])|^([-+=])")
ADDRESS = re.compile(r"(?i)\b(https?|ftp|www)([:.])")


def markdown_page(document: Document) -> str:
    """The whole page."""
    lines = [f"# {_text(document.title)}", ""]
    for each in document.subtitle:
        lines += [_text(each), ""]
    lines += [f"**{_text(document.lead)}**", ""]
    for section in document.sections:
        lines += [f"## {_text(section.title)}", ""]
        for block in section.blocks:
            if isinstance(block, Part):
                lines += [f"### {_text(block.title)}", ""]
                for inner in block.blocks:
                    lines += [*_block(inner), ""]
            else:
                lines += [*_block(block), ""]
    return "\n".join(lines).rstrip() + "\n"


def _text(text: str) -> str:
    r"""Plain text so that no character of it is taken for markup.

    >>> _text("- a <b> | *c*")
    '\\- a &lt;b&gt; \\| \\*c\\*'
    >>> _text("1. http://example.org")
    '1\\. http&#58;//example.org'
    """
    safe = plain(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    safe = SPECIAL.sub(r"\\\1", safe)
    safe = ADDRESS.sub(lambda m: m[1] + ("&#58;" if m[2] == ":" else "&#46;"), safe)
    return AT_START.sub(lambda m: f"{m[1]}\\{m[2]}" if m[1] else f"\\{m[3]}", safe)


def _block(block: Block) -> Iterator[str]:
    match block:
        case Paragraph(text, "caution"):
            yield f"> **Caution:** {_text(text)}"
        case Paragraph(text, "label"):
            yield f"**{_text(text)}**"
        case Paragraph(text):
            yield _text(text)
        case Entries(entries):
            for entry in entries:
                yield from _entry(entry, boxes=block.boxes)
        case Table():
            yield from _table(block)
        case Gallery(figures):
            for figure in figures:
                yield from _figure(figure)
        case Blanks(labels):
            yield from (f"- {_text(each)} \\_\\_\\_\\_\\_\\_\\_\\_" for each in labels)


def _entry(entry: Entry, *, boxes: bool) -> Iterator[str]:
    number = f"**{entry.number}.** " if entry.number else ""
    marks = "".join(f" **{_text(mark)}**" for mark in entry.marks)
    yield f"- {'[ ] ' if boxes else ''}{number}{_text(entry.text)}{marks}"
    yield from (f"  - **Caution:** {_text(each)}" for each in entry.cautions)
    yield from (f"  - {_text(line)}" for line in entry.lines)


def _table(table: Table) -> Iterator[str]:
    yield f"**{_text(table.caption)}**"
    yield ""
    yield _row(table.head)
    yield _row(("---",) * len(table.head), raw=True)
    yield from (_row(row) for row in table.rows)


def _row(cells: tuple[str, ...], *, raw: bool = False) -> str:
    return "| " + " | ".join(cell if raw else _text(cell) for cell in cells) + " |"


def _figure(figure: Figure) -> Iterator[str]:
    yield f"**{_text(figure.caption)}**"
    yield ""
    yield from (f"- {_text(line)}" for line in figure.words)
    yield ""
