"""Every letter on the screens stands out as claimed, measured on what is painted.

WCAG 2.2, success criterion 1.4.6 (level AAA): at least 7:1, by the relative luminance of its
glossary.  Marks that say nothing by themselves (rules, dots of empty slots, the plan's glass) are
left out: the criterion is about text.
"""

from __future__ import annotations

import pytest
from rich.color import Color

from .day import whole_day
from .drive import Driven, driven

LEAST = 7.0


def luminance(color: Color) -> float:
    """Relative luminance of an sRGB colour, as WCAG 2.2 defines it."""
    parts = [part / 255 for part in color.get_truecolor()]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Color, other: Color) -> float:
    """Contrast ratio, 1 to 21."""
    dark, bright = sorted((luminance(one), luminance(other)))
    return (bright + 0.05) / (dark + 0.05)


def test_the_measure_itself() -> None:
    """Black on white is 21:1 (WCAG 2.2, note to the definition); #767676 on white is 4.54 (W3C G18)."""
    white = Color.parse("#ffffff")
    assert contrast(Color.parse("#000000"), white) == pytest.approx(21)
    assert contrast(Color.parse("#767676"), white) == pytest.approx(4.54, abs=0.01)


def faint(board: Driven) -> dict[str, float]:
    """Painted texts below the claimed contrast."""
    found: dict[str, float] = {}
    for strip in board.app.screen._compositor.render_strips():
        for segment in strip:
            style, text = segment.style, segment.text.strip()
            if not any(char.isalnum() for char in text) or style is None:
                continue
            assert style.color is not None
            assert style.bgcolor is not None
            ratio = contrast(style.color, style.bgcolor)
            if ratio < LEAST or style.dim:
                found[text] = round(ratio, 1)
    return found


@pytest.mark.parametrize("light", [False, True], ids=["dark", "light"])
@pytest.mark.parametrize("asking", [False, True], ids=["working", "asking"])
def test_live_board(light: bool, asking: bool) -> None:
    async def scenario(board: Driven) -> None:
        assert faint(board) == {}

    driven(whole_day(asking=asking), scenario, light=light)


@pytest.mark.parametrize("light", [False, True], ids=["dark", "light"])
def test_desk(light: bool) -> None:
    async def scenario(board: Driven) -> None:
        for key in "1234567":
            await board.press(key)
            assert faint(board) == {}

    driven(whole_day(), scenario, review=True, light=light)
