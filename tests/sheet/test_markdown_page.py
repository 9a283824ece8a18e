"""The page as Markdown: tables that hold together, no markup out of names."""

from __future__ import annotations

import re
from itertools import pairwise

from boostcarb.sheet.answers import Answers
from boostcarb.sheet.markdown import markdown_page
from boostcarb.sheet.page import sheet

CELL = re.compile(r"(?<!\\)\|")


def written(answers: Answers) -> str:
    return markdown_page(sheet(answers))


def test_tables_have_as_many_cells_in_every_row(answers: Answers) -> None:
    tables: list[list[str]] = [[]]
    for line in written(answers).splitlines():
        if line.startswith("| "):
            tables[-1].append(line)
        elif tables[-1]:
            tables.append([])
    tables = [table for table in tables if table]
    assert tables
    for table in tables:
        assert len({len(CELL.findall(row)) for row in table}) == 1
        assert set(table[1]) <= set("| -")


def test_headings_are_in_order_and_one_is_first(answers: Answers) -> None:
    ranks = [len(m[1]) for line in written(answers).splitlines() if (m := re.match(r"(#+) ", line))]
    assert ranks[0] == 1
    assert ranks.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(ranks))


def test_every_change_has_one_box(answers: Answers) -> None:
    lines = written(answers).splitlines()
    start = lines.index("## What to do") if answers.changes else 0
    stop = next(i for i in range(start + 1, len(lines)) if lines[i].startswith("## "))
    boxes = [m[1] for line in lines[start:stop] if (m := re.match(r"- \[ \] \*\*(\d+)\.\*\* ", line))]
    assert boxes == [str(change.number) for change in answers.changes]


def test_names_make_no_markup(hostile: Answers) -> None:
    text = written(hostile)
    assert "<" not in text
    assert not re.search(r"(?<!\\)\]\(", text)
    assert not re.search(r"(?<!\\)!\[", text.replace("!\\[", ""))
    assert "http://" not in text
    assert not re.search(r"(?<!\\)`", text)


def test_ends_with_one_line_break(street: Answers) -> None:
    text = written(street)
    assert text.endswith("\n")
    assert not text.endswith("\n\n")
