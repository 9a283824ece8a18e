"""A board as somebody uses it: by roles and names, and what it says as text."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from boostcarb.board.scene import scene_record
from boostcarb.board.study import Study
from boostcarb.description.library import read_job

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

NO_NETWORK = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--force-color-profile=srgb",
]  # fmt: skip
"""How Chromium is started: it asks nothing of anybody by itself."""

SCENARIOS = Path(__file__).parents[2] / "scenarios"
STREET = SCENARIOS / "street_blow_through.yaml"
STOCK = SCENARIOS / "back_to_naturally_aspirated.yaml"

PA = {"kPa": 1000.0, "psi": 6894.757, "inHg": 3386.389}
"""NIST SP 811 (2008), appendix B.8: pound-force per square inch, and inch of mercury, conventional, to pascal."""

UNKNOWN = ", no pressure given"
"""What the label of a space says of which the model gives no pressure."""

_STUDIES: dict[Path, Study] = {}


def study_of(job: Path) -> Study:
    """A job under study, read once."""
    if job not in _STUDIES:
        _STUDIES[job] = Study.of(read_job(job))
    return _STUDIES[job]


def scene_of(job: Path, mode: str) -> dict[str, Any]:
    """What does not change on the board of a job."""
    return dict(scene_record(study_of(job), mode))


def capital(text: str) -> str:
    """As a title is written on a button."""
    return text[0].upper() + text[1:]


def number(text: str) -> float:
    """A number as the page writes it."""
    assert re.fullmatch(r"[+\u2212]?\d+(\.\d+)?", text), f"no number: {text!r}"
    return float(text.replace("\u2212", "-"))


def same_range(shown: str, pa: Sequence[float], unit: str, ambient: float | None) -> bool:
    """Whether a text such as "-16 to +29" is a range of absolute pressures, to half of its last digit.

    Args:
        shown: in the unit; over the atmosphere where `ambient` (Pa) is given, else absolute.
        pa: low and high, Pa absolute.
    """
    parts = shown.split(" to ")
    wanted = [(each - (ambient or 0.0)) / PA[unit] for each in pa]
    if len(parts) == 1:
        parts *= 2
    places = len(parts[0].partition(".")[2])
    assert ambient is None or all(number(each) <= 0 or each[0] == "+" for each in parts), shown
    return all(abs(number(part) - want) <= 0.5 * 10**-places + 1e-6 for part, want in zip(parts, wanted, strict=True))


def unnumbered(said: Mapping[str, Any]) -> list[str]:
    """Labels of spaces that show no number and do not say that there is none."""
    pairs = zip(said["spaces"], said["numbers"], strict=True)
    return [label for label, drawn in pairs if drawn in {"", "\u2013"} and UNKNOWN not in label]


class Board:
    """A page with a board on it."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.settle()

    def settle(self) -> None:
        """Waits until what was asked is shown."""
        self.page.wait_for_function(
            """() => document.getElementById("loading").hidden
                && document.querySelector("main").getAttribute("aria-busy") !== "true" """
        )

    def button(self, name: str, *, exact: bool = True) -> Locator:
        """A button of the page, not of the drawing, by its name."""
        return self.page.locator("button").and_(self.page.get_by_role("button", name=name, exact=exact))

    def open(self, tab: str) -> Locator:
        """Opens a tab ("Findings", "Changes"...); gives its panel."""
        self.page.get_by_role("tab", name=re.compile(f"^{tab}")).click()
        return self.panel(tab)

    def panel(self, tab: str) -> Locator:
        """The panel of a tab."""
        return self.page.get_by_role("tabpanel", name=re.compile(f"^{tab}"))

    def in_drawing(self, title: str) -> Locator:
        """A space, passage or diaphragm of the drawing by its title."""
        drawing = self.page.get_by_role("group", name=re.compile("^Drawing of the carburetor"))
        return drawing.get_by_role("button", name=re.compile(rf"^{re.escape(title)}[,:]")).first

    def pick(self, label: str, option: str) -> None:
        """Picks in one of the lists at the head of the page."""
        self.page.locator("header").get_by_role("combobox", name=label, exact=True).select_option(option)
        self.settle()

    def go(self, state: str) -> None:
        """Goes to a state by its title."""
        name = re.compile(f"^{re.escape(state)}$", re.IGNORECASE)
        self.page.get_by_role("navigation", name="States").get_by_role("button", name=name).click()

    def everything(self, item: str, title: str) -> None:
        """Looks an item up in the list of everything, and chooses it."""
        panel = self.open("Everything")
        panel.get_by_label("Search").fill(title)
        link = panel.locator(f'[data-keep="item {item}"]')
        assert link.inner_text() == title
        link.click()

    def give(self, item: str, form: str) -> None:
        """Gives what is chosen another form."""
        self.panel("Look").locator(f'[data-keep="form {item} {form}"]').click()
        self.settle()

    def make(self, scene: Mapping[str, Any], item: str, form: str) -> None:
        """Makes one change, by way of the list of everything."""
        self.everything(item, scene["items"][item]["title"])
        self.give(item, form)

    def said(self) -> dict[str, Any]:
        """Everything that is said of what stands on the board, as text: labels of the drawing, verdict, mixtures."""
        return dict(self.page.evaluate(_SAID))


_SAID = """() => {
  const label = (node) => node.getAttribute("aria-label");
  const seen = (node) => !node.classList.contains("hidden");
  const all = (kind) => [...document.querySelectorAll(`#drawing .${kind}[role=button]`)].filter(seen).map(label);
  const text = (query) => [...document.querySelectorAll(query)].map((node) => node.textContent.trim());
  return {
    spaces: all("space"), ways: all("way"), diaphragms: all("diaphragm"),
    numbers: text("#drawing .words .number"),
    title: document.getElementById("state-title").textContent,
    facts: document.getElementById("state-facts").textContent,
    mixtures: Object.fromEntries([...document.querySelectorAll("#mixtures li")].map((li) =>
      [li.querySelector(".group").textContent, li.querySelector("strong").textContent])),
    counts: text("#verdict .count"),
    findings: [...document.querySelectorAll("#panel-findings .findings:not(.gone) > li")].map((li) =>
      [li.querySelector(".badge").textContent, li.querySelector(".finding-title").textContent,
        li.querySelector(".place").textContent, Boolean(li.querySelector(".badge.new"))]),
    gone: text("#panel-findings .findings.gone .finding-title"),
    tab: document.getElementById("tab-changes").textContent,
    changes: [...document.querySelectorAll("#panel-changes .made > li")].map((li) =>
      [li.querySelector("button").textContent, li.querySelector("strong").textContent]),
    trouble: document.getElementById("trouble").hidden ? "" : document.getElementById("trouble").innerText,
  };
}"""
