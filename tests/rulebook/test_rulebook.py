"""The rulebook as a whole: it loads, it is covered by cases, it reads plainly, and a wrong rule is refused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from boostcarb.errors import BadDescription, Problem
from boostcarb.rulebook.loading import read_rules, shipped_rules, shipped_rules_folder
from boostcarb.rulebook.schema import Rule

CASES = shipped_rules_folder() / "examples"
ADVICE = {rule.id for rule in shipped_rules() if rule.severity == "advise"}


def rule_named(name: str) -> Rule:
    return next(rule for rule in shipped_rules() if rule.id == name)


def test_every_rule_file_is_loaded_once() -> None:
    files = sorted(path.stem for path in shipped_rules_folder().glob("*.yaml"))
    assert [rule.id for rule in shipped_rules()] == files


def test_every_rule_has_cases_and_every_case_a_rule() -> None:
    assert sorted(path.stem for path in CASES.glob("*.yaml")) == [rule.id for rule in shipped_rules()]


@pytest.mark.parametrize("rule", shipped_rules(), ids=lambda rule: rule.id)
def test_rule_is_broken_and_kept_by_some_case_in_its_modes(rule: Rule) -> None:
    data = yaml.safe_load((CASES / f"{rule.id}.yaml").read_text())
    targets = {kind: {entry["target"] for entry in data[kind]} for kind in ("violates", "satisfies")}
    assert targets["violates"]
    assert targets["violates"] <= set(rule.modes)
    assert targets["satisfies"] == set(rule.modes)


@pytest.mark.parametrize("rule", shipped_rules(), ids=lambda rule: rule.id)
def test_rule_reads_plainly(rule: Rule) -> None:
    for text in (rule.title, rule.why, rule.remedy, *([rule.limits] if rule.limits else [])):
        assert text.strip() == text.strip("\n ")
        assert "_" not in text, "names of the data do not belong into text for people"
    assert 40 <= len(rule.why) <= 520
    assert rule.why.strip().endswith(".")
    assert 1 <= rule.why.count(". ") + rule.why.count(".\n") <= 4
    assert rule.remedy.strip().endswith(".")
    assert not rule.title.endswith(".")


VERBS = {
    "Bead", "Blank", "Bush", "Choose", "Clear", "Close", "Drill", "End", "Fit", "Give", "Have", "Lead", "Look",
    "Open", "Refit", "Seal", "Switch", "Take", "Vent",
}  # fmt: skip


@pytest.mark.parametrize("rule", shipped_rules(), ids=lambda rule: rule.id)
def test_remedy_starts_with_what_to_do(rule: Rule) -> None:
    assert rule.remedy.split()[0] in VERBS


@pytest.mark.parametrize("rule", shipped_rules(), ids=lambda rule: rule.id)
def test_physics_and_standards_name_what_they_rest_on(rule: Rule) -> None:
    if rule.basis.kind != "common practice":
        assert rule.basis.reference


def test_severities_are_told_apart() -> None:
    assert {"rich_at_cruise", "boost_mixture_before_boost", "no_backfire_relief_on_manifold"} <= ADVICE
    assert rule_named("enrichment_shut_in_boost").severity == "stop"
    assert rule_named("bowl_open_to_atmosphere").endangers[0] == "people"


# --- what is refused --------------------------------------------------------------------------------------

SOUND = {
    "id": "sound_rule",
    "title": "A sound rule",
    "modes": ["blow_through"],
    "severity": "fix",
    "endangers": ["engine"],
    "requirement": {"kind": "isolated", "from": "*.bowl", "to": "ambient"},
    "why": "So that there is something to break.",
    "remedy": "Close it.",
    "basis": {"kind": "physics", "reference": "none needed"},
}


def written(folder: Path, name: str = "sound_rule", **changes: Any) -> Path:
    data = {key: value for key, value in {**SOUND, **changes}.items() if value is not None}
    path = folder / f"{name}.yaml"
    path.write_text(yaml.safe_dump(data, sort_keys=False, width=1000))
    return path


def problem_of(folder: Path) -> Problem:
    with pytest.raises(BadDescription) as caught:
        read_rules(folder)
    return caught.value.problems[0]


def test_the_sound_rule_is_accepted(tmp_path: Path) -> None:
    written(tmp_path)
    assert [read.rule.id for read in read_rules(tmp_path)] == ["sound_rule"]


def test_empty_folder_is_refused(tmp_path: Path) -> None:
    assert "no rules here" in problem_of(tmp_path).message


def test_second_file_with_the_same_id_is_refused(tmp_path: Path) -> None:
    written(tmp_path)
    path = written(tmp_path, name="the_same_again")
    problem = problem_of(tmp_path)
    assert (problem.file, problem.line) == (path, 1)
    assert "sound_rule" in problem.message


WRONG = {
    "unknown requirement kind": (
        {"requirement": {"kind": "isolatd", "from": "*.bowl", "to": "ambient"}}, "requirement", "isolated",
    ),
    "key with a typing error": ({"severty": "fix"}, "severty", "severity"),
    "key with a typing error inside": (
        {"requirement": {"kind": "isolated", "form": "*.bowl", "to": "ambient"}}, "requirement", "from",
    ),
    "space that no family has": (
        {"requirement": {"kind": "isolated", "from": "*.bowl", "to": "ambiant"}}, "requirement.to", "ambient",
    ),
    "pattern that covers nothing": (
        {"requirement": {"kind": "isolated", "from": "*.bowls", "to": "ambient"}}, "requirement.from", ".bowl",
    ),
    "diaphragm that no family has": (
        {"requirement": {"kind": "within_limit", "diaphragm": "primary.pump_diaphram"}},
        "requirement.diaphragm", "primary.pump_diaphragm",
    ),
    "condition on a diaphragm that no family has": (
        {"requirement": {"kind": "isolated", "from": "*.bowl", "to": "ambient", "if_valve_on": "pump_diaphragm"}},
        "requirement.if_valve_on", "primary.pump_diaphragm",
    ),
    "unknown form": (
        {"requirement": {"kind": "form", "item": "choke", "none_of": ["hot_ari"]}}, "requirement", "hot_air",
    ),
    "unknown item": (
        {"requirement": {"kind": "form", "item": "chocke", "none_of": ["hot_air"]}}, "requirement.item", "choke",
    ),
    "unknown item in a condition": ({"when": {"chocke": ["hot_air"]}}, "when.chocke", "choke"),
    "unknown form in a condition": ({"when": {"choke": ["hot_ari"]}}, "when.choke", "hot_air"),
    "unknown state": (
        {"requirement": {"kind": "opens", "diaphragm": "secondary.opening_diaphragm", "states": ["secondary_cal"]}},
        "requirement.states", "secondary_call",
    ),
    "unknown family": ({"families": ["modular_for_barrel"]}, "families", "modular_four_barrel"),
    "unknown kind of way": (
        {"requirement": {"kind": "isolated", "from": "*.bowl", "to": "ambient", "kinds": ["joints"]}},
        "requirement.kinds.0", "joint",
    ),
    "unknown mode": ({"modes": ["blow_thru"]}, "modes.0", "blow_through"),
    "unknown severity": ({"severity": "stopp"}, "severity", "stop"),
    "wide open that should not be rich": (
        {"requirement": {"kind": "not_enriched", "during": "wide_open"}}, "requirement", "richer_than: wide_open",
    ),
    "missing basis": ({"basis": None}, "basis", "missing"),
    "standard without its reference": ({"basis": {"kind": "standard"}}, "basis", "reference"),
    "missing why": ({"why": None}, "why", "missing"),
    "nobody endangered": ({"endangers": []}, "endangers", ""),
}  # fmt: skip


@pytest.mark.parametrize(("changes", "field", "says"), WRONG.values(), ids=WRONG.keys())
def test_wrong_rule_is_refused(tmp_path: Path, changes: dict[str, Any], field: str, says: str) -> None:
    path = written(tmp_path, **changes)
    problem = problem_of(tmp_path)
    assert problem.file == path
    assert problem.line is not None
    top = field.split(".", maxsplit=1)[0]
    lines = path.read_text().splitlines()
    starts = [number for number, text in enumerate(lines, 1) if text.startswith(f"{top}:")]
    assert problem.line >= max(starts, default=1)
    assert problem.field is not None
    assert problem.field.startswith(top)
    assert says in str(problem)
