"""Lines and texts of a drawing, with everything escaped and every number short."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from html import escape

from boostcarb.sheet.document import plain
from boostcarb.sheet.style import INK, PAPER

FONT, LEADING = 13, 15
CHARACTER = 7.1
"""Usual width of a character of that font; wide fonts are a little wider."""
THIN, BOLD = 1.4, 3.4


def number(value: float) -> str:
    """A coordinate.

    >>> number(12.0), number(3.46)
    ('12', '3.5')
    """
    return f"{value:.1f}".removesuffix(".0")


def wrap(text: str, width: float) -> tuple[str, ...]:
    """Text in lines that are not wider than so many units, as near as that can be told."""
    return tuple(textwrap.wrap(plain(text), max(6, int(width / CHARACTER)), break_long_words=True)) or ("",)


def text(x: float, y: float, said: str, *, bold: bool = False, anchor: str = "start", ink: str = INK) -> str:
    """One line of text with its foot at `y`, dark ink with a white rim so that it can be read across a line."""
    weight = ' font-weight="700"' if bold else ""
    place = f' text-anchor="{anchor}"' if anchor != "start" else ""
    rim = f' stroke="{PAPER}" stroke-width="4" paint-order="stroke"' if ink == INK else ""
    return f'<text x="{number(x)}" y="{number(y)}"{weight}{place} fill="{ink}"{rim}>{escape(plain(said))}</text>'


def texts(x: float, y: float, lines: Sequence[str], *, bold: bool = False, anchor: str = "start") -> list[str]:
    """Lines one under the other, the foot of the first at `y`."""
    return [text(x, y + LEADING * index, line, bold=bold, anchor=anchor) for index, line in enumerate(lines)]


def path(data: str, *, width: float = THIN, dash: str = "", fill: str = "none") -> str:
    """A line or an outline."""
    broken = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<path d="{data}" fill="{fill}" stroke="{INK}" stroke-width="{number(width)}"{broken}/>'


def line(x: float, y: float, to_x: float, to_y: float, *, width: float = THIN, dash: str = "") -> str:
    """A straight line."""
    return path(f"M{number(x)},{number(y)}L{number(to_x)},{number(to_y)}", width=width, dash=dash)


def box(x: float, y: float, wide: float, high: float, *, width: float = THIN, dash: str = "", fill: str = PAPER) -> str:
    """A rectangle."""
    outline = f"M{number(x)},{number(y)}h{number(wide)}v{number(high)}h{number(-wide)}z"
    return path(outline, width=width, dash=dash, fill=fill)


def circle(x: float, y: float, radius: float, *, width: float = THIN, fill: str = PAPER) -> str:
    """A circle."""
    return (
        f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}" fill="{fill}" stroke="{INK}" '
        f'stroke-width="{number(width)}"/>'
    )


def badge(x: float, y: float, label: str) -> list[str]:
    """The number of a change, white in a black disk."""
    return [circle(x, y, 10, fill=INK), text(x, y + 4, label, bold=True, anchor="middle", ink=PAPER)]


def drawing(wide: float, high: float, title: str, words: Iterable[str], parts: Iterable[str], name: str) -> str:
    """A whole drawing with its title and what it shows in words; `name` must be its own on a page."""
    spoken = ". ".join(plain(each).rstrip(".") for each in words)
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(wide)} {number(high)}" role="img" '
            f'aria-labelledby="{name}-title {name}-desc" font-family="Liberation Sans,Arial,sans-serif" '
            f'font-size="{FONT}">',
            f'<title id="{name}-title">{escape(plain(title))}</title>',
            f'<desc id="{name}-desc">{escape(spoken)}</desc>',
            *parts,
            "</svg>",
        ]
    )
