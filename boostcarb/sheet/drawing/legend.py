"""What the symbols of the drawings mean."""

from __future__ import annotations

from boostcarb.sheet.document import Figure
from boostcarb.sheet.drawing.pen import BOLD, THIN, badge, box, drawing, line, texts, wrap
from boostcarb.sheet.drawing.symbols import Symbol, draw

WIDE, ROW, MIDDLE, SAID = 440.0, 34.0, 56.0, 116.0


def legend() -> Figure:
    """All symbols with their names, then the ways of drawing a line and a box."""
    parts: list[str] = []
    words: list[str] = []
    y = 22.0
    for symbol in Symbol:
        parts.append(line(16, y, 96, y, dash="4 4" if symbol is Symbol.gone else ""))
        parts += draw(symbol, MIDDLE, y)
        parts += texts(SAID, y + 4, wrap(symbol.value, WIDE - SAID - 6))
        words.append(symbol.value)
        y += ROW
    parts += [line(16, y, 96, y, width=BOLD), *badge(MIDDLE, y, "1")]
    parts += texts(SAID, y + 4, wrap("bold, with a number: the change of that number is made here", WIDE - SAID - 6))
    y += ROW
    for here, said in ((True, "a space of this casting"), (False, "a space that lies elsewhere")):
        parts.append(box(16, y - 11, 80, 22, width=2 if here else THIN, dash="" if here else "7 4"))
        parts += texts(SAID, y + 4, [said])
        y += ROW
    words += [
        "bold line with a number in a disk: the change of that number is made here",
        "box in a full line: a space of this casting; box in a broken line: a space that lies elsewhere",
    ]
    caption = "What the symbols mean: ISO 1219-1, and some of our own"
    return Figure(caption, drawing(WIDE, y - 8, caption, words, parts, "legend"), tuple(words))
