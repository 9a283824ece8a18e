"""Materials read from files, and what becomes of them in a fuel."""

from __future__ import annotations

import json
from itertools import combinations
from pathlib import Path
from typing import get_args

import jsonschema
import pytest
import yaml

from boostcarb.description import material as module
from boostcarb.description.material import (
    FROM_MEMORY,
    NO_SOURCE,
    Material,
    RatedFuel,
    Rating,
    read_material,
    read_materials,
    shipped_material,
    shipped_materials,
    verdict,
)
from boostcarb.description.metering import FuelName
from boostcarb.errors import BadDescription, Problem
from boostcarb.quantities import parse_fraction

FOLDER = Path(module.__file__).parent / "materials"
FUELS: tuple[RatedFuel, ...] = get_args(RatedFuel)
MATERIALS = shipped_materials()

GOOD = """\
material: rubber
title: rubber
kind: elastomer
summary: an invented rubber for these tests
ratings:
  - fuels: [gasoline, E10]
    rating: good
    source: common practice, no source
    confidence: medium
"""


def rubber(**ratings: list[str]) -> Material:
    """An invented material with these ratings, fuel by fuel, each from a source of its own."""
    said = [
        {"fuels": [fuel], "rating": rating, "confidence": "low", "source": f"an invented source, {fuel} {index}"}
        for fuel, given in ratings.items()
        for index, rating in enumerate(given)
    ]
    return Material.model_validate(
        {"material": "rubber", "title": "rubber", "kind": "elastomer", "summary": "an invented one for these tests",
         "ratings": said}
    )  # fmt: skip


def file(folder: Path, text: str, name: str = "rubber.yaml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def only_problem(path: Path) -> Problem:
    with pytest.raises(BadDescription) as caught:
        read_material(path)
    (problem,) = caught.value.problems
    return problem


# Verdicts


@pytest.mark.parametrize("rating", ["good", "limited", "unsuitable"])
@pytest.mark.parametrize("count", [1, 3])
def test_sources_that_agree_are_the_verdict(rating: str, count: int) -> None:
    said = verdict(rubber(gasoline=[rating] * count, E10=["limited", "good"]), "gasoline")
    assert (said.material, said.fuel, said.rating) == ("rubber", "gasoline", rating)
    assert not said.conflict
    assert len(said.ratings) == count
    assert all(each.fuels == ["gasoline"] for each in said.ratings)


@pytest.mark.parametrize("pair", [*combinations(("good", "limited", "unsuitable"), 2), ("unsuitable", "good")])
@pytest.mark.parametrize("majority", [1, 5])
def test_sources_that_differ_are_never_outvoted(pair: tuple[str, str], majority: int) -> None:
    given = [pair[0]] * majority + [pair[1]]
    said = verdict(rubber(methanol=given), "methanol")
    assert said.rating == "check grade"
    assert said.conflict
    assert [each.rating for each in said.ratings] == given


def test_no_source_is_no_data() -> None:
    said = verdict(rubber(gasoline=["good"]), "methanol")
    assert (said.rating, said.ratings, said.conflict, said.looked_up) == ("no data", (), False, False)


def test_of_a_custom_fuel_nothing_is_known() -> None:
    everywhere = rubber(**{fuel: ["good"] for fuel in FUELS})
    assert verdict(everywhere, "custom").rating == "no data"
    assert verdict(everywhere, "custom", 0.5).rating == "no data"


def test_one_rating_may_speak_of_several_fuels() -> None:
    rating = Rating(fuels=["E85", "ethanol"], rating="limited", source=NO_SOURCE, confidence="low")
    stuff = rubber(gasoline=["good"]).model_copy(update={"ratings": [rating]})
    assert [verdict(stuff, fuel).rating for fuel in FUELS] == ["no data", "no data", "limited", "limited", "no data"]


BY_SHARE = rubber(gasoline=["unsuitable"], E10=["good"], E85=["limited"], ethanol=["unsuitable", "good"])


@pytest.mark.parametrize("fuel", ["E10", "E85"])
@pytest.mark.parametrize(
    ("share", "counts_as"),
    [
        ("0 %", "good"),
        ("10 %", "good"),
        ("30 %", "good"),
        ("30.1 %", "limited"),
        ("51 %", "limited"),
        ("90 %", "limited"),
        ("90.1 %", "check grade"),
        ("100 %", "check grade"),
    ],
)
def test_a_blend_is_rated_by_what_it_holds(fuel: FuelName, share: str, counts_as: str) -> None:
    said = verdict(BY_SHARE, fuel, parse_fraction(share))
    assert said.rating == counts_as
    assert said.fuel == fuel


def test_without_a_measured_share_a_blend_is_rated_by_its_name() -> None:
    assert verdict(BY_SHARE, "E10").rating == "good"
    assert verdict(BY_SHARE, "E85").rating == "limited"


@pytest.mark.parametrize("fuel", ["gasoline", "ethanol", "methanol"])
def test_a_share_counts_only_for_blends(fuel: FuelName) -> None:
    assert verdict(BY_SHARE, fuel, 0.2) == verdict(BY_SHARE, fuel)


@pytest.mark.parametrize(
    ("source", "looked_up"),
    [("Somebody, A Table, 1984, section 3", True), (NO_SOURCE, False), (f"Somebody, A Table {FROM_MEMORY}", False)],
)
def test_a_verdict_tells_whether_anything_was_looked_up(source: str, looked_up: bool) -> None:
    recalled = Rating(fuels=["gasoline"], rating="good", source=NO_SOURCE, confidence="low")
    other = Rating(fuels=["gasoline"], rating="good", source=source, confidence="medium")
    assert other.looked_up is looked_up
    stuff = rubber(gasoline=["good"]).model_copy(update={"ratings": [recalled, other]})
    assert verdict(stuff, "gasoline").looked_up is looked_up


# Files


def test_a_file_that_is_right(tmp_path: Path) -> None:
    read = read_material(file(tmp_path, GOOD))
    assert read.material.ratings[0].fuels == ["gasoline", "E10"]
    assert read.problem(("ratings", 0, "rating"), "x").line == 7


WRONG = [
    ("title: rubber", "titel: rubber", ["title", "titel"], "unknown name; did you mean 'title'?", 2),
    ("[gasoline, E10]", "[gasolin, E10]", ["ratings[0].fuels[0]"], "found 'gasolin'; did you mean 'gasoline'?", 6),
    ("[gasoline, E10]", "[custom]", ["ratings[0].fuels[0]"], "choose from: gasoline, E10, E85, ethanol, methanol", 6),
    ("[gasoline, E10]", "[E10, E10]", ["ratings[0].fuels"], "found E10 twice; name each fuel once", 6),
    ("[gasoline, E10]", "[]", ["ratings[0].fuels"], "at least 1 entries", 6),
    ("rating: good", "rating: unsuited", ["ratings[0].rating"], "did you mean 'unsuitable'?", 7),
    ("rating: good", "rating: check grade", ["ratings[0].rating"], "choose from: good, limited, unsuitable", 7),
    ("    source: common practice, no source\n", "", ["ratings[0].source"], "is missing; add it: author or body", 6),
    ("common practice, no source", "books", ["ratings[0].source"], "at least 10 characters", 8),
    ("confidence: medium", "confidence: mediun", ["ratings[0].confidence"], "did you mean 'medium'?", 9),
    ("confidence: medium", "confidence: high", ["ratings[0].confidence"], "needs a source that was looked up", 9),
    ("kind: elastomer", "kind: elastomr", ["kind"], "did you mean 'elastomer'?", 3),
    ("material: rubber", "material: rubbber", ["material"], "found 'rubbber', but the file is named rubber.yaml", 1),
    ("material: rubber", "material: Rubber", ["material"], "write lower-case words joined by _ and .", 1),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "fields", "said", "line"), WRONG)
def test_a_wrong_file_names_line_field_and_cure(
    tmp_path: Path, old: str, new: str, fields: list[str], said: str, line: int
) -> None:
    assert old in GOOD
    path = file(tmp_path, GOOD.replace(old, new, 1))
    with pytest.raises(BadDescription) as caught:
        read_material(path)
    assert sorted(str(problem.field) for problem in caught.value.problems) == sorted(fields)
    (problem,) = [each for each in caught.value.problems if said in each.message]
    assert (problem.file, problem.line) == (path, line)


def test_high_confidence_stands_with_a_source_that_was_looked_up(tmp_path: Path) -> None:
    text = GOOD.replace("common practice, no source", "Somebody, A Table, 1984").replace("medium", "high")
    assert read_material(file(tmp_path, text)).material.ratings[0].confidence == "high"
    recalled = file(tmp_path, text.replace("1984", f"1984 {FROM_MEMORY}"))
    assert "looked up" in only_problem(recalled).message


def test_a_folder_is_read_in_order(tmp_path: Path) -> None:
    for name in ("wood", "cork", "felt"):
        file(tmp_path, GOOD.replace("material: rubber", f"material: {name}"), f"{name}.yaml")
    assert [read.material.material for read in read_materials(tmp_path)] == ["cork", "felt", "wood"]


def test_a_folder_with_a_wrong_ending_is_refused(tmp_path: Path) -> None:
    file(tmp_path, GOOD)
    wrong = file(tmp_path, GOOD, "felt.yml")
    with pytest.raises(BadDescription) as caught:
        read_materials(tmp_path)
    (problem,) = caught.value.problems
    assert problem.file == wrong
    assert problem.message == "name it felt.yaml; .yml files are not read"


def test_a_folder_without_materials_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadDescription, match="no materials here"):
        read_materials(tmp_path)


def test_a_bad_file_in_a_folder_is_named(tmp_path: Path) -> None:
    file(tmp_path, GOOD)
    bad = file(tmp_path, GOOD, "felt.yaml")
    with pytest.raises(BadDescription, match=r"but the file is named felt\.yaml") as caught:
        read_materials(tmp_path)
    assert caught.value.problems[0].file == bad


# What travels with the package


def test_all_shipped_files_are_read() -> None:
    read = read_materials(FOLDER)
    assert tuple(each.material.material for each in read) == MATERIALS
    assert len(MATERIALS) >= 40


def test_names_are_told_without_reading_a_file(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*arguments: object) -> None:
        raise AssertionError(arguments)

    shipped_materials.cache_clear()
    monkeypatch.setattr(module, "read_document", refuse)
    assert shipped_materials() == MATERIALS


def test_a_shipped_material_reads_only_its_file(monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[str] = []

    def noting(path: Path) -> object:
        opened.append(path.name)
        return read_document(path)

    read_document = module.read_document
    shipped_material.cache_clear()
    monkeypatch.setattr(module, "read_document", noting)
    assert shipped_material("cork") is shipped_material("cork")
    assert opened == ["cork.yaml"]


@pytest.mark.parametrize(
    ("name", "said"), [("nitril", "did you mean 'nitrile'?"), ("zzz", "choose from: acetal, aluminum_alloy")]
)
def test_an_unknown_material_gets_the_nearest(name: str, said: str) -> None:
    with pytest.raises(BadDescription) as caught:
        shipped_material(name)
    assert caught.value.problems[0].message.startswith(f"unknown material {name!r}; {said}")


@pytest.mark.parametrize("name", MATERIALS)
def test_every_material_is_rated_in_every_fuel_or_says_why_not(name: str) -> None:
    stuff = shipped_material(name)
    silent = [fuel for fuel in FUELS if verdict(stuff, fuel).rating == "no data" and fuel not in stuff.summary]
    assert silent == []


@pytest.mark.parametrize("name", MATERIALS)
def test_a_conflict_shows_both_sides_with_different_sources(name: str) -> None:
    """One source cited twice against itself would be a slip, not a conflict."""
    for fuel in FUELS:
        said = verdict(shipped_material(name), fuel)
        if said.conflict:
            assert len({each.source for each in said.ratings}) > 1, fuel


@pytest.mark.parametrize("name", MATERIALS)
def test_no_source_says_the_same_twice(name: str) -> None:
    said = [(fuel, each.source) for each in shipped_material(name).ratings for fuel in each.fuels]
    assert len(said) == len(set(said))


def test_files_start_with_their_schema_and_fit_it() -> None:
    schema = json.loads((FOLDER / "material.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    for path in sorted(FOLDER.glob("*.yaml")):
        text = path.read_text(encoding="utf-8")
        assert text.startswith("# yaml-language-server: $schema=material.schema.json\n"), path.name
        whole = yaml.safe_load(text)
        assert [error.message for error in validator.iter_errors(whole)] == [], path.name
        assert not validator.is_valid({**whole, "kind": "elastomr"})


def test_the_schema_copy_is_that_of_the_model() -> None:
    copy = json.loads((FOLDER / "material.schema.json").read_text(encoding="utf-8"))
    assert copy.pop("$schema") == "https://json-schema.org/draft/2020-12/schema"
    assert copy == Material.model_json_schema(by_alias=True)
