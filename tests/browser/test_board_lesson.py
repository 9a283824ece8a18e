"""A lesson and a hunt as somebody plays them, against the records they are made of."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from board_in_use import STOCK, STREET, Board, study_of

from boostcarb.board.lesson.hunt import hunt_record
from boostcarb.board.lesson.questions import lesson_record
from boostcarb.board.study import Asked

if TYPE_CHECKING:
    from playwright.sync_api import Page

GREEN, RED = "rgb(28, 97, 65)", "rgb(154, 27, 27)"
"""What the page marks a right and a wrong choice with, beside words: its own style."""
FOUND = Asked("blow_through", "found", {})


def lesson_of(seed: int, count: int) -> list[dict[str, Any]]:
    return list(lesson_record(study_of(STREET), FOUND, seed=seed, count=count)["questions"])


def begin_lesson(board: Board, seed: int, count: int) -> Any:
    panel = board.open("Lesson")
    panel.get_by_label("Seed").fill(str(seed))
    panel.get_by_label("Questions").fill(str(count))
    panel.get_by_label("Questions").press("Tab")
    panel.get_by_role("button", name="Begin").click()
    panel.get_by_text(re.compile(r"^Question 1 of")).wait_for()
    return panel


def test_answers_are_marked_as_the_record_says(opened: Callable[..., Page], street: str) -> None:
    """Every second one answered wrong on purpose."""
    board = Board(opened(street))
    questions = lesson_of(7, 6)
    panel = begin_lesson(board, 7, 6)
    right = 0
    for index, question in enumerate(questions):
        board.settle()
        assert panel.get_by_role("heading", level=3).inner_text() == question["question"]
        choices = panel.locator(".choices button")
        assert choices.all_inner_texts() == [each["text"] for each in question["choices"]]
        assert question["because"] not in panel.inner_text(), "the reason comes after the answer"
        wanted = next(each for each in question["choices"] if each["id"] == question["right"])
        wrong = next(each for each in question["choices"] if each["id"] != question["right"])
        chosen = wrong if index % 2 else wanted
        right += chosen is wanted
        choices.nth(question["choices"].index(chosen)).click()
        tags = {
            each["text"]: choices.nth(place).locator(".tag").all_inner_texts()
            for place, each in enumerate(question["choices"])
        }
        assert tags.pop(wanted["text"]) == ["right"]
        if chosen is wrong:
            assert tags.pop(wrong["text"]) == ["your answer"]
        assert not any(tags.values())
        marked = {
            each["text"]: choices.nth(place).evaluate("(node) => getComputedStyle(node).borderTopColor")
            for place, each in enumerate(question["choices"])
        }
        assert marked[wanted["text"]] == GREEN
        assert all((color == RED) == (text == chosen["text"] != wanted["text"]) for text, color in marked.items())
        assert panel.get_by_text(question["because"], exact=True).is_visible()
        assert panel.get_by_text(f"Right: {right} of {index + 1}.").is_visible()
        assert all(each.is_disabled() for each in choices.all()), "answered once"
        if index + 1 < len(questions):
            panel.get_by_role("button", name="Next").click()
    assert panel.get_by_role("button", name="Next").is_disabled()
    assert board.page.locator("#verdict").is_visible()


def test_the_board_stands_as_the_question_says_and_does_not_give_it_away(
    opened: Callable[..., Page], street: str
) -> None:
    board = Board(opened(street))
    states = board.page.evaluate(
        "Object.fromEntries(Object.entries(Store.scene.states).map(([name, {title}]) => [name, title]))"
    )
    questions = lesson_of(3, 8)
    panel = begin_lesson(board, 3, 8)
    for index, question in enumerate(questions):
        board.settle()
        assert board.said()["changes"] == [], "what is changed for a question would give it away"
        if question.get("state"):
            assert board.said()["title"].lower() == states[question["state"]].lower()
        hidden = board.page.evaluate(
            """() => [...document.querySelectorAll("#drawing .number, #state-facts, #mixtures, #verdict")]
                .every((node) => getComputedStyle(node).visibility === "hidden")"""
        )
        assert hidden, "numbers can be read before the answer is given"
        told = board.page.evaluate(
            """() => [...document.querySelectorAll("#drawing .target:not(.hidden)")]
                .map((node) => node.getAttribute("aria-label"))
                .filter((label) => / kPa |valve (open|shut)|flows toward/.test(label))"""
        )
        assert told == [], "numbers can be heard before the answer is given"
        panel.locator(".choices button").first.click()
        board.settle()
        assert len(board.said()["changes"]) == len(question["changes"])
        assert all(board.page.locator("#drawing .number").nth(place).is_visible() for place in range(3))
        if index + 1 < len(questions):
            panel.get_by_role("button", name="Next").click()


def test_a_lesson_is_printed_with_questions_first_and_answers_after(opened: Callable[..., Page], street: str) -> None:
    page = opened(street)
    page.add_init_script("window.print = () => { window.printed = document.getElementById('paper').innerHTML; }")
    page.reload()
    board = Board(page)
    questions = lesson_of(7, 6)
    panel = begin_lesson(board, 7, 6)
    assert panel.get_by_role("button", name="Print all with answers").is_visible()
    page.emulate_media(media="print")
    page.evaluate(
        """[...document.querySelectorAll("#panel-lesson button")]
            .find((each) => each.textContent.startsWith("Print")).click()"""
    )
    assert page.evaluate("Boolean(window.printed)")
    paper = page.locator("#paper")
    assert paper.is_visible()
    assert not page.locator("#board").is_visible()
    text = paper.inner_text()
    asked, _, told = text.partition("Answers")
    for question in questions:
        assert question["question"] in asked
        assert all(each["text"] in asked for each in question["choices"])
        assert question["because"] not in asked
        assert question["because"] in told
        letter = "abcdefgh"[[each["id"] for each in question["choices"]].index(question["right"])]
        answer = next(each["text"] for each in question["choices"] if each["id"] == question["right"])
        assert f"{letter}) {answer}" in told
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    page.emulate_media(media="screen")
    assert page.locator("#board").is_visible()


def suspects_left(panel: Any) -> list[str]:
    return [
        str(each.get_attribute("aria-label")).removeprefix("Accuse: ")
        for each in panel.get_by_role("button", name=re.compile("^Accuse")).all()
    ]


@pytest.mark.parametrize("seed", [1, 2])
def test_tests_rule_out_whom_the_record_says_and_the_hidden_one_is_found(
    opened: Callable[..., Page], street: str, seed: int
) -> None:
    board = Board(opened(street))
    hunt = hunt_record(study_of(STREET), FOUND, seed=seed)
    titles = {each["id"]: each["title"] for each in hunt["suspects"]}
    panel = board.open("Hunt")
    panel.get_by_label("Seed").fill(str(seed))
    panel.get_by_label("Seed").press("Tab")
    panel.get_by_role("button", name="Begin").click()
    panel.get_by_text(hunt["story"], exact=True).wait_for()
    assert suspects_left(panel) == list(titles.values())
    assert hunt["because"] not in panel.inner_text()
    cleared: set[str] = set()
    spent = 0
    for test in hunt["tests"]:
        row = panel.get_by_role("listitem").filter(has=board.page.get_by_text(test["title"], exact=True))
        assert test["shows"] not in row.first.inner_text()
        panel.get_by_role("button", name=f"Do it: {test['title']}", exact=True).click()
        assert test["shows"] in row.first.inner_text()
        assert test["must"] in row.first.inner_text()
        cleared |= set(test["clears"])
        spent += test["minutes"]
        assert suspects_left(panel) == [title for name, title in titles.items() if name not in cleared]
        assert panel.locator(".score").inner_text().startswith(f"{spent} minute")
        if len(titles) - len(cleared) == 1:
            break
    assert hunt["hidden"] not in cleared
    panel.get_by_role("button", name=f"Accuse: {titles[hunt['hidden']]}", exact=True).click()
    assert panel.get_by_text(
        re.compile(rf"^Found, in {spent} minutes?: {re.escape(titles[hunt['hidden']])}\.$")
    ).is_visible()
    if hunt.get("because"):
        assert hunt["because"] in panel.inner_text()
    assert panel.get_by_role("button", name=re.compile("^(Accuse|Do it|Give up)")).count() == 0


def test_who_accuses_another_is_told_and_shown(opened: Callable[..., Page], street: str) -> None:
    board = Board(opened(street))
    hunt = hunt_record(study_of(STREET), FOUND, seed=1)
    panel = board.open("Hunt")
    panel.get_by_role("button", name="Begin").click()
    other = next(each for each in hunt["suspects"] if each["id"] != hunt["hidden"])
    title = next(each["title"] for each in hunt["suspects"] if each["id"] == hunt["hidden"])
    panel.get_by_role("button", name=f"Accuse: {other['title']}", exact=True).click()
    assert panel.get_by_text(f"It was another one: {title}.").is_visible()


def test_a_file_has_lessons_and_hunts_as_well(opened: Callable[..., Page], packed: Path) -> None:
    page = opened(packed.as_uri())
    board = Board(page)
    asked = Asked("naturally_aspirated", "found", {})
    first = lesson_record(study_of(STOCK), asked, seed=1, count=12)["questions"][0]
    panel = board.open("Lesson")
    panel.get_by_role("button", name="Begin").click()
    panel.get_by_text("Question 1 of 12.").wait_for()
    assert panel.get_by_role("heading", level=3).inner_text() == first["question"]
    hunt = hunt_record(study_of(STOCK), asked, seed=1)
    panel = board.open("Hunt")
    panel.get_by_role("button", name="Begin").click()
    panel.get_by_text(hunt["story"], exact=True).wait_for()
