"""The page as HTML: well formed, accessible, self-contained, escaped."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from html.parser import HTMLParser
from itertools import pairwise
from xml.etree import ElementTree

from boostcarb.sheet.answers import Answers
from boostcarb.sheet.html import html_page
from boostcarb.sheet.page import sheet

VOID = {"meta", "input", "br", "hr", "img", "link"}
SVG = re.compile(r"<svg .*?</svg>", re.DOTALL)


@dataclass
class Page(HTMLParser):
    """Reads a page; every tag must be closed in turn."""

    open: list[str] = field(default_factory=list)
    tags: list[tuple[str, dict[str, str | None]]] = field(default_factory=list)
    text: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> with nothing open"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.text.append(data)


def read(text: str) -> Page:
    page = Page()
    page.feed(text)
    page.close()
    assert page.open == []
    return page


def written(answers: Answers) -> str:
    return html_page(sheet(answers))


def test_is_well_formed_with_one_title_and_headings_in_order(answers: Answers) -> None:
    page = read(written(answers))
    names = [tag for tag, _ in page.tags]
    assert ("html", {"lang": "en-US"}) in page.tags
    assert names.count("h1") == 1
    ranks = [int(name[1]) for name in names if re.fullmatch(r"h[1-6]", name)]
    assert ranks[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(ranks))


def test_names_are_there_once_and_links_lead_somewhere(answers: Answers) -> None:
    page = read(written(answers))
    ids = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    for tag, attributes in page.tags:
        if tag == "a":
            assert str(attributes["href"])[1:] in ids
        for word in str(attributes.get("aria-labelledby", "")).split():
            assert word in ids


def test_needs_nothing_from_outside_and_runs_nothing(answers: Answers) -> None:
    text = written(answers)
    page = read(text)
    outside = {"script", "img", "link", "iframe", "object", "embed", "form", "base", "use"}
    assert not {tag for tag, _ in page.tags} & outside
    for tag, attributes in page.tags:
        assert not [name for name in attributes if name.startswith("on") or name in {"src", "xlink:href", "style"}], tag
    assert "url(" not in text
    assert "@import" not in text
    addresses = set(re.findall(r"[a-z]+://[^\s\"'<]+", text))
    assert addresses <= {"http://www.w3.org/2000/svg"}
    policy = next(a["content"] for tag, a in page.tags if a.get("http-equiv") == "Content-Security-Policy")
    assert str(policy).startswith("default-src 'none'; style-src 'unsafe-inline'")


def test_tables_say_what_they_are(answers: Answers) -> None:
    text = SVG.sub("", written(answers))
    tables = re.findall(r"<table.*?</table>", text, re.DOTALL)
    assert tables
    for table in tables:
        assert table.count("<caption>") == 1
        assert 'scope="col"' in table
        rows = re.findall(r"<tr role=\"row\">(.*?)</tr>", table)
        assert len({row.count("<th") + row.count("<td") for row in rows}) == 1
        assert all('scope="row"' in row for row in rows[1:])


def test_every_box_has_a_label_and_every_change_one_box(answers: Answers) -> None:
    text = written(answers)
    assert text.count('<input type="checkbox">') == text.count('<label><input type="checkbox"> ')
    for change in answers.changes:
        assert text.count(f'id="change-{change.number}"') == 1
    assert text.count('id="change-') == len(answers.changes)


def test_drawings_are_xml_with_title_and_description(answers: Answers) -> None:
    space = "{http://www.w3.org/2000/svg}"
    for svg in SVG.findall(written(answers)):
        tree = ElementTree.fromstring(svg)  # noqa: S314  written by ourselves
        assert tree.attrib["role"] == "img"
        title, desc = tree.find(f"{space}title"), tree.find(f"{space}desc")
        assert title is not None
        assert title.text
        assert desc is not None
        assert desc.text


def test_markup_in_names_changes_nothing_but_text(street: Answers, hostile: Answers) -> None:
    tame, wild = (read(SVG.sub("", written(each))) for each in (replace(street, date="today"), hostile))
    drawn = {"figure", "figcaption"}  # a drawing with longer names is shared out to more figures
    names = [[tag for tag, _ in page.tags if tag not in drawn] for page in (tame, wild)]
    assert names[0] == names[1]
    assert not [name for _, attributes in wild.tags for name in attributes if name.startswith("on")]
    assert "<script>alert(1)</script>" in " ".join(wild.text)
    for svg in SVG.findall(written(hostile)):
        ElementTree.fromstring(svg)  # noqa: S314  written by ourselves


def test_same_job_same_bytes_and_small(answers: Answers) -> None:
    text = written(answers)
    assert text == written(answers)
    assert len(text.encode()) < 1_000_000


def test_cautions_come_first(answers: Answers) -> None:
    assert sheet(answers).sections[0].title == "Before you start"


def test_no_words_of_a_terminal(answers: Answers) -> None:
    assert "see NOT JUDGED" not in written(answers)
    assert "`" not in "".join(read(SVG.sub("", written(answers))).text)
