"""The dialog: commands, wrong answers, leaving and going on, and the file at the end."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from boostcarb import pipeline
from boostcarb.description.job import Job
from boostcarb.errors import BadDescription
from boostcarb.interview.answers import draft_path
from boostcarb.interview.asking import Ending
from boostcarb.interview.question import CAR
from boostcarb.interview.strip_down import FOUND
from boostcarb.interview.writing import BadlyWritten, check
from boostcarb.network.model import INLINE

HEAD = ("A job", "modular_four_barrel")

Lines = Callable[[str], list[str]]
Replies = dict[str, Callable[..., Any]]


def doubts(file: Path) -> set[str]:
    bench = pipeline.set_up(pipeline.load(file))
    found = bench.network.found()
    existing = (
        name
        for name in bench.network.unconfirmed()
        if all(found[other] in forms for other, forms in bench.network.items[name].conditions)
    )
    return set(existing)


def test_nobody_has_looked(room: Any, target: str, replies: Replies) -> None:
    held, asked = room.replying(replies["unknown"](target))
    assert held.ending is Ending.written
    assert not held.draft.path.exists()
    items = {question.item for question in asked if question.item is not None}
    lines_in = {f"{name}{INLINE}" for name in items}
    listed = {item.name for item, word in held.questions.untold(held.draft.answers) if word == "not looked at"}
    assert items | listed <= doubts(held.file) <= items | listed | lines_in
    text = held.file.read_text(encoding="utf-8")
    for name in items | listed:
        assert f"\n  {name}: not looked at" in text


def test_everything_as_built(room: Any, target: str, replies: Replies) -> None:
    held, asked = room.replying(replies["as_built"](target))
    assert held.ending is Ending.written
    assert doubts(held.file) == set()
    job = pipeline.load(held.file).job
    assert job.target == target
    assert {question.item for question in asked if question.item} <= set(job.found)
    stages = [question.stage for question in asked]
    assert stages == sorted(stages, key=list(dict.fromkeys(stages)).index)


def test_the_dont_knows_are_the_unconfirmed(room: Any, replies: Replies) -> None:
    """Every third item is not known."""
    number = iter(range(10_000))
    built = replies["as_built"]("blow_through")

    def reply(question: Any) -> str:
        return "" if question.item is not None and next(number) % 3 == 0 else built(question)

    held, asked = room.replying(reply)
    open_ones = {question.item for question in asked if question.item and not held.draft.answers[question.name]}
    lines_in = {f"{name}{INLINE}" for name in open_ones}
    assert open_ones <= doubts(held.file) <= open_ones | lines_in


@pytest.mark.parametrize("command", ["skip", "built"])
def test_a_stage_in_one_word(room: Any, car_lines: Lines, command: str) -> None:
    held = room.hold([*car_lines("blow_through"), command])
    assert held.ending is Ending.left
    subject = held.questions.subject(held.draft.answers)
    asked = held.questions.asked(held.draft.answers)
    first = [question for question in asked if question.stage == subject.stages[0]]
    assert first
    for question in first:
        wanted = question.as_built if command == "built" else None
        assert held.draft.answers[question.name] == wanted
    assert not [
        question for question in asked if question.stage == subject.stages[1] and question.name in held.draft.answers
    ]


def test_done_writes_what_there_is(room: Any, car_lines: Lines) -> None:
    held = room.hold([*car_lines("draw_through"), "1", "done"])
    assert held.ending is Ending.written
    job = pipeline.load(held.file).job
    said = [name for name, state in job.found.items() if state.is_ != "not looked at"]
    assert len(said) >= 1
    assert len(job.found) > 50


def test_done_too_early_says_what_the_file_needs(room: Any) -> None:
    held = room.hold([*HEAD, "done", "leave"])
    assert held.ending is Ending.left
    assert "too early; the file still needs: what it shall become" in held.desk.text
    assert not held.file.exists()


def test_back_and_keep(room: Any) -> None:
    held = room.hold([*HEAD, "blow", "302 cu in", "back", "5 l", "850 rpm", "back", "back", "", "900 rpm"])
    assert held.draft.answers["engine.displacement"] == "5 l"
    assert held.draft.answers["engine.idle_speed"] == "900 rpm"
    assert "was 302 cu in, Enter keeps it" in held.desk.text


def test_back_to_another_target(room: Any, car_lines: Lines) -> None:
    """What was answered for the first target is neither lost nor in the way."""
    lines = car_lines("blow_through")
    at = len(room.hold(lines, "count.yaml").draft.answers)
    held = room.hold([*lines, "1", *["back"] * (at - 1), "naturally_aspirated", "done"])
    assert held.ending is Ending.written
    job = pipeline.load(held.file).job
    assert (job.target, job.charge) == ("naturally_aspirated", None)


def test_back_at_the_first_question(room: Any) -> None:
    assert "This is the first question." in room.hold(["back"]).desk.text


def test_a_wrong_answer_is_explained_and_asked_again(room: Any) -> None:
    held = room.hold([*HEAD, "turbo", "9", "", "blow", "302", "302 cu in", "850 rpm", "840 rpm", "800 rpm"])
    for said in ("choose from", "found 9; write a number from 1 to 3", "found nothing; this is needed",
                 "found 302 without a unit", "must be above idle_speed"):  # fmt: skip
        assert said in held.desk.text
    assert held.draft.answers["engine.displacement"] == "302 cu in"


@pytest.mark.parametrize(
    ("lines", "name", "line", "said"),
    [
        ([*HEAD, "turbo"], "target", 3, "found 'turbo'"),
        ([*HEAD, "blow", "302"], "engine.displacement", 4, "without a unit"),
        ([*HEAD, "blow", "5 l", "900 rpm", "850 rpm"], "engine.cruise_speed", 6, "must be above idle_speed"),
        ([*HEAD, "blow", "5 l", ""], "engine.idle_speed", 5, "found nothing"),
        ([*HEAD, "done"], "target", 3, "too early"),
        (["A job", "rotary"], "carburetor", 2, "choose from"),
        (["A job", ""], "carburetor", 2, "found nothing"),
        (["A job", "done"], "carburetor", 2, "kind of carburetor"),
        (["\ufffd"], "job", 1, "no plain text"),
        (["x" * 300], "job", 1, "at most 200"),
    ],
)
def test_a_wrong_answer_in_a_pipe_ends_it(room: Any, lines: list[str], name: str, line: int, said: str) -> None:
    with pytest.raises(BadDescription) as error:
        room.hold(lines, patient=False)
    (problem,) = error.value.problems
    assert (problem.field, problem.line) == (name, line)
    assert str(problem.file) == "standard input"
    assert said in problem.message
    kept = len(lines) - 1
    assert draft_path(room.folder / "job.yaml").exists() is (kept > 0)


def test_words_prefixes_and_numbers_mean_the_same(room: Any, car_lines: Lines) -> None:
    held = [room.hold([*car_lines("blow_through"), said], f"{number}.yaml") for number, said in
            enumerate(("1", next(iter(_first_words(room, car_lines))), ))]  # fmt: skip
    assert held[0].draft.answers == held[1].draft.answers


def _first_words(room: Any, car_lines: Lines) -> list[str]:
    held = room.hold(car_lines("blow_through"), "words.yaml")
    asked = held.questions.asked(held.draft.answers)
    first = next(question for question in asked if question.stage != CAR)
    return [choice.word for choice in first.choices]


def test_a_prefix_that_fits_two_words(room: Any) -> None:
    held = room.hold([*HEAD, "n", "back", "e"])
    assert held.draft.answers["target"] == "naturally_aspirated"
    questions = room.questions()
    fuel = next(question for question in questions.asked(held.draft.answers) if question.name == "fuel")
    from boostcarb.interview.replies import Answer, understood

    with pytest.raises(BadDescription, match="could be E10 or E85 or ethanol"):
        understood("e", fuel)
    assert understood("eth", fuel) == Answer("ethanol")
    assert understood("e85", fuel) == Answer("E85")
    assert understood("Don't know", fuel) == Answer(None)


def test_a_word_on_the_screen_answers_even_if_it_is_a_command_elsewhere(room: Any, replies: Replies) -> None:
    built = replies["as_built"]("draw_through", **{"carburetors.count": "2"})
    offering = "found.carburetor_synchronization"

    def reply(question: Any) -> str:
        return "leave" if offering in answered else answered.setdefault(question.name, built(question))

    answered: dict[str, str] = {}
    held, asked = room.replying(reply)
    assert asked[-2].name == offering
    assert answered[offering] == "done"
    assert held.ending is Ending.left
    assert not held.file.exists()
    assert held.draft.answers[offering] == "done"
    assert "here done is an answer" in held.desk.text


def test_question_mark_explains(room: Any, car_lines: Lines) -> None:
    held = room.hold([*car_lines("blow_through"), "?"])
    after = held.desk.text.rpartition("NOTHING OFF")[2]
    assert "With it: " in after
    assert "no plan is clean before somebody has looked" in after


def test_leaving_after_every_answer_loses_nothing(room: Any, car_lines: Lines, target: str, replies: Replies) -> None:
    """The script of one run, then a run that is left after every line and taken up from the draft."""
    built = replies["as_built"](target, **{"found.choke": "hot_air", "found.primary.power_valve": ""})
    lines: list[str] = []

    def kept(question: Any) -> str:
        in_one_word = question.stage not in (CAR,) and len(lines) > 45
        lines.append("done" if in_one_word else built(question))
        return lines[-1]

    whole, _ = room.replying(kept, "whole.yaml")
    assert whole.ending is Ending.written
    for index, line in enumerate(lines):
        held = room.hold([line], "parts.yaml")
        assert held.ending is (Ending.written if index == len(lines) - 1 else Ending.left)
    assert held.file.read_text(encoding="utf-8") == whole.file.read_text(encoding="utf-8")


@settings(max_examples=4, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(cuts=st.sets(st.integers(1, 40), max_size=4))
def test_leaving_anywhere(room: Any, car_lines: Lines, cuts: set[int]) -> None:
    lines = [*car_lines("naturally_aspirated"), "1", "2", "", "1", "back", "2", "", "1", "skip", "1", "built", "done"]
    for name in ("one.yaml", "cut.yaml"):
        (room.folder / name).unlink(missing_ok=True)
    whole = room.hold(lines, "one.yaml")
    starts = [0, *sorted(cut for cut in cuts if cut < len(lines) and "back" not in lines[cut - 1 : cut + 1])]
    for start, end in zip(starts, [*starts[1:], len(lines)], strict=True):
        held = room.hold(lines[start:end], "cut.yaml")
    assert (whole.ending, held.ending) == (Ending.written, Ending.written)
    assert held.file.read_text(encoding="utf-8") == whole.file.read_text(encoding="utf-8")


def test_everything_measured(room: Any, target: str, replies: Replies) -> None:
    """Every question answered, sizes with the example that was shown; typed values stand in the file as typed.

    The engine is as large as two of the carburetors need to cruise on their main circuits, where lambda is read.
    """
    built = replies["as_built"](target, sizes="yes", fuel="E85", **{"engine.displacement": "600 cu in"})

    def reply(question: Any) -> str:
        if question.name.endswith(".extensions"):
            return "fitted"
        return built(question) or question.example or question.offered[0].word

    held, asked = room.replying(reply)
    assert held.ending is Ending.written
    text = held.file.read_text(encoding="utf-8")
    for question in asked:
        if question.example and not question.is_text:
            assert f": {held.draft.answers[question.name]}" in text, question.name
    job = pipeline.load(held.file).job
    assert job.carburetors is not None
    assert job.carburetors.count == 2
    assert (job.enclosure is not None) is (target == "blow_through")
    assert job.supply is not None
    assert job.bowls is not None
    assert job.metering.measured
    assert any(state.bore is not None for state in job.found.values())
    assert any(state.setting is not None for state in job.found.values())


def test_a_file_that_reads_for_a_person(room: Any, replies: Replies) -> None:
    held, _ = room.replying(replies["as_built"]("blow_through", **{"found.choke": ""}))
    lines = held.file.read_text(encoding="utf-8").splitlines()
    assert lines[0] == "# yaml-language-server: $schema=job.schema.json"
    found = lines[lines.index(f"{FOUND}:") + 1 :]
    assert not [line for line in found if "#" not in line]
    assert not [line for line in lines if line != line.rstrip()]
    headings = [line for line in found if line.startswith("  # == ")]
    assert "on the engine" in headings[0]
    choke = found.index("  choke: not looked at  # choke")
    assert found[choke - 1].startswith("  # ")
    assert any(line.startswith("  # look: ") for line in found[choke - 3 : choke])


def test_a_file_that_would_say_something_else_is_not_written(room: Any, replies: Replies) -> None:
    held, _ = room.replying(replies["unknown"]("naturally_aspirated"))
    text = held.file.read_text(encoding="utf-8")
    job = Job.model_validate(pipeline.load(held.file).document.data)
    check(text, held.file, job)
    with pytest.raises(BadlyWritten):
        check(text.replace("302 cu in", "303 cu in"), held.file, job)
    with pytest.raises(BadlyWritten):
        check(text.replace("302 cu in", "302 cu in: x"), held.file, job)


@given(
    title=st.text(
        st.characters(exclude_categories=("C", "Zs", "Zl", "Zp"), include_characters=" "), min_size=1, max_size=60
    ).filter(str.strip)
)
@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_name_of_a_job_comes_through(room: Any, car_lines: Lines, title: str) -> None:
    from boostcarb.interview.replies import DONT_KNOW, Command

    if title.strip().lower() in (*DONT_KNOW, *(command.value for command in Command)) or "\ufffd" in title:
        return
    for path in room.folder.iterdir():
        path.unlink()
    lines = car_lines("naturally_aspirated")
    held = room.hold([title, *lines[1:], "done"])
    assert held.ending is Ending.written
    assert pipeline.load(held.file).job.job == " ".join(title.split())
