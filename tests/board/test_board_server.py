"""The board's server against its own rules: who may talk to it, how, and how much.

Every request here goes over a real socket to a real server. What a right answer is, the standards named beside the
checks say: RFC 9110 and 9112 (HTTP), RFC 6454 and the Fetch Standard (origins), RFC 6585 (429, 431), RFC 8259 (JSON),
W3C Content Security Policy Level 3, W3C Fetch Metadata Request Headers.
"""

from __future__ import annotations

import http.client
import json
import socket
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

import pytest
import uvicorn

from boostcarb.board import server as board_server
from boostcarb.board.desk import MOST_WAITING, Desk
from boostcarb.board.guard import LARGEST_BODY, LARGEST_HEADERS, MOST_HEADERS, Guard, House
from boostcarb.board.page.assemble import Page
from boostcarb.board.question import Question, Record
from boostcarb.board.requests import MOST_CHANGES, ForAnswer, ForDial, ForLesson, ForSpray, read_request
from boostcarb.errors import BadDescription, BudgetSpent, NotSolved, Problem

PAGE = Page("<!DOCTYPE html><title>Board</title>", "default-src 'none'; connect-src 'self'; frame-ancestors 'none'")
ITEMS = {"choke": ("hot_air", "none"), "vent": ("open", "plugged")}
ASKED = {"mode": "blow_through", "base": "found", "changes": {"vent": "plugged"}}


@dataclass
class Model:
    """Stands for the study: knows two items, can be held up, and can fail in every way that the real one can."""

    begun: list[Record] = field(default_factory=list)
    held: threading.Event = field(default_factory=threading.Event)
    fails: Exception | None = None

    def answer(self, asked: ForAnswer) -> Record:
        self.begun.append(dict(asked.changes))
        if asked.base == "held":
            assert self.held.wait(20)
        if self.fails is not None:
            raise self.fails
        for item, form in asked.changes.items():
            if form not in ITEMS.get(item, ()):
                raise BadDescription(Problem(f"no such item or form {item}={form}", field="changes"))
        return {"mode": asked.mode, "changes": dict(asked.changes)}

    def questions(self) -> dict[str, Question]:
        def asks(kind: Any, newest_only: bool = False) -> Question:
            return Question(lambda body: partial(self.answer, read_request(kind, body)), newest_only)

        return {"/answer": asks(ForAnswer, True), "/dial": asks(ForDial, True), "/trace": asks(ForAnswer)}


@dataclass
class Reply:
    status: int
    headers: http.client.HTTPMessage
    body: bytes

    @property
    def record(self) -> Record:
        assert self.headers["content-type"] == "application/json"
        loaded = json.loads(self.body)
        assert isinstance(loaded, dict)
        return loaded


@dataclass
class Board:
    """A server that runs, and what its own page would send."""

    house: House
    model: Model

    @property
    def headers(self) -> dict[str, str]:
        return {
            "Host": f"127.0.0.1:{self.house.port}",
            "Origin": f"http://127.0.0.1:{self.house.port}",
            "Content-Type": "application/json",
            "X-Board-Token": self.house.token,
            "Sec-Fetch-Site": "same-origin",
        }

    def send(
        self, method: str = "POST", path: str = "/answer", body: bytes | None = None, **headers: str | None
    ) -> Reply:
        """One request on a connection of its own; a header that is None is left out."""
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        other = {name.lower() for name in named}
        ours = {name: value for name, value in self.headers.items() if name.lower() not in other}
        if method != "POST":
            ours = {name: value for name, value in ours.items() if name in ("Host", "Sec-Fetch-Site")}
        connection = http.client.HTTPConnection("127.0.0.1", self.house.port, timeout=30)
        try:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            sent = {**ours, **{name: value for name, value in named.items() if value is not None}}
            if body is not None and "Content-Length" not in sent and "Transfer-Encoding" not in sent:
                sent["Content-Length"] = str(len(body))
            for name, value in sent.items():
                connection.putheader(name, value)
            connection.endheaders(body)
            answer = connection.getresponse()
            return Reply(answer.status, answer.headers, answer.read())
        finally:
            connection.close()

    def ask(self, record: Any = None, path: str = "/answer", **headers: str | None) -> Reply:
        return self.send("POST", path, json.dumps(ASKED if record is None else record).encode(), **headers)

    def raw(self, text: bytes) -> bytes:
        """Whatever comes back on a bare connection until it is closed."""
        with socket.create_connection(("127.0.0.1", self.house.port), timeout=30) as bare:
            bare.sendall(text)
            bare.shutdown(socket.SHUT_WR)
            return b"".join(iter(lambda: bare.recv(65536), b""))


def started(
    model: Model, *, longest_s: float = 20, slowest_body_s: float | None = None
) -> tuple[Board, Callable[[], None]]:
    """A server as the command starts it, in a thread; and what ends it."""
    listener = board_server.listening(0)
    board = Board(House(listener.getsockname()[1], board_server.new_token()), model)
    desk = Desk()
    app = board_server.application(PAGE, model.questions(), board.house, desk, longest_s=longest_s)
    if slowest_body_s is not None:
        assert isinstance(app, Guard)
        app = Guard(app._app, board.house, slowest_body_s)
    ready = threading.Event()
    servers: list[uvicorn.Server] = []
    made = uvicorn.Server.__init__

    def remembered(self: uvicorn.Server, *arguments: Any, **named: Any) -> None:
        made(self, *arguments, **named)
        servers.append(self)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(uvicorn.Server, "__init__", remembered)
        thread = threading.Thread(target=board_server.serve, args=(app, listener, ready.set), daemon=True)
        thread.start()
        assert ready.wait(20)

    def end() -> None:
        model.held.set()
        servers[0].should_exit = True
        thread.join(20)
        desk.close()
        assert not thread.is_alive()

    return board, end


@pytest.fixture
def running() -> Iterator[Callable[..., Board]]:
    """Starts servers of a test's own; ends them afterwards."""
    ends: list[Callable[[], None]] = []

    def run(model: Model | None = None, **limits: float) -> Board:
        board, end = started(model or Model(), **limits)
        ends.append(end)
        return board

    yield run
    for end in ends:
        end()


@pytest.fixture(scope="module")
def shared() -> Iterator[Board]:
    board, end = started(Model())
    yield board
    end()


@pytest.fixture
def board(shared: Board) -> Iterator[Board]:
    """One server for all tests, its model as new for each."""
    shared.model.begun.clear()
    shared.model.held.clear()
    shared.model.fails = None
    yield shared
    shared.model.held.set()


def refused(reply: Reply, status: int) -> Record:
    """A refusal in the shape that the page reads."""
    record = reply.record
    assert reply.status == status, record
    assert set(record) == {"error", "do"}
    assert all(record.values())
    return record


def until(holds: Callable[[], bool]) -> None:
    end = time.monotonic() + 20
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.01)


# What is there


def test_page_of_the_board(board: Board) -> None:
    reply = board.send("GET", "/")
    assert (reply.status, reply.body.decode()) == (200, PAGE.text)
    assert reply.headers["content-type"] == "text/html; charset=utf-8"
    assert reply.headers["content-security-policy"] == PAGE.policy


def test_head_is_the_page_without_its_body(board: Board) -> None:
    """RFC 9110, section 9.3.2."""
    whole, head = board.send("GET", "/"), board.send("HEAD", "/")
    assert (head.status, head.body) == (200, b"")
    assert head.headers["content-length"] == whole.headers["content-length"]


def test_answer(board: Board) -> None:
    reply = board.ask()
    assert (reply.status, reply.record) == (200, {"mode": "blow_through", "changes": {"vent": "plugged"}})


def test_one_connection_for_many_answers(board: Board) -> None:
    """RFC 9112, section 9.3: connections persist."""
    connection = http.client.HTTPConnection("127.0.0.1", board.house.port, timeout=30)
    connection.connect()
    mine = connection.sock
    for _ in range(5):
        connection.request("POST", "/answer", json.dumps(ASKED), board.headers)
        assert json.loads(connection.getresponse().read())["mode"] == "blow_through"
        assert connection.sock is mine
    connection.close()


SAFE = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


@pytest.mark.parametrize(
    "send",
    [
        lambda board: board.send("GET", "/"),
        lambda board: board.ask(),
        lambda board: board.send("GET", "/nothing"),
        lambda board: board.ask(Host="stranger.example"),
        lambda board: board.ask({"mode": 1}),
    ],
    ids=["page", "answer", "not found", "foreign host", "bad request"],
)
def test_every_answer_carries_the_headers_of_safety(board: Board, send: Callable[[Board], Reply]) -> None:
    headers = send(board).headers
    assert {name: headers[name] for name in SAFE} == SAFE
    assert len(headers.get_all("content-security-policy", [])) == 1
    assert "default-src 'none'" in headers["content-security-policy"]
    assert "frame-ancestors 'none'" in headers["content-security-policy"]
    assert "access-control-allow-origin" not in headers
    assert "set-cookie" not in headers
    assert "server" not in headers


# Who may talk to it


@pytest.mark.parametrize(
    "host",
    [
        "stranger.example",
        "stranger.example:PORT",
        "127.0.0.1",
        "127.0.0.1:1",
        "127.0.0.1.stranger.example:PORT",
        "localhost.stranger.example:PORT",
        "stranger.example@127.0.0.1:PORT",
        "0.0.0.0:PORT",
        "[::1]:PORT",
        "127.1:PORT",
        "2130706433:PORT",
        "127.0.0.1:PORT.",
        "",
    ],
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_foreign_host_is_refused(board: Board, host: str, method: str) -> None:
    """A name of a stranger that points to this machine must not do (RFC 9110, section 7.2)."""
    host = host.replace("PORT", str(board.house.port))
    reply = board.send(method, "/" if method == "GET" else "/answer", b"{}" if method == "POST" else None, Host=host)
    refused(reply, 403)
    assert board.model.begun == []


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "LocalHost"])
def test_own_hosts(board: Board, host: str) -> None:
    """Hosts are compared without regard to case (RFC 9110, section 4.2.3)."""
    assert board.send("GET", "/", Host=f"{host}:{board.house.port}").status == 200
    reply = board.ask(Host=f"{host}:{board.house.port}", Origin=f"http://{host.lower()}:{board.house.port}")
    assert reply.status == 200


def test_request_without_a_host_is_bad(board: Board) -> None:
    """RFC 9112, section 3.2: 400 to a request that lacks Host, or has it twice."""
    assert board.raw(b"GET / HTTP/1.1\r\nConnection: close\r\n\r\n").startswith(b"HTTP/1.1 400")
    own = f"Host: 127.0.0.1:{board.house.port}\r\n".encode()
    assert board.raw(b"GET / HTTP/1.1\r\n" + own + b"Host: stranger.example\r\n\r\n").startswith(b"HTTP/1.1 400")


def test_address_of_another_server_in_the_request_line(board: Board) -> None:
    """A target in absolute form overrides Host (RFC 9112, section 3.2.2): nothing of it is served."""
    own = f"Host: 127.0.0.1:{board.house.port}\r\n".encode()
    got = board.raw(b"GET http://stranger.example/ HTTP/1.1\r\n" + own + b"\r\n")
    assert got.startswith(b"HTTP/1.1 4")
    assert PAGE.text.encode() not in got


@pytest.mark.parametrize(
    "origin",
    [
        None,
        "null",
        "http://stranger.example",
        "https://127.0.0.1:PORT",
        "http://127.0.0.1",
        "http://127.0.0.1:1",
        "http://127.0.0.1:PORT.stranger.example",
        "http://127.0.0.1:PORT/",
        "http://127.0.0.1:PORT http://stranger.example",
        "file://",
    ],
)
def test_foreign_origin_is_refused(board: Board, origin: str | None) -> None:
    """RFC 6454, section 7; a browser names the origin of every POST (Fetch Standard, "Origin header")."""
    refused(board.ask(Origin=origin and origin.replace("PORT", str(board.house.port))), 403)
    assert board.model.begun == []


@pytest.mark.parametrize("site", ["cross-site", "same-site", "anything"])
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_request_from_another_site_is_refused(board: Board, site: str, method: str) -> None:
    """Fetch Metadata Request Headers, section 2.3."""
    path, body = ("/answer", b"{}") if method == "POST" else ("/", None)
    refused(board.send(method, path, body, Sec_Fetch_Site=site), 403)


@pytest.mark.parametrize("token", [None, "", "guessed", "TOKEN ", "TOKENx", "é"])
def test_token_must_be_that_of_this_run(board: Board, token: str | None) -> None:
    token = token and token.replace("TOKEN", board.house.token[:-1])
    refused(board.ask(X_Board_Token=token), 403)
    assert board.model.begun == []


def test_two_boards_know_each_other_not(running: Callable[..., Board]) -> None:
    one, two = running(), running()
    assert one.house.port != two.house.port
    assert one.house.token != two.house.token
    assert one.ask().status == two.ask().status == 200
    refused(one.ask(X_Board_Token=two.house.token), 403)
    refused(one.ask(Origin=two.headers["Origin"]), 403)


def test_token_is_long_enough_not_to_be_guessed() -> None:
    """At least 128 bits of chance (OWASP Session Management Cheat Sheet asks for 64); from memory."""
    tokens = {board_server.new_token() for _ in range(100)}
    assert len(tokens) == 100
    assert min(map(len, tokens)) * 6 >= 128


def test_listens_on_the_loopback_address_alone(board: Board) -> None:
    """RFC 1122, section 3.2.1.3 (g): 127/8 never leaves the machine; we take one address of it, and no IPv6."""
    others = {"127.0.0.2", *(each[4][0] for each in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET))}
    for address in others - {"127.0.0.1"}:
        with pytest.raises(OSError, match=r"refused|unreachable|timed out"):
            socket.create_connection((str(address), board.house.port), timeout=5)
    if socket.has_ipv6:
        with pytest.raises(OSError, match=r"refused|assign|unreachable|supported"):
            socket.create_connection(("::1", board.house.port), timeout=5)


def test_port_in_use_is_said_with_what_to_do(board: Board) -> None:
    with pytest.raises(BadDescription, match=rf"--port: .*port {board.house.port}.*choose another"):
        board_server.listening(board.house.port)


# How it may be asked


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "BREW"])
def test_other_methods_are_refused(board: Board, method: str) -> None:
    """RFC 9110, section 15.5.6: 405, with Allow."""
    reply = board.send(method, "/")
    refused(reply, 405)
    assert reply.headers["allow"] == "GET, HEAD, POST"


@pytest.mark.parametrize(("method", "path"), [("POST", "/"), ("GET", "/answer"), ("HEAD", "/answer")])
def test_method_that_does_not_fit_the_path(board: Board, method: str, path: str) -> None:
    reply = board.send(method, path, b"{}" if method == "POST" else None)
    assert reply.status == 405
    assert reply.headers["allow"]
    assert board.model.begun == []


@pytest.mark.parametrize(
    "path",
    ["/nothing", "/answer/", "//", "/../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/board.html", "/page/", "/.",
     "/etc/passwd", "/favicon.ico", "/answer%00"],
)  # fmt: skip
def test_nothing_else_is_there(board: Board, path: str) -> None:
    """No file of the disk, no list of a folder."""
    refused(board.send("GET", path), 404)


@pytest.mark.parametrize(
    "kind", [None, "", "text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "application/jsonp",
             "text/plain; application/json", "application/json; charset=utf-16"],
)  # fmt: skip
def test_only_json_is_read(board: Board, kind: str | None) -> None:
    """What a form of another page can send without asking first is not JSON (Fetch Standard, safelisted types)."""
    refused(board.ask(Content_Type=kind), 415)
    assert board.model.begun == []


@pytest.mark.parametrize(
    "kind", ["application/json; charset=utf-8", "Application/JSON", "application/json;charset=UTF-8"]
)
def test_json_by_any_right_name(board: Board, kind: str) -> None:
    """Types are compared without regard to case (RFC 9110, section 8.3.1)."""
    assert board.ask(Content_Type=kind).status == 200


def test_compressed_bodies_are_not_unpacked(board: Board) -> None:
    refused(board.ask(Content_Encoding="gzip"), 415)


NESTED = b'{"mode":"m","base":"found","changes":' + b'{"a":' * 10_000 + b"1" + b"}" * 10_001


@pytest.mark.parametrize(
    "body",
    [
        b"", b"{", b"null", b"[]", b'"answer"', b"\xff\xfe{}", b"\x00", NESTED, b"[" * 60_000,
        b'{"mode":"m","base":"found","changes":{"a":NaN}}', b'{"mode":NaN,"base":"found"}',
        b'{"mode":"m","base":"found","changes":{"a":"\\ud800"}}', b'{"mode":"m","base":"found",}',
        b"{'mode':'m','base':'found'}", b'{"mode":"m","base":"found"} {}',
    ],
)  # fmt: skip
def test_what_is_no_request(board: Board, body: bytes) -> None:
    """RFC 8259: one value in UTF-8, no NaN; nesting may be limited (section 9)."""
    refused(board.send("POST", "/answer", body), 400)
    assert board.ask().status == 200, "the server goes on"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"mode": None}, "mode"),
        ({"mode": ""}, "mode"),
        ({"mode": 3}, "mode"),
        ({"base": ["found"]}, "base"),
        ({"changes": [["vent", "plugged"]]}, "changes"),
        ({"changes": {"vent": True}}, "changes.vent"),
        ({"changes": {"": "open"}}, "changes"),
        ({"changes": {"x" * 201: "open"}}, "changes"),
        ({"chagnes": {}}, "chagnes"),
        ({"__proto__": {}}, "__proto__"),
        ({"changes": {f"item{number}": "open" for number in range(1000)}}, f"at most {MOST_CHANGES}"),
        ({"changes": {"vent": "ajar"}}, "vent=ajar"),
        ({"changes": {"no_such": "open"}}, "no_such=open"),
    ],
)
def test_wrong_request_is_told_where(board: Board, change: Record, said: str) -> None:
    assert said in refused(board.ask({**ASKED, **change}), 400)["error"]


@pytest.mark.parametrize("missing", ["mode", "base"])
def test_what_must_be_said(board: Board, missing: str) -> None:
    said = refused(board.ask({name: value for name, value in ASKED.items() if name != missing}), 400)
    assert missing in said["error"]


DIALED = {**ASKED, "boost_pa": 40_000, "throttle": 0.5, "rpm": 3000}


@pytest.mark.parametrize(
    ("name", "value"),
    [("boost_pa", float("nan")), ("boost_pa", float("inf")), ("boost_pa", 1e9), ("boost_pa", "40000"),
     ("throttle", 1.01), ("throttle", -0.01), ("throttle", True), ("rpm", 0), ("rpm", 1e6), ("rpm", None)],
)  # fmt: skip
def test_dial_within_bounds(board: Board, name: str, value: object) -> None:
    refused(board.ask({**DIALED, name: value}, "/dial"), 400)
    assert board.ask(DIALED, "/dial").status == 200


@pytest.mark.parametrize("count", [0, 51, 1_000_000, -1, 2.5])
def test_count_of_questions_is_bounded(count: float) -> None:
    body = json.dumps({"mode": "m", "base": "found", "seed": 1, "count": count}).encode()
    with pytest.raises(BadDescription, match="count"):
        read_request(ForLesson, body)


@pytest.mark.parametrize("places", [{}, {"space": "bowl", "way": "vent"}])
def test_spray_goes_into_one_place(places: dict[str, str]) -> None:
    with pytest.raises(BadDescription, match="one place"):
        read_request(ForSpray, json.dumps({"mode": "m", "base": "found", **places}).encode())


# How much


def test_large_body_is_refused_by_its_head(board: Board) -> None:
    """RFC 9110, section 15.5.14. The body is never sent: an honest client is told at once."""
    reply = board.send("POST", "/answer", None, Content_Length=str(LARGEST_BODY + 1))
    refused(reply, 413)


def test_large_body_is_refused_while_it_is_read(board: Board) -> None:
    """Chunked, so that no length is promised (RFC 9112, section 7.1)."""
    head = "".join(f"{name}: {value}\r\n" for name, value in board.headers.items())
    chunk = b"2000\r\n" + b" " * 0x2000 + b"\r\n"
    text = f"POST /answer HTTP/1.1\r\n{head}Transfer-Encoding: chunked\r\n\r\n".encode() + chunk * 9
    with socket.create_connection(("127.0.0.1", board.house.port), timeout=30) as bare:
        bare.sendall(text)  # without its end: the refusal does not wait for it
        assert bare.recv(65536).startswith(b"HTTP/1.1 413")
    assert board.model.begun == []


def test_body_of_the_largest_size_is_read(board: Board) -> None:
    body = json.dumps(ASKED).encode()
    assert board.send("POST", "/answer", body + b" " * (LARGEST_BODY - len(body))).status == 200
    refused(board.send("POST", "/answer", body + b" " * (LARGEST_BODY - len(body) + 1)), 413)


def test_length_and_chunks_together_are_not_smuggled(board: Board) -> None:
    """RFC 9112, section 6.3: chunks win over a length, or the request is refused; never two requests of one."""
    head = "".join(f"{name}: {value}\r\n" for name, value in board.headers.items())
    inner = f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{board.house.port}\r\n\r\n"
    both = f"Content-Length: {5 + len(inner)}\r\nTransfer-Encoding: chunked\r\n\r\n"
    got = board.raw(f"POST /answer HTTP/1.1\r\n{head}{both}0\r\n\r\n".encode())
    assert got.startswith(b"HTTP/1.1 400")
    assert got.count(b"HTTP/1.1 ") == 1


def test_too_many_headers(board: Board) -> None:
    """RFC 6585, section 5."""
    refused(board.ask(**{f"X_{number}": "x" for number in range(MOST_HEADERS)}), 431)
    refused(board.ask(X_Long="x" * LARGEST_HEADERS), 431)


def test_endless_head_is_cut_off(board: Board) -> None:
    with socket.create_connection(("127.0.0.1", board.house.port), timeout=30) as bare:
        bare.sendall(b"GET / HTTP/1.1\r\nX: " + b"x" * 100_000)
        assert bare.recv(65536).startswith(b"HTTP/1.1 400")


def test_long_address(board: Board) -> None:
    """RFC 9110, section 15.5.15."""
    refused(board.send("GET", "/?" + "x" * 2000), 414)


def test_slow_body_is_given_up_and_holds_nobody_up(running: Callable[..., Board]) -> None:
    """RFC 9110, section 15.5.9."""
    board = running(slowest_body_s=0.5)
    head = "".join(f"{name}: {value}\r\n" for name, value in board.headers.items())
    with socket.create_connection(("127.0.0.1", board.house.port), timeout=30) as bare:
        bare.sendall(f"POST /answer HTTP/1.1\r\n{head}Content-Length: 100\r\n\r\n{{".encode())
        assert board.ask().status == 200
        assert bare.recv(65536).startswith(b"HTTP/1.1 408")


def test_page_comes_while_the_model_is_at_work(board: Board) -> None:
    with ThreadPoolExecutor(1) as others:
        waiting = others.submit(board.ask, {**ASKED, "base": "held"})
        until(lambda: bool(board.model.begun))
        assert board.send("GET", "/").status == 200
        refused(board.ask({**ASKED, "mode": 1}), 400)
        assert not waiting.done()
        board.model.held.set()
        assert waiting.result(20).status == 200


def test_what_waits_and_is_overtaken_is_dropped(board: Board) -> None:
    """Of one tab only the newest is worked out; other tabs, and what is not a slider, are left alone."""

    def sent(pool: ThreadPoolExecutor, tab: str, path: str, mode: str) -> Any:
        future = pool.submit(board.ask, {**ASKED, "mode": mode}, path, X_Board_Tab=tab)
        time.sleep(0.15)  # in this order
        return future

    with ThreadPoolExecutor(8) as pool:
        first = pool.submit(board.ask, {**ASKED, "base": "held"}, X_Board_Tab="one")
        until(lambda: bool(board.model.begun))
        stale = sent(pool, "one", "/answer", "stale")
        other = sent(pool, "two", "/answer", "other")
        trace = sent(pool, "one", "/trace", "trace")
        newest = sent(pool, "one", "/answer", "newest")
        assert refused(stale.result(20), 409)["do"]
        board.model.held.set()
        assert [each.result(20).record["mode"] for each in (first, other, trace, newest)] == [
            "blow_through", "other", "trace", "newest",
        ]  # fmt: skip
    assert len(board.model.begun) == 4


def test_more_than_can_wait_is_refused(board: Board) -> None:
    """RFC 6585, section 4."""
    with ThreadPoolExecutor(MOST_WAITING + 8) as pool:
        first = pool.submit(board.ask, {**ASKED, "base": "held"})
        until(lambda: bool(board.model.begun))
        rest = [pool.submit(board.ask) for _ in range(MOST_WAITING + 4)]
        until(lambda: sum(each.done() for each in rest) == 4)
        board.model.held.set()
        assert first.result(20).status == 200
        assert sorted(each.result(20).status for each in rest) == [200] * MOST_WAITING + [429] * 4


def test_many_at_once_are_all_answered_right(board: Board) -> None:
    wanted = [{**ASKED, "mode": f"mode{number}"} for number in range(60)]
    with ThreadPoolExecutor(12) as pool:
        got = list(pool.map(board.ask, wanted))
    assert [each.record["mode"] for each in got] == [each["mode"] for each in wanted]


def test_client_that_leaves_is_not_worked_for(board: Board) -> None:
    with ThreadPoolExecutor(1) as pool:
        first = pool.submit(board.ask, {**ASKED, "base": "held"})
        until(lambda: bool(board.model.begun))
        head = "".join(f"{name}: {value}\r\n" for name, value in board.headers.items())
        body = json.dumps({**ASKED, "changes": {"choke": "none"}})
        with socket.create_connection(("127.0.0.1", board.house.port), timeout=30) as bare:
            bare.sendall(f"POST /answer HTTP/1.1\r\n{head}Content-Length: {len(body)}\r\n\r\n{body}".encode())
            time.sleep(0.2)
        time.sleep(0.2)
        board.model.held.set()
        assert first.result(20).status == 200
    assert board.ask().status == 200
    assert {"choke": "none"} not in board.model.begun


def test_work_without_end_is_given_up(running: Callable[..., Board]) -> None:
    """RFC 9110, section 15.6.4."""
    board = running(longest_s=0.3)
    refused(board.ask({**ASKED, "base": "held"}), 503)
    board.model.held.set()
    assert board.ask().status == 200


# What goes wrong inside


@pytest.mark.parametrize(
    ("error", "status", "said"),
    [
        (NotSolved("the pressure balance", places=("primary_bowl",), residual=0.5), 422, "primary_bowl"),
        (BudgetSpent("the cheapest repair", rounds=200), 422, "200 rounds"),
        (BadDescription([Problem("one", field="base"), Problem("two")]), 400, "base: one; two"),
    ],
    ids=["not solved", "budget", "description"],
)
def test_no_answer_is_told_with_its_place(board: Board, error: Exception, status: int, said: str) -> None:
    """422: the request is right and cannot be followed (RFC 9110, section 15.5.21)."""
    board.model.fails = error
    assert said in refused(board.ask(), status)["error"]


def test_fault_of_ours_is_plain_to_the_user_and_whole_on_the_error_stream(
    board: Board, capfd: pytest.CaptureFixture[str]
) -> None:
    board.model.fails = ZeroDivisionError("secret detail")
    said = refused(board.ask(), 500)
    assert "secret" not in json.dumps(said)
    assert "Traceback" not in json.dumps(said)
    shown = capfd.readouterr().err
    assert "Traceback" in shown
    assert "ZeroDivisionError: secret detail" in shown
    board.model.fails = None
    assert board.ask().status == 200


def test_number_that_is_none_is_never_sent(running: Callable[..., Board], capfd: pytest.CaptureFixture[str]) -> None:
    """RFC 8259, section 6: NaN is no JSON."""

    class Broken(Model):
        def answer(self, asked: ForAnswer) -> Record:
            return {"pressure": float("nan")}

    refused(running(Broken()).ask(), 500)
    assert "ValueError" in capfd.readouterr().err


def test_house_on_the_port_that_needs_no_name() -> None:
    """Port 80 is left out of Host and Origin (RFC 9110, section 4.2.1; RFC 6454, section 6.2)."""
    house = House(80, "t")
    assert {"127.0.0.1", "localhost:80"} <= set(house.hosts)
    assert "http://localhost" in house.origins
    assert "127.0.0.1" not in replace(house, port=8080).hosts
