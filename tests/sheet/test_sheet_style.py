"""Contrast of the palette, worked out as WCAG 2.2 has it."""

from __future__ import annotations

import re

import pytest

from boostcarb.sheet.style import CSS, GROUNDS, INKS, PAPER, RULE


def luminance(color: str) -> float:
    """Relative luminance (WCAG 2.2, definition of relative luminance)."""
    channels = (int(color[i : i + 2], 16) / 255 for i in (1, 3, 5))
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_is_twenty_one() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("ink", INKS)
@pytest.mark.parametrize("ground", GROUNDS)
def test_every_ink_can_be_read_on_every_ground(ink: str, ground: str) -> None:
    assert contrast(INKS[ink], GROUNDS[ground]) >= 4.5


def test_rules_can_be_seen() -> None:
    assert contrast(RULE, PAPER) >= 3


def test_the_page_uses_no_other_color() -> None:
    assert set(re.findall(r"#[0-9a-f]{6}\b", CSS)) <= {*INKS.values(), *GROUNDS.values(), RULE}


def test_the_style_loads_nothing() -> None:
    assert "url(" not in CSS
    assert "@import" not in CSS
    assert "<" not in CSS
