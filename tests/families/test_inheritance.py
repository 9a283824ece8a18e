"""Families based on others: what is merged, what is taken out, and messages that name the entry at fault."""

from __future__ import annotations

from pathlib import Path

import pytest
from family_jobs import PLAIN, SHED, families

from boostcarb.description.family import Family
from boostcarb.description.library import open_library
from boostcarb.description.loading import read_family, shipped_family
from boostcarb.errors import BadDescription, Problem

HEAD = "family: other\nbased_on: shed_single\ntitle: other\nsummary: invented, for a test\n"


def other(folder: Path, text: str) -> Family:
    return families(folder, HEAD + text)["other"].family


def problems(folder: Path, text: str) -> tuple[Problem, ...]:
    (folder / "shed_single.yaml").write_text(SHED, encoding="utf-8")
    path = folder / "other.yaml"
    path.write_text(HEAD + text, encoding="utf-8")
    with pytest.raises(BadDescription) as caught:
        read_family(path)
    return caught.value.problems


def test_everything_of_the_base_is_there_and_the_rest_is_as_said(tmp_path: Path) -> None:
    base = families(tmp_path)["shed_single"].family
    made = other(tmp_path, "passages: {main.main_jet_hole: {bore: 1.6 mm}}\n")
    assert made.based_on == "shed_single"
    assert made.passages["main.main_jet_hole"].bore == pytest.approx(1.6e-3)
    assert made.passages["main.main_jet_hole"].title == base.passages["main.main_jet_hole"].title
    left = {name: each for name, each in made.passages.items() if name != "main.main_jet_hole"}
    assert left == {name: each for name, each in base.passages.items() if name != "main.main_jet_hole"}
    assert (made.parts, made.lines, made.stages, made.flow) == (base.parts, base.lines, base.stages, base.flow)


def test_a_key_left_empty_takes_that_of_the_base_away(tmp_path: Path) -> None:
    made = other(tmp_path, "passages: {main.main_jet_hole: {bore: , range: , area: 2 mm2}}\n")
    hole = made.passages["main.main_jet_hole"]
    assert (hole.bore, hole.range, hole.area) == (None, None, pytest.approx(2e-6))
    assert "main.reference_check" not in other(
        tmp_path, "parts: {main.reference_check: }\npassages: {main.power_valve_reference_port: {guard: }}\n"
    ).parts


def test_removals_with_a_star_leave_what_the_file_itself_adds(tmp_path: Path) -> None:
    text = """\
without: {passages: ["main.power_valve_*", main.power_restriction], spaces: ["main.power*", main.reference_fitting],
          lines: ["*"], diaphragms: ["*"]}
passages:
  main.power_valve_blank: {title: blank, joins: [main.bowl, ambient], bore: 1 mm, casting: body, stage: on_engine}
"""
    made = other(tmp_path, text)
    assert "main.power_valve_blank" in made.passages
    assert not [name for name in made.passages if name.startswith("main.power_valve_v")]
    assert not made.lines


def test_a_base_of_a_base_hands_its_removals_on(tmp_path: Path) -> None:
    text = HEAD.replace("shed_single", "shed_single_plain") + "passages: {main.main_jet_hole: {bore: 1.7 mm}}\n"
    made = families(tmp_path, PLAIN, text)["other"].family
    assert made.passages["main.main_jet_hole"].bore == pytest.approx(1.7e-3)
    assert "main.power_restriction" not in made.passages


def test_groups_of_its_own_take_the_place_of_those_of_the_base(tmp_path: Path) -> None:
    path = tmp_path / "front_only.yaml"
    path.write_text("""\
family: front_only
based_on: modular_four_barrel
title: a pair of the four
summary: invented, for a test
groups: [primary]
without: {parts: ["secondary.*"], passages: ["secondary.*", power_valve_gallery], spaces: ["secondary.*"],
          lines: ["secondary.*"], diaphragms: ["secondary.*"]}
flow: {rated_flow: 350 cfm, rated_drop: 3 inHg}
""", encoding="utf-8")  # fmt: skip
    family = read_family(path).family
    base = shipped_family("modular_four_barrel").family
    assert set(family.flow.venturis) == {"primary"}
    assert not [name for name in family.spaces if name.startswith("secondary")]
    assert {name for name in base.passages if name.startswith("primary.")} <= set(family.passages)
    assert family.passages["primary.power_restriction"].as_built == "open"  # what `per: secondary` said is gone


# --- messages -----------------------------------------------------------------------------------------------


def test_wrong_value_in_a_change_is_named_in_the_file_that_makes_it(tmp_path: Path) -> None:
    (problem,) = problems(tmp_path, "passages:\n  main.main_jet_hole:\n    bore: 1.6 furlong\n")
    assert (problem.file, problem.line) == (tmp_path / "other.yaml", 7)
    assert problem.field == "passages.main.main_jet_hole.bore"


def test_what_the_base_still_needs_is_named_there_with_what_to_do(tmp_path: Path) -> None:
    found = problems(tmp_path, "without: {spaces: [main.reference_fitting]}\n")
    assert {problem.file.name for problem in found} == {"shed_single.yaml"}
    line = next(i for i, text in enumerate(SHED.splitlines(), 1) if "of: main.reference_fitting" in text)
    (of_line,) = [each for each in found if each.field == "lines.main.power_valve_reference_line.of"]
    assert of_line.line == line
    assert "change main.power_valve_reference_line in other.yaml" in of_line.message


@pytest.mark.parametrize(
    ("text", "field", "message"),
    [
        ("without: {passages: [main.bowl_vnt]}", "without.passages[0]", "did you mean 'main.bowl_vent'?"),
        ("without: {passage: [main.bowl_vent]}", "without.passage", "did you mean 'passages'?"),
        ("without: {passages: main.bowl_vent}", "without.passages", "write a list of names"),
        ("without: [main.bowl_vent]", "without", "write lists by section"),
        ('without: {passages: ["{group}.bowl_vnt"]}', "without.passages[0]", "nothing named"),
    ],
)
def test_removals_that_take_nothing_out(tmp_path: Path, text: str, field: str, message: str) -> None:
    (problem,) = problems(tmp_path, f"{text}\n")
    assert (problem.file, problem.line, problem.field) == (tmp_path / "other.yaml", 5, field)
    assert message in problem.message


@pytest.mark.parametrize("base", ["othr", "other"])
def test_no_such_base_and_a_circle(tmp_path: Path, base: str) -> None:
    path = tmp_path / "other.yaml"
    path.write_text(HEAD.replace("based_on: shed_single", f"based_on: {base}"), encoding="utf-8")
    with pytest.raises(BadDescription) as caught:
        read_family(path)
    (problem,) = caught.value.problems
    assert (problem.file, problem.line, problem.field) == (path, 2, "based_on")


def test_removal_without_a_base(tmp_path: Path) -> None:
    path = tmp_path / "shed_single.yaml"
    path.write_text(SHED + "without: {passages: [main.bowl_vent]}\n", encoding="utf-8")
    with pytest.raises(BadDescription, match="based_on"):
        read_family(path)


PISTON_OF = "diaphragms: {main.power_valve_diaphragm: {kind: piston%s}}\n"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (PISTON_OF % "", "kind: clearance, joins: [main.bowl, main.power_valve_chamber]"),
        (PISTON_OF % ", leaks_past: main.bowl_vent", "main.bowl_vent joins main.bowl and air_horn"),
        (PISTON_OF % ", leaks_past: main.bowl_vnt", "did you mean 'main.bowl_vent'?"),
        ("diaphragms: {main.power_valve_diaphragm: {leaks_past: main.bowl_vent}}\n", "say 'kind: piston'"),
        ("diaphragms: {main.power_valve_diaphragm: {valve: {opens: always}}}\n", "has no setting"),
        ("diaphragms: {main.power_valve_diaphragm: {valve: {setting: }}}\n", "is missing"),
        ("passages: {main.bowl_vent: {range: [8 mm, 5 mm]}}\n", "write the smallest first"),
        ("passages: {main.throttle_shaft_gap: {range: [1 mm, 2 mm]}}\n", "has only an area"),
        ("passages: {main.bowl_vent: {valve: main.reference_check}}\n", "only a one-way passage"),
        ("flow: {opening: {main: {}}}\n", "every group opens after the others"),
        ("flow: {opening: {man: {}}}\n", "did you mean 'main'?"),
        ("circuits: {main: {bowl: main.bwl}}\n", "did you mean 'main.bowl'?"),
        ("stages: {cover_off: {takes_off: [covr]}}\n", "did you mean 'cover'?"),
        ("groups: [main, back]\n", "back: {count: 2, bore: 32 mm}"),
    ],
)
def test_wrong_pistons_ranges_and_groups(tmp_path: Path, text: str, message: str) -> None:
    found = problems(tmp_path, text)
    assert any(message in problem.message for problem in found), found


def test_typical_values_are_those_of_the_base(tmp_path: Path) -> None:
    folder = tmp_path / "mine" / "families"
    folder.mkdir(parents=True)
    head = HEAD.replace("shed_single", "modular_four_barrel")
    (folder / "other.yaml").write_text(head, encoding="utf-8")
    library = open_library(tmp_path / "mine")
    assert library.fuel_side("other") == library.fuel_side("modular_four_barrel")
