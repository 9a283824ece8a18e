"""The table of agreement in the README: every row within its limit, and the README as worked out."""

from __future__ import annotations

import agreement
import pytest


# Sources stand in each row; the files beside this one hold each in full, case by case.
@pytest.mark.parametrize("row", agreement.ROWS, ids=lambda row: row.what)
def test_within_its_limit(row: agreement.Row) -> None:
    cases, worst = row.worst()
    assert cases
    assert worst < row.limit


def test_the_readme_has_the_table_as_worked_out() -> None:
    assert agreement.table() in agreement.README.read_text("utf-8"), (
        "python tests/reference/agreement.py writes it anew"
    )
