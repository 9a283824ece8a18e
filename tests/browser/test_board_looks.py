"""How the board looks: on a phone, enlarged, on paper, with long names, without color, without motion."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from board_in_use import STOCK, STREET, Board, scene_of

if TYPE_CHECKING:
    from playwright.sync_api import Page

SIZES = {
    "phone": {"width": 390, "height": 844},
    "narrowest": {"width": 320, "height": 640},
    "enlarged": {"width": 640, "height": 400},
    "phone on its side": {"width": 844, "height": 390},
}
OVERFLOWING = """() => {
  const wide = document.documentElement.clientWidth;
  const scrolls = (node) => node && node !== document.body
    && (["auto", "scroll", "hidden"].includes(getComputedStyle(node).overflowX) || scrolls(node.parentElement));
  const all = [...document.querySelectorAll("body *:not(svg *)")];
  return [document.documentElement.scrollWidth - wide, all.filter((node) => {
    const box = node.getBoundingClientRect();
    return box.width > 0 && box.right > wide + 1 && !scrolls(node.parentElement) && !node.closest(".unseen, .skip");
  }).map((node) => `${node.tagName} ${node.id} ${node.className}`)];
}"""


@pytest.mark.parametrize("size", SIZES.values(), ids=list(SIZES))
def test_the_page_itself_never_scrolls_sideways(opened: Callable[..., Page], street: str, size: dict[str, int]) -> None:
    """WCAG 2.2, 1.4.10: down to 320 pixels; 640 is 1280 enlarged to 200 % (1.4.4)."""
    board = Board(opened(street, viewport=size))
    for tab in ("Findings", "Look", "Changes", "Everything", "Lesson", "Hunt"):
        board.open(tab)
        assert board.page.evaluate(OVERFLOWING) == [0, []], tab
    board.in_drawing("primary bowl").click()
    board.button("Compare").click()
    board.page.get_by_role("region", name="Differences").get_by_role("listitem").first.wait_for()
    board.button("Legend").click()
    assert board.page.evaluate(OVERFLOWING) == [0, []]
    board.button("Help with keys").click()
    box = board.page.get_by_role("dialog").bounding_box()
    assert box
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= size["width"]


@pytest.mark.parametrize("size", SIZES.values(), ids=list(SIZES))
def test_everything_can_be_done_on_a_small_screen(
    opened: Callable[..., Page], street: str, size: dict[str, int]
) -> None:
    """A change, its verdict, another state: with taps alone."""
    board = Board(opened(street, viewport=size, has_touch=True))
    board.page.set_default_timeout(8_000)
    before = board.said()["counts"]
    board.make(scene_of(STREET, "blow_through"), "primary.bowl_vent", "plugged")
    assert board.said()["counts"] != before
    board.button("Undo").first.tap()
    board.settle()
    assert board.said()["counts"] == before
    board.go("idle")
    assert board.said()["title"] == "Idle"
    assert board.page.locator("#drawing .target:not(.hidden)").count() > 80
    numbers = board.page.evaluate(
        """() => [...document.querySelectorAll("#drawing .number")].filter((node) => node.textContent)
            .map((node) => node.getBoundingClientRect().height)"""
    )
    assert len(numbers) > 40
    assert min(numbers) >= 9, "numbers in the drawing are too small to read"


def test_a_tap_on_the_drawing_opens_what_was_tapped(opened: Callable[..., Page], street: str) -> None:
    board = Board(opened(street, viewport=SIZES["phone"], has_touch=True, is_mobile=True))
    board.in_drawing("primary bowl").tap()
    assert board.panel("Look").get_by_role("heading", name="Primary bowl", exact=True).is_visible()


def test_nothing_of_the_head_lies_over_another_when_enlarged(opened: Callable[..., Page], street: str) -> None:
    """Enlarged to 200 %, no text of the head lies over another."""
    board = Board(opened(street, viewport=SIZES["enlarged"], device_scale_factor=2))
    over = board.page.evaluate(
        """() => {
          const parts = "#head button, #head select, h1, #state-title, #verdict .count, #mixtures li";
          const nodes = [...document.querySelectorAll(parts)]
            .filter((node) => node.getClientRects().length)
            .map((node) => [node.textContent, node.getBoundingClientRect(), node.parentElement.id]);
          const inside = (box) => box.left < innerWidth && box.top < innerHeight && box.right > 0;
          const meet = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 2
            && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 2;
          return nodes.filter(([, a, own], at) => inside(a) && nodes.some(([, b, parent], other) =>
            other > at && inside(b) && parent !== own && meet(a, b)))
            .map(([text]) => text);
        }"""
    )
    assert over == []


@pytest.fixture(scope="module")
def long_named(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job with a title of 120 letters, with a word of 60 in it, and with notes of a page."""
    title = "Long-owned-and-much-altered-touring-car-with-everything-on-it "
    title += "which was in the family since it was new; now it goes back"
    assert len(title) == 120, "the longest that a job may have"
    text = STOCK.read_text(encoding="utf-8")
    text = re.sub(r"^job:.*$", f"job: {title}", text, count=1, flags=re.MULTILINE)
    notes = "A long story, told in full. " * 70
    text = re.sub(r"^notes: >\n(?:  .*\n)+", f"notes: >\n  {notes}\n", text, count=1, flags=re.MULTILINE)
    job = tmp_path_factory.mktemp("long") / "long.yaml"
    job.write_text(text, encoding="utf-8")
    return job


@pytest.mark.parametrize("size", [{"width": 1440, "height": 900}, SIZES["narrowest"]], ids=["desk", "narrowest"])
def test_long_names_break_nothing_and_can_be_read(
    opened: Callable[..., Page], serve: Callable[[Path], str], long_named: Path, size: dict[str, int]
) -> None:
    board = Board(opened(serve(long_named), viewport=size))
    assert board.page.evaluate(OVERFLOWING) == [0, []]
    heading = board.page.get_by_role("heading", level=1)
    assert heading.inner_text().startswith("Long-owned")
    box = heading.bounding_box()
    assert box
    assert box["height"] < 0.2 * size["height"], "the title leaves room for the board"
    assert heading.get_attribute("title") == heading.text_content()
    drawing = board.page.locator("#drawing").bounding_box()
    assert drawing
    assert drawing["height"] > 0.35 * size["height"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_names_and_numbers_stay_inside_their_boxes(opened: Callable[..., Page], street: str, scheme: str) -> None:
    """In every state and unit; a hair of room for what letters reach over."""
    board = Board(opened(street, color_scheme=scheme))
    out: list[str] = []
    for unit in ("kpa", "psi", "inhg") if scheme == "light" else ("kpa",):
        board.pick("Unit", unit)
        for state in board.page.locator("#strip button:enabled").all()[:-1]:
            state.click()
            out += board.page.evaluate(
                """() => [...document.querySelectorAll("#drawing .words")].flatMap((words, index) => {
                  const box = document.querySelectorAll("#drawing .space .fill")[index].getBoundingClientRect();
                  return [...words.querySelectorAll("text")].filter((text) => {
                    const at = text.getBoundingClientRect();
                    const across = at.left < box.left - 2 || at.right > box.right + 2;
                    return at.width && (across || at.top < box.top - 3 || at.bottom > box.bottom + 3);
                  }).map((text) => text.textContent);
                })"""
            )
    assert sorted(set(out)) == []


def text_of(pdf: Path) -> list[str]:
    """The text of each page of a PDF, blanks made one."""
    name = shutil.which("pdftotext")
    if name is None:
        pytest.skip("pdftotext (Poppler) is not here")
    text = subprocess.run([name, "-layout", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    return [re.sub(r"\s+", " ", page) for page in text.split("\f") if page.strip()]


def test_on_paper_are_state_findings_and_legend_on_white(
    opened: Callable[..., Page], street: str, tmp_path: Path
) -> None:
    page = opened(street)
    board = Board(page)
    board.go("full boost at the torque peak")
    findings = board.said()["findings"]
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    for away in ("#head .tools", "#tabs", "#cycle", ".zoom"):
        assert not page.locator(away).is_visible(), f"on paper nobody clicks on {away}"
    for there in ("#drawing", "#state-title", "#legend", "#panel-findings"):
        assert page.locator(there).is_visible(), there
    page.emulate_media(media="null")
    board.open("Lesson")
    pdf = tmp_path / "board.pdf"
    page.pdf(path=str(pdf), prefer_css_page_size=True, print_background=True)
    pages = text_of(pdf)
    assert len(pages) <= 8
    assert "Full boost at the torque peak" in pages[0]
    assert "Street coupe" in pages[0]
    whole = " ".join(pages)
    for severity, title, _, _ in findings:
        assert severity in whole
        assert title in whole or all(word in whole for word in title.split())
    assert "one-way valve: passes from the seat toward the ball only" in whole
    assert "Pressure, kPa gauge" in whole


Matrix = list[list[float]]
# G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A physiologically-based model for simulation of color vision
# deficiency", IEEE Trans. Visualization and Computer Graphics 15(6), 2009, pp. 1291-1298: severity 1.0, linear RGB.
DEFICIENT: dict[str, Matrix] = {
    "protanopia": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deuteranopia": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritanopia": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
    "achromatopsia": [[0.2126, 0.7152, 0.0722]] * 3,
    "full sight": [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
}


def linear(rgb: list[float]) -> list[float]:
    """sRGB (IEC 61966-2-1) to linear light."""
    return [each / 255 / 12.92 if each / 255 <= 0.04045 else ((each / 255 + 0.055) / 1.055) ** 2.4 for each in rgb]


def lab(rgb: list[float]) -> tuple[float, float, float]:
    """CIE 1976 L*, a*, b* of linear sRGB, against its white of D65."""
    to_xyz = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    white = [sum(row) for row in to_xyz]
    xyz = [sum(a * b for a, b in zip(row, rgb, strict=True)) / w for row, w in zip(to_xyz, white, strict=True)]
    x, y, z = (each ** (1 / 3) if each > (6 / 29) ** 3 else each / (3 * (6 / 29) ** 2) + 4 / 29 for each in xyz)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def seen(rgb: list[float], deficiency: str) -> tuple[float, float, float]:
    """L*, a*, b* of a color as somebody with a deficiency sees it."""
    light = linear(rgb)
    shifted = [sum(a * b for a, b in zip(row, light, strict=True)) for row in DEFICIENT[deficiency]]
    return lab([min(1.0, max(0.0, each)) for each in shifted])


def test_lightness_and_sight_are_worked_out_right() -> None:
    """White is L* 100; gray of 18.42 % luminance 50 (CIE 15); pure sRGB red 53.24, 80.09, 67.20 (from memory)."""
    assert lab([1, 1, 1]) == pytest.approx((100, 0, 0), abs=0.02)
    assert lab([0.1842] * 3)[0] == pytest.approx(50, abs=0.05)
    assert lab([1, 0, 0]) == pytest.approx((53.24, 80.09, 67.20), abs=0.06)
    for matrix in DEFICIENT.values():
        assert all(sum(row) == pytest.approx(1, abs=2e-5) for row in matrix), "gray stays gray"


@pytest.mark.parametrize("deficiency", DEFICIENT)
def test_pressures_can_be_told_apart_without_color(opened: Callable[..., Page], street: str, deficiency: str) -> None:
    """The scale of the legend in five classes on either side of the atmosphere: lighter the nearer to it.

    A difference of 2.3 is just noticed (M. Mahy, L. Van Eycken, A. Oosterlinck, "Evaluation of uniform color spaces
    developed after the adoption of CIELAB and CIELUV", Color Research and Application 19(2), 1994; from memory);
    classes must lie twice as far apart, by lightness alone.
    """
    board = Board(opened(street))
    board.button("Legend").click()
    fills = board.page.evaluate(
        """() => [...document.querySelectorAll("svg.scale rect:not(.frame)")]
            .map((node) => [Number(node.getAttribute("x")), node.getAttribute("fill")])"""
    )
    ticks = board.page.evaluate(
        "() => [...document.querySelectorAll('svg.scale .tick')].map((node) => node.getAttribute('d'))"
    )
    middle = float(re.findall(r"M([\d.]+)", ticks[1])[0])
    shades = [(x, seen([float(each) for each in re.findall(r"\d+", fill)], deficiency)[0]) for x, fill in sorted(fills)]
    below = [shade for x, shade in shades if x + 7.3 <= middle]
    above = [shade for x, shade in shades if x >= middle][::-1]
    assert len(below) >= 8
    assert len(above) >= 4
    for side in (below, above):  # from the far end toward the atmosphere
        assert all(one < other + 0.3 for one, other in pairwise(side)), "lightness grows toward the atmosphere"
        count = min(5, len(side) - 1)
        classes = [side[round(at * (len(side) - 1) / count)] for at in range(count + 1)]
        assert min(other - one for one, other in pairwise(classes)) >= 2 * 2.3, classes


@pytest.mark.parametrize("deficiency", ["protanopia", "deuteranopia", "tritanopia"])
def test_more_and_less_than_the_atmosphere_differ_by_hue_for_every_dichromat(
    opened: Callable[..., Page], street: str, deficiency: str
) -> None:
    """The two ends of the scale; with no color at all the sign before each number tells them apart."""
    board = Board(opened(street))
    fills = board.page.evaluate(
        "() => [...document.querySelectorAll('svg.scale rect:not(.frame)')].map((node) => node.getAttribute('fill'))"
    )
    low, high = (seen([float(each) for each in re.findall(r"\d+", fill)], deficiency) for fill in (fills[0], fills[-1]))
    assert sum((one - other) ** 2 for one, other in zip(low[1:], high[1:], strict=True)) ** 0.5 >= 20
    assert all(
        each == "0" or each[0] in "+\u2212"
        for number in board.said()["numbers"]
        if number
        for each in number.split(" to ")
    )


@pytest.mark.parametrize("kind", ["protanopia", "deuteranopia", "tritanopia", "achromatopsia"])
def test_the_browser_sees_the_same_shades_apart(opened: Callable[..., Page], street: str, kind: str) -> None:
    """Chromium's own simulation, on a picture of the scale: its ends and its middle differ in lightness."""
    page = opened(street)
    board = Board(page)
    board.button("Legend").click()
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setEmulatedVisionDeficiency", {"type": kind})
    picture = page.locator("svg.scale").screenshot()
    lights = page.evaluate(
        """async (bytes) => {
          const picture = await createImageBitmap(new Blob([new Uint8Array(bytes)], {type: "image/png"}));
          const canvas = new OffscreenCanvas(picture.width, picture.height).getContext("2d");
          canvas.drawImage(picture, 0, 0);
          const row = canvas.getImageData(0, Math.round(picture.height * 13 / 46), picture.width, 1).data;
          return Array.from({length: picture.width}, (_, x) => Array.from(row.slice(4 * x, 4 * x + 3)));
        }""",
        list(picture),
    )
    scale = [lab(linear(each))[0] for each in lights[round(len(lights) * 12 / 360) : round(len(lights) * 348 / 360)]]
    lightest = max(scale)
    assert lightest - scale[1] > 30
    assert lightest - scale[-2] > 30


def test_with_less_motion_wanted_nothing_moves(opened: Callable[..., Page], street: str) -> None:
    page = opened(street, reduced_motion="reduce")
    Board(page)
    arrows = (
        "() => [...document.querySelectorAll('#drawing .arrow')].map((node) => node.getAttribute('transform')).join()"
    )
    first = page.evaluate(arrows)
    assert first
    page.wait_for_timeout(400)
    assert page.evaluate(arrows) == first
    moving = """() => [...document.querySelectorAll("*")].map((node) => getComputedStyle(node))
        .filter((style) => parseFloat(style.transitionDuration) > 0.01 || style.animationName !== "none").length"""
    assert page.evaluate(moving) == 0


def test_arrows_move_else_and_can_be_stopped(opened: Callable[..., Page], street: str) -> None:
    """WCAG 2.2, 2.2.2: what moves by itself for more than five seconds can be stopped."""
    page = opened(street)
    board = Board(page)
    arrows = (
        "() => [...document.querySelectorAll('#drawing .arrow')].map((node) => node.getAttribute('transform')).join()"
    )
    first = page.evaluate(arrows)
    page.wait_for_timeout(300)
    assert page.evaluate(arrows) != first
    board.button("Stop the arrows").click()
    page.wait_for_timeout(100)
    stopped = page.evaluate(arrows)
    page.wait_for_timeout(300)
    assert page.evaluate(arrows) == stopped


def test_shapes_tell_states_of_passages_apart_without_color(opened: Callable[..., Page], street: str) -> None:
    """Open, plugged and one-way differ by their signs."""
    board = Board(opened(street))
    signs: dict[str, set[str]] = board.page.evaluate(
        """() => [...document.querySelectorAll("#drawing .way:not(.hidden)")].reduce((all, node) => {
          const label = node.getAttribute("aria-label");
          const kind = / plugged$/.test(label) ? "plugged" : "open";
          (all[kind] ||= []).push(node.querySelector("use").getAttribute("href"));
          return all;
        }, {})"""
    )
    assert set(signs["plugged"]) == {"#a-plugged"}
    assert "#a-plugged" not in signs["open"]
