"""The files of the page as one: styles and scripts inside, and a policy that lets nothing else run.

`board.html` names its styles and scripts as any page does, and loads by itself as far as that goes; here each is put
in place of its tag, in order. What the page starts from stands in it as data, which no browser runs.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from html import escape
from importlib.resources import files
from typing import Any, Final

DATA_ID: Final = "board-data"
"""Id of the element whose text is the JSON that the page starts from."""

_STYLE: Final = re.compile(r'<link rel="stylesheet" href="([\w-]+\.css)">')
_SCRIPT: Final = re.compile(r'<script src="([\w-]+\.js)"(?: defer)?></script>')
_DATA: Final = f'<script type="application/json" id="{DATA_ID}"></script>'
_TITLE: Final = re.compile(r"<title>[^<]*</title>")
_CHARSET: Final = '<meta charset="utf-8">'


@dataclass(frozen=True, slots=True)
class Page:
    """A page, and the policy to serve it with."""

    text: str
    policy: str


def page(title: str, initial: Mapping[str, Any]) -> str:
    """The page as one file that needs nothing else and can reach nothing else."""
    return assembled(title, initial, connect="'none'").text


def assembled(
    title: str, initial: Mapping[str, Any], *, connect: str, source: Callable[[str], str] | None = None
) -> Page:
    """The page, with its policy inside and beside it.

    Args:
        title: plain text; anything may be in it.
        initial: what the page starts from; JSON.
        connect: what it may connect to, as the policy says it: `'none'` or `'self'`.
        source: reads a file of the page by name; None: those of the package.

    Raises:
        ValueError: `board.html` lacks a tag or has it in the wrong place, or a style or script cannot stand inside
            a page.
    """
    read = source or _read
    text = read("board.html")
    for needed in (_DATA, _CHARSET):
        if text.count(needed) != 1:
            raise ValueError(f"board.html must have {needed} once")
    first = _SCRIPT.search(text)
    if first is not None and first.start() < text.index(_DATA):
        raise ValueError("board.html must have its data before its scripts, which run as soon as they are read")
    styles = [_inside(read(name), "style") for name in _STYLE.findall(text)]
    scripts = [_inside(read(name), "script") for name in _SCRIPT.findall(text)]
    policy = _policy(styles, scripts, connect)
    # Every piece is put in by a function: in a replacement text a backslash would mean something. Data goes in last,
    # so that nothing in it is taken for a tag of ours.
    shown = escape(title.encode("utf-8", "replace").decode("utf-8"))
    text = _TITLE.sub(lambda _: f"<title>{shown}</title>", text, count=1)
    text = _filled(text, _STYLE, "style", styles)
    text = _filled(text, _SCRIPT, "script", scripts)
    meta = f'{_CHARSET}\n<meta http-equiv="Content-Security-Policy" content="{escape(policy)}">'
    head, tail = text.split(_DATA)
    data = f'<script type="application/json" id="{DATA_ID}">{json_inside(initial)}</script>'
    whole = head.replace(_CHARSET, meta, 1) + data + tail
    # A policy in a page cannot say who may frame it; one beside it can (CSP Level 3, section 3.3).
    return Page(whole, f"{policy}; frame-ancestors 'none'")


def json_inside(record: Mapping[str, Any]) -> str:
    """JSON that nothing in it can end early inside a page: no `<`, `>`, `&`, and no line separators.

    Escapes of JSON itself (RFC 8259, section 7), so that any reader of JSON reads the same.

    >>> json_inside({"title": "</script>"})
    '{"title":"\\\\u003c/script\\\\u003e"}'
    """
    text = json.dumps(record, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.translate(_ESCAPED)


# Lone surrogates as well: a file name can hold them, and no file in UTF-8 can.
_ESCAPED: Final = {
    ord(each): f"\\u{ord(each):04x}" for each in "<>&\u2028\u2029"
} | {code: f"\\u{code:04x}" for code in range(0xD800, 0xE000)}  # fmt: skip


def _read(name: str) -> str:
    return files("boostcarb.board.page").joinpath(name).read_text(encoding="utf-8")


def _inside(text: str, tag: str) -> str:
    """A style or script as it stands in the page, ends of lines as any browser counts them."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if re.search(rf"</{tag}|<!--", text, re.IGNORECASE):
        raise ValueError(f"a {tag} of the page has '</{tag}' or '<!--' in it, which would end it early")
    return text


def _filled(text: str, tag: re.Pattern[str], name: str, contents: list[str]) -> str:
    """A page with the n-th of its tags replaced by the n-th content."""
    following = iter(contents)
    return tag.sub(lambda _: f"<{name}>{next(following)}</{name}>", text)


def _policy(styles: list[str], scripts: list[str], connect: str) -> str:
    """Content Security Policy Level 3 (W3C): this very code and no other."""
    return "; ".join(
        [
            "default-src 'none'",
            f"script-src {_hashes(scripts)}",
            f"style-src {_hashes(styles)}",
            "img-src data:",
            f"connect-src {connect}",
            "base-uri 'none'",
            "form-action 'none'",
        ]
    )


def _hashes(texts: list[str]) -> str:
    """Hash sources of inline code (section 2.3.1): SHA-256 of its text in UTF-8, in base64."""
    digests = [base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in texts]
    return " ".join(f"'sha256-{digest}'" for digest in digests) or "'none'"
