"""`boostcarb board`: serving until it is told to end, the one file, and what it refuses."""

from __future__ import annotations

import http.client
import json
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from command_line import Said, edited

Here = Callable[..., Said]
ADDRESS = re.compile(r"board at http://127\.0\.0\.1:(\d+)/ - end it with Ctrl\+C\n")
DATA = re.compile(r'<script type="application/json" id="board-data">(.*?)</script>', re.DOTALL)
CLOSED = "board closed\n"


@contextmanager
def serving(*arguments: str | Path) -> Iterator[tuple[subprocess.Popen[str], int]]:
    """The command in a process of its own, once it says its address; killed if the test leaves it behind."""
    command = [sys.executable, "-m", "boostcarb", "board", *map(str, arguments)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            found = ADDRESS.fullmatch(process.stdout.readline())
            assert found is not None, process.communicate(timeout=60)
            yield process, int(found[1])
        finally:
            if process.poll() is None:
                process.kill()


def start_of(text: str) -> dict[str, Any]:
    """What a page starts from."""
    found = DATA.search(text)
    assert found is not None
    start = json.loads(found[1])
    assert isinstance(start, dict)
    return start


def got(port: int, path: str, record: dict[str, Any] | None = None, token: str = "") -> tuple[int, str]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    try:
        if record is None:
            connection.request("GET", path)
        else:
            headers = {"Content-Type": "application/json", "Origin": f"http://127.0.0.1:{port}", "X-Board-Token": token}
            connection.request("POST", path, json.dumps(record), headers)
        reply = connection.getresponse()
        return reply.status, reply.read().decode()
    finally:
        connection.close()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM], ids=["Ctrl+C", "SIGTERM"])
def test_serves_until_it_is_told_to_end(job: Path, number: signal.Signals) -> None:
    with serving(job, "--no-browser", "--units", "us") as (process, port):
        status, page = got(port, "/")
        start = start_of(page)
        assert (status, start["mode"], start["units"]) == (200, "blow_through", "us")
        asked = {"mode": "blow_through", "base": "found", "changes": {}}
        status, text = got(port, "/answer", asked, start["token"])
        assert status == 200
        assert json.loads(text)["verdict"]["stop"] > 0
        status, text = got(port, "/answer", {**asked, "changes": {"no_such_item": "open"}}, start["token"])
        assert status == 400
        assert "no_such_item" in json.loads(text)["error"]
        with socket.create_connection(("127.0.0.1", port)):  # somebody who says nothing does not keep it
            process.send_signal(number)
            out, err = process.communicate(timeout=30)
    assert (process.returncode, out, err) == (0, CLOSED, "")


def test_told_to_end_while_it_is_at_work(job: Path) -> None:
    with serving(job) as (process, port):
        start = start_of(got(port, "/")[1])
        with socket.create_connection(("127.0.0.1", port)) as bare:
            body = json.dumps({"mode": "blow_through", "base": "found", "seed": 1})
            bare.sendall(
                f"POST /hunt HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n"
                f"Content-Type: application/json\r\nX-Board-Token: {start['token']}\r\n"
                f"Content-Length: {len(body)}\r\n\r\n{body}".encode()
            )
            process.send_signal(signal.SIGINT)
            out, err = process.communicate(timeout=30)
    assert (process.returncode, out, err) == (0, CLOSED, "")


def test_told_to_end_before_it_is_there(job: Path) -> None:
    command = [sys.executable, "-X", "importtime", "-m", "boostcarb", "board", str(job)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stderr is not None
        for line in process.stderr:
            if line.rstrip().endswith("boostcarb.board.study"):  # now it reads the job
                break
        process.send_signal(signal.SIGTERM)
        out, err = process.communicate(timeout=60)
    assert process.returncode == 0
    assert out.endswith(CLOSED)
    assert "Traceback" not in err


def test_port_of_ones_own_and_one_in_use(job: Path, here: Here) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with serving(job, "--port", str(port)) as (process, served):
        assert served == port
        said = here("board", job, "--port", str(port))
        assert (said.code, said.out) == (2, "")
        assert said.err.startswith(f"boostcarb: --port: cannot listen on port {port}: ")
        assert "choose another" in said.err
        assert said.err.count("\n") == 1
        with serving(job) as (_, other):
            assert other != port
        assert process.poll() is None
    with serving(job, "--port", str(port)) as (_, again):
        assert again == port, "a port that was left is free at once"


@pytest.mark.parametrize("port", ["65536", "-1", "http"])
def test_port_that_is_none(job: Path, here: Here, port: str) -> None:
    said = here("board", job, "--port", port)
    assert said.code == 2
    assert "--port" in said.err


def test_mode_to_show_first(job: Path) -> None:
    with serving(job, "--mode", "naturally_aspirated") as (_, port):
        start = start_of(got(port, "/")[1])
    assert start["mode"] == "naturally_aspirated"
    assert set(start["modes"]) >= {"blow_through", "naturally_aspirated"}


def test_bad_job_is_said_at_once(tmp_path: Path, here: Here) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(edited("fuel: gasoline", "fuel: gasolin"), encoding="utf-8")
    said = here("board", path)
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith(f"boostcarb: {path}:")
    assert "did you mean 'gasoline'?" in said.err


def test_file_that_is_there_is_kept(job: Path, here: Here, tmp_path: Path) -> None:
    out = tmp_path / "board.html"
    out.write_text("mine", encoding="utf-8")
    said = here("board", job, "--out", out)
    assert (said.code, said.out) == (2, "")
    assert "--force" in said.err
    assert out.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("name", ["lost/board.html", "", "job.yaml"])
def test_file_that_cannot_be_written(job: Path, here: Here, tmp_path: Path, name: str) -> None:
    before = job.read_bytes()
    said = here("board", job, "--out", tmp_path / name, "--force")
    assert said.code == 2
    assert said.err.startswith(f"boostcarb: {tmp_path / name}: ")
    assert job.read_bytes() == before
