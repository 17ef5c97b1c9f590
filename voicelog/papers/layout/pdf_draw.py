"""Drawings and pictures on the pages of a PDF."""

from __future__ import annotations

import io
from collections.abc import Sequence
from math import cos, pi, sin
from typing import Final

from voicelog.papers.blocks import Drawing, Picture, Pictures
from voicelog.papers.car_drawing.marks import Mark, Outline, Plan
from voicelog.papers.car_drawing.svg import LETTERS, RING_GAP
from voicelog.papers.layout.pdf_sheet import INK, RULE, SIDE, SMALL, Sheet, Style
from voicelog.units import MM_PER_PT

_PLAN_HEIGHT: Final = (70.0, 92.0)
"""Least and most height of the plan in mm: it is made smaller before it is put on a new page."""
_THIN: Final = (118, 118, 118)
_DENTED: Final = (220, 220, 220)
_GLASS: Final = (244, 244, 244)
_WORDS: Final = Style(7, colour=(68, 68, 68))
_PICTURE_WIDTH: Final = 56.0
_GAP: Final = 4.0


def write_drawing(sheet: Sheet, drawing: Drawing) -> None:
    """The panel plan in the middle of the page, with its caption."""
    plan = drawing.plan
    caption = sheet.broken(plan.caption, sheet.epw, SMALL)
    words = _WORDS.height + 1
    around = 2 * words + sum(style.height for _, style in caption) + 2
    least, most = _PLAN_HEIGHT
    sheet.need(least + around)
    height = min(most, sheet.room - around)
    scale = height / plan.height
    left, top = SIDE + (sheet.epw - plan.width * scale) / 2, sheet.y + words
    alt = f"{plan.title}. {'; '.join(plan.spoken)}"
    with sheet.leaf("Figure", alt=alt):
        for outline in sorted(plan.outlines, key=lambda item: item.dented):
            _outline(sheet, outline, left, top, scale)
        for mark in plan.marks:
            _mark(sheet, mark, left, top, scale)
        _words(sheet, plan, left, top, scale)
    sheet.set_y(top + height + words)
    sheet.write_lines(caption, "Caption", after=3)


def _outline(sheet: Sheet, outline: Outline, left: float, top: float, scale: float) -> None:
    sheet.set_fill_color(*(_DENTED if outline.dented else _GLASS if outline.glass else (255, 255, 255)))
    sheet.set_draw_color(*(INK if outline.dented else _THIN))
    sheet.set_line_width(0.5 if outline.dented else 0.2)
    sheet.polygon([(left + x * scale, top + y * scale) for x, y in outline.points], style="DF")


def _mark(sheet: Sheet, mark: Mark, left: float, top: float, scale: float) -> None:
    x, y = left + mark.x * scale, top + mark.y * scale
    wide, half = mark.half_width * scale, mark.half_height * scale
    sheet.set_fill_color(255, 255, 255)
    sheet.set_draw_color(*INK)
    sheet.set_line_width(0.27)
    for more in (half * RING_GAP, 0.0) if mark.several else (0.0,):
        sheet.polygon(_rounded(x, y, wide + more, half + more), style="DF")
    style = Style(half * LETTERS / MM_PER_PT, bold=True)
    text = str(mark.dent)
    shift = sheet.width_of(text, style) / 2
    sheet.put(x - shift, y - style.height / 2, 2 * shift + 0.1, text, style)


def _rounded(x: float, y: float, wide: float, half: float) -> list[tuple[float, float]]:
    """A box with round ends around a point; a circle where it is as wide as high."""
    turns = [pi * step / 12 for step in range(-6, 19)]
    ends = [wide - half] * 13 + [half - wide] * 12
    return [(x + end + half * cos(turn), y + half * sin(turn)) for turn, end in zip(turns, ends, strict=True)]


def _words(sheet: Sheet, plan: Plan, left: float, top: float, scale: float) -> None:
    middle, centre = left + plan.width * scale / 2, top + plan.height * scale / 2 - _WORDS.height / 2
    places = (
        ("FRONT", middle, top - _WORDS.height - 0.5),
        ("REAR", middle, top + plan.height * scale),
        ("LEFT", left - 2, centre),
        ("RIGHT", left + plan.width * scale + 2, centre),
    )
    for text, x, y in places:
        shift = sheet.width_of(text, _WORDS) / 2
        sheet.put(x - shift, y, 2 * shift + 0.1, text, _WORDS)


def write_pictures(sheet: Sheet, pictures: Pictures) -> None:
    """Thumbnails, three in a row, each with its caption."""
    for start in range(0, len(pictures.items), 3):
        _picture_row(sheet, pictures.items[start : start + 3])


def _picture_row(sheet: Sheet, items: Sequence[Picture]) -> None:
    captions = [sheet.broken(item.caption, _PICTURE_WIDTH, SMALL) for item in items]
    sizes = [_size(item) for item in items]
    text_height = max(sum(style.height for _, style in lines) for lines in captions)
    tallest = max(height for _, height in sizes)
    sheet.need(tallest + text_height + _GAP)
    top = sheet.y
    for place, (item, lines, (width, height)) in enumerate(zip(items, captions, sizes, strict=True)):
        x = SIDE + place * (_PICTURE_WIDTH + _GAP)
        with sheet.leaf("Figure", alt=item.describes):
            sheet.image(io.BytesIO(item.jpeg), x, top, width, height)
            sheet.set_draw_color(*RULE)
            sheet.set_line_width(0.2)
            sheet.rect(x, top, width, height)
        with sheet.text_leaf("Caption", lines):
            y = top + height + 0.8
            for text, style in lines:
                sheet.put(x, y, _PICTURE_WIDTH, text, style)
                y += style.height
    sheet.set_y(top + tallest + text_height + _GAP)


def _size(picture: Picture) -> tuple[float, float]:
    """Width and height in mm within a cell of the row."""
    scale = min(_PICTURE_WIDTH / picture.width, 42.0 / picture.height)
    return picture.width * scale, picture.height * scale
