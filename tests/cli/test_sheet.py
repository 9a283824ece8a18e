"""`boostcarb sheet`: exit codes, files, what it refuses."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from command_line import Said, edited

Here = Callable[..., Said]


def test_writes_the_page_and_says_where(here: Here, job: Path, tmp_path: Path) -> None:
    out = tmp_path / "sheet.html"
    said = here("sheet", job, "--out", out)
    assert (said.code, said.err, said.out) == (0, "", f"wrote {out}\n")
    text = out.read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>")
    assert "A small test job" in text


def test_same_job_same_bytes(here: Here, job: Path, tmp_path: Path) -> None:
    one, two = tmp_path / "one.html", tmp_path / "two.html"
    here("sheet", job, "--out", one)
    here("sheet", job, "--out", two)
    assert one.read_bytes() == two.read_bytes()


def test_markdown_and_tables(here: Here, job: Path, tmp_path: Path) -> None:
    out, parts, states = tmp_path / "sheet.md", tmp_path / "parts.csv", tmp_path / "states.csv"
    said = here("sheet", job, "--out", out, "--format", "md", "--parts-csv", parts, "--states-csv", states)
    assert said.code == 0
    assert said.out.splitlines() == [f"wrote {path}" for path in (out, parts, states)]
    assert out.read_text(encoding="utf-8").startswith("# A small test job\n")
    assert parts.read_text(encoding="utf-8").startswith("kind,what,quantity")
    assert states.read_text(encoding="utf-8").startswith("state,state title,space")


@pytest.mark.parametrize("option", ["--out", "--parts-csv", "--states-csv"])
def test_keeps_what_is_there(here: Here, job: Path, tmp_path: Path, option: str) -> None:
    taken = tmp_path / "taken"
    taken.write_text("mine", encoding="utf-8")
    out = () if option == "--out" else ("--out", tmp_path / "sheet.html")
    said = here("sheet", job, *out, option, taken)
    assert said.code == 2
    assert "--force" in said.err
    assert taken.read_text(encoding="utf-8") == "mine"
    assert not (tmp_path / "sheet.html").exists()
    assert here("sheet", job, *out, option, taken, "--force").code == 0
    assert taken.read_text(encoding="utf-8") != "mine"


def test_one_name_for_two_files(here: Here, job: Path, tmp_path: Path) -> None:
    out = tmp_path / "sheet.html"
    said = here("sheet", job, "--out", out, "--parts-csv", out)
    assert said.code == 2
    assert "two files" in said.err
    assert not out.exists()


def test_a_folder_that_is_not_there_is_said_before_anything_is_written(here: Here, job: Path, tmp_path: Path) -> None:
    out = tmp_path / "sheet.html"
    said = here("sheet", job, "--out", out, "--parts-csv", tmp_path / "nowhere" / "parts.csv")
    assert (said.code, said.out) == (2, "")
    assert "folder" in said.err
    assert not out.exists()


def test_the_job_itself_is_never_overwritten(here: Here, job: Path) -> None:
    before = job.read_bytes()
    assert here("sheet", job, "--out", job, "--force").code == 2
    assert job.read_bytes() == before


def test_bad_job_writes_nothing(here: Here, tmp_path: Path) -> None:
    path, out = tmp_path / "job.yaml", tmp_path / "sheet.html"
    path.write_text(edited("fuel: gasoline", "fuel: gasolin"), encoding="utf-8")
    said = here("sheet", path, "--out", out)
    assert (said.code, said.out) == (2, "")
    assert not out.exists()


def test_no_plan_is_written_down_too(here: Here, tmp_path: Path) -> None:
    path, out = tmp_path / "job.yaml", tmp_path / "sheet.html"
    vent = edited("  choke: hot_air\n", "  choke: hot_air\n  primary.bowl_external_vent: open\n")
    path.write_text(vent + "pinned: {keep: [primary.bowl_external_vent]}\n", encoding="utf-8")
    said = here("sheet", path, "--out", out)
    assert said.code == 1
    text = out.read_text(encoding="utf-8")
    assert "No plan exists" in text
    assert "keep primary.bowl_external_vent as found" in text
    assert "Why there is no plan" in text


def test_a_name_with_markup_is_escaped(here: Here, tmp_path: Path) -> None:
    path, out = tmp_path / "job.yaml", tmp_path / "sheet.html"
    name = '"<script>alert(1)</script> & \\"q\\""'
    path.write_text(edited("job: A small test job", f"job: {name}"), encoding="utf-8")
    here("sheet", path, "--out", out, "--date", "<b>today</b>")
    text = out.read_text(encoding="utf-8")
    assert "<script" not in text
    assert "<b>today" not in text
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; &quot;q&quot;" in text


def test_units(here: Here, job: Path, tmp_path: Path) -> None:
    out = tmp_path / "sheet.html"
    here("sheet", job, "--out", out, "--units", "us")
    assert "psi absolute" in out.read_text(encoding="utf-8")


def test_nothing_is_done_without_a_file(here: Here, job: Path) -> None:
    assert here("sheet", job).code == 2


def test_job_with_fuel_numbers(here: Here, tmp_path: Path) -> None:
    path, out = tmp_path / "job.yaml", tmp_path / "sheet.html"
    bores = "  primary.main_jet_hole: {is: open, bore: 1.7 mm}\n  secondary.main_jet_hole: {is: open, bore: 1.9 mm}\n"
    path.write_text(edited("  choke: hot_air\n", "  choke: hot_air\n" + bores), encoding="utf-8")
    assert here("sheet", path, "--out", out).code in (0, 1)
    assert "Lambda in the planned carburetor" in out.read_text(encoding="utf-8")
