"""One page from its files: the policy fits what is in it, and no text breaks out of its place."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from html.parser import HTMLParser
from typing import Any

import pytest

from boostcarb.board.page.assemble import DATA_ID, assembled, page

FILES = {
    "board.html": '<!DOCTYPE html>\n<html lang="en-US">\n<head>\n<meta charset="utf-8">\n<title>Board</title>\n'
    '<link rel="stylesheet" href="board.css">\n</head>\n<body>\n<main id="board"></main>\n'
    f'<script type="application/json" id="{DATA_ID}"></script>\n<script src="one.js"></script>\n'
    '<script src="two.js" defer></script>\n</body>\n</html>\n',
    "board.css": "main { color: black }\n",
    "one.js": 'const One = { word: "a\\\\1 \\g<0>" };\n',
    "two.js": "const Two = One.word;\n",
}


class Reader(HTMLParser):
    """What a browser would see: by the parser of the standard library, which knows nothing of ours."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[str, str]] = []
        self.open = False
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self.texts.append((tag, ""))
        self.open = True

    def handle_endtag(self, tag: str) -> None:
        self.open = False

    def handle_data(self, data: str) -> None:
        if self.open:
            tag, text = self.texts[-1]
            self.texts[-1] = (tag, text + data)

    def inside(self, tag: str, **attributes: str) -> list[str]:
        return [
            text
            for (name, text), (_, given) in zip(self.texts, self.tags, strict=True)
            if name == tag and all(given.get(key) == value for key, value in attributes.items())
        ]


def made(title: str = "Board", initial: dict[str, Any] | None = None, connect: str = "'none'") -> tuple[str, str]:
    built = assembled(title, initial or {}, connect=connect, source=FILES.__getitem__)
    return built.text, built.policy


def hashes(policy: str, directive: str) -> list[str]:
    (sources,) = re.findall(rf"(?:^|; ){directive} ([^;]*)", policy)
    return str(sources).split()


def sha256(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def check_policy(text: str, policy: str) -> None:
    """CSP Level 3: each inline script and style is allowed by its hash (6.7.2.3), data blocks are no scripts."""
    seen = Reader(text)
    scripts = [
        text for (_, text), (tag, given) in zip(seen.texts, seen.tags, strict=True)
        if tag == "script" and given.get("type") != "application/json"
    ]  # fmt: skip
    assert scripts
    assert hashes(policy, "script-src") == [sha256(each) for each in scripts]
    assert hashes(policy, "style-src") == [sha256(each) for each in seen.inside("style")]
    for name, value in (("default-src", "'none'"), ("base-uri", "'none'"), ("form-action", "'none'"),
                        ("img-src", "data:"), ("frame-ancestors", "'none'")):  # fmt: skip
        assert hashes(policy, name) == [value]
    assert "unsafe" not in policy
    (own,) = [str(given["content"]) for tag, given in seen.tags if given.get("http-equiv")]
    assert policy == f"{own}; frame-ancestors 'none'", "the page says the same of itself"


def test_policy_allows_what_is_in_the_page_and_nothing_else() -> None:
    for connect in ("'none'", "'self'"):
        text, policy = made(connect=connect)
        check_policy(text, policy)
        assert hashes(policy, "connect-src") == [connect]


def test_policy_stands_before_all_that_it_is_for() -> None:
    """A policy in a page goes for what follows it (CSP Level 3, section 3.3)."""
    text, _ = made()
    assert text.index("Content-Security-Policy") < min(map(text.index, ("<style", "<script", "<title")))


def test_files_stand_in_the_page_as_they_are() -> None:
    text, _ = made()
    seen = Reader(text)
    assert seen.inside("style") == [FILES["board.css"]]
    assert [each for each in seen.inside("script") if each.startswith("const")] == [FILES["one.js"], FILES["two.js"]]
    assert "src=" not in text
    assert "href=" not in text


NASTY = [
    "</script><script>alert(1)</script>",
    "<!--<script>",
    "]]>",
    "\u2028\u2029",
    "</title><svg onload=alert(1)>",
    '" onload="x',
    "&lt;/script&gt;",
    "\\u003c/script>",
    f'<script type="application/json" id="{DATA_ID}"></script>',
    '<script src="one.js"></script>',
    "\\1 \\g<0>",
    "\ud800",
]


@pytest.mark.parametrize("nasty", NASTY)
def test_no_text_breaks_out(nasty: str) -> None:
    """HTML Standard, "Restrictions for contents of script elements"; what is read back is what was put in."""
    initial = {"title": nasty, nasty: [nasty]}
    text, policy = made(title=nasty, initial=initial)
    plain, _ = made()
    seen = Reader(text.encode("utf-8").decode("utf-8"))
    assert [tag for tag, _ in seen.tags] == [tag for tag, _ in Reader(plain).tags]
    (data,) = seen.inside("script", id=DATA_ID)
    assert json.loads(data) == initial
    assert not set(data) & set("<>&\u2028\u2029")
    assert seen.inside("title") == [nasty.replace("\ud800", "?")]
    check_policy(text, policy)


def test_not_a_number_is_no_data() -> None:
    with pytest.raises(ValueError, match="JSON"):
        made(initial={"pressure": float("nan")})


@pytest.mark.parametrize(
    ("name", "text"),
    [("one.js", "x = '</script>'"), ("one.js", "x = '<!--'"), ("board.css", "/* </STYLE */"), ("board.html", "<p>"),
     ("board.html", FILES["board.html"].replace("<main", '<script src="one.js"></script><main'))],
)  # fmt: skip
def test_file_that_cannot_stand_in_a_page(name: str, text: str) -> None:
    with pytest.raises(ValueError, match=r"once|early|before"):
        assembled("Board", {}, connect="'none'", source={**FILES, name: text}.__getitem__)


def test_the_page_of_the_package() -> None:
    text = page("A <title> & more", {"mode": "blow_through"})
    built = assembled("A <title> & more", {"mode": "blow_through"}, connect="'none'")
    assert text == built.text
    check_policy(text, built.policy)
    seen = Reader(text)
    assert seen.inside("title") == ["A <title> & more"]
    assert json.loads(seen.inside("script", id=DATA_ID)[0]) == {"mode": "blow_through"}
    given = [attributes for _, attributes in seen.tags]
    assert not [each for each in given if each.get("src") or each.get("href", "#") is None]
    handlers = [name for each in given for name in each if name.startswith("on")]
    assert handlers == [], "a policy with hashes lets no handler in an attribute run"
    assert not [each for each in given if "style" in each], "nor a style in an attribute"
