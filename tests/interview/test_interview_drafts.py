"""The draft: readable, whole, checked when it is read, never lost."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from boostcarb.description.source import read_document
from boostcarb.errors import BadDescription
from boostcarb.interview.answers import Draft, draft_path, draft_text, resume, set_aside

GOOD = """\
draft: 1
answers:
  job: "A job"
  carburetor: "modular_four_barrel"
  target: "blow_through"
  engine.displacement: "302 cu in"
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return draft_path(tmp_path / "job.yaml")


@given(
    answers=st.dictionaries(
        st.from_regex(r"[a-z][a-z_]*(\.[a-z][a-z_]*){0,3}", fullmatch=True),
        st.none() | st.text(st.characters(exclude_categories=("C", "Zl", "Zp")), min_size=1, max_size=50),
        max_size=5,
    )
)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_draft_reads_back(path: Path, answers: dict[str, str | None]) -> None:
    Draft(path, answers).save()
    data = read_document(path).data
    assert (data["draft"], data["answers"]) == (1, answers)


def test_resumed(path: Path, room: Any) -> None:
    path.write_text(GOOD, encoding="utf-8")
    draft, unknown = resume(path, room.questions())
    assert draft.answers == {
        "job": "A job",
        "carburetor": "modular_four_barrel",
        "target": "blow_through",
        "engine.displacement": "302 cu in",
    }
    assert unknown == ()
    assert path.read_text(encoding="utf-8") == GOOD


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ("draft: 1", "draft: 2", 1, "draft of version 2"),
        ("draft: 1", "darft: 1", 1, "did you mean 'draft'"),
        ("draft: 1", "draft: one", 1, "write a whole number"),
        ('"302 cu in"', "302", 6, "write text"),
        ('"302 cu in"', '"302"', 6, "without a unit"),
        ('"302 cu in"', '""', 2, "one line of at most"),
        ('"blow_through"', '"blown"', 5, "choose from: naturally_aspirated, blow_through"),
        ("answers:", "answers: [", 3, "is not YAML"),
        ("  job", "\tjob", 3, "tab"),
    ],
)
def test_broken_drafts_are_refused_and_untouched(
    path: Path, room: Any, old: str, new: str, line: int, said: str
) -> None:
    text = GOOD.replace(old, new)
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadDescription) as error:
        resume(path, room.questions())
    shown = [(problem.file, problem.line) for problem in error.value.problems if said in problem.message]
    assert shown, str(error.value)
    assert shown[0][0] == path
    if "YAML" not in said:
        assert shown[0][1] == line, str(error.value)
    assert path.read_text(encoding="utf-8") == text


def test_a_find_in_a_draft_that_is_no_word(path: Path, room: Any) -> None:
    car = draft_text(
        {
            "job": "x", "carburetor": "modular_four_barrel", "target": "naturally_aspirated",
            "engine.displacement": "5 l", "engine.idle_speed": "800 rpm",
            "engine.cruise_speed": "2000 rpm", "engine.torque_peak_speed": "3000 rpm",
            "engine.redline_speed": "5000 rpm", "found.choke": "removd",
        }
    )  # fmt: skip
    path.write_text(car, encoding="utf-8")
    with pytest.raises(BadDescription) as error:
        resume(path, room.questions())
    (problem,) = error.value.problems
    assert (problem.field, problem.line) == ("answers.found.choke", len(car.splitlines()))
    assert "removed" in problem.message


def test_names_that_are_gone_are_named_and_kept(path: Path, room: Any) -> None:
    path.write_text(GOOD + '  found.no_such_part: "open"\n  old_section.x: null\n', encoding="utf-8")
    draft, unknown = resume(path, room.questions())
    assert "old_section.x" in unknown
    draft.record("engine.idle_speed", "850 rpm")
    again, _ = resume(path, room.questions())
    assert again.answers["old_section.x"] is None
    assert again.answers["found.no_such_part"] == "open"


def test_a_part_that_is_gone_is_told_once_the_car_is_known(path: Path, room: Any, car_lines: Any) -> None:
    held = room.hold(car_lines("blow_through"))
    held.draft.record("found.no_such_part", "open")
    held.draft.record("found.primary.pump", "absent")
    _, unknown = resume(path, room.questions())
    assert unknown == ("found.no_such_part",)


def test_set_aside_never_overwrites(path: Path) -> None:
    names = []
    for number in range(3):
        path.write_text(str(number), encoding="utf-8")
        names.append(set_aside(path).name)
    assert names == ["job.yaml.draft.1", "job.yaml.draft.2", "job.yaml.draft.3"]
    assert [path.with_name(name).read_text(encoding="utf-8") for name in names] == ["0", "1", "2"]
