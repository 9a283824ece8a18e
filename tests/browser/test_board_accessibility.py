"""What an accessibility engine finds on every part of the board; contrast and target sizes, worked out here as well.

Web Content Accessibility Guidelines (WCAG) 2.2, W3C Recommendation: 1.4.3 contrast of text, 1.4.11 of graphics,
2.5.8 size of targets.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from board_in_use import STREET, Board, scene_of

if TYPE_CHECKING:
    from playwright.sync_api import Page

ENGINE = Path(__file__).parent / "node_modules" / "axe-core" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
PHONE = {"width": 390, "height": 844}


def violations(page: Page) -> list[str]:
    """What the engine finds wrong with what is on the page now, one line each."""
    assert ENGINE.exists(), "the engine is missing: npm install --prefix tests/browser"
    if not page.evaluate("Boolean(window.axe)"):
        page.evaluate(ENGINE.read_text(encoding="utf-8"))
    run = "(tags) => axe.run(document, {runOnly: {type: 'tag', values: tags}, resultTypes: ['violations']})"
    found: dict[str, Any] = page.evaluate(run, TAGS)
    return [
        f"{each['id']} ({each['help']}): {[(node['target'], node['failureSummary']) for node in each['nodes'][:3]]}"
        for each in found["violations"]
    ]


def with_a_tab(name: str) -> Callable[[Board], None]:
    def act(board: Board) -> None:
        board.open(name)

    return act


def with_something_chosen(board: Board) -> None:
    board.in_drawing("primary bowl").click()
    board.button("What feels it?").click()
    board.page.get_by_text("spaces that feel it").first.wait_for()


def with_a_passage_chosen(board: Board) -> None:
    board.in_drawing("primary bowl vent into the air horn").click()


def with_changes_and_a_repair(board: Board) -> None:
    board.make(scene_of(STREET, "blow_through"), "primary.bowl_vent", "plugged")
    board.open("Changes")
    board.button("Show me the cheapest repair").click()
    board.button("Make these changes").wait_for(timeout=60_000)


def with_a_finding_unfolded(board: Board) -> None:
    board.open("Findings").locator("summary").first.click()


def with_everything_searched(board: Board) -> None:
    board.open("Everything").get_by_label("Search").fill("bowl")


def with_a_lesson(board: Board) -> None:
    panel = board.open("Lesson")
    panel.get_by_role("button", name="Begin").click()
    panel.locator(".choices button").first.click()


def with_a_hunt(board: Board) -> None:
    panel = board.open("Hunt")
    panel.get_by_role("button", name="Begin").click()
    panel.get_by_role("button", name=re.compile("^Do it")).first.click()


def with_a_comparison(board: Board) -> None:
    board.button("Compare").click()
    board.page.get_by_role("region", name="Differences").get_by_role("listitem").first.wait_for()


def with_the_help(board: Board) -> None:
    board.button("Help with keys").click()


def with_the_legend(board: Board) -> None:
    board.button("Legend").click()


def in_the_classroom(board: Board) -> None:
    board.button("Classroom").click()


def at_the_dials(board: Board) -> None:
    board.go("Dial your own")
    board.page.get_by_role("slider", name="Throttle").wait_for()


def with_trouble(board: Board) -> None:
    board.page.evaluate("Store.trouble(new NoAnswer('Nothing comes.', 'Try again.'))")


PARTS = [
    with_a_tab("Findings"), with_a_tab("Look"), with_a_tab("Changes"), with_a_tab("Everything"), with_a_tab("Lesson"),
    with_a_tab("Hunt"), with_something_chosen, with_a_passage_chosen, with_a_finding_unfolded,
    with_everything_searched, with_a_lesson, with_a_hunt, at_the_dials, with_the_legend, with_a_comparison,
    in_the_classroom, with_the_help, with_changes_and_a_repair, with_trouble,
]  # fmt: skip
AFRESH = {with_a_comparison, in_the_classroom, with_changes_and_a_repair}
"""What would stand on top of what was opened before."""
ON_A_PHONE = [
    with_a_tab("Findings"),
    with_something_chosen,
    with_a_lesson,
    with_a_hunt,
    with_the_legend,
    with_a_comparison,
]


def found_wrong(
    opened: Callable[..., Page], address: str, parts: list[Callable[[Board], None]], **options: Any
) -> dict[str, list[str]]:
    """Every part, one after the other, with what the engine finds wrong there."""
    page = opened(address, bypass_csp=True, **options)
    wrong = {}
    for index, part in enumerate(parts):
        if part in AFRESH:
            page.reload()
        board = Board(page)
        part(board)
        found = violations(page)
        if found:
            wrong[f"{index} {part.__name__}"] = found
    return wrong


def test_nothing_is_wrong_with_any_part(opened: Callable[..., Page], street: str) -> None:
    assert found_wrong(opened, street, PARTS) == {}


def test_nothing_is_wrong_on_a_phone(opened: Callable[..., Page], street: str) -> None:
    assert found_wrong(opened, street, ON_A_PHONE, viewport=PHONE) == {}


def test_nothing_is_wrong_where_dark_or_more_contrast_is_wanted(opened: Callable[..., Page], street: str) -> None:
    dark: dict[str, Any] = {"color_scheme": "dark", "contrast": "more"}
    assert found_wrong(opened, street, [with_a_tab("Findings"), with_something_chosen, with_the_help], **dark) == {}


def test_nothing_is_wrong_with_forced_colors_and_every_line_is_there(opened: Callable[..., Page], street: str) -> None:
    assert found_wrong(opened, street, [with_a_tab("Findings"), with_something_chosen], forced_colors="active") == {}


def luminance(rgb: tuple[float, ...]) -> float:
    """Relative luminance of WCAG 2.2."""
    linear = [each / 255 / 12.92 if each / 255 <= 0.04045 else ((each / 255 + 0.055) / 1.055) ** 2.4 for each in rgb]
    return sum(part * share for part, share in zip(linear, (0.2126, 0.7152, 0.0722), strict=True))


def contrast(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    """Contrast ratio of WCAG 2.2."""
    light, dark = sorted([luminance(one), luminance(other)], reverse=True)
    return (light + 0.05) / (dark + 0.05)


def color(text: str) -> tuple[float, ...]:
    """Red, green, blue of "rgb(1, 2, 3)" or "#010203"."""
    if text.startswith("#"):
        return tuple(int(text[at : at + 2], 16) for at in (1, 3, 5))
    parts = tuple(float(each) for each in re.findall(r"[\d.]+", text))
    assert len(parts) == 3 or parts[3] == 1, f"not opaque: {text}"
    return parts[:3]


def test_the_ratio_is_that_of_the_guidelines() -> None:
    """Understanding SC 1.4.3 (W3C): black on white is 21 to 1; #767676 on white is the lightest gray that has 4.5."""
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21)
    assert contrast(color("#767676"), (255, 255, 255)) >= 4.5 > contrast(color("#777777"), (255, 255, 255))


def test_names_and_numbers_stand_out_from_every_shade_in_every_state(opened: Callable[..., Page], street: str) -> None:
    """1.4.3: 4.5 to 1. Ink stands on its shade, and on the halo of its letters where the hatching is."""
    board = Board(opened(street))
    worst = 99.0
    for state in board.page.locator("#strip button:enabled").all()[:-1]:
        state.click()
        pairs = board.page.evaluate(
            """() => [...document.querySelectorAll("#drawing .words")].map((words, index) => [
                getComputedStyle(words.querySelector("text")).fill,
                getComputedStyle(words.querySelector("text")).stroke,
                getComputedStyle(document.querySelectorAll("#drawing .space .fill")[index]).fill])"""
        )
        assert len(pairs) > 30
        for ink, halo, shade in pairs:
            worst = min(worst, contrast(color(ink), color(shade)), contrast(color(ink), color(halo)))
    assert worst >= 4.5


def test_lines_and_symbols_stand_out(opened: Callable[..., Page], street: str) -> None:
    """1.4.11: 3 to 1 for what is needed to understand a graphic: lines, symbols, edges of spaces, the focus."""
    board = Board(opened(street))
    seen = board.page.evaluate(
        """() => {
          const of = (node, part) => getComputedStyle(node)[part];
          const ground = of(document.body, "backgroundColor");
          const casting = [...document.querySelectorAll("#drawing .casting rect")].map((node) => of(node, "fill"));
          const lines = [...document.querySelectorAll("#drawing :is(.pipe:not(.hidden), .membrane, .fill, .housing)")]
            .filter((node) => node.getClientRects().length && !node.closest(".hidden"));
          return [[ground, ...new Set(casting)], lines.map((node) => [node.getAttribute("class"), of(node, "stroke")])];
        }"""
    )
    grounds, lines = seen
    assert len(lines) > 100
    pale = {
        (kind, stroke, ground)
        for kind, stroke in lines
        for ground in grounds
        if contrast(color(stroke), color(ground)) < 3
    }
    assert not pale


@pytest.mark.parametrize("size", [{"width": 1440, "height": 900}, PHONE], ids=["desk", "phone"])
def test_every_target_is_at_least_24_pixels_or_has_room(
    opened: Callable[..., Page], street: str, size: dict[str, int]
) -> None:
    """2.5.8: 24 by 24 pixels, or a circle of 24 around the middle of a smaller one that meets no other target.

    What is in the drawing is exempt there, because a list on the same page does the same: see the next test. Links
    in a line of text are exempt as well; ours stand in lists and are not.
    """
    board = Board(opened(street, viewport=size))
    for tab in ("Findings", "Changes", "Everything", "Lesson"):
        board.open(tab)
        small = board.page.evaluate(
            """() => {
              const nodes = [...document.querySelectorAll("button, select, input, summary")]
                .filter((node) => node.getClientRects().length && !node.disabled)
                .map((node) => [node, node.getBoundingClientRect()])
                .filter(([, box]) => box.width > 0);
              const meets = (box, x, y) => {
                const [dx, dy] = [Math.max(box.left - x, 0, x - box.right), Math.max(box.top - y, 0, y - box.bottom)];
                return Math.hypot(dx, dy) < 12;
              };
              return nodes.filter(([node, box]) => {
                if (box.width >= 23.9 && box.height >= 23.9) return false;
                const [x, y] = [box.left + box.width / 2, box.top + box.height / 2];
                return nodes.some(([other, near]) =>
                  other !== node && !node.contains(other) && !other.contains(node) && meets(near, x, y));
              }).map(([node, box]) =>
                [node.getAttribute("aria-label") || node.textContent, box.width, box.height].join());
            }"""
        )
        assert not small, (tab, small)


def test_every_passage_of_the_drawing_is_in_a_list_as_well(opened: Callable[..., Page], street: str) -> None:
    """The equivalent control that 2.5.8 asks for where a target is small: the list of ways in and out of a space."""
    board = Board(opened(street))
    drawn = board.said()
    listed = set()
    for label in drawn["spaces"]:
        board.in_drawing(label.split(",")[0]).click()
        listed |= set(board.panel("Look").locator("ul.plain button.link").all_inner_texts())
    missing = [label for label in drawn["ways"] if not any(label.startswith(f"{each},") for each in listed)]
    assert not missing


def test_every_target_of_the_drawing_can_be_hit_in_its_middle(opened: Callable[..., Page], street: str) -> None:
    """Nothing lies over the middle of anything else."""
    board = Board(opened(street))
    covered = board.page.evaluate(
        """() => [...document.querySelectorAll("#drawing .target:not(.hidden)")].filter((node) => {
          const box = (node.querySelector(".hit, .fill, .housing") || node).getBoundingClientRect();
          const top = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
          return top && top.closest("#drawing") && top.closest(".target") !== node;
        }).map((node) => node.getAttribute("aria-label"))"""
    )
    assert not covered
