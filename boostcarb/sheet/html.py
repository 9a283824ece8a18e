"""A document as one HTML page: nothing to load, nothing to run, everything escaped."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

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
    Section,
    Table,
    plain,
)
from boostcarb.sheet.style import CSS

POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"


def html_page(document: Document) -> str:
    """The whole page."""
    return "\n".join(_page(document)) + "\n"


def _text(text: str) -> str:
    return escape(plain(text), quote=True)


def _page(document: Document) -> Iterator[str]:
    yield "<!DOCTYPE html>"
    yield '<html lang="en-US">'
    yield "<head>"
    yield '<meta charset="utf-8">'
    yield f'<meta http-equiv="Content-Security-Policy" content="{escape(POLICY)}">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield '<meta name="referrer" content="no-referrer">'
    yield f"<title>{_text(document.title)}</title>"
    yield f"<style>\n{CSS}\n</style>"
    yield "</head>"
    yield "<body>"
    yield '<a class="skip" href="#content">Skip to the sheet</a>'
    yield "<header>"
    yield f"<h1>{_text(document.title)}</h1>"
    yield from (f'<p class="sub">{_text(line)}</p>' for line in document.subtitle)
    yield f'<p class="lead">{_text(document.lead)}</p>'
    yield "</header>"
    yield '<nav aria-label="Sections"><ul>'
    yield from (f'<li><a href="#{each.anchor}">{_text(each.title)}</a></li>' for each in document.sections)
    yield "</ul></nav>"
    yield '<main id="content">'
    for section in document.sections:
        yield from _section(section)
    yield "</main>"
    yield "</body>"
    yield "</html>"


def _section(section: Section) -> Iterator[str]:
    name = section.anchor
    yield f'<section aria-labelledby="{name}">'
    yield f'<h2 id="{name}">{_text(section.title)}</h2>'
    for each in section.blocks:
        if isinstance(each, Part):
            yield '<div class="together">' if each.together else "<div>"
            yield f"<h3>{_text(each.title)}</h3>"
            for block in each.blocks:
                yield from _block(block)
            yield "</div>"
        else:
            yield from _block(each)
    yield "</section>"


def _block(block: Block) -> Iterator[str]:
    match block:
        case Paragraph(text, "caution"):
            yield f'<p class="caution"><b>Caution:</b> {_text(text)}</p>'
        case Paragraph(text, "label"):
            yield f'<p class="label">{_text(text)}</p>'
        case Paragraph(text):
            yield f"<p>{_text(text)}</p>"
        case Entries():
            yield from _entries(block)
        case Table():
            yield from _table(block)
        case Gallery(figures):
            yield '<div class="gallery">' if figures[1:] else '<div class="gallery one">'
            for figure in figures:
                yield from _figure(figure)
            yield "</div>"
        case Blanks(labels):
            yield '<div class="blanks">'
            yield from (f'<p class="blank"><span>{_text(each)}</span> <i></i></p>' for each in labels)
            yield "</div>"


def _entries(block: Entries) -> Iterator[str]:
    named = {"boxes": block.boxes, "caution": block.cautions, "compact": block.compact}
    kind = " ".join(["list", *(name for name, wanted in named.items() if wanted)])
    yield f'<ul class="{kind}">'
    for entry in block.entries:
        yield from _entry(entry, boxes=block.boxes)
    yield "</ul>"


def _entry(entry: Entry, *, boxes: bool) -> Iterator[str]:
    name = f' id="{escape(entry.anchor, quote=True)}"' if entry.anchor else ""
    number = f'<span class="number">{_text(entry.number)}.</span> ' if entry.number else ""
    marks = "".join(f' <strong class="mark">{_text(mark)}</strong>' for mark in entry.marks)
    said = f"{number}{_text(entry.text)}{marks}"
    yield f"<li{name}>" + (f'<label><input type="checkbox"> {said}</label>' if boxes else said)
    if entry.lines or entry.cautions:
        yield '<ul class="lines">'
        yield from (f'<li class="warn"><b>Caution:</b> {_text(each)}</li>' for each in entry.cautions)
        yield from (f"<li>{_text(line)}</li>" for line in entry.lines)
        yield "</ul>"
    yield "</li>"


def _table(table: Table) -> Iterator[str]:
    wide = table.width == "wide"
    if wide:
        yield f'<div class="scroll" role="region" tabindex="0" aria-label="{_text(table.caption)}">'
    yield f'<table class="{table.width}" role="table">'
    yield f"<caption>{_text(table.caption)}</caption>"
    cells = "".join(f'<th scope="col" role="columnheader">{_text(each)}</th>' for each in table.head)
    yield f'<thead role="rowgroup"><tr role="row">{cells}</tr></thead>'
    yield '<tbody role="rowgroup">'
    for first, *others in table.rows:
        head = f'<th scope="row" role="rowheader">{_text(first)}</th>'
        row = "".join(
            f'<td role="cell" data-label="{_text(label)}">{_text(cell)}</td>'
            for label, cell in zip(table.head[1:], others, strict=True)
        )
        yield f'<tr role="row">{head}{row}</tr>'
    yield "</tbody></table>"
    if wide:
        yield "</div>"


def _figure(figure: Figure) -> Iterator[str]:
    yield "<figure>"
    yield f"<figcaption>{_text(figure.caption)}</figcaption>"
    yield figure.svg
    yield "</figure>"
