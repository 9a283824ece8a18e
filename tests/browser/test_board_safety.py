"""Nothing runs but the page's own code, nothing is asked of anybody else, and what goes wrong is said once."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from board_in_use import STOCK, STREET, Board, scene_of, unnumbered

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

HOSTILE = '<img src=x onerror="window.ran=1"></script><script>window.ran=2</script>&quot;\' <!-- `${window.ran=3}`'


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job whose every free text wants to be code."""
    text = STOCK.read_text(encoding="utf-8")
    quoted = HOSTILE.replace("'", "''")
    text, titled = re.subn(r"^job:.*$", lambda _: f"job: '{quoted}'", text, count=1, flags=re.MULTILINE)
    assert titled == 1
    text, noted = re.subn(
        r"^notes: >\n(?:  .*\n)+", lambda _: f"notes: '{quoted}'\n", text, count=1, flags=re.MULTILINE
    )
    assert noted == 1
    job = tmp_path_factory.mktemp("hostile") / "job<b>.yaml"
    job.write_text(text, encoding="utf-8")
    return job


def test_what_is_served_allows_its_own_code_and_nothing_else(street: str) -> None:
    """Content Security Policy Level 3 (W3C): by hash; no 'unsafe-' anything, no host, no scheme but data for images."""
    with urllib.request.urlopen(street) as reply:  # noqa: S310  the address of our own server
        policy = reply.headers["Content-Security-Policy"]
    parts = {name: values for name, *values in (each.split() for each in policy.split(";"))}
    assert parts["default-src"] == ["'none'"]
    for part in ("script-src", "style-src"):
        assert parts[part]
        assert all(re.fullmatch(r"'sha256-[A-Za-z0-9+/]{43}='", each) for each in parts[part])
    assert parts["connect-src"] == ["'self'"]
    assert parts["frame-ancestors"] == parts["base-uri"] == parts["form-action"] == ["'none'"]


TRIES = {
    "an element of script": """
        const script = document.createElement("script");
        script.textContent = "window.ran = 1";
        document.body.append(script);""",
    "a handler in HTML": """
        document.body.insertAdjacentHTML("beforeend", '<img src="data:," onerror="window.ran = 1">');""",
    "an address of javascript": """
        const link = document.createElement("a");
        link.href = "javascript:window.ran=1";
        document.body.append(link);
        link.click();""",
    "text as code": "setTimeout('window.ran = 1', 0)",
    "a frame": """
        document.body.insertAdjacentHTML("beforeend", '<iframe srcdoc="<script>parent.ran = 1</script>"></iframe>');""",
}


@pytest.mark.parametrize("kind", ["served", "packed"])
def test_what_is_put_into_the_page_does_not_run(chromium: Browser, request: pytest.FixtureRequest, kind: str) -> None:
    """Tries what an attacker would; the browser must say for each that the policy forbids it."""
    address = request.getfixturevalue("street") if kind == "served" else request.getfixturevalue("packed").as_uri()
    context = chromium.new_context()
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.goto(address)
    Board(page)
    assert said == []
    for name, code in TRIES.items():
        page.evaluate(f"() => {{ try {{ {code} }} catch (error) {{ console.log(String(error)) }} }}")
        page.wait_for_timeout(60)
        assert page.evaluate("window.ran") is None, name
    page.evaluate(
        """() => {
          const style = document.createElement("style");
          style.textContent = "body {opacity: 0.5}";
          document.head.append(style);
        }"""
    )
    assert page.evaluate("getComputedStyle(document.body).opacity") == "1"
    assert page.evaluate("fetch('https://example.org/').then(() => 'sent', () => 'kept')") == "kept"
    loaded = page.evaluate(
        """new Promise((done) => {
          const picture = new Image();
          picture.onload = picture.onerror = () => done(picture.naturalWidth);
          picture.src = "https://example.org/x.png";
        })"""
    )
    assert loaded == 0
    refused = [each for each in said if "Content Security Policy" in each]
    assert len(refused) >= len(TRIES)
    context.close()


def test_texts_of_a_job_stay_text(opened: Callable[..., Page], serve: Callable[[Path], str], hostile: Path) -> None:
    page = opened(serve(hostile))
    board = Board(page)
    assert page.get_by_role("heading", level=1).inner_text() == HOSTILE
    assert HOSTILE in page.title()
    for tab in ("Findings", "Look", "Changes", "Everything", "Lesson", "Hunt"):
        board.open(tab)
    board.panel("Hunt").get_by_role("button", name="Begin").click()
    board.panel("Hunt").get_by_text("suspects left").wait_for()
    panel = board.open("Everything")
    panel.get_by_label("Search").fill(HOSTILE)
    assert panel.get_by_text("Nothing has these words").is_visible()
    page.wait_for_timeout(100)
    assert page.evaluate("window.ran") is None
    assert page.locator("img, iframe, b").count() == 0


def test_texts_of_a_job_stay_text_in_a_file(opened: Callable[..., Page], hostile: Path, tmp_path: Path) -> None:
    """The page of a file is made as it is for `--out`, of a board without single changes: those take long."""
    from board_in_use import study_of

    from boostcarb.board.answering import opened as first_of
    from boostcarb.board.pack import pressed
    from boostcarb.board.page.assemble import page as assembled

    study = study_of(hostile)
    mode = study.read.job.target
    first = first_of(study, mode)
    pack = {"scenes": {mode: first["scene"]}, "answers": {mode: first["bases"]}, "changes": {mode: {}}}
    file = tmp_path / "board.html"
    file.write_text(assembled(HOSTILE, {"pack": pressed(pack), "mode": mode}), encoding="utf-8")
    page = opened(file.as_uri())
    Board(page)
    assert page.get_by_role("heading", level=1).inner_text() == HOSTILE
    page.wait_for_timeout(100)
    assert page.evaluate("window.ran") is None
    assert page.locator("img, iframe, b").count() == 0


def test_without_its_program_the_page_says_so_once_and_goes_on_showing(chromium: Browser) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "boostcarb", "board", str(STREET), "--no-browser"], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    found = re.search(r"http://127\.0\.0\.1:\d+/", process.stdout.readline())
    assert found
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    page = context.new_page()
    page.goto(found.group())
    board = Board(page)
    process.send_signal(signal.SIGINT)
    process.communicate(timeout=20)
    assert process.returncode == 0
    before = board.said()
    board.make(scene_of(STREET, "blow_through"), "primary.bowl_vent", "plugged")
    said = board.said()
    assert "does not answer" in said["trouble"]
    assert "boostcarb board JOB" in said["trouble"]
    assert said | {"trouble": ""} == before, "what could not be asked does not stay on the board"
    board.go("idle")
    assert board.said()["title"] == "Idle"
    assert unnumbered(board.said()) == []
    board.pick("Carburetor", "planned")
    assert "0 STOP" in board.said()["counts"], "what is there already goes on being shown"
    board.in_drawing("primary bowl").click()
    board.button("What feels it?").click()
    board.page.wait_for_timeout(400)
    assert page.locator("#trouble:visible").count() == 1
    assert board.said()["trouble"].count("does not answer") == 1
    context.close()


def test_a_wrong_token_is_refused_with_what_to_do(chromium: Browser, street: str) -> None:
    """As after the program was started again on the same port: the page is of another run."""
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    page = context.new_page()
    page.goto(street)
    board = Board(page)
    page.route(
        "**/answer", lambda route: route.continue_(headers={**route.request.headers, "x-board-token": "another"})
    )
    board.make(scene_of(STREET, "blow_through"), "primary.bowl_vent", "plugged")
    said = board.said()
    assert said["trouble"]
    assert re.search(r"reload|open|load", said["trouble"], re.IGNORECASE)
    assert said["changes"] == []
    context.close()


def test_a_page_without_its_data_says_what_to_do(opened: Callable[..., Page], street: str, tmp_path: Path) -> None:
    with urllib.request.urlopen(street) as reply:  # noqa: S310  the address of our own server
        text = reply.read().decode()
    bare = tmp_path / "bare.html"
    bare.write_text(re.sub(r'(id="board-data">).*?(</script>)', r"\1\2", text, count=1), encoding="utf-8")
    page = opened(bare.as_uri())
    assert page.get_by_role("strong").filter(has_text="There is nothing on this board.").is_visible()
    assert page.locator("#trouble").get_by_text("Open it with").is_visible()


def test_an_answer_that_is_no_answer_is_said_kindly(chromium: Browser, street: str) -> None:
    """A proxy's page of errors, say: no JSON."""
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    page = context.new_page()
    failed: list[str] = []
    page.on("pageerror", lambda error: failed.append(str(error)))
    page.goto(street)
    board = Board(page)
    page.route("**/answer", lambda route: route.fulfill(status=502, body="<html>bad gateway</html>"))
    board.make(scene_of(STREET, "blow_through"), "primary.bowl_vent", "plugged")
    assert board.said()["trouble"]
    assert board.said()["changes"] == []
    assert failed == []
    context.close()
