"""`boostcarb graph`."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from command_line import Said

Here = Callable[..., Said]


@pytest.mark.parametrize("name", ["a.graphml", "a.dot"])
def test_writes_and_never_over_a_file(here: Here, job: Path, tmp_path: Path, name: str) -> None:
    out = tmp_path / name
    said = here("graph", job, "--out", out)
    assert (said.code, said.err) == (0, "")
    assert len(out.read_text(encoding="utf-8").splitlines()) > 50
    before = out.read_bytes()
    again = here("graph", job, "--out", out)
    assert again.code == 2
    assert "--force" in again.err
    assert here("graph", job, "--out", out, "--force").code == 0
    assert out.read_bytes() == before


def test_reads_its_own_and_turns_it_into_dot(here: Here, job: Path, tmp_path: Path) -> None:
    graphml, direct, by_way = tmp_path / "a.graphml", tmp_path / "direct.dot", tmp_path / "by_way.dot"
    assert here("graph", job, "--out", graphml).code == 0
    checked = here("graph", "--check", graphml, "--format", "json")
    assert checked.code == 0
    record = json.loads(checked.out)
    assert record["written"] is None
    assert record["ways"] > 50
    assert here("graph", graphml, "--out", by_way).code == 0
    assert here("graph", job, "--out", direct).code == 0
    assert by_way.read_text(encoding="utf-8") == direct.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((), "name a job"),
        (("JOB",), "name a file to write"),
        (("JOB", "--out", "a.svg"), "end it in .graphml or .dot"),
        (("--check", "JOB"), "no GraphML"),
        (("--check", "none.graphml"), "no such file"),
    ],
)
def test_what_is_missing_is_said(here: Here, job: Path, arguments: tuple[str, ...], message: str) -> None:
    said = here("graph", *(job if word == "JOB" else word for word in arguments))
    assert (said.code, said.out) == (2, "")
    assert message in said.err
