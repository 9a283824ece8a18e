"""`boostcarb backfire`: text, JSON, the drawing, exit codes, bad input."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from command_line import JOB, Said, edited

Here = Callable[..., Said]
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def quiet(tmp_path: Path) -> Path:
    """A job in which nothing exceeds: no vacuum advance on the boosted manifold."""
    path = tmp_path / "quiet.yaml"
    path.write_text(edited("  choke: hot_air\n", "  choke: hot_air\n  advance_line: capped\n"), encoding="utf-8")
    return path


def record(said: Said) -> dict[str, Any]:
    loaded = json.loads(said.out, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))
    assert isinstance(loaded, dict)
    return loaded


def test_text(here: Here, quiet: Path) -> None:
    said = here("backfire", quiet)
    assert (said.code, said.err) == (0, "")
    for heading in ("VERDICT", "BACKFIRE AT IDLE", "BACKFIRE AT FULL LOAD", "SIGNALS", "TAKEN FOR IT", "CAUTIONS"):
        assert heading in said.out
    assert "protected" in said.out
    assert " psi" in here("backfire", quiet, "--units", "us").out


def test_what_exceeds_is_exit_code_1(here: Here, tmp_path: Path) -> None:
    path = tmp_path / "bare.yaml"
    path.write_text(edited("found:\n", "found:\n  primary.backfire_check: missing\n"), encoding="utf-8")
    said = here("backfire", path, "--format", "json")
    answer = record(said)
    assert (said.code, answer["clean"], answer["schema"]) == (1, False, "boostcarb.backfire.v1")
    assert {"diaphragm": "primary.power_valve_diaphragm", "state": "backfire_full_load"} in answer["exceeding"]
    full = next(each for each in answer["backfires"] if each["state"] == "backfire_full_load")
    for curve in full["curves"].values():
        assert len(curve["times_s"]) == len(curve["pressures_pa_abs"])
    assert {each["name"] for each in answer["inputs"]} >= {"peak_ratio", "rise", "duration", "check_closing_time"}


def test_as_planned(here: Here, job: Path) -> None:
    answer = record(here("backfire", job, "--as", "planned", "--format", "json"))
    assert answer["configuration"] == "planned"


def test_job_and_option_set_the_pulse(here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(JOB + "backfire: {peak_ratio: 2.5, rise: 5 ms, duration: 12 ms}\n", encoding="utf-8")
    inputs = {each["name"]: each for each in record(here("backfire", path, "--format", "json"))["inputs"]}
    assert (inputs["peak_ratio"]["value"], inputs["peak_ratio"]["given"]) == (2.5, True)
    assert inputs["rise"]["value"] == pytest.approx(5e-3)
    assert inputs["relief_area"]["given"] is False
    inputs = {
        each["name"]: each for each in record(here("backfire", path, "--peak", "4", "--format", "json"))["inputs"]
    }
    assert inputs["peak_ratio"]["value"] == 4.0


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("backfire: {peak_ratio: 12}", "peak_ratio"),
        ("backfire: {rise: 5 ms, duration: 2 ms}", "longer than its rise"),
        ("backfire: {check_closing_time: 3}", "check_closing_time"),
        ("backfire: {peek: 3}", "peek"),
    ],
)
def test_bad_section(here: Here, tmp_path: Path, line: str, told: str) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(f"{JOB}{line}\n", encoding="utf-8")
    said = here("backfire", path)
    assert (said.code, said.out) == (2, "")
    assert told in said.err


@pytest.mark.parametrize("peak", ["0.5", "20", "nan"])
def test_peak_outside_its_bounds(here: Here, quiet: Path, peak: str) -> None:
    said = here("backfire", quiet, "--peak", peak)
    assert (said.code, said.out) == (2, "")
    assert "--peak" in said.err


def test_drawing_is_well_formed_escaped_and_kept(here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(edited("A small test job", '"<b> & \\"quoted\\""'), encoding="utf-8")
    out = tmp_path / "pressures.svg"
    assert here("backfire", path, "--out", out).err == ""
    root = ElementTree.fromstring(out.read_text(encoding="utf-8"))  # noqa: S314  our own file
    assert root.tag == f"{SVG}svg"
    title, described = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert described is not None
    assert title.text is not None
    assert title.text.startswith('<b> & "quoted"')
    assert described.text
    labels = [each.text for each in root.iter(f"{SVG}text")]
    assert "kPa abs" in labels
    assert "time, ms" in labels
    lines = list(root.iter(f"{SVG}polyline"))
    panels = [each.get("stroke-dasharray") for each in lines]
    assert len(lines) >= 6
    assert len(set(panels)) >= 3  # told apart without color
    before = out.read_bytes()
    refused = here("backfire", path, "--out", out, "--units", "us")
    assert refused.code == 2
    assert "--force" in refused.err
    assert out.read_bytes() == before
    assert here("backfire", path, "--out", out, "--units", "us", "--force").err == ""
    assert ">psi abs<" in out.read_text(encoding="utf-8")


def test_answer_does_not_change_from_run_to_run(here: Here, quiet: Path) -> None:
    start = time.perf_counter()
    assert here("backfire", quiet, "--format", "json").out == here("backfire", quiet, "--format", "json").out
    assert time.perf_counter() - start < 60.0
