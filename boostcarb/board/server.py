"""The board over HTTP, on this machine only."""

from __future__ import annotations

import asyncio
import os
import secrets
import signal
import socket
import sys
import threading
import traceback
from collections.abc import Callable, Mapping
from functools import partial
from types import FrameType
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from starlette.types import ASGIApp

from boostcarb.board.desk import Desk, Overtaken, TooMany
from boostcarb.board.guard import TAB_HEADER, Guard, House
from boostcarb.board.page.assemble import Page
from boostcarb.board.question import Question, as_json
from boostcarb.errors import BadDescription, BudgetSpent, NotSolved, Problem

ADDRESS, LONGEST_WORK_S, LAST_MOMENT_S, MOST_CONNECTIONS = "127.0.0.1", 60.0, 2, 128


def listening(port: int) -> socket.socket:
    """A socket on the loopback address alone, IPv4; port 0: any free one.

    Raises:
        BadDescription: the port is in use, or may not be used.
    """
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name == "posix":  # a port that was in use a moment ago is free; one in use is not
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((ADDRESS, port))
        listener.listen(MOST_CONNECTIONS)
    except (OSError, OverflowError) as error:
        listener.close()
        reason = getattr(error, "strerror", None) or str(error)
        message = f"cannot listen on port {port}: {reason}; choose another, or leave it out for any free one"
        raise BadDescription(Problem(message, field="--port")) from error
    return listener


def application(
    board: Page, questions: Mapping[str, Question], house: House, desk: Desk, *, longest_s: float = LONGEST_WORK_S
) -> ASGIApp:
    """The board: its page at `/`, a POST for each question, and nothing else."""

    async def show(request: Request) -> Response:
        headers = {"content-security-policy": board.policy}
        return Response(board.text.encode(), media_type="text/html; charset=utf-8", headers=headers)

    routes = [Route("/", show, methods=["GET"])]
    routes += [
        Route(path, partial(_answer, question, desk, longest_s), methods=["POST"])
        for path, question in questions.items()
    ]
    app = Starlette(routes=routes, exception_handlers={HTTPException: _not_here})
    app.router.redirect_slashes = False
    return Guard(app, house)


async def _answer(question: Question, desk: Desk, longest_s: float, request: Request) -> Response:
    """Check at once, work out at the desk, and turn whatever happens into an answer."""
    tab = request.headers.get(TAB_HEADER)
    lane = (request.url.path, tab) if question.newest_only and tab else None
    try:
        record = question.answer(await request.body())
        asked = asyncio.ensure_future(desk.ask(lambda: as_json(record()), lane, within_s=longest_s))
        return _json(200, await _unless_gone(asked, request))
    except Exception as error:  # noqa: BLE001  whatever it is, the server goes on and says so
        status, sentence, do = _told(error)
        return _json(status, as_json({"error": sentence, "do": do}))


async def _unless_gone(asked: asyncio.Future[bytes], request: Request) -> bytes:
    """What was asked for; given up where the client has gone."""
    leaving = asyncio.ensure_future(request.receive())  # after the body only the end of the connection can come
    try:
        either: set[asyncio.Future[Any]] = {asked, leaving}
        await asyncio.wait(either, return_when=asyncio.FIRST_COMPLETED)
        if not asked.done():
            asked.cancel()
            raise Overtaken
        return asked.result()
    finally:
        leaving.cancel()


def _told(error: Exception) -> tuple[int, str, str]:
    """Status, what happened, what to do (RFC 9110, section 15; 422: 15.5.21; 429: RFC 6585, section 4)."""
    if isinstance(error, BadDescription):
        return 400, "; ".join(map(str, error.problems)), "Put it right and ask again."
    for kind, status, sentence, do in _TOLD:
        if isinstance(error, kind):
            return status, sentence or f"No answer: {error}.", do
    traceback.print_exception(error, file=sys.stderr)
    return 500, "Something went wrong inside the board.", "Undo the last change, or load the page again."


_TOLD: tuple[tuple[type[Exception], int, str, str], ...] = (
    (NotSolved, 422, "", "Undo the last change, or choose another state."),
    (BudgetSpent, 422, "", "Undo some changes and ask again."),
    (Overtaken, 409, "A later request has taken the place of this one.", "Nothing: the answer to that one comes."),
    (TooMany, 429, "More is waiting than can be answered soon.", "Wait a moment and ask again."),
    (TimeoutError, 503, "That took too long to work out.", "Ask again, or make fewer changes at once."),
)


async def _not_here(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 404
    sentence = "That cannot be done here." if status == 405 else "There is nothing here."
    headers = dict(error.headers or {}) if isinstance(error, HTTPException) else {}
    return _json(status, as_json({"error": sentence, "do": "Open / instead."}), headers)


def _json(status: int, body: bytes, headers: Mapping[str, str] | None = None) -> Response:
    return Response(body, status_code=status, media_type="application/json", headers=dict(headers or {}))


def new_token() -> str:
    """What only the page of this run knows: 256 random bits."""
    return secrets.token_urlsafe(32)


def serve(app: ASGIApp, listener: socket.socket, started: Callable[[], Any] = lambda: None) -> None:
    """Serve until the program is told to end: Ctrl+C or SIGTERM, after which it returns.

    Args:
        app: the application.
        listener: a socket that listens already; it is closed at the end.
        started: called once requests are answered.
    """
    config = uvicorn.Config(
        app,
        http="h11",
        ws="none",
        lifespan="off",
        log_config=None,
        log_level="critical",
        access_log=False,
        proxy_headers=False,
        server_header=False,
        limit_concurrency=MOST_CONNECTIONS,
        timeout_keep_alive=30,
        timeout_graceful_shutdown=LAST_MOMENT_S,
        h11_max_incomplete_event_size=32 * 1024,
    )
    server = _Server(config, started)
    before = _ended_by_signal(server)
    try:
        server.run(sockets=[listener])
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


class _Server(uvicorn.Server):
    """Says when it has started."""

    def __init__(self, config: uvicorn.Config, started: Callable[[], Any]) -> None:
        super().__init__(config)
        self._say_started = started

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets=sockets)
        self._say_started()


def _ended_by_signal(server: uvicorn.Server) -> dict[int, Any]:
    """Let signals end the server, and nothing more; the handlers there were.

    The server raises anew, once it has ended, the signal that ended it: without a handler of ours under its own the
    program would then be killed by what it has already obeyed.
    """
    if threading.current_thread() is not threading.main_thread():
        return {}

    def end(number: int, frame: FrameType | None) -> None:
        server.should_exit = True

    return {number: signal.signal(number, end) for number in (signal.SIGINT, signal.SIGTERM)}
