"""Everything with the keyboard alone; where the focus is can always be seen, and it never gets lost."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pytest
from board_in_use import STREET, UNKNOWN, Board, same_range, scene_of, study_of

from boostcarb.board.answer import answer_record
from boostcarb.board.dial import dial_record
from boostcarb.board.study import Asked

if TYPE_CHECKING:
    from playwright.sync_api import Page

FOCUS = """() => {
  const node = document.activeElement;
  const box = node.getBoundingClientRect();
  const drawn = [node, ...node.querySelectorAll(":scope > .fill, :scope > .hit, .housing")];
  const shows = (each) => {
    const style = getComputedStyle(each);
    const outlined = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
    const drawn = each instanceof SVGElement && style.stroke === "rgb(109, 40, 168)";
    return outlined || (drawn && parseFloat(style.strokeWidth) >= 3);
  };
  const named = node.getAttribute("aria-label") || node.getAttribute("title") || node.labels?.[0]?.innerText;
  const name = named || node.innerText || node.id;
  return {
    lost: node === document.body || node === document.documentElement,
    shown: node.matches(":focus-visible") && drawn.some(shows),
    inside: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth && box.width > 0,
    name: name.split("\\n")[0], tag: node.tagName.toLowerCase(), role: node.getAttribute("role") || "",
    drawing: Boolean(node.closest("#drawing")), panel: node.closest("[role=tabpanel]")?.id || "",
    dialog: Boolean(node.closest("dialog")),
  };
}"""


class Keys:
    """A keyboard, and a look at where the focus is after every key."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.board = Board(page)

    def focus(self) -> dict[str, Any]:
        return dict(self.page.evaluate(FOCUS))

    def press(self, *keys: str) -> dict[str, Any]:
        """Presses keys; after each, the focus must be somewhere, and be seen there."""
        at: dict[str, Any] = {}
        for key in keys:
            self.page.keyboard.press(key)
            self.board.settle()
            at = self.focus()
            assert not at["lost"], f"the focus is lost after {key}"
            assert at["shown"], f"the focus cannot be seen after {key}: {at}"
            assert at["inside"], f"the focus is out of sight after {key}: {at}"
        return at

    def tab_to(self, name: str, *, back: bool = False, most: int = 160) -> dict[str, Any]:
        """Goes on with Tab until something of that name has the focus."""
        for _ in range(most):
            at = self.press("Shift+Tab" if back else "Tab")
            if re.match(name, at["name"], re.IGNORECASE):
                return at
        raise AssertionError(f"Tab does not come to {name!r}")

    def to_drawing(self) -> dict[str, Any]:
        """By the first of the links that skip."""
        self.page.evaluate("document.activeElement.blur(); window.scrollTo(0, 0)")
        at = self.tab_to("To the drawing")
        self.page.keyboard.press("Enter")
        while not at["drawing"]:
            at = self.press("Tab")
        return at

    def walk_to(self, title: str) -> None:
        """With the arrow keys through the drawing to an element, on the way with the fewest of them."""
        steps = self.page.evaluate(WALK)
        name = next((each for each in steps if each.startswith(f"{title},")), None)
        assert name, f"the arrow keys do not lead to {title!r}"
        self.press(*steps[name])
        assert self.focus()["name"] == name


WALK = """() => {
  const drawing = document.getElementById("drawing");
  const pressed = (key) => new KeyboardEvent("keydown", {key, bubbles: true, cancelable: true});
  const press = (key) => document.activeElement.dispatchEvent(pressed(key));
  const start = document.activeElement;
  const steps = new Map([[start, []]]);
  for (const from of steps.keys()) {
    for (const key of ["ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown"]) {
      from.focus();
      press(key);
      const to = document.activeElement;
      if (!steps.has(to)) steps.set(to, [...steps.get(from), key]);
    }
  }
  start.focus();
  return Object.fromEntries([...steps].map(([node, keys]) => [node.getAttribute("aria-label"), keys]));
}"""
"""Every element that the arrow keys lead to from where the focus is, with the keys that lead there."""


@pytest.fixture
def keys(opened: Callable[..., Page], street: str) -> Keys:
    page = opened(street)
    page.set_default_timeout(10_000)
    return Keys(page)


def test_the_links_at_the_top_skip_to_the_parts(keys: Keys) -> None:
    assert keys.press("Tab")["name"] == "To the drawing"
    keys.page.keyboard.press("Enter")
    assert keys.press("Tab")["drawing"]
    keys.page.reload()
    keys.board.settle()
    keys.press("Tab", "Tab")
    keys.page.keyboard.press("Enter")
    assert keys.press("Tab")["panel"] == "panel-findings"
    keys.page.reload()
    keys.board.settle()
    keys.press("Tab", "Tab", "Tab")
    keys.page.keyboard.press("Enter")
    assert keys.press("Tab")["name"] == "State before"


def test_tab_goes_round_the_whole_page_and_back_and_stops_once_in_the_drawing(keys: Keys) -> None:
    names, stops = [], 0
    for _ in range(200):
        keys.page.keyboard.press("Tab")
        at = keys.focus()
        if at["lost"]:  # past the last: the browser's own bar
            break
        assert at["shown"], at
        assert at["inside"], at
        names.append(at["name"])
        stops += at["drawing"]
    else:
        raise AssertionError("Tab does not come to the end of the page")
    assert stops == 1
    wanted = {
        "To the drawing",
        "Target",
        "Unit",
        "Compare",
        "Print",
        "Larger",
        "Legend",
        "Findings",
        "State after",
        "Play",
    }
    assert wanted <= set(names), wanted - set(names)
    returned = []
    for _ in range(200):
        keys.page.keyboard.press("Shift+Tab")
        at = keys.focus()
        if at["lost"]:
            break
        returned.append(at["name"])
    assert returned[::-1][-len(names) :] == names or returned == names[::-1]


def test_the_arrow_keys_lead_to_every_space_and_passage(keys: Keys) -> None:
    """Followed from each element in all four directions, as a graph: all of it hangs together."""
    keys.to_drawing()
    reached = keys.page.evaluate(WALK)
    said = keys.board.said()
    assert set(said["spaces"] + said["ways"] + said["diaphragms"]) == set(reached)


def test_plug_a_passage_undo_and_redo_it(keys: Keys) -> None:
    keys.to_drawing()
    keys.walk_to("primary bowl vent into the air horn")
    at = keys.press("Enter")
    assert at["panel"] == "panel-look"
    assert at["name"] == "Primary bowl vent into the air horn"
    keys.tab_to("Plugged")
    at = keys.press("Enter")
    assert at["panel"] == "panel-look", "the focus stays where the change was made"
    answer = answer_record(study_of(STREET), Asked("blow_through", "found", {"primary.bowl_vent": "plugged"}))
    counts = [f"{answer['verdict'].get(each, 0)} {each.upper()}" for each in ("stop", "fix", "advise")]
    assert keys.board.said()["counts"] == counts
    keys.press("Control+z")
    assert keys.board.said()["counts"] != counts
    assert keys.board.said()["changes"] == []
    keys.press("Control+Shift+z")
    assert keys.board.said()["counts"] == counts
    assert keys.press("Escape")["drawing"], "Escape goes back to the drawing"


def test_steps_through_the_states(keys: Keys) -> None:
    answer = answer_record(study_of(STREET), Asked("blow_through", "found", {}))
    states = scene_of(STREET, "blow_through")["states"]
    titles = [each["title"] for name, each in states.items() if name in answer["states"]]
    keys.to_drawing()
    seen = []
    for _ in titles:
        keys.press(".")
        seen.append(keys.board.said()["title"].lower())
    assert sorted(seen) == sorted(title.lower() for title in titles)
    keys.press(",")
    assert keys.board.said()["title"].lower() == seen[-2]
    keys.press("p")
    assert keys.page.get_by_role("button", name="Stop", exact=True).get_attribute("aria-pressed") == "true"
    keys.press("p")
    keys.tab_to(re.escape(titles[0].capitalize()))
    at = keys.press("Enter", "ArrowRight")
    assert at["name"].lower() == titles[1].lower()
    assert keys.board.said()["title"].lower() == titles[1].lower()


def test_turns_the_dials(keys: Keys) -> None:
    keys.page.evaluate("document.activeElement.blur()")
    keys.tab_to("Dial your own")
    keys.press("Enter")
    assert keys.board.said()["title"].lower() == "at the dials"
    keys.tab_to("Throttle")
    before = keys.focus()
    with keys.page.expect_response("**/dial"):
        keys.press("Home")
    keys.page.wait_for_timeout(200)
    assert keys.focus() == before
    scene = scene_of(STREET, "blow_through")
    dialed = {**scene["dial"]["at"], "throttle": 0.0}
    now = dial_record(study_of(STREET), Asked("blow_through", "found", {}), **dialed)["state"]
    said = keys.board.said()
    for (name, space), label, drawn in zip(scene["spaces"].items(), said["spaces"], said["numbers"], strict=True):
        if name in now["spaces"]:
            assert label.startswith(f"{space['title']}, {drawn} kPa gauge")
            assert same_range(drawn, now["spaces"][name], "kPa", scene["ambient_pa"]), (label, now["spaces"][name])
        else:
            assert label.startswith(f"{space['title']}{UNKNOWN}")
            assert drawn in {"", "\u2013"}


def test_goes_along_the_tabs(keys: Keys) -> None:
    keys.tab_to("Findings")
    names = [keys.press("ArrowRight")["name"] for _ in range(6)]
    assert names == ["Look", "Changes", "Everything", "Lesson", "Hunt", "Findings"]
    assert keys.press("ArrowLeft")["name"] == "Hunt"
    assert keys.page.get_by_role("tab", selected=True).inner_text() == "Hunt"


def test_answers_a_whole_lesson(keys: Keys) -> None:
    keys.tab_to("Findings")
    keys.press("ArrowRight", "ArrowRight", "ArrowRight", "ArrowRight")
    keys.tab_to("Begin")
    keys.press("Enter")
    for question in range(1, 9):
        keys.board.panel("Lesson").get_by_text(f"Question {question} of 8").wait_for()
        keys.page.wait_for_timeout(50)
        first = keys.board.panel("Lesson").locator(".choices button").first.inner_text()
        keys.page.get_by_role("tab", selected=True).focus()
        keys.tab_to(re.escape(first.split("\n")[0]))
        assert keys.press("Enter")["panel"] == "panel-lesson"
        if question < 8:
            keys.tab_to("Next")
            assert keys.press("Enter")["panel"] == "panel-lesson"
    assert "of 8." in keys.board.panel("Lesson").locator(".score").inner_text()


def test_plays_a_hunt_to_its_end(keys: Keys) -> None:
    keys.tab_to("Findings")
    keys.press("ArrowLeft")
    keys.tab_to("Begin")
    keys.press("Enter")
    keys.board.panel("Hunt").get_by_text("suspects left").wait_for()
    keys.page.get_by_role("tab", selected=True).focus()
    keys.tab_to("Do it: ")
    at = keys.press("Enter")
    assert at["panel"] == "panel-hunt"
    assert keys.board.panel("Hunt").get_by_text("This one").count() == 1
    keys.tab_to("Accuse: ")
    assert keys.press("Enter")["panel"] == "panel-hunt"
    assert keys.board.panel("Hunt").get_by_text(re.compile("^(Found, in|It was another one)")).count() == 1


def test_the_help_takes_the_focus_keeps_it_and_gives_it_back(keys: Keys) -> None:
    keys.to_drawing()
    before = keys.focus()["name"]
    keys.page.keyboard.press("?")
    assert keys.focus()["dialog"]
    for _ in range(4):
        keys.page.keyboard.press("Tab")
        at = keys.focus()
        assert at["dialog"] or at["lost"], "behind the dialog nothing can be reached"  # lost: the browser's own bar
    for words in ("Arrow keys in the drawing", "Ctrl+Z", "Escape"):
        assert keys.page.get_by_role("dialog").get_by_text(words).first.is_visible()
    keys.page.keyboard.press("Escape")
    assert keys.page.get_by_role("dialog").count() == 0
    assert keys.focus()["name"] == before


def test_finds_and_changes_what_is_not_in_the_drawing(keys: Keys) -> None:
    keys.tab_to("Findings")
    keys.press("ArrowRight", "ArrowRight", "ArrowRight")
    keys.tab_to("Search")
    keys.page.keyboard.type("fuel filters")
    assert keys.focus()["name"] == "Search", "typing stays in the field"
    keys.tab_to("Fuel filters")
    at = keys.press("Enter")
    assert at["panel"] == "panel-look"
    keys.tab_to("None")
    keys.press("Enter")
    assert len(keys.board.said()["changes"]) == 1


def test_taking_a_change_back_in_the_list_does_not_lose_the_focus(keys: Keys) -> None:
    keys.board.make(scene_of(STREET, "blow_through"), "primary.bowl_vent", "plugged")
    keys.page.get_by_role("tab", selected=True).focus()
    keys.press("ArrowRight")
    keys.tab_to("Remove: ")
    assert keys.press("Enter")["panel"] == "panel-changes"
    assert keys.board.said()["changes"] == []


def test_the_buttons_at_the_top_that_switch_themselves_off_do_not_lose_the_focus(keys: Keys) -> None:
    keys.board.make(scene_of(STREET, "blow_through"), "primary.bowl_vent", "plugged")
    keys.board.page.get_by_role("tab", selected=True).focus()
    keys.tab_to("Undo", back=True)
    assert not keys.press("Enter")["lost"]
    keys.press("Tab")


def test_picking_another_carburetor_keeps_the_focus_on_the_list(keys: Keys) -> None:
    keys.tab_to("Carburetor")
    assert keys.press("ArrowDown")["name"].startswith("Carburetor")
    assert keys.page.locator("header").get_by_role("combobox", name="Carburetor").input_value() == "planned"


def test_shows_a_finding_on_the_drawing_and_clears_it(keys: Keys) -> None:
    keys.tab_to("Findings")
    keys.tab_to("STOP")
    keys.press("Enter")
    assert keys.page.get_by_role("button", name="Clear", exact=True).is_visible()
    keys.tab_to("Show on the drawing")
    keys.press("Enter", "Escape")
    assert not keys.page.get_by_role("button", name="Clear", exact=True).is_visible()
