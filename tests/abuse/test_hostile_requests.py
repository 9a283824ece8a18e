"""Any body to any question of the board: an answer, or what is wrong and what to do; never a fault inside.

The answers are those of the real model of one job, asked as the server asks it, without sockets: over an ASGI call
(ASGI Specification 3.0, HTTP). Statuses are those of RFC 9110, section 15.
"""

from __future__ import annotations

import asyncio
import json
import random
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from abused import JOB
from spoiling import MARKUP, NUMBERS, WORDS

from boostcarb import pipeline
from boostcarb.board import server
from boostcarb.board.answering import questions
from boostcarb.board.desk import Desk
from boostcarb.board.guard import LARGEST_BODY, House
from boostcarb.board.page.assemble import Page
from boostcarb.board.study import Study

HOUSE = House(8123, server.new_token())
HEADERS = {
    "host": "127.0.0.1:8123", "origin": "http://127.0.0.1:8123", "content-type": "application/json",
    "x-board-token": HOUSE.token,
}  # fmt: skip
PLACED = {"mode": "draw_through", "base": "found"}
RIGHT: dict[str, dict[str, Any]] = {
    "/scene": {"mode": "draw_through"},
    "/answer": {**PLACED, "changes": {}},
    "/dial": {**PLACED, "changes": {}, "boost_pa": 20_000.0, "throttle": 0.5, "rpm": 3000.0},
    "/trace": {**PLACED, "changes": {}, "space": "manifold", "state": "idle"},
    "/spray": {**PLACED, "changes": {}, "space": "manifold"},
    "/repair": {**PLACED, "changes": {}},
    "/job": {**PLACED, "changes": {}},
    "/lesson": {**PLACED, "seed": 1, "count": 2},
    "/hunt": {**PLACED, "seed": 1},
}  # fmt: skip
QUICK = [path for path in RIGHT if path not in ("/repair", "/lesson", "/hunt", "/scene")]
TRIED = 150
"""Bodies that the ordinary tests send."""


@dataclass
class Board:
    """The application of a real job, called in this process."""

    app: Any
    loop: asyncio.AbstractEventLoop
    study: Study

    def send(self, path: str, body: bytes, **other: str) -> tuple[int, bytes]:
        """Status and body of the answer to a POST."""
        return self.loop.run_until_complete(self._called(path, body, other))

    async def _called(self, path: str, body: bytes, other: dict[str, str]) -> tuple[int, bytes]:
        headers = {**HEADERS, "content-length": str(len(body)), **other}
        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST", "scheme": "http",
            "path": path, "raw_path": path.encode(), "query_string": b"", "root_path": "",
            "headers": [(name.encode(), value.encode("latin-1")) for name, value in headers.items()],
        }  # fmt: skip
        sent: list[dict[str, Any]] = []
        bodies = [body]

        async def receive() -> dict[str, Any]:
            if bodies:
                return {"type": "http.request", "body": bodies.pop(), "more_body": False}
            await asyncio.Event().wait()  # the client stays
            raise AssertionError

        async def send(message: dict[str, Any]) -> None:
            sent.append(message)

        await self.app(scope, receive, send)
        return sent[0]["status"], b"".join(message.get("body", b"") for message in sent[1:])


@pytest.fixture(scope="module")
def board() -> Iterator[Board]:
    study = Study.of(pipeline.load(JOB))
    desk, loop = Desk(), asyncio.new_event_loop()
    app = server.application(Page("<!DOCTYPE html>", "default-src 'none'"), questions(study), HOUSE, desk)
    yield Board(app, loop, study)
    desk.close()
    loop.close()


def checked(got: tuple[int, bytes], capsys: pytest.CaptureFixture[str]) -> int:
    """Every answer is JSON without NaN; a refusal says what is wrong and what to do, and nothing of our inside."""

    def refuse(word: str) -> None:
        raise AssertionError(word)

    status, body = got
    record = json.loads(body, parse_constant=refuse)
    assert status == 200 or 400 <= status < 500, (status, record, capsys.readouterr().err)
    if status != 200:
        assert set(record) == {"error", "do"}
        assert all(isinstance(each, str) and each for each in record.values())
        assert len(body) < 4000
        assert "Traceback" not in body.decode()
    return status


def odd(chance: random.Random, board: Board, depth: int = 0) -> Any:
    """A value that is now and then even right."""
    pick = chance.randrange(12)
    network = board.study.bench("draw_through").network
    if pick < 3:
        return chance.choice([*network.spaces, *network.items, *(way.name for way in network.ways), *PLACED.values()])
    if pick < 6:
        return chance.choice(WORDS)
    if pick < 9 or depth > 3:
        return chance.choice(NUMBERS)
    if pick == 9:
        return [odd(chance, board, depth + 1) for _ in range(chance.choice((0, 1, 3)))]
    if pick == 10:
        names = [str(odd(chance, board, depth + 1))[:300] for _ in range(chance.choice((0, 1, 3)))]
        return {name: odd(chance, board, depth + 1) for name in names}
    return _changes(chance, board)


def _changes(chance: random.Random, board: Board) -> dict[str, str]:
    items = board.study.bench("draw_through").network.items
    many = chance.sample(sorted(items), chance.choice((1, 2, 5, 60, 61)))
    return {item: chance.choice(sorted(items[item].forms)) for item in many}


def spoiled_request(path: str, chance: random.Random, board: Board) -> bytes:
    """A request of a question with one to three things in it that may be wrong."""
    asked: dict[str, Any] = json.loads(json.dumps(RIGHT[path]))
    for _ in range(chance.choice((1, 1, 2, 3))):
        name = chance.choice([*asked, *asked, "changes", "changes", "extra", "__proto__"])
        pick = chance.random()
        if pick < 0.15:
            asked.pop(name, None)
        elif name == "changes" and pick < 0.7:
            asked[name] = _changes(chance, board)
        else:
            asked[name] = odd(chance, board)
    text = json.dumps(asked)
    pick = chance.random()
    if pick < 0.05:
        return text.encode("utf-16")
    if pick < 0.1:
        return text[: chance.randrange(len(text) + 1)].encode()
    if pick < 0.15:
        place = chance.randrange(len(text))
        return text[:place].encode() + bytes([chance.randrange(256)]) + text[place + 1 :].encode()
    return text.encode()


def test_right_requests_are_answered(board: Board, capsys: pytest.CaptureFixture[str]) -> None:
    """So that the refusals below are not those of a wrong form."""
    for path, asked in RIGHT.items():
        status = checked(board.send(path, json.dumps(asked).encode()), capsys)
        assert status == (400 if path == "/job" else 200), path  # nothing is changed that a job could propose


def test_spoiled_requests(board: Board, capsys: pytest.CaptureFixture[str]) -> None:
    chance = random.Random("requests")
    statuses = set()
    for _ in range(TRIED):
        path = chance.choice(QUICK if chance.random() < 0.95 else sorted(RIGHT))
        statuses.add(checked(board.send(path, spoiled_request(path, chance, board)), capsys))
    assert {200, 400} <= statuses


BODIES = {
    "deep lists": b"[" * 30_000 + b"]" * 30_000,
    "deep objects": b'{"mode":' * 6000 + b"1" + b"}" * 6000,
    "deep changes": b'{"mode":"draw_through","base":"found","changes":' + b'{"a":' * 9000 + b"1" + b"}" * 9001,
    "number of many digits": b'{"mode":"draw_through","base":"found","seed":' + b"9" * 50_000 + b',"count":1}',
    "number of a large power": b'{"mode":"draw_through","base":"found","boost_pa":1e999999,"throttle":0,"rpm":1}',
    "NaN": b'{"mode":"draw_through","base":"found","boost_pa":NaN,"throttle":0,"rpm":1}',
    "long text": b'{"mode":"' + b"m" * 60_000 + b'"}',
    "long name": b'{"' + b"m" * 60_000 + b'":1}',
    "many items": json.dumps({**PLACED, "changes": {f"i{number}": "x" for number in range(3000)}}).encode(),
    "many names": json.dumps({**PLACED, **{f"i{number}": "x" for number in range(3000)}}).encode(),
    "many long names": json.dumps({**PLACED, "changes": {"x" * 300 + str(n): "x" for n in range(60)}}).encode(),
    "name twice": b'{"mode":"draw_through","mode":"' + MARKUP.replace('"', "").encode() + b'","base":"found"}',
    "half of a pair": b'{"mode":"\\ud800","base":"found"}',
    "line separators": '{"mode":"a\u2028b\u202e","base":"found"}'.encode(),
    "zero": b'{"mode":"\\u0000","base":"found"}',
    "nothing": b"",
    "too large": b" " * (LARGEST_BODY + 1),
}  # fmt: skip


@pytest.mark.parametrize("name", BODIES)
def test_hostile_bodies(name: str, board: Board, capsys: pytest.CaptureFixture[str]) -> None:
    for path in RIGHT:
        status = checked(board.send(path, BODIES[name]), capsys)
        assert status == (413 if name == "too large" else 400)


@pytest.mark.parametrize("length", ["-1", "1e3", "٣", "9" * 5000, "0x10", "+5", "1, 1", " "])
def test_odd_lengths_do_no_harm(length: str, board: Board) -> None:
    """The server refuses most before us (RFC 9112, section 6.3); what comes through is read to its own end."""
    sent = length.encode().decode("latin-1")
    status, body = board.send("/trace", json.dumps(RIGHT["/trace"]).encode(), **{"content-length": sent})
    assert status in (200, 400, 413, 431), body
