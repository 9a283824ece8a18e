"""Who may talk to the board, how, and how much: everything that is refused before it is looked at.

The board runs on the machine of its user, and so do pages of strangers in the user's browser. What keeps these out:
the Host must be ours (else a stranger's name that points to this machine would do), the Origin of every POST must be
ours, and a POST must carry a token that only the page itself has.
"""

from __future__ import annotations

import asyncio
import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass

from starlette.types import ASGIApp, Message, Receive, Scope, Send

TOKEN_HEADER, TAB_HEADER = "x-board-token", "x-board-tab"
METHODS = ("GET", "HEAD", "POST")
LARGEST_BODY, MOST_HEADERS, LARGEST_HEADERS, LONGEST_TARGET = 64 * 1024, 64, 16 * 1024, 1024
SLOWEST_BODY_S = 10.0


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a request is not answered: a status, one sentence, and what to do."""

    status: int
    error: str
    do: str
    headers: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class House:
    """What is ours: the port we listen on, and the token of this run."""

    port: int
    token: str

    @property
    def hosts(self) -> tuple[str, ...]:
        """Every right value of a Host header (RFC 9110, section 7.2): the loopback address or its name, with our port.

        Without a port it would be port 80, which is not ours unless it is.
        """
        names = ("127.0.0.1", "localhost")
        return tuple(f"{name}:{self.port}" for name in names) + (names if self.port == 80 else ())

    @property
    def origins(self) -> tuple[str, ...]:
        """Every right value of an Origin header (RFC 6454, section 7; Fetch Standard, "Origin header")."""
        return tuple(f"http://{host}" for host in self.hosts)


def refused(scope: Scope, house: House) -> Refusal | None:
    """Why a request is refused by its head alone; None where it is not."""
    headers = scope["headers"]
    if len(headers) > MOST_HEADERS or sum(len(name) + len(value) for name, value in headers) > LARGEST_HEADERS:
        return Refusal(431, "The request has too many headers.", "Send fewer.")  # RFC 6585, section 5
    if len(scope.get("raw_path") or b"") + len(scope.get("query_string") or b"") > LONGEST_TARGET:
        return Refusal(414, "The address is too long.", "Open the board at its address alone.")
    given = _once(headers)
    if given is None:
        return Refusal(400, "A header that may be there once is there twice.", "Send it once.")
    method = scope["method"]
    if method not in METHODS:  # RFC 9110, sections 15.5.6 and 10.2.1: say which are allowed
        return Refusal(405, "That cannot be done here.", "Use GET or POST.", (("allow", ", ".join(METHODS)),))
    foreign = _foreign(given, house)
    if foreign is not None or method != "POST":
        return foreign
    return _not_of_our_page(given, house) or _no_json(given)


_SINGLE = frozenset({"host", "origin", "content-type", "content-length", "sec-fetch-site", TOKEN_HEADER, TAB_HEADER})


def _once(headers: list[tuple[bytes, bytes]]) -> Mapping[str, str] | None:
    """Headers by name; None where one that decides is there more than once (RFC 9110, section 5.3)."""
    given: dict[str, str] = {}
    for raw_name, raw_value in headers:
        name = raw_name.decode("latin-1").lower()
        if name in given and name in _SINGLE:
            return None
        given[name] = raw_value.decode("latin-1").strip()
    return given


def _foreign(given: Mapping[str, str], house: House) -> Refusal | None:
    if given.get("host", "").lower() not in house.hosts:
        do = f"Open http://127.0.0.1:{house.port}/ instead."
        return Refusal(403, "The board answers only under its own address.", do)
    # Fetch Metadata Request Headers (W3C), section 2.3. `none`: the user typed the address.
    if given.get("sec-fetch-site", "none") not in ("none", "same-origin"):
        return Refusal(403, "The request comes from another page.", "Type the address of the board yourself.")
    if "origin" in given and given["origin"] not in house.origins:
        return Refusal(403, "The request comes from another page.", "Use the board from its own page.")
    return None


def _not_of_our_page(given: Mapping[str, str], house: House) -> Refusal | None:
    # A browser names the origin of every POST (Fetch Standard, "append a request Origin header").
    if "origin" not in given:
        return Refusal(403, "The request does not say where it comes from.", "Use the board from its own page.")
    if not secrets.compare_digest(given.get(TOKEN_HEADER, "").encode(), house.token.encode()):
        return Refusal(403, "The page belongs to another run of the board.", "Load the page again.")
    return None


def _no_json(given: Mapping[str, str]) -> Refusal | None:
    kind, _, parameter = given.get("content-type", "").lower().partition(";")
    if kind.strip() != "application/json" or parameter.replace(" ", "") not in ("", "charset=utf-8"):
        return Refusal(415, "The request is not JSON.", "Send it as application/json.")
    if given.get("content-encoding", "identity") != "identity":
        return Refusal(415, "The request is compressed.", "Send it plain.")
    length = given.get("content-length", "")
    # More digits than these say nothing more; the body is counted as it is read in any case.
    return _too_large() if length.isdecimal() and int(length[:20]) > LARGEST_BODY else None


def _too_large() -> Refusal:
    return Refusal(413, f"The request is larger than {LARGEST_BODY // 1024} kB.", "Make fewer changes at once.")


SECURITY_HEADERS = (
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cache-control", "no-store"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("x-frame-options", "DENY"),
)
"""On every answer, refusals included. X-Frame-Options is for browsers that do not know frame-ancestors."""

NOTHING = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
"""Policy of an answer that is no page (W3C Content Security Policy Level 3)."""


class Guard:
    """Stands before an application: refuses, reads the body within its limits, and puts headers on every answer."""

    def __init__(self, app: ASGIApp, house: House, slowest_body_s: float = SLOWEST_BODY_S) -> None:
        self._app = app
        self._house = house
        self._slowest_body_s = slowest_body_s

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it."""
        if scope["type"] != "http":
            return  # no other protocol is spoken here
        guarded = _with_headers(send)
        refusal = refused(scope, self._house)
        if refusal is not None:
            await refuse(guarded, refusal)
            return
        body = b""
        if scope["method"] == "POST":
            try:
                async with asyncio.timeout(self._slowest_body_s):
                    read = await _read(receive)
            except TimeoutError:  # RFC 9110, section 15.5.9
                read = Refusal(408, "The request came too slowly.", "Try again.")
            if read is None:
                return  # the client has gone
            if isinstance(read, Refusal):
                await refuse(guarded, read)
                return
            body = read
        await self._app(scope, _again(body, receive), guarded)


async def _read(receive: Receive) -> bytes | Refusal | None:
    """The whole body; None where the client went before its end. Stops at the limit, whatever the head promised."""
    body = bytearray()
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            return None
        body += message.get("body", b"")
        if len(body) > LARGEST_BODY:
            return _too_large()
        if not message.get("more_body", False):
            return bytes(body)


def _again(body: bytes, receive: Receive) -> Receive:
    """A body that was read already, then whatever comes next."""
    waiting = [body]

    async def next_message() -> Message:
        if waiting:
            return {"type": "http.request", "body": waiting.pop(), "more_body": False}
        return await receive()

    return next_message


def _with_headers(send: Send) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = [(name.lower(), value) for name, value in message.get("headers", [])]
            there = {name for name, _ in headers}
            ours = [*SECURITY_HEADERS, ("content-security-policy", NOTHING)]
            more = [(name.encode(), value.encode()) for name, value in ours if name.encode() not in there]
            message = {**message, "headers": [*headers, *more]}
        await send(message)

    return sent


async def refuse(send: Send, refusal: Refusal) -> None:
    """Answer with a refusal, and close: what is left of its body is not read (RFC 9112, section 9.6)."""
    body = json.dumps({"error": refusal.error, "do": refusal.do}).encode()
    headers = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
        (b"connection", b"close"),
        *((name.encode(), value.encode()) for name, value in refusal.headers),
    ]
    await send({"type": "http.response.start", "status": refusal.status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
