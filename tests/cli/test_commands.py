"""Every command in both formats: exit code, what goes where, and the shape of the JSON."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from command_line import JOB, Said, edited, line_of, run

import boostcarb
from boostcarb.manual.pages import PAGES, page

SCENARIO = Path(__file__).parents[2] / "scenarios" / "street_blow_through.yaml"

Here = Callable[..., Said]


def record(said: Said) -> dict[str, Any]:
    assert said.err == ""
    loaded = json.loads(said.out, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))
    assert isinstance(loaded, dict)
    return loaded


@pytest.fixture
def clean(tmp_path: Path, here: Here, job: Path) -> Path:
    """The job with its whole plan carried out."""
    changes = record(here("plan", job, "--format", "json"))["changes"]
    assert changes
    lines = "".join(f"  {change['item']}: {change['to']}\n" for change in changes)
    text = JOB
    for change in changes:
        text = "".join(line for line in text.splitlines(True) if not line.startswith(f"  {change['item']}:"))
    path = tmp_path / "clean.yaml"
    path.write_text(text.replace("found:\n", "found:\n" + lines), encoding="utf-8")
    return path


def test_plan_text(here: Here, job: Path) -> None:
    said = here("plan", job)
    assert (said.code, said.err) == (0, "")
    for heading in ("VERDICT", "DO THIS", "WHY", "NUMBERS", "CAUTIONS"):
        assert heading in said.out
    assert "[ ]  1. " in said.out


def test_plan_json(here: Here, job: Path) -> None:
    said = here("plan", job, "--format", "json")
    answer = record(said)
    assert said.code == 0
    assert answer["schema"] == "boostcarb.plan.v1"
    assert answer["job"] == {
        "file": str(job),
        "title": "A small test job",
        "carburetor": "modular_four_barrel",
        "target": "blow_through",
        "fuel": "gasoline",
    }
    assert answer["clean"] is True
    for key in ("changes", "findings", "findings_as_found", "not_looked_at", "states", "assumptions", "cautions"):
        assert isinstance(answer[key], list), key
    for change in answer["changes"]:
        assert change["reasons"], f"{change['item']} has no reason"
        assert change["how"]
    assert not any(finding["severity"] in ("stop", "fix") for finding in answer["findings"])


def test_plan_that_cannot_be(here: Here, tmp_path: Path) -> None:
    open_vent = edited("  choke: hot_air\n", "  choke: hot_air\n  primary.bowl_external_vent: open\n")
    path = tmp_path / "job.yaml"
    path.write_text(open_vent + "pinned: {keep: [primary.bowl_external_vent]}\n", encoding="utf-8")
    said = here("plan", path, "--format", "json")
    answer = record(said)
    assert (said.code, answer["clean"], answer["changes"]) == (1, False, [])
    assert answer["impossible"]["pins"] == ["keep primary.bowl_external_vent as found"]
    assert answer["impossible"]["clash"]
    text = here("plan", path)
    assert (text.code, text.err) == (1, "")
    assert "No plan exists with the choices you pinned." in text.out


def test_review_before_and_after_the_plan(here: Here, job: Path, clean: Path) -> None:
    before = here("review", job, "--format", "json")
    wrong = record(before)
    assert (before.code, wrong["schema"], wrong["clean"]) == (1, "boostcarb.review.v1", False)
    assert wrong["missing"]
    after = here("review", clean, "--format", "json")
    right = record(after)
    assert (after.code, right["clean"]) == (0, True), right["findings"]
    assert right["job"]["file"] == str(clean)
    for key in ("findings", "proposed", "missing", "not_looked_at"):
        assert right[key] == [] or key == "findings"


def test_plan_of_a_finished_job_changes_nothing(here: Here, clean: Path) -> None:
    said = here("plan", clean)
    assert (said.code, said.err) == (0, "")
    assert "No change needed" in said.out


def test_review_text(here: Here, job: Path) -> None:
    said = here("review", job)
    assert (said.code, said.err) == (1, "")
    assert "Not fit to run" in said.out
    assert "remedy:" in said.out


def test_review_of_a_proposal_judges_each_change(here: Here, tmp_path: Path) -> None:
    changes = "proposed:\n  choke: hot_air\n  manifold_port_caps: screw_plugs\n  fuel_regulator: rising_rate\n"
    path = tmp_path / "job.yaml"
    path.write_text(JOB + changes, encoding="utf-8")
    answer = record(here("review", path, "--format", "json"))
    changes_judged = {each["item"]: each for each in answer["proposed"]}
    assert {item: each["verdict"] for item, each in changes_judged.items() if item != "fuel_regulator"} == {
        "choke": "already so",
        "manifold_port_caps": "needed",
    }
    caused = {finding["rule"] for finding in changes_judged["fuel_regulator"]["causes"]}
    assert "regulator_rising_rate" in caused
    assert "harmful" in changes_judged["fuel_regulator"]["verdict"]


def test_review_of_several_goes_on_after_a_bad_one(here: Here, tmp_path: Path, job: Path) -> None:
    bad = tmp_path / "bad.yaml"
    bad.write_text(edited("fuel: gasoline", "fuel: gasolin"), encoding="utf-8")
    said = here("review", job, bad, tmp_path / "none.yaml", job, "--format", "json")
    document = json.loads(said.out)
    answers = document["reviews"]
    assert (said.code, document["schema"]) == (2, "boostcarb.reviews.v1")
    assert [each["file"] for each in document["summary"]["not_read"]] == [str(bad), str(tmp_path / "none.yaml")]
    assert [answer["job"]["file"] for answer in answers] == [
        str(job), str(bad), str(tmp_path / "none.yaml"), str(job),
    ]  # fmt: skip
    assert [len(answer.get("problems", [])) for answer in answers] == [0, 1, 1, 0]
    problem = answers[1]["problems"][0]
    assert (problem["file"], problem["line"], problem["field"]) == (str(bad), line_of(JOB, "fuel:"), "fuel")
    assert "did you mean 'gasoline'?" in problem["message"]
    assert len(said.err.splitlines()) == 2
    text = here("review", job, bad, job)
    assert text.code == 2
    assert text.out.count("Not fit to run") == 2
    assert "ALL 3 FILES\n  2 not fit to run, 0 where nothing blocks, 1 that could not be read.\n" in text.out


def test_review_of_one_bad_file_in_json(here: Here, tmp_path: Path) -> None:
    said = here("review", tmp_path / "none.yaml", "--format", "json")
    assert said.code == 2
    answer = json.loads(said.out)
    assert (answer["schema"], answer["clean"], answer["findings"]) == ("boostcarb.review.v1", False, [])
    assert answer["problems"][0]["message"] == "there is no such file; check the path"


def test_trace_text(here: Here, job: Path) -> None:
    said = here("trace", job, "--from", "bonnet", "--state", "idle")
    assert (said.code, said.err) == (0, "")
    assert "primary bowl vent into the air horn" in said.out
    assert "kPa abs" in said.out


def test_trace_json(here: Here, job: Path) -> None:
    said = here("trace", job, "--from", "bonnet", "--format", "json")
    answer = record(said)
    assert (said.code, answer["schema"], answer["from"]) == (0, "boostcarb.trace.v1", "air_horn")
    spaces = {path["space"] for path in answer["paths"]}
    assert {"primary.bowl", "secondary.bowl"} <= spaces
    bowl = next(path for path in answer["paths"] if path["space"] == "primary.bowl")
    assert bowl["path"][-1]["into"] == "primary.bowl"
    assert len(bowl["pressures"]) > 10


def test_trace_from_nowhere(here: Here, job: Path) -> None:
    said = here("trace", job, "--from", "air_hron")
    assert (said.code, said.out) == (2, "")
    assert said.err == "boostcarb: --from: no such space 'air_hron'; did you mean 'air_horn'?\n"


def test_trace_in_no_state(here: Here, job: Path) -> None:
    said = here("trace", job, "--from", "air_horn", "--state", "idel")
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith("boostcarb: --state: no such state 'idel'; did you mean 'idle'? All states: engine_off,")


def test_rules(here: Here) -> None:
    listed = here("rules")
    answer = record(here("rules", "--format", "json"))
    assert (listed.code, answer["schema"], answer["job"]) == (0, "boostcarb.rules.v1", None)
    assert answer["rules"]
    for rule in answer["rules"]:
        assert rule["id"] in listed.out


def test_one_rule(here: Here) -> None:
    said = here("rules", "bowl_open_to_atmosphere")
    assert (said.code, said.err) == (0, "")
    for word in ("STOP, endangers", "must hold:", "why:", "remedy:", "basis:"):
        assert word in said.out
    answer = record(here("rules", "bowl_open_to_atmosphere", "--format", "json"))
    assert [rule["id"] for rule in answer["rules"]] == ["bowl_open_to_atmosphere"]


def test_unknown_rule(here: Here) -> None:
    said = here("rules", "bowl_open_to_atmospere")
    assert (said.code, said.out) == (2, "")
    assert "did you mean 'bowl_open_to_atmosphere'?" in said.err


def test_families(here: Here) -> None:
    listed = here("families")
    answer = record(here("families", "--format", "json"))
    assert (listed.code, answer["schema"], answer["job"]) == (0, "boostcarb.families.v1", None)
    names = [family["family"] for family in answer["families"]]
    assert "modular_four_barrel" in names
    assert "surroundings" not in names
    assert all(name in listed.out for name in names)


@pytest.mark.parametrize("name", ["modular_four_barrel", "surroundings"])
def test_one_family(name: str, here: Here) -> None:
    said = here("families", name)
    assert (said.code, said.err) == (0, "")
    family = record(here("families", name, "--format", "json"))["families"][0]
    for section in ("passages", "parts", "lines", "spaces"):
        for word in family.get(section, {}):
            assert word in said.out


def test_unknown_family(here: Here) -> None:
    said = here("families", "modular_four_barel")
    assert (said.code, said.out) == (2, "")
    assert "did you mean 'modular_four_barrel'?" in said.err


@pytest.mark.parametrize("kind", ["job", "family", "rule"])
def test_schema(kind: str, here: Here) -> None:
    said = here("schema", kind)
    assert record(said)["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert said.out.endswith("}\n")


def test_manual_lists_its_pages_and_prints_one(here: Here) -> None:
    listed = here("manual")
    assert (listed.code, listed.err) == (0, "")
    names = [line.split()[0] for line in listed.out.splitlines()[1:] if line[2] != " "]
    assert names == list(PAGES)
    said = here("manual", "builder")
    assert (said.code, said.err) == (0, "")
    assert said.out == page("builder").text
    assert said.out.startswith("# The builder\n\n")


def test_manual_page_goes_into_a_file_and_never_over_another(here: Here, tmp_path: Path) -> None:
    out = tmp_path / "physics.md"
    assert here("manual", "physics", "--out", out).out == f"wrote {out}\n"
    assert out.read_text(encoding="utf-8") == page("physics").text
    out.write_text("mine", encoding="utf-8")
    again = here("manual", "physics", "--out", out)
    assert (again.code, out.read_text(encoding="utf-8")) == (2, "mine")
    assert here("manual", "physics", "--out", out, "--force").code == 0


@pytest.mark.parametrize(
    ("arguments", "told"),
    [(("bilder",), "PAGE: no such page 'bilder'; did you mean 'builder'?"), (("--out", "x.md"), "--out: names a file")],
)
def test_manual_refuses(here: Here, arguments: tuple[str, ...], told: str) -> None:
    said = here("manual", *arguments)
    assert (said.code, said.out) == (2, "")
    assert told in said.err
    assert not Path("x.md").exists()


def test_version(here: Here) -> None:
    assert here("--version").out == f"boostcarb {boostcarb.__version__}\n"


@pytest.mark.parametrize(
    "arguments",
    [(), ("nope",), ("plan",), ("plan", SCENARIO, "--format", "xml"), ("schema", "nope"), ("trace", SCENARIO)],
    ids=lambda arguments: " ".join(map(str, arguments)) or "nothing",
)
def test_wrong_use_is_bad_input(arguments: tuple[str | Path, ...], here: Here) -> None:
    said = here(*arguments)
    assert said.code == 2
    assert "Usage: boostcarb" in said.out + said.err


def test_units_of_the_text(here: Here, job: Path) -> None:
    metric, us = here("plan", job).out, here("plan", job, "--units", "us").out
    assert "kPa abs" in metric
    assert "psi abs" in us
    numbers = here("plan", job, "--format", "json").out
    assert numbers == here("plan", job, "--format", "json", "--units", "us").out


def test_two_runs_say_the_same() -> None:
    first = run("plan", SCENARIO, "--format", "json", PYTHONHASHSEED="1")
    second = run("plan", SCENARIO, "--format", "json", PYTHONHASHSEED="2")
    assert first == second
