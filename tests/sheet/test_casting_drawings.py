"""The drawings: every change has its number where it is made, nothing runs out of the picture."""

from __future__ import annotations

import re
from collections.abc import Sequence
from xml.etree import ElementTree

import pytest

from boostcarb.sheet.answers import Answers
from boostcarb.sheet.document import Figure
from boostcarb.sheet.drawing.castings import casting_figures
from boostcarb.sheet.drawing.hoses import hose_figures, hoses
from boostcarb.sheet.drawing.ladder import Place, Remark, Rung, ladder
from boostcarb.sheet.drawing.legend import legend
from boostcarb.sheet.drawing.symbols import Symbol, draw

SPACE = "{http://www.w3.org/2000/svg}"


def numbers_in(figures: Sequence[Figure]) -> set[int]:
    """The numbers in disks: white text."""
    found = set()
    for figure in figures:
        for text in ElementTree.fromstring(figure.svg).iter(f"{SPACE}text"):  # noqa: S314  written by ourselves
            if text.attrib["fill"] == "#ffffff":
                found.add(int(text.text or ""))
    return found


def test_every_change_of_the_carburetor_is_drawn_by_its_number(answers: Answers) -> None:
    own = answers.planned.bench.family.family.castings
    kinds = {change.number: answers.network.items[change.choice.item].kind for change in answers.changes}
    lines = {number for number, kind in kinds.items() if kind in ("line", "inline")}
    drawn = numbers_in(casting_figures(answers))
    assert {c.number for c in answers.changes if c.casting in own} - lines <= drawn
    assert drawn <= {c.number for c in answers.changes}
    assert lines == numbers_in(hose_figures(answers))


def test_what_a_drawing_shows_is_said_in_words(answers: Answers) -> None:
    for figure in (*casting_figures(answers), *hose_figures(answers)):
        said = " ".join(figure.words)
        for number in numbers_in([figure]):
            assert re.search(rf"\b{number}\b", said)


def test_plugs_are_marked(answers: Answers) -> None:
    for change in answers.changes:
        if answers.network.items[change.choice.item].kind == "passage" and change.choice.option == "plugged":
            words = [line for figure in casting_figures(answers) for line in figure.words]
            assert any(
                line.startswith(f"{change.number}.") and ("PLUG" in line or Symbol.plugged in line) for line in words
            ) or any(line.startswith(f"{change.number}. {change.title}") for line in words)


def test_nothing_leaves_the_picture(answers: Answers) -> None:
    for figure in (*casting_figures(answers), *hose_figures(answers), legend()):
        tree = ElementTree.fromstring(figure.svg)  # noqa: S314  written by ourselves
        _, _, wide, high = map(float, tree.attrib["viewBox"].split())
        assert wide == 440
        assert high < 1100
        for text in tree.iter(f"{SPACE}text"):
            x, y = float(text.attrib["x"]), float(text.attrib["y"])
            assert 0 <= y <= high
            if text.attrib.get("text-anchor") is None:
                assert x + 6.0 * len(text.text or "") <= wide + 12, text.text


def test_every_line_that_changes_is_shown_before_and_after(answers: Answers) -> None:
    for hose in hoses(answers):
        if hose.numbers:
            assert hose.before != hose.after or hose.inside
            assert any(rung.tag == "AFTER" for rung in hose.rungs)


@pytest.mark.parametrize("symbol", Symbol)
def test_symbols_are_drawn(symbol: Symbol) -> None:
    drawn = "<g>" + "".join(draw(symbol, 50, 50, 2)) + "</g>"
    assert ElementTree.fromstring(drawn) is not None  # noqa: S314  written by ourselves
    assert symbol is Symbol.line or len(drawn) > 20


def test_symbols_can_be_told_apart_without_color() -> None:
    assert len({"".join(draw(symbol, 50, 50)) for symbol in Symbol}) == len(Symbol)


def test_a_joined_line_ends_at_its_other_box() -> None:
    places = [Place("a", "first space"), Place("b", "second space"), Place("c", "third space")]
    rungs = [
        Rung("c", "from third to first", Symbol.check, "a", "first space"),
        Rung("a", "from first to second", Symbol.line, "b", "second space"),
        Rung("b", "out", Symbol.plugged, "z", "elsewhere", numbers=(3,)),
    ]
    (figure,) = ladder("A casting", "one", places, rungs, [Remark(4, "a part")])
    assert numbers_in([figure]) == {3, 4}
    turned = "from third to first, from first space to third space: one-way valve that passes the other way"
    assert turned in figure.words


def test_a_tall_drawing_is_shared_out() -> None:
    places = [Place("a", "first space"), Place("b", "second space")]
    rungs = [Rung("a" if n < 35 else "b", f"line {n}", Symbol.line, f"z{n}", "elsewhere") for n in range(50)]
    rungs.append(Rung("a", "joined", Symbol.line, "b", "second space"))
    figures = ladder("A casting", "one", places, rungs)
    assert len(figures) > 2
    words = [line for figure in figures for line in figure.words]
    assert len(words) == 51
    assert len({figure.caption for figure in figures}) == len(figures)
