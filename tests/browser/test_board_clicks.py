"""Two hundred random clicks; after each, the page says what Python answers."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from board_in_use import STOCK, STREET, UNKNOWN, Board, capital, number, same_range, scene_of, study_of, unnumbered

from boostcarb.board.answer import answer_record
from boostcarb.board.study import Asked

if TYPE_CHECKING:
    from playwright.sync_api import Page

SEVERITIES = ("stop", "fix", "advise")
UNITS = {"kPa": "kpa", "psi": "psi", "inHg": "inhg"}


def python_says(job: Path, mode: str, base: str, changes: Mapping[str, str]) -> dict[str, Any]:
    return dict(answer_record(study_of(job), Asked(mode, base, dict(changes))))


def hold_against(
    said: Mapping[str, Any], answer: Mapping[str, Any], scene: Mapping[str, Any], state: str, unit: str, gauge: bool
) -> None:
    """Everything the page says, against what Python answers."""
    assert said["title"].lower() == scene["states"][state]["title"].lower()
    now = answer["states"][state]
    pressures(said, now, scene, unit, scene["ambient_pa"] if gauge else None)
    passages(said, answer, now, scene)
    diaphragms(said, now, scene)
    mixtures(said, now)
    findings(said, answer)


def pressures(
    said: Mapping[str, Any], now: Mapping[str, Any], scene: Mapping[str, Any], unit: str, ambient: float | None
) -> None:
    counted = "absolute" if ambient is None else "gauge"
    assert len(said["spaces"]) == len(scene["spaces"]) == len(said["numbers"])
    for (name, space), label, drawn in zip(scene["spaces"].items(), said["spaces"], said["numbers"], strict=True):
        assert label.startswith(f"{space['title']}, ")
        if name in now["spaces"]:
            shown, rest = label.removeprefix(f"{space['title']}, ").split(f" {unit} {counted}")
            assert shown == drawn
            assert same_range(shown, now["spaces"][name], unit, ambient), (label, now["spaces"][name])
        else:
            rest = label.partition(UNKNOWN)[2]
            assert drawn in {"", "\u2013"}
        assert (now["natures"].get(name, "") or ", can hold") in rest
        worst = [each.replace("vapor", "fuel vapor").replace("_", " ") for each in now["contents"][name]]
        assert rest.endswith(f"can hold {', '.join(worst) or 'air'}"), label


def passages(
    said: Mapping[str, Any], answer: Mapping[str, Any], now: Mapping[str, Any], scene: Mapping[str, Any]
) -> None:
    """Every line of the drawing tells of one of its ways what Python says; every open way has a line that tells."""
    titles: dict[str, list[str]] = {}
    for name, way in scene["ways"].items():
        titles.setdefault(way["title"], []).append(name)
    routes: dict[str, set[str]] = {}
    for name, way in scene["ways"].items():
        if way.get("route"):
            routes.setdefault(str(sorted([way["route"], way["route"][::-1]])), set()).add(name)
    shown = set()
    for label in said["ways"]:
        title = max((each for each in titles if label.startswith(f"{each}, ")), key=len)
        wordings = {name: way_words(name, answer, now, scene) for name in titles[title]}
        matching = {name for name, (how, moves) in wordings.items() if f", {how}" in label and label.endswith(moves)}
        assert matching, (label, wordings)
        shown |= matching
    opened = {name for name, way in answer["ways"].items() if way["how"] == "open"}
    for together in routes.values():
        assert not together & opened or together & opened & shown, f"open, and not on the drawing: {together}"


def way_words(
    name: str, answer: Mapping[str, Any], now: Mapping[str, Any], scene: Mapping[str, Any]
) -> tuple[str, str]:
    """What is to be said of a way: how it stands, and how its label ends."""
    way, how = scene["ways"][name], answer["ways"][name]["how"]
    flow = now["flows"].get(name)
    if flow:
        return how, f"flows toward {scene['spaces'][way['b' if flow > 0 else 'a']]['title']}"
    return how, " now" if how == "open" and name in now["shut"] else how


def diaphragms(said: Mapping[str, Any], now: Mapping[str, Any], scene: Mapping[str, Any]) -> None:
    assert len(said["diaphragms"]) == len(now["diaphragms"])
    for name, each in now["diaphragms"].items():
        title = scene["diaphragms"][name]["title"]
        label = next(label for label in said["diaphragms"] if label.startswith(f"{title}:"))
        assert f", valve {each['valve']}" in label if "valve" in each else "valve" not in label.removeprefix(title), (
            label
        )
        assert ("overloaded" in label) == (each.get("over_pa", 0) > 0)
        if each["moves"] in {"first", "second"}:
            toward = scene["spaces"][scene["diaphragms"][name][each["moves"]]]["title"]
            assert f"pushed toward {toward}," in label


def mixtures(said: Mapping[str, Any], now: Mapping[str, Any]) -> None:
    assert set(said["mixtures"]) == set(now["mixture"])
    for group, mixture in now["mixture"].items():
        shown = said["mixtures"][group].removeprefix("\u03bb ")
        if "leanest" not in mixture:
            assert shown == "not known"
            continue
        parts = [number(each) for each in shown.split(" to ")]
        assert parts[0] == pytest.approx(mixture["richest"], abs=0.00501)
        assert parts[-1] == pytest.approx(mixture["leanest"], abs=0.00501)


def findings(said: Mapping[str, Any], answer: Mapping[str, Any]) -> None:
    assert said["counts"] == [f"{answer['verdict'].get(each, 0)} {each.upper()}" for each in SEVERITIES]
    wanted = [
        (each["severity"].upper(), each["title"], f"{each['place']}: {each['statement']}", bool(each.get("new")))
        for each in answer["findings"].values()
    ]
    assert sorted(map(tuple, said["findings"])) == sorted(wanted)
    assert sorted(said["gone"]) == sorted(each["title"] for each in answer["gone"].values())


class Clicker:
    """Clicks about, and keeps count of what must stand on the board."""

    def __init__(self, board: Board, job: Path, seed: int) -> None:
        self.board, self.job, self.dice = board, job, random.Random(seed)
        self.mode, self.base, self.unit, self.gauge = study_of(job).read.job.target, "found", "kPa", True
        self.scene = scene_of(job, self.mode)
        self.state = next(name for name, each in self.scene["states"].items() if each["title"] == "idle")
        board.go("idle")
        self.changes: dict[str, str] = {}
        self.past: list[dict[str, str]] = []
        self.future: list[dict[str, str]] = []
        self.made: list[str] = []

    def answer(self) -> dict[str, Any]:
        return python_says(self.job, self.mode, self.base, self.changes)

    def one(self) -> None:
        """One random act."""
        acts = [self.change] * 11 + [self.change_in_drawing] * 5 + [self.undo] * 3 + [self.redo] * 2
        acts += [self.remove] * 2 + [self.step] * 3 + [self.go] * 2 + [self.units] * 2 + [self.rebase]
        if self.dice.random() < 0.015:
            self.target()
        else:
            act = self.dice.choice(acts)
            self.made.append(act.__name__)
            act()

    def form_of(self, item: str, *, base: bool = False) -> str:
        configuration = study_of(self.job).bases(self.mode)[self.base]
        return configuration[item] if base else self.changes.get(item, configuration[item])

    def there(self) -> list[str]:
        """Items that are there as things stand."""
        items = self.scene["items"]
        return [
            name for name, each in items.items()
            if all(self.form_of(other) in forms for other, forms in each.get("on", {}).items())
        ]  # fmt: skip

    def put(self, item: str, form: str) -> None:
        """Counts a change that has been clicked, and the word that must come where it cannot be."""
        after = {**self.changes, item: form}
        if form == self.form_of(item, base=True):
            del after[item]
        refused = python_says(self.job, self.mode, self.base, after).get("refused")
        if refused:
            assert refused["what"] in self.board.said()["trouble"]
            return
        self.past.append(self.changes)
        self.future, self.changes = [], after

    def change(self) -> None:
        item = self.dice.choice([name for name in self.there() if len(self.scene["items"][name]["forms"]) > 1])
        form = self.dice.choice([each for each in self.scene["items"][item]["forms"] if each != self.form_of(item)])
        self.board.make(self.scene, item, form)
        self.put(item, form)

    def change_in_drawing(self) -> None:
        """Something in the drawing, clicked on, then one of the forms that are shown."""
        drawn = self.board.page.locator("#drawing .way[role=button]:not(.hidden), #drawing .diaphragm:not(.hidden)")
        drawn.nth(self.dice.randrange(drawn.count())).click()
        forms = self.board.panel("Look").locator("button.form[aria-pressed=false]")
        if not forms.count():
            return
        button = forms.nth(self.dice.randrange(forms.count()))
        _, item, form = str(button.get_attribute("data-keep")).split(" ")
        assert button.inner_text().startswith(capital(self.scene["items"][item]["forms"][form]["title"]))
        button.click()
        self.board.settle()
        self.put(item, form)

    def undo(self) -> None:
        button = self.board.button("Undo").first
        assert button.is_enabled() == bool(self.past)
        if self.past:
            button.click()
            self.board.settle()
            self.future.append(self.changes)
            self.changes = self.past.pop()

    def redo(self) -> None:
        button = self.board.button("Redo").first
        assert button.is_enabled() == bool(self.future)
        if self.future:
            button.click()
            self.board.settle()
            self.past.append(self.changes)
            self.changes = self.future.pop()

    def remove(self) -> None:
        if not self.changes:
            return
        panel = self.board.open("Changes")
        item = self.dice.choice(list(self.changes))
        panel.locator(f'[data-keep="remove {item}"]').click()
        self.board.settle()
        self.put(item, self.form_of(item, base=True))

    def there_are(self) -> list[str]:
        """States that come about with these parts, in their order."""
        return [name for name in self.scene["states"] if name in self.answer()["states"]]

    def step(self) -> None:
        names = self.there_are()
        self.state = names[(names.index(self.state) + 1) % len(names)]
        self.board.button("State after").click()

    def go(self) -> None:
        self.state = self.dice.choice(self.there_are())
        self.board.go(self.scene["states"][self.state]["title"])

    def units(self) -> None:
        self.unit = self.dice.choice(list(UNITS))
        self.gauge = self.dice.random() < 0.5
        self.board.pick("Unit", UNITS[self.unit])
        self.board.pick("Counted from", "gauge" if self.gauge else "absolute")

    def rebase(self) -> None:
        others = [each for each in self.scene["bases"] if each != self.base]
        if others:
            self.base = self.dice.choice(others)
            self.board.pick("Carburetor", self.base)
            self.changes, self.past, self.future = {}, [], []

    def target(self) -> None:
        self.mode = self.dice.choice([each for each, why in study_of(self.job).modes().items() if why is None])
        self.scene = scene_of(self.job, self.mode)
        if (
            self.mode
            == self.board.page.locator("header").get_by_role("combobox", name="Target", exact=True).input_value()
        ):
            return
        self.board.pick("Target", self.mode)
        self.changes, self.past, self.future = {}, [], []
        self.base = (
            self.board.page.locator("header").get_by_role("combobox", name="Carburetor", exact=True).input_value()
        )
        self.made.append("target")

    def check(self) -> None:
        said, answer = self.board.said(), self.answer()
        if self.state not in answer["states"]:  # gone with a part: the page has gone to another
            shown = [name for name, each in self.scene["states"].items() if capital(each["title"]) == said["title"]]
            assert shown, said["title"]
            assert shown[0] in answer["states"], f"shows a state that cannot be: {shown[0]}"
            self.state = shown[0]
        hold_against(said, answer, self.scene, self.state, self.unit, self.gauge)
        titles = [
            [self.scene["items"][item]["title"], self.scene["items"][item]["forms"][form]["title"]]
            for item, form in self.changes.items()
        ]
        assert said["changes"] == titles
        assert said["tab"] == (f"Changes ({len(titles)})" if titles else "Changes")


@pytest.mark.parametrize("seed", [20, 26])
def test_after_every_one_of_a_hundred_clicks_the_page_says_what_python_answers(
    opened: Callable[..., Page], street: str, seed: int
) -> None:
    """Two runs: two hundred clicks."""
    page = opened(street)
    page.set_default_timeout(10_000)
    clicker = Clicker(Board(page), STREET, seed)
    clicker.check()
    for _ in range(100):
        clicker.one()
        try:
            clicker.check()
        except (AssertionError, KeyError) as error:
            error.add_note(f"after {clicker.made}, with {clicker.changes}")
            raise
    assert {"change", "change_in_drawing", "undo", "redo", "remove", "rebase"} <= set(clicker.made)


def test_every_state_that_can_be_gone_to_has_all_its_numbers(opened: Callable[..., Page], street: str) -> None:
    board = Board(opened(street))
    answer = python_says(STREET, "blow_through", "found", {})
    states = scene_of(STREET, "blow_through")["states"]
    buttons = board.page.get_by_role("navigation", name="States").locator("#strip button:enabled")
    reached = set()
    for index in range(buttons.count() - 1):  # the last one opens the dials
        buttons.nth(index).click()
        said = board.said()
        reached.add(said["title"].lower())
        assert unnumbered(said) == [], said["title"]
    assert reached == {states[name]["title"].lower() for name in answer["states"]}


def test_what_feels_a_space_is_lit_as_in_the_state_shown(opened: Callable[..., Page], street: str) -> None:
    """As planned a switch leads the power valve chamber to the air horn in boost, and to the manifold at idle."""
    board = Board(opened(street))
    board.pick("Carburetor", "planned")
    board.go("Full boost at the torque peak")
    board.in_drawing("air horn").click()
    board.button("What feels it?").click()
    words = board.page.locator("#lit-words")
    words.wait_for()
    in_boost = words.inner_text()
    assert "primary power valve chamber" in board.panel("Look").inner_text()
    assert "; only in: " in board.panel("Look").inner_text()
    board.go("Idle")
    assert words.inner_text() != in_boost, "lit as before, though the switch has moved"
    board.go("Full boost at the torque peak")
    assert words.inner_text() == in_boost


def test_an_answer_that_comes_late_does_not_land_on_another_base(opened: Callable[..., Page], street: str) -> None:
    page = opened(street)
    board = Board(page)
    board.go("idle")
    scene = scene_of(STREET, "blow_through")
    board.everything("primary.bowl_vent", scene["items"]["primary.bowl_vent"]["title"])
    held: list[Any] = []

    def hold(route: Any) -> None:
        held.append(route)

    page.route("**/answer", hold)
    button = board.panel("Look").locator('[data-keep="form primary.bowl_vent plugged"]')
    with page.expect_request("**/answer"):
        button.click()
    page.locator("header").get_by_role("combobox", name="Carburetor", exact=True).select_option("planned")
    with page.expect_response("**/answer"):
        held[0].continue_()
    page.wait_for_timeout(300)
    hold_against(board.said(), python_says(STREET, "blow_through", "planned", {}), scene, "idle", "kPa", True)


def test_the_file_answers_every_kind_of_single_change_and_refuses_two_kindly(
    opened: Callable[..., Page], packed: Path
) -> None:
    """Fifteen single changes, drawn by lot, each held against Python; then a second on top of the first."""
    page = opened(packed.as_uri())
    board = Board(page)
    clicker = Clicker(board, STOCK, 3)
    clicker.check()
    for _ in range(15):
        clicker.change()
        clicker.check()
        if clicker.changes:
            clicker.undo()
    clicker.change()
    before = dict(clicker.changes)
    assert before
    other = next(each for each in ("fuel_filters", "air_filter") if each not in before)
    board.make(clicker.scene, other, "none")
    assert "one change at a time" in board.said()["trouble"]
    assert "boostcarb board JOB" in board.said()["trouble"]
    clicker.check()
    assert clicker.changes == before
