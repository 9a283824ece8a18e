"""Takes the pictures that README shows: `.venv/bin/python tests/browser/pictures.py`, with a browser as conftest says.

The board in full boost, with all that feels the air horn lit, and a page of the sheet with the drawing of a casting.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from board_in_use import NO_NETWORK, STREET, Board
from small_png import smaller

if TYPE_CHECKING:
    from playwright.sync_api import Browser

PICTURES = Path(__file__).parents[2] / "boostcarb" / "manual" / "pictures"
LARGEST_BYTES = 300_000
STILL_MS = 600
"""Longer than anything on the board waits for the pointer to rest."""
STATE, SPACE, BASE = "Full boost at the torque peak", "air horn", "planned"


@contextmanager
def served(job: Path) -> Iterator[str]:
    """The address of the board of a job, served as its user would."""
    command = [sys.executable, "-m", "boostcarb", "board", str(job), "--no-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        found = re.search(r"http://127\.0\.0\.1:\d+/", process.stdout.readline())
        assert found
        try:
            yield found.group()
        finally:
            process.send_signal(signal.SIGINT)


def board(browser: Browser) -> bytes:
    """The board in full boost, with the ways of one signal lit."""
    with served(STREET) as address:
        page = browser.new_page(viewport={"width": 1400, "height": 900}, reduced_motion="reduce")
        page.goto(address)
        shown = Board(page)
        shown.pick("Carburetor", BASE)
        shown.go(STATE)
        shown.in_drawing(SPACE).click()
        question = shown.button("What feels it?")
        question.hover()
        page.wait_for_timeout(STILL_MS)
        question.click()
        page.locator("#lit").wait_for(state="visible")
        page.wait_for_timeout(STILL_MS)
        assert "marking" in (page.locator("#drawing").get_attribute("class") or ""), "nothing is lit"
        taken = page.screenshot()
        page.close()
        return taken


def sheet(browser: Browser) -> bytes:
    """A page of the sheet, as it stands on the screen, with the drawing of a casting."""
    with tempfile.TemporaryDirectory() as folder:
        written = Path(folder) / "sheet.html"
        subprocess.run([sys.executable, "-m", "boostcarb", "sheet", str(STREET), "--out", str(written)], check=True)
        page = browser.new_page(viewport={"width": 900, "height": 980})
        page.goto(written.as_uri())
        page.locator("#drawings-of-the-castings").evaluate("node => node.scrollIntoView()")
        taken = page.screenshot()
        page.close()
        return taken


def main() -> None:
    """Takes both, and refuses one that is too large to be looked at on the way."""
    from playwright.sync_api import sync_playwright

    program = os.environ.get("BROWSER_FOR_TESTS") or shutil.which("chromium") or shutil.which("chromium-browser")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=NO_NETWORK)
        for name, take in (("board", board), ("sheet", sheet)):
            png = smaller(browser, take(browser))
            (PICTURES / f"{name}.png").write_bytes(png)
            print(f"{name}.png: {len(png) / 1000:.0f} kB")
            assert len(png) < LARGEST_BYTES, f"{name}.png has {len(png)} bytes"
        browser.close()


if __name__ == "__main__":
    main()
