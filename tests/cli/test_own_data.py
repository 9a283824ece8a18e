"""A folder of one's own rules, families and materials: used, checked, and never mixed up with ours in silence."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from command_line import Said, edited

import boostcarb
from boostcarb.description.loading import SURROUNDINGS, shipped_family
from boostcarb.rulebook.loading import shipped_rules_folder

Here = Callable[..., Said]

RULE = """\
id: gauge_without_sender
title: Boost gauge without an electric sender
modes: [blow_through]
severity: fix
endangers: [people]
requirement: {kind: form, item: manifold_gauge_line, one_of: [absent, electric]}
why: >
  In this shop no hose of fuel and air comes into a cabin. A hose that comes off its gauge sprays mixture behind the
  dashboard, where a spark is never far.
remedy: Fit an electric sender.
basis: {kind: common practice}
"""
EXAMPLES = """\
rule: gauge_without_sender
violates:
  - says: a hose into the cabin, restricted or not
    target: blow_through
    found: {manifold_gauge_line: restricted}
    place: manifold_gauge_line
satisfies:
  - says: an electric sender
    target: blow_through
    found: {manifold_gauge_line: electric}
"""
MATERIAL = """\
material: shop_rubber
title: rubber sheet from the shop's roll
kind: elastomer
summary: Black sheet of 1 mm, chalk marked on the back.
ratings:
  - {fuels: [gasoline, E10], rating: good, source: "our own soak of four weeks, test book page 12", confidence: medium}
  - {fuels: [E85, ethanol, methanol], rating: unsuitable, source: "our own soak, test book page 12", confidence: medium}
"""


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A sound folder with one rule, its examples and one material."""
    folder = tmp_path / "own"
    for path, text in {
        "rules/gauge_without_sender.yaml": RULE,
        "rules/examples/gauge_without_sender.yaml": EXAMPLES,
        "materials/shop_rubber.yaml": MATERIAL,
    }.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text, encoding="utf-8")
    return folder


def record(said: Said) -> dict[str, Any]:
    loaded = json.loads(said.out)
    assert isinstance(loaded, dict)
    return loaded


def test_sound_folder_passes_the_check(own: Path, here: Here) -> None:
    said = here("rules", "--check", own)
    assert (said.code, said.err) == (0, "")
    assert "1 rule, 1 material; all sound" in " ".join(said.out.split())
    assert "2 examples worked out" in said.out
    answer = record(here("rules", "--check", own, "--format", "json"))
    assert answer["own_data"]["rules"] == ["gauge_without_sender"]
    assert answer["examples"] == 2


def test_own_rule_is_judged_listed_and_explained(own: Path, here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(edited("  choke: hot_air\n", "  choke: hot_air\n  manifold_gauge_line: restricted\n"))
    without = {finding["rule"] for finding in record(here("review", path, "--format", "json"))["findings"]}
    with_own = record(here("review", path, "--data", own, "--format", "json"))
    assert {finding["rule"] for finding in with_own["findings"]} - without == {"gauge_without_sender"}
    assert with_own["job"]["own_data"]["replaced"] == []
    planned = record(here("plan", path, "--data", own, "--format", "json"))
    changes = {each["item"]: each["to"] for each in planned["changes"]}
    assert changes["manifold_gauge_line"] == "electric"
    assert "gauge_without_sender" in here("rules", "--data", own).out
    explained = here("rules", "gauge_without_sender", "--data", own).out
    assert "EXAMPLE" in explained
    assert "a hose into the cabin" in explained


def test_own_rule_takes_the_place_of_ours_and_the_answer_says_so(own: Path, here: Here, job: Path) -> None:
    ours = (shipped_rules_folder() / "bonnet_on_single_stud.yaml").read_text(encoding="utf-8")
    (own / "rules" / "bonnet_on_single_stud.yaml").write_text(ours.replace("severity: stop", "severity: advise"))
    answer = record(here("plan", job, "--data", own, "--format", "json"))
    assert answer["job"]["own_data"]["replaced"] == ["rule bonnet_on_single_stud"]
    assert "bonnet_fixing" not in {change["item"] for change in answer["changes"]}
    assert "bonnet_fixing" in {change["item"] for change in record(here("plan", job, "--format", "json"))["changes"]}
    for command in ("plan", "review", "fuel"):
        assert "YOURS IN PLACE OF OURS: rule bonnet_on_single_stud" in here(command, job, "--data", own).out


def with_shop_rubber(folder: Path, *, as_built: str = "shop_rubber") -> None:
    """A family of one's own: ours under another name, its pump diaphragms of a material of one's own."""
    text = shipped_family("modular_four_barrel").document.path.read_text(encoding="utf-8")
    data = yaml.safe_load(text)
    data["family"] = "shop_four_barrel"
    data["parts"]["{group}.pump"]["made_of"] = {
        "what": "diaphragm", "as_built": as_built, "choices": ["shop_rubber", "fluorocarbon_high_fluorine"],
        "work": {"how": "fit one of the other rubber", "minutes": 10, "parts": 1},
    }  # fmt: skip
    (folder / "families" / "typical").mkdir(parents=True, exist_ok=True)
    (folder / "families" / "shop_four_barrel.yaml").write_text(yaml.safe_dump(data, sort_keys=False, width=1000))


def test_own_family_and_material_are_used(own: Path, here: Here, tmp_path: Path) -> None:
    with_shop_rubber(own)
    assert "shop_four_barrel" in here("families", "--data", own).out
    assert "shop_rubber (as built)" in here("families", "shop_four_barrel", "--data", own).out
    assert "test book" in here("materials", "shop_rubber", "--data", own).out
    path = tmp_path / "job.yaml"
    text = edited("carburetor: modular_four_barrel", "carburetor: shop_four_barrel")
    path.write_text(text.replace("fuel: gasoline", "fuel: E85"))
    answer = record(here("plan", path, "--data", own, "--format", "json"))
    changes = {each["item"]: each["to"] for each in answer["changes"]}
    assert changes["primary.pump.material"] == "fluorocarbon_high_fluorine"
    said = here("fuel", path, "--data", own)
    assert said.code == 2
    assert "write them into" in said.err
    usual = Path(boostcarb.__file__).parent / "description" / "typical" / "modular_four_barrel.yaml"
    shutil.copy(usual, own / "families" / "typical" / "shop_four_barrel.yaml")
    assert "FIT THESE" in here("fuel", path, "--data", own).out
    said = here("plan", path)
    assert said.code == 2
    assert "unknown family 'shop_four_barrel'" in said.err


def test_own_surroundings_take_the_place_of_ours(own: Path, here: Here, job: Path) -> None:
    text = shipped_family(SURROUNDINGS).document.path.read_text(encoding="utf-8")
    (own / "families").mkdir()
    (own / "families" / "surroundings.yaml").write_text(text.replace("title: one center stud", "title: a lone stud"))
    said = here("plan", job, "--data", own).out
    assert "a lone stud" in said
    assert "family surroundings" in said


WRONG: dict[str, tuple[str, Callable[[str], str] | str, str]] = {
    "space that no family has": (
        "rules/gauge_without_sender.yaml",
        lambda text: text.replace("kind: form, item: manifold_gauge_line, one_of: [absent, electric]",
                                  "kind: isolated, from: '*.bowls', to: ambient"),
        "'*.bowls' names nothing in any family",
    ),
    "missing basis": (
        "rules/gauge_without_sender.yaml",
        lambda text: text.replace("basis: {kind: common practice}\n", ""),
        "basis: is missing",
    ),
    "unknown requirement": (
        "rules/gauge_without_sender.yaml", lambda text: text.replace("kind: form", "kind: shape"), "shape",
    ),
    "file of another name": ("rules/gauge_sender.yaml", RULE, "but the file is named gauge_sender.yaml"),
    "short ending": ("rules/gauge_sender.yml", RULE, "name it gauge_sender.yaml"),
    "example that breaks nothing": (
        "rules/examples/gauge_without_sender.yaml",
        lambda text: text.replace("restricted}", "absent}"),
        "should break the rule, but nothing was found",
    ),
    "example that keeps nothing": (
        "rules/examples/gauge_without_sender.yaml",
        lambda text: text.replace("{manifold_gauge_line: electric}", "{manifold_gauge_line: plain}"),
        "should keep the rule, but it fails at manifold_gauge_line",
    ),
    "example at another place": (
        "rules/examples/gauge_without_sender.yaml",
        lambda text: text.replace("place: manifold_gauge_line", "place: choke"),
        "should fail at choke; found at manifold_gauge_line",
    ),
    "example with a wrong word": (
        "rules/examples/gauge_without_sender.yaml",
        lambda text: text.replace("electric}", "electrik}"),
        "electrik",
    ),
    "unknown fuel of a material": (
        "materials/shop_rubber.yaml", lambda text: text.replace("methanol", "methanole"), "methanol",
    ),
    "material without a source": (
        "materials/shop_rubber.yaml",
        lambda text: text.replace(', source: "our own soak of four weeks, test book page 12"', ""),
        "source: is missing",
    ),
    "folder of another name": ("rule/nothing.yaml", RULE, "did you mean 'rules'?"),
    "file outside the folders": ("gauge.yaml", RULE, "stands outside the folders"),
}  # fmt: skip


@pytest.mark.parametrize(("path", "text", "says"), WRONG.values(), ids=WRONG.keys())
def test_wrong_data_are_refused_by_file(
    path: str, text: Callable[[str], str] | str, says: str, own: Path, here: Here
) -> None:
    file = own / path
    file.parent.mkdir(exist_ok=True)
    if callable(text):
        before = file.read_text(encoding="utf-8")
        assert text(before) != before
        file.write_text(text(before), encoding="utf-8")
    else:
        file.write_text(text, encoding="utf-8")
    said = here("rules", "--check", own)
    assert (said.code, said.out) == (2, "")
    assert says in said.err
    assert str(own / path.split("/", maxsplit=1)[0]) in said.err


def test_rule_without_examples_fails_the_check_but_can_be_used(own: Path, here: Here, job: Path) -> None:
    (own / "rules" / "examples" / "gauge_without_sender.yaml").unlink()
    said = here("rules", "--check", own)
    assert said.code == 2
    assert "no examples: write examples/gauge_without_sender.yaml" in said.err
    assert here("plan", job, "--data", own).code in (0, 1)


def test_family_with_an_unknown_material_is_refused(own: Path, here: Here) -> None:
    with_shop_rubber(own)
    (own / "materials" / "shop_rubber.yaml").unlink()
    (own / "materials" / "other.yaml").write_text(MATERIAL.replace("shop_rubber", "other"))
    said = here("rules", "--check", own)
    assert said.code == 2
    assert "unknown material 'shop_rubber'" in said.err
    assert "shop_four_barrel.yaml" in said.err


@pytest.mark.parametrize("name", ["nowhere", "job.yaml", "empty"])
def test_folder_that_is_none(name: str, here: Here, job: Path, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    said = here("plan", job, "--data", tmp_path / name)
    assert (said.code, said.out) == (2, "")
    assert str(tmp_path / name) in said.err


def test_folder_of_rule_files_alone(here: Here, own: Path) -> None:
    said = here("rules", "--check", own / "rules")
    assert (said.code, said.err) == (0, "")
    assert "1 rule; all sound" in " ".join(said.out.split())
