"""Several processes that answer questions; one of them may die without taking the others with it.

A worker reads a question on a line, and writes its answer on a line. It stands in a session of its own, so that
Ctrl+C reaches only us, and ends by itself when we are gone: then there is nothing more to read.
"""

from __future__ import annotations

import contextlib
import json
import os
import queue
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from boostcarb.errors import BoostcarbError

READY = "ready"
AHEAD_EACH = 32
"""Answers of each worker that may wait for an earlier one: what waits takes memory."""
_BEGIN = "import json, sys; sys.path[:] = json.loads(sys.argv.pop(1)); from {module} import main; main()"


@dataclass(frozen=True, slots=True)
class Died:
    """A worker ended over a question; `how` goes on a sentence that begins with it."""

    how: str


class NoWorkers(BoostcarbError):
    """A worker ended before it was asked anything."""


def serve(answer: Callable[[str], str]) -> None:
    """Be a worker: answer every line of standard input on a line. Whatever else is printed goes to standard error."""
    replies = os.fdopen(os.dup(1), "w", encoding="utf-8", newline="\n")
    os.dup2(2, 1)
    try:
        print(READY, file=replies, flush=True)
        for line in sys.stdin:
            print(answer(line), file=replies, flush=True)
    except BrokenPipeError:  # whoever asked has gone
        os._exit(1)


def over_workers(module: str, arguments: Sequence[str], questions: Sequence[str], workers: int) -> Generator[Any]:
    """The answer to every question, in order, worked out by several processes. Close it to end them.

    Args:
        module: has a `main` that calls `serve`.
        arguments: what its processes are started with.
        questions: each goes to one of them as JSON; the answer comes back as JSON.
        workers: how many processes at most.

    Yields:
        Each answer, or `Died` where a process ended over its question; another takes its place.

    Raises:
        NoWorkers: a process cannot be started, or ends before it is asked.
    """
    crew = _Crew(module, arguments, questions, min(workers, len(questions)))
    try:
        yield from crew.answers()
    finally:
        crew.close()


class _Crew:
    """The threads that each look after one process, and what they bring."""

    def __init__(self, module: str, arguments: Sequence[str], questions: Sequence[str], workers: int) -> None:
        path = json.dumps(sys.path)
        self._command = [sys.executable, "-P", "-c", _BEGIN.format(module=module), path, *arguments]
        self._questions = questions
        self._next = iter(range(len(questions)))
        self._lock = threading.Lock()
        self._ahead = threading.Semaphore(AHEAD_EACH * workers)
        self._brought: queue.SimpleQueue[tuple[int, Any]] = queue.SimpleQueue()
        self._running: set[subprocess.Popen[str]] = set()
        self._closed = False
        self._threads = [threading.Thread(target=self._look_after, daemon=True) for _ in range(workers)]
        for thread in self._threads:
            thread.start()

    def answers(self) -> Iterator[Any]:
        """Every answer in the order of the questions."""
        early: dict[int, Any] = {}
        for wanted in range(len(self._questions)):
            while wanted not in early:
                index, answer = self._brought.get()
                if isinstance(answer, NoWorkers):
                    raise answer
                early[index] = answer
            yield early.pop(wanted)
            self._ahead.release()

    def close(self) -> None:
        """End whatever runs, at once."""
        with self._lock:
            self._closed = True
            for process in self._running:
                process.kill()
        self._ahead.release(len(self._threads))
        for thread in self._threads:
            thread.join()

    def _look_after(self) -> None:
        process: subprocess.Popen[str] | None = None
        try:
            while (index := self._take()) is not None:
                process = process or self._begin()
                answer = _asked(process, self._questions[index])
                if isinstance(answer, Died):
                    self._end(process)
                    process = None
                self._brought.put((index, answer))
        except (NoWorkers, OSError) as error:
            failed = error if isinstance(error, NoWorkers) else NoWorkers(f"no process could be started: {error}")
            self._brought.put((-1, failed))
        finally:
            if process is not None:
                self._end(process)

    def _take(self) -> int | None:
        """The next question that nobody has taken; None where there is none."""
        self._ahead.acquire()
        with self._lock:
            return None if self._closed else next(self._next, None)

    def _begin(self) -> subprocess.Popen[str]:
        with self._lock:
            if self._closed:
                raise NoWorkers("ended")
            process = subprocess.Popen(  # noqa: S603  our own interpreter, our own module
                self._command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                encoding="utf-8",
                start_new_session=True,
            )
            self._running.add(process)
        assert process.stdout is not None  # noqa: S101  asked for above
        if process.stdout.readline().strip() != READY:
            self._end(process)
            raise NoWorkers(f"a process that was to review {_ended(process)} before it began")
        return process

    def _end(self, process: subprocess.Popen[str]) -> None:
        """Let a process go: it ends when there is nothing more to read, and if not, then all the same."""
        assert process.stdin is not None  # noqa: S101  asked for
        assert process.stdout is not None  # noqa: S101  asked for
        with contextlib.suppress(BrokenPipeError):  # it has ended already
            process.stdin.close()
        process.kill()
        process.wait()
        process.stdout.close()
        with self._lock:
            self._running.discard(process)


def _asked(process: subprocess.Popen[str], question: str) -> Any:
    assert process.stdin is not None  # noqa: S101  asked for
    assert process.stdout is not None  # noqa: S101  asked for
    try:
        process.stdin.write(json.dumps(question) + "\n")
        process.stdin.flush()
        line = process.stdout.readline()
    except BrokenPipeError:
        line = ""
    if line.endswith("\n"):
        return json.loads(line)
    process.wait()
    return Died(_ended(process))


def _ended(process: subprocess.Popen[str]) -> str:
    code = process.returncode
    if code is not None and code < 0:
        try:
            name = signal.Signals(-code).name
        except ValueError:
            name = f"signal {-code}"
        return f"was ended by {name}"
    return f"ended with exit code {code}"
