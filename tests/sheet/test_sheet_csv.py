"""The CSV tables, read back."""

from __future__ import annotations

import csv
import io

from hypothesis import given
from hypothesis import strategies as st

from boostcarb.sheet.answers import Answers
from boostcarb.sheet.csv_tables import FORMULA, parts_csv, safe_cell, states_csv


def read(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def test_parts_are_those_of_the_order(answers: Answers) -> None:
    head, *rows = read(parts_csv(answers))
    assert head[:3] == ["kind", "what", "quantity"]
    assert all(len(row) == len(head) for row in rows)
    shopping = answers.order.shopping
    assert len(rows) == len(shopping.parts) + len(shopping.consumables) + len(shopping.tools)


def test_states_hold_every_space_in_every_state(answers: Answers) -> None:
    head, *rows = read(states_csv(answers))
    states = answers.planned.states
    assert len(rows) == sum(len(row.spaces) for row in states)
    low, high = head.index("lowest, Pa abs"), head.index("highest, Pa abs")
    found = {(row[0], row[2]): (float(row[low]), float(row[high])) for row in rows}
    for state in states:
        for name, space in state.spaces.items():
            assert found[state.name, name] == (space.low_pa_abs, space.high_pa_abs)


def test_lines_end_as_the_standard_says(street: Answers) -> None:
    for text in (parts_csv(street), states_csv(street)):
        assert text.count("\n") == text.count("\r\n")


def test_names_make_no_formula(hostile: Answers) -> None:
    for text in (parts_csv(hostile), states_csv(hostile)):
        for row in read(text)[1:]:
            assert not [cell for cell in row if cell.startswith(FORMULA)]


@given(st.text())
def test_no_cell_starts_a_formula(text: str) -> None:
    assert not safe_cell(text).startswith(FORMULA)
