"""Entries written once for all barrel groups."""

from __future__ import annotations

from pathlib import Path

import pytest

from boostcarb.description.loading import shipped_family
from boostcarb.description.repetition import spread_groups
from boostcarb.description.source import Document, read_document
from boostcarb.errors import BadDescription


def spread(text: str) -> Document:
    return spread_groups(read_document(Path("family.yaml"), text=text))


SPACES = """\
groups: [front, rear]
spaces:
  "{group}.bowl":
    title: "{group} bowl"
    joins: ["{group}.well", air_horn]
    per:
      rear:
        volume: 20 cm3
  air_horn: {title: air horn}
"""


def test_an_entry_is_repeated_for_each_group_and_others_stay() -> None:
    spaces = spread(SPACES).data["spaces"]
    assert spaces == {
        "front.bowl": {"title": "front bowl", "joins": ["front.well", "air_horn"]},
        "rear.bowl": {"title": "rear bowl", "joins": ["rear.well", "air_horn"], "volume": "20 cm3"},
        "air_horn": {"title": "air horn"},
    }


def test_places_lead_back_to_the_lines_of_the_file() -> None:
    document = spread(SPACES)
    assert document.place(("spaces", "front.bowl")).line == 3
    assert document.place(("spaces", "rear.bowl", "title")).line == 4
    assert document.place(("spaces", "rear.bowl", "volume")).line == 8
    assert document.place(("spaces", "air_horn", "title")).line == 9


def test_names_inside_keys_are_filled_too() -> None:
    spread_out = spread('groups: [a]\npassages: {"{group}.p": {when: {"{group}.choke": ["{group}"]}}}\n')
    assert spread_out.data["passages"] == {"a.p": {"when": {"a.choke": ["a"]}}}


def test_only_limits_an_entry_to_some_groups() -> None:
    spread_out = spread('groups: [a, b]\nparts: {"{group}.pump": {only: [b], title: pump}}\n')
    assert spread_out.data["parts"] == {"b.pump": {"title": "pump"}}


def test_entry_that_is_a_text() -> None:
    spread_out = spread('groups: [a, b]\ncastings: {"{group}_bowl": "{group} bowl", body: body}\n')
    assert spread_out.data["castings"] == {"a_bowl": "a bowl", "b_bowl": "b bowl", "body": "body"}


def test_sections_that_are_no_mappings_are_left_for_the_check_of_the_model() -> None:
    assert spread("spaces: [a]\n").data == {"spaces": ["a"]}


def test_a_file_without_groups_is_left_alone() -> None:
    text = "title: t\nspaces: {a: {title: x}}\n"
    assert spread(text).data == read_document(Path("family.yaml"), text=text).data


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('parts: {"{group}.x": {}}\n', "family.yaml:1: parts.{group}.x: {group} in a name needs a `groups:` list"),
        ('groups: ab\nparts: {"{group}.x": {}}\n', "family.yaml:1: groups: found 'ab'; write a list of names"),
        ("groups: [1, 2]\n", "family.yaml:1: groups: found a list of 2; write a list of names"),
        (
            'groups: [a]\nparts: {"{group}.x": {only: a}}\n',
            "2: parts.{group}.x.only: found 'a'; write a list",
        ),
        (
            'groups: [a]\nparts:\n  "{group}.x":\n    only: [c]\n',
            "4: parts.{group}.x.only: unknown group 'c'",
        ),
        ('groups: [front]\nparts:\n  "{group}.x":\n    per: {fron: {}}\n', "did you mean 'front'?"),
        ('groups: [a]\nparts: {"{group}.x": {per: [a]}}\n', "parts.{group}.x.per: write the keys to change under"),
        ('groups: [a]\nparts: {"{group}.x": {per: {a: 5}}}\n', "parts.{group}.x.per: write the keys to change under"),
        ('groups: [a]\nparts: {"{group}.x": {per: }}\n', "parts.{group}.x.per: write the keys to change under"),
        ('groups: [a]\nparts: {a.x: {}, "{group}.x": {}}\n', "comes out as 'a.x', which is there already"),
    ],
)
def test_what_cannot_be_spread_out(text: str, message: str) -> None:
    with pytest.raises(BadDescription) as caught:
        spread(text)
    assert len(caught.value.problems) == 1
    assert message in str(caught.value)


def test_shipped_family_has_each_passage_once_a_group() -> None:
    family = shipped_family("modular_four_barrel").family
    for group in family.groups:
        assert f"{group}.bowl_vent" in family.passages
    assert not [name for name in family.passages if "{" in name]
