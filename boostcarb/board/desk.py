"""One thread that works things out, one after the other, while the server goes on answering.

The model keeps caches that two threads must not share, so there is one thread. Whoever moves a slider sends more than
can be answered: what waits and has been overtaken is dropped.
"""

from __future__ import annotations

import asyncio
import contextlib
import threading
from collections import deque
from collections.abc import Callable, Hashable
from dataclasses import dataclass

MOST_WAITING = 32


class Overtaken(Exception):
    """A later request of the same kind and tab stands for this one."""


class TooMany(Exception):
    """More is waiting than can be worked out soon."""


@dataclass(frozen=True, slots=True, eq=False)
class _Job:
    work: Callable[[], bytes]
    done: asyncio.Future[bytes]
    lane: Hashable | None


class Desk:
    """Takes work from the event loop, does it in its own thread, in order."""

    def __init__(self, most_waiting: int = MOST_WAITING) -> None:
        self._waiting: deque[_Job] = deque()
        self._most_waiting = most_waiting
        self._changed = threading.Condition()
        self._open = True
        # A daemon: a long search must not keep the program from ending.
        self._thread = threading.Thread(target=self._run, name="board model", daemon=True)
        self._thread.start()

    async def ask(self, work: Callable[[], bytes], lane: Hashable | None = None, *, within_s: float) -> bytes:
        """What the work gives.

        Args:
            work: called in the thread of the desk.
            lane: later work of the same lane takes the place of what waits; None: takes the place of nothing.
            within_s: how long to wait for it, in seconds.

        Raises:
            Overtaken: later work of the same lane came before this was begun.
            TooMany: too much is waiting already.
            TimeoutError: not done in time.
            Exception: whatever the work raised.
        """
        job = _Job(work, asyncio.get_running_loop().create_future(), lane)
        with self._changed:
            if lane is not None:
                self._drop([each for each in self._waiting if each.lane == lane])
            if len(self._waiting) >= self._most_waiting or not self._open:
                raise TooMany
            self._waiting.append(job)
            self._changed.notify()
        try:
            return await asyncio.wait_for(job.done, within_s)
        finally:
            with self._changed:  # nobody waits for it any more
                if job in self._waiting:
                    self._waiting.remove(job)

    def close(self, within_s: float = 1.0) -> None:
        """Begin nothing more, and wait a moment for what was begun. Called when the event loop has ended."""
        with self._changed:
            self._open = False
            self._waiting.clear()
            self._changed.notify()
        self._thread.join(within_s)

    def _drop(self, overtaken: list[_Job]) -> None:
        for job in overtaken:
            self._waiting.remove(job)
            if not job.done.done():
                job.done.set_exception(Overtaken())

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._waiting or not self._open)
                if not self._waiting:
                    return
                job = self._waiting.popleft()
            try:
                outcome = job.work()
            except Exception as error:  # noqa: BLE001  handed to whoever asked; the thread goes on
                _hand_over(job.done, error)
            else:
                _hand_over(job.done, outcome)


def _hand_over(done: asyncio.Future[bytes], outcome: bytes | Exception) -> None:
    def settle() -> None:
        if done.done():
            return  # nobody waits for it any more
        if isinstance(outcome, Exception):
            done.set_exception(outcome)
        else:
            done.set_result(outcome)

    with contextlib.suppress(RuntimeError):  # the loop has ended: nobody waits for anything
        done.get_loop().call_soon_threadsafe(settle)
