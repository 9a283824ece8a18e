"""How much room a title takes when it is broken into short lines."""

from __future__ import annotations

from math import ceil

from boostcarb.board.layout.records import PITCH

LETTER = 0.55 * 15  # mean width of a letter of 15 px type, measured by count
LINE = 16
CASTING_LETTER = 0.55 * 13
MARGIN = 8
LOWEST, ON_LOWEST = 5, 6  # height of the lowest box, and how many routes it takes
NARROWEST, WIDEST = 9, 15  # pitches
LINES, MORE_LINES = 3, 4  # four only where three would make it wider than this
WIDE = 11


def wrapped(title: str, letters: int) -> list[str]:
    """The lines of a title, none longer than `letters` unless one word is.

    >>> wrapped("dry side of the pump", 10)
    ['dry side', 'of the', 'pump']
    """
    lines: list[str] = []
    for word in title.split():
        if lines and len(lines[-1]) + 1 + len(word) <= letters:
            lines[-1] += " " + word
        else:
            lines.append(word)
    return lines


def box_size(title: str) -> tuple[int, int]:
    """Width and height in pitches of a box that holds a title: the narrowest with few enough lines."""
    for width, most in [(w, LINES) for w in range(NARROWEST, WIDE + 1)] + [
        (w, MORE_LINES) for w in range(NARROWEST, WIDEST + 1)
    ]:
        letters = int((width * PITCH - MARGIN) / LETTER)
        lines = wrapped(title, letters)
        if len(lines) <= most and max(map(len, lines), default=0) <= letters:
            break
    return width, max(LOWEST, ceil((len(lines) * LINE + 6) / PITCH))


def space_size(title: str, lines: int) -> tuple[int, int]:
    """Width and height in pitches of a box that so many routes leave."""
    width, height = box_size(title)
    return width, max(height, LOWEST + 2 * max(0, lines - ON_LOWEST))


def line_width(title: str) -> int:
    """Pitches that the title of a casting takes in one line."""
    return ceil((len(title) * CASTING_LETTER + MARGIN) / PITCH)


def heading_width(title: str) -> int:
    """Fewest pitches that the title of a casting takes in one line or two."""
    shortest = min(n for n in range(1, len(title) + 2) if len(wrapped(title, n)) <= 2)
    letters = max(map(len, wrapped(title, shortest)), default=0)
    return ceil((letters * CASTING_LETTER + MARGIN) / PITCH)
