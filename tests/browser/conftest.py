"""The board in a real browser: served by the program as a user starts it, and packed into one file.

Needs the extra `browser` and a Chromium; `BROWSER_FOR_TESTS` names it where it is not `chromium`. A page that logs an
error, or asks anything of anybody but its own server, fails the test that opened it.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from board_in_use import NO_NETWORK, STOCK, STREET

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if item.path.is_relative_to(here):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    from playwright.sync_api import sync_playwright

    name = os.environ.get("BROWSER_FOR_TESTS") or shutil.which("chromium") or shutil.which("chromium-browser")
    assert name, "no Chromium found; name it with BROWSER_FOR_TESTS"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=name, args=NO_NETWORK)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def serve() -> Iterator[Callable[[Path], str]]:
    """Starts the board of a job as its user would, and gives its address."""
    running: dict[Path, tuple[subprocess.Popen[str], str]] = {}

    def address_of(job: Path) -> str:
        if job not in running:
            process = subprocess.Popen(
                [sys.executable, "-m", "boostcarb", "board", str(job), "--no-browser"],
                stdout=subprocess.PIPE,
                text=True,
            )
            assert process.stdout is not None
            running[job] = process, process.stdout.readline()
            found = re.search(r"http://127\.0\.0\.1:\d+/", running[job][1])
            assert found, running[job][1]
            running[job] = process, found.group()
        return running[job][1]

    yield address_of
    for process, _ in running.values():
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=20)
        assert process.returncode == 0


@pytest.fixture(scope="session")
def street(serve: Callable[[Path], str]) -> str:
    """Address of the board of the street coupe."""
    return serve(STREET)


@pytest.fixture(scope="session")
def packed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A board as one file: of the job with a single target, which is packed soonest. Packed once for all processes."""
    folder = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        folder = folder.parent
    out = folder / "board.html"
    try:
        (folder / "packing").mkdir()
    except FileExistsError:
        until = time.monotonic() + 240
        while not out.exists():
            assert time.monotonic() < until, "the other process has not packed it"
            time.sleep(0.2)
        return out
    ready = folder / "being_packed.html"
    subprocess.run(
        [sys.executable, "-m", "boostcarb", "board", str(STOCK), "--out", str(ready)], check=True, timeout=240
    )
    return ready.rename(out)


@pytest.fixture
def opened(chromium: Browser) -> Iterator[Callable[..., Page]]:
    """Opens a page; at the end nothing may have been logged as an error or asked of anybody else."""
    contexts: list[BrowserContext] = []
    troubles: list[str] = []

    def open_page(address: str, **options: Any) -> Page:
        options.setdefault("viewport", {"width": 1440, "height": 900})
        context = chromium.new_context(**options)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: message.type == "error" and troubles.append(message.text))
        page.on("pageerror", lambda error: troubles.append(str(error)))
        own = address if address.startswith("file:") else address.rstrip("/")
        page.on("request", lambda request: request.url.startswith(own) or troubles.append(f"asked {request.url}"))
        page.goto(address)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert not troubles, troubles
