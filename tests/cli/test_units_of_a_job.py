"""The units of a job file: used where the command line names none, and never in JSON."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from command_line import JOB, Said

Here = Callable[..., Said]
METRIC = ("--units", "metric")
COMMANDS = [("plan",), ("fuel",), ("bench",), ("review",), ("backfire",), ("trace", "--from", "manifold")]


@pytest.fixture
def in_us_units(tmp_path: Path) -> Path:
    """The small test job, shown in US units unless the command line says otherwise."""
    path = tmp_path / "us.yaml"
    path.write_text(JOB + "units: us\n", encoding="utf-8")
    return path


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_the_job_file_names_the_units(here: Here, job: Path, in_us_units: Path, command: tuple[str, ...]) -> None:
    metric, us = here(*command, job).out, here(*command, job, "--units", "us").out
    assert metric != us
    own = [here(*command, in_us_units, *units).out.replace("us.yaml", "job.yaml") for units in ((), METRIC)]
    assert own == [us, metric]


def test_json_is_in_si_units_whatever_the_job_names(here: Here, job: Path, in_us_units: Path) -> None:
    command = ("trace", "--from", "manifold", "--format", "json")
    assert here(*command, in_us_units).out == here(*command, job).out.replace(str(job), str(in_us_units))


def test_the_sheet_follows(here: Here, job: Path, in_us_units: Path, tmp_path: Path) -> None:
    for name, path in (("metric", job), ("us", in_us_units)):
        here("sheet", path, "--format", "md", "--out", tmp_path / name)
    heading = "psi absolute"
    assert heading not in (tmp_path / "metric").read_text("utf-8")
    assert heading in (tmp_path / "us").read_text("utf-8")


def test_unknown_units(here: Here, job: Path) -> None:
    job.write_text(JOB + "units: feet\n", encoding="utf-8")
    said = here("plan", job)
    assert said.code == 2
    assert said.err.strip().endswith("units: found 'feet'; choose from: metric, us")
