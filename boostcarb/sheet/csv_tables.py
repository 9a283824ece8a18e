"""Parts and pressures as CSV (RFC 4180), in SI units, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from boostcarb.sheet.answers import Answers
from boostcarb.sheet.document import plain
from boostcarb.sheet.sections.order import changes_named

FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for the start of a formula."""


def safe_cell(cell: str) -> str:
    """A text that no spreadsheet works out: a quote goes before what could be a formula.

    >>> safe_cell("=1+1"), safe_cell("-5.2 kPa"), safe_cell("main jets")
    ("'=1+1", "'-5.2 kPa", 'main jets')
    """
    text = plain(cell)
    return f"'{text}" if text.startswith(FORMULA) else text


def _csv(head: Sequence[str], rows: Iterable[Sequence[str | int | float]]) -> str:
    """Text is made safe; numbers are written as they are."""
    written = io.StringIO(newline="")
    writer = csv.writer(written, lineterminator="\r\n")
    writer.writerow(head)
    for row in rows:
        writer.writerow([safe_cell(cell) if isinstance(cell, str) else cell for cell in row])
    return written.getvalue()


def parts_csv(answers: Answers) -> str:
    """Everything to have in hand: parts, what is renewed, consumables, tools; a row a thing."""
    shopping = answers.order.shopping
    kinds = {"part": shopping.parts, "consumable": shopping.consumables, "tool": shopping.tools}
    rows = [
        (kind, each.name, each.quantity, changes_named(answers, each), "; ".join(each.for_changes), each.note)
        for kind, lines in kinds.items()
        for each in lines
    ]
    return _csv(("kind", "what", "quantity", "for changes", "for items", "note"), rows)


def states_csv(answers: Answers) -> str:
    """Every space in every state, a row a pressure."""
    rows = [
        (row.name, row.title, space, answers.network.title_of(space), own.low_pa_abs, own.high_pa_abs, own.nature)
        for row in answers.planned.states
        for space, own in row.spaces.items()
    ]
    head = ("state", "state title", "space", "space title", "lowest, Pa abs", "highest, Pa abs", "nature")
    return _csv(head, rows)
