"""`boostcarb bench` in both formats."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from chosen_jobs import PATHS
from command_line import Said, edited, run

from boostcarb import pipeline
from boostcarb.checks.model import BenchChecks
from boostcarb.description.library import ReadJob
from boostcarb.pipeline import bench_checks

SCENARIOS = PATHS
STREET = next(path for path in SCENARIOS if path.stem == "street_blow_through")
Here = Callable[..., Said]


def record(said: Said) -> dict[str, Any]:
    assert said.err == ""
    loaded = json.loads(said.out, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))
    assert isinstance(loaded, dict)
    return loaded


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_scenario_as_planned_and_as_found(path: Path, here: Here, monkeypatch: pytest.MonkeyPatch) -> None:
    once: dict[bool, BenchChecks] = {}  # the text is written of the answer that the JSON was written of

    def worked_out(read: ReadJob, *, planned: bool) -> BenchChecks:
        return once.get(planned) or once.setdefault(planned, bench_checks(read, planned=planned))

    monkeypatch.setattr(pipeline, "bench_checks", worked_out)
    for which in ("planned", "found"):
        said = here("bench", path, "--as", which, "--format", "json")
        answer = record(said)
        assert (said.code, answer["schema"]) == (0, "boostcarb.bench.v1")
        assert answer["as_planned"] is (which == "planned")
        assert answer["tests"]
        for test in answer["tests"]:
            assert test["at"]
            assert test["minutes"] > 0
            assert test["shows_first"]
            for other in test["otherwise"]:
                assert other["shows"] != test["must"]
                assert other["one_of"]
        assert any(each["as_found"] for each in answer["spray"])
        assert here("bench", path, "--as", which).code == 0


def test_text(here: Here) -> None:
    said = here("bench", STREET)
    assert (said.code, said.err) == (0, "")
    for words in (
        "VERDICT", "BEFORE YOU START", "[ ]  1. ", "Never put air pressure on a carburetor that holds fuel", "50 kPa",
        "NO TEST SHOWS THESE", "SPRAY HERE, IT COMES OUT THERE  the whole carburetor", "as found:", "planned:",
        "Local codes",
    ):  # fmt: skip
        assert words in said.out, words
    assert max(map(len, said.out.splitlines())) <= 100


def test_what_was_found_is_tried_in_the_order_of_the_strip_down(here: Here) -> None:
    text = here("bench", STREET, "--as", "found").out
    assert text.index("ON THE ENGINE, NOTHING OFF") < text.index("CARBURETOR OFF THE ENGINE")
    assert "As found there is fuel in it" in " ".join(text.split())
    planned = here("bench", STREET).out
    assert planned.index("ON THE ENGINE, NOTHING OFF") > planned.index("CARBURETOR OFF THE ENGINE")


def test_changes_that_were_not_made_show(here: Here) -> None:
    tests = record(here("bench", STREET, "--format", "json"))["tests"]
    not_made = {each["mistake"] for test in tests for other in test["otherwise"] for each in other["one_of"]
                if each["not_made"]}  # fmt: skip
    assert {
        "primary.power_valve_vacuum_passage=open",
        "primary.power_valve_reference_port=absent",
        "primary.bowl_external_vent=open",
    } <= not_made


def test_us_units(here: Here) -> None:
    metric, us = here("bench", STREET).out, here("bench", STREET, "--units", "us").out
    assert "at most 50 kPa" in metric
    assert "psi" in us
    assert "at most 50 kPa" not in us
    assert here("bench", STREET, "--format", "json").out == here(
        "bench", STREET, "--format", "json", "--units", "us"
    ).out  # fmt: skip


def test_no_plan(here: Here, tmp_path: Path) -> None:
    open_vent = edited("  choke: hot_air\n", "  choke: hot_air\n  primary.bowl_external_vent: open\n")
    path = tmp_path / "job.yaml"
    path.write_text(open_vent + "pinned: {keep: [primary.bowl_external_vent]}\n", encoding="utf-8")
    said = here("bench", path)
    assert said.code == 1
    assert "There is no plan" in said.out
    assert here("bench", path, "--as", "found").code == 0


def test_bad_job(here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(edited("fuel: gasoline", "fuel: gasolin"), encoding="utf-8")
    said = here("bench", path)
    assert (said.code, said.out) == (2, "")


def test_two_runs_say_the_same() -> None:
    first = run("bench", STREET, "--format", "json", PYTHONHASHSEED="1")
    second = run("bench", STREET, "--format", "json", PYTHONHASHSEED="2")
    assert first == second


def test_order_of_the_job_file_does_not_matter(here: Here, tmp_path: Path) -> None:
    data = yaml.safe_load(STREET.read_text(encoding="utf-8"))
    turned = {**data, "found": dict(reversed(data["found"].items()))}
    answers = []
    for name, each in (("one", data), ("other", turned)):
        path = tmp_path / f"{name}.yaml"
        path.write_text(yaml.safe_dump(each, sort_keys=False), encoding="utf-8")
        answers.append(record(here("bench", path, "--format", "json")))
        del answers[-1]["job"]
    assert answers[0] == answers[1]
