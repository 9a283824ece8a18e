"""Files are written whole or not at all, whatever stands in their place, whoever else writes, however it ends.

What is right here: rename and link replace or refuse a name in one step (POSIX.1-2017, rename() and link()); a write
beyond RLIMIT_FSIZE fails with EFBIG, on a full disk with ENOSPC (POSIX.1-2017, write()).
"""

from __future__ import annotations

import errno
import os
import signal
import stat
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import pytest
from abused import JOB, Heard, check_page, heard

from boostcarb.description import saving
from boostcarb.description.saving import save_text
from boostcarb.errors import BadDescription

WRITING = {
    "sheet": ("sheet", str(JOB), "--out", "OUT.html"),
    "graph": ("graph", str(JOB), "--out", "OUT.graphml"),
    "backfire": ("backfire", str(JOB), "--out", "OUT.svg"),
}
BOARD = ("board", str(JOB), "--out", "OUT.html")
"""Takes long to write anything; what it refuses it refuses at once."""
OLD = "what was there before\n"


def wrote(name: str, out: Path, *more: str) -> Heard:
    """A command that writes to this path; names that need an ending get it by `out_of`."""
    return heard([str(out) if word.startswith("OUT") else word for word in WRITING[name]] + list(more))


def out_of(name: str, folder: Path) -> Path:
    return folder / WRITING[name][-1]


def refused(said: Heard, out: Path, words: str) -> None:
    assert (said.code, said.out) == (2, ""), said
    assert len(said.err.splitlines()) == 1, said.err
    assert said.err.startswith(f"boostcarb: {out}: ")
    assert words in said.err


@pytest.mark.parametrize("name", WRITING)
def test_file_that_exists_is_kept_without_force_and_replaced_with_it(name: str, tmp_path: Path) -> None:
    out = out_of(name, tmp_path)
    out.write_text(OLD, encoding="utf-8")
    refused(wrote(name, out), out, "exists already; choose another name, or overwrite it with --force")
    assert out.read_text(encoding="utf-8") == OLD
    out.chmod(0o640)
    assert wrote(name, out, "--force").code in (0, 1)
    text = out.read_text(encoding="utf-8")
    assert text.endswith(">\n")
    check_page(text, out.suffix)
    assert stat.S_IMODE(out.stat().st_mode) == 0o640
    assert [path.name for path in tmp_path.iterdir()] == [out.name]


def test_link_stays_a_link_and_one_to_nowhere_is_not_followed_without_force(tmp_path: Path) -> None:
    out, real = tmp_path / "link.dot", tmp_path / "real.dot"
    out.symlink_to(real)
    refused(wrote("graph", out), out, "exists already")
    assert not real.exists()
    assert wrote("graph", out, "--force").code == 0
    assert out.is_symlink()
    assert real.read_text(encoding="utf-8").startswith("digraph")


@pytest.mark.parametrize("command", [WRITING["sheet"], BOARD], ids=["sheet", "board"])
def test_loop_of_links_is_refused(command: tuple[str, ...], tmp_path: Path) -> None:
    out = tmp_path / "loop.html"
    out.symlink_to(out)
    refused(heard([*command[:-1], str(out)]), out, "exists already")
    job = tmp_path / "loop.yaml"
    job.symlink_to(job)
    refused(heard([command[0], str(job), "--out", str(tmp_path / "x.html")]), job, "cannot be read")


@pytest.mark.parametrize("name", WRITING)
def test_device_and_pipe_are_not_replaced_by_a_file(name: str, tmp_path: Path) -> None:
    """With --force and the rights to do it the null device of the machine would be gone."""
    pipe = out_of(name, tmp_path)
    os.mkfifo(pipe)
    refused(wrote(name, pipe, "--force"), pipe, "it is no ordinary file; choose another name")
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    with pytest.raises(BadDescription, match="no ordinary file"):
        save_text(Path("/dev/null"), "x", force=True)
    with pytest.raises(BadDescription, match="is a folder"):
        save_text(tmp_path, "x", force=True)


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="no /proc, where nobody can make files")
@pytest.mark.parametrize("name", WRITING)
def test_folder_that_cannot_be_written_to(name: str) -> None:
    out = out_of(name, Path("/proc"))
    refused(wrote(name, out), out, "cannot be written")


@pytest.mark.parametrize("command", [*WRITING.values(), BOARD], ids=[*WRITING, "board"])
def test_name_that_no_file_can_have(command: tuple[str, ...], tmp_path: Path) -> None:
    out = tmp_path / ("x" * 300 + Path(command[-1]).suffix)
    refused(heard([*command[:-1], str(out)]), out, "ile name too long")
    assert list(tmp_path.iterdir()) == []


@contextmanager
def room_for(size: int) -> Iterator[None]:
    """No file of this process may grow beyond this size, bytes."""
    resource = pytest.importorskip("resource")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.parametrize("name", WRITING)
@pytest.mark.parametrize("force", [False, True])
def test_write_that_fails_half_way_leaves_nothing(name: str, force: bool, tmp_path: Path) -> None:
    out = out_of(name, tmp_path)
    if force:
        out.write_text(OLD, encoding="utf-8")
    with room_for(1024):
        refused(wrote(name, out, *(["--force"] if force else [])), out, "cannot be written: File too large")
    assert [path.read_text(encoding="utf-8") for path in tmp_path.iterdir()] == ([OLD] if force else [])


def test_full_disk_that_tells_only_at_the_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(descriptor: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(saving.os, "fsync", full)
    out = tmp_path / "new.dot"
    refused(wrote("graph", out), out, "cannot be written: No space left on device")
    draft = tmp_path / "car.yaml"
    said = heard(["new", str(draft)], b"\n")
    assert (said.code, "No space left" in said.err) == (2, True)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full on this system")
@pytest.mark.parametrize("arguments", [("schema", "job")])
def test_full_disk_under_the_output(arguments: tuple[str, ...]) -> None:
    with open("/dev/full", "wb") as full:
        command = [sys.executable, "-m", "boostcarb", *arguments]
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False, timeout=60)
    assert (done.returncode, done.stderr) == (2, "boostcarb: output: No space left on device\n")


ENDLESS = """
import itertools, sys
from pathlib import Path
from boostcarb.description.saving import save_text
for number in itertools.count():
    save_text(Path(sys.argv[1]), f"{number % 10}" * 3_000_000, force=True)
"""


def test_killed_while_writing(tmp_path: Path) -> None:
    """Signal 9 at any moment: what has the name is whole, of before or of after."""
    out = tmp_path / "sheet.html"
    for delay_s in (0.0, 0.005, 0.03):
        with subprocess.Popen([sys.executable, "-c", ENDLESS, str(out)]) as writer:
            before = out.stat().st_mtime_ns if out.exists() else 0
            end = time.monotonic() + 60
            while not out.exists() or out.stat().st_mtime_ns == before:
                assert time.monotonic() < end
                assert writer.poll() is None
            time.sleep(delay_s)
            writer.send_signal(signal.SIGKILL)
        text = out.read_text(encoding="utf-8")
        assert (len(text), len(set(text))) == (3_000_000, 1)


def test_two_that_overwrite_one_file_never_mix(tmp_path: Path) -> None:
    out = tmp_path / "sheet.html"
    whole = {letter * 400_000 for letter in "ab"}
    save_text(out, "a" * 400_000)
    ended = threading.Event()

    def write(text: str) -> None:
        for _ in range(25):
            save_text(out, text, force=True)

    def read() -> int:
        times = 0
        while not ended.is_set():
            assert out.read_text(encoding="utf-8") in whole
            times += 1
        return times

    with ThreadPoolExecutor(3) as pool:
        reader = pool.submit(read)
        for writer in [pool.submit(write, text) for text in sorted(whole)]:
            writer.result(60)
        ended.set()
        assert reader.result(60) > 0
    assert [path.name for path in tmp_path.iterdir()] == [out.name]


def test_of_two_that_make_one_file_the_second_is_refused(tmp_path: Path) -> None:
    def make(number: int, text: str) -> str:
        try:
            save_text(tmp_path / f"{number}.html", text)
        except BadDescription as error:
            return str(error)
        return text[0]

    with ThreadPoolExecutor(4) as pool:
        for number in range(20):
            said = list(pool.map(make, [number] * 4, [letter * 9000 for letter in "abcd"]))
            (made,) = [each for each in said if each in "abcd"]
            assert (tmp_path / f"{number}.html").read_text(encoding="utf-8") == made * 9000
            assert sum("exists already" in each for each in said) == 3
