"""A paper as PDF by fpdf2: pure Python, tagged text, and fonts that are shipped along.

Chosen over WeasyPrint, which needs Pango from the system, and over ReportLab, whose open
edition writes no structure tree.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from voicelog.papers.blocks import (
    Drawing,
    Facts,
    Heading,
    Notice,
    Paper,
    Paragraph,
    Pictures,
    Signatures,
    Table,
)
from voicelog.papers.layout.html import contact_lines
from voicelog.papers.layout.pdf_draw import write_drawing, write_pictures
from voicelog.papers.layout.pdf_sheet import (
    ACCENT,
    BODY,
    BOLD,
    INK,
    RULE,
    SECTIONS,
    SIDE,
    SMALL,
    TITLE,
    TOP,
    Line,
    Sheet,
    Style,
)
from voicelog.papers.layout.pdf_table import write_table
from voicelog.papers.photos.thumbnails import logo_of
from voicelog.papers.text import isolated


def paper_pdf(paper: Paper, made_at: datetime) -> bytes:
    """The paper as PDF; `made_at` is the date of making that the file carries.

    The same paper and date give the same text on the same pages.
    """
    sheet = Sheet(paper, made_at)
    _letterhead(sheet)
    _title(sheet)
    for place, block in enumerate(paper.blocks):
        if isinstance(block, Heading):
            following = paper.blocks[place + 1 : place + 2]
            _heading(sheet, block, 60.0 if following and isinstance(following[0], Pictures) else 22.0)
        else:
            _WRITERS[type(block)](sheet, block)
    return bytes(sheet.output())


def _letterhead(sheet: Sheet) -> None:
    """Logo, name, and how to reach the workshop; a rule beneath."""
    letterhead, left, height = sheet.paper.letterhead, SIDE, 0.0
    logo = logo_of(letterhead)
    if logo is not None:
        scale = min(45.0 / logo.width, 16.0 / logo.height)
        height = logo.height * scale
        with sheet.leaf("Figure", alt=logo.describes):
            sheet.image(io.BytesIO(logo.jpeg), SIDE, TOP, logo.width * scale, height)
        left += logo.width * scale + 4
    contact = contact_lines(letterhead)
    right = 62.0
    name = sheet.broken(isolated(letterhead.name), SIDE + sheet.epw - right - 4 - left, Style(13, bold=True))
    with sheet.text_leaf("P", name):
        y = _put_lines(sheet, name, left, TOP)
    reached = [line for text in contact for line in sheet.broken(text, right, SMALL)]
    y_contact = TOP
    if reached:
        with sheet.text_leaf("P", reached):
            for shown, style in reached:
                sheet.put(SIDE + sheet.epw - right, y_contact, right, shown, style, "right")
                y_contact += style.height
    bottom = max(y, y_contact, TOP + height) + 1.5
    with sheet.artifact():
        sheet.rule(bottom, 1.1, ACCENT)
    sheet.set_y(bottom + 5)


def _put_lines(sheet: Sheet, lines: list[Line], x: float, y: float) -> float:
    for text, style in lines:
        sheet.put(x, y, sheet.epw, text, style)
        y += style.height
    return y


def _title(sheet: Sheet) -> None:
    """Title, number and date on the left, the addressee on the right."""
    paper, top = sheet.paper, sheet.y
    half = sheet.epw / 2
    with sheet.leaf("H1"):
        y = _put_lines(sheet, sheet.broken(paper.title, half, TITLE), SIDE, top)
    with sheet.leaf("P"):
        told = [line for text in (paper.number, paper.date) for line in sheet.broken(text, half, BODY)]
        y = _put_lines(sheet, told, SIDE, y)
    x = SIDE + half + 8
    lines = [line for text in paper.addressee for line in sheet.broken(text, half - 8, BODY)]
    if lines:
        with sheet.text_leaf("P", lines):
            bottom = _put_lines(sheet, lines, x, top + 1)
        with sheet.artifact():
            sheet.set_draw_color(*RULE)
            sheet.set_line_width(0.6)
            sheet.line(x - 3, top + 1, x - 3, bottom)
        y = max(y, bottom)
    sheet.set_y(y + 4)


def _heading(sheet: Sheet, block: Heading, following: float) -> None:
    """A heading, kept on the page of what follows it."""
    style = SECTIONS[block.level]
    lines = sheet.broken(block.text, sheet.epw, style)
    sheet.set_y(sheet.y + 3)
    sheet.need(sum(style.height for _, style in lines) + following)
    sheet.write_lines(lines, f"H{block.level}", after=1)


def _paragraph(sheet: Sheet, block: Paragraph) -> None:
    sheet.write_lines(sheet.broken(block.text, sheet.epw, SMALL if block.small else BODY), "P", after=1.5)


def _facts(sheet: Sheet, block: Facts) -> None:
    """Names and values in two columns."""
    width = sheet.epw / 2 - 3
    cells = []
    for title, values in block.rows:
        broken = [line for text in values for line in sheet.broken(text, width, BOLD)]
        cells.append((sheet.broken(title, width, SMALL), broken))
    for start in range(0, len(cells), 2):
        _fact_pair(sheet, cells[start : start + 2], width)
    sheet.set_y(sheet.y + 2)


def _fact_pair(sheet: Sheet, pair: Sequence[tuple[list[Line], list[Line]]], width: float) -> None:
    height = max(sum(style.height for _, style in (*name, *value)) for name, value in pair)
    if height > sheet.body_height / 2:
        for name, value in pair:
            sheet.write_lines([*name, *value], "P", after=1)
        return
    sheet.need(height)
    top = sheet.y
    for place, (name, value) in enumerate(pair):
        x = SIDE + place * (width + 6)
        with sheet.group("P"):
            with sheet.text_leaf("Span", name):
                y = _put_lines(sheet, name, x, top)
            with sheet.text_leaf("Span", value):
                _put_lines(sheet, value, x, y)
    sheet.set_y(top + height + 1)


def _notice(sheet: Sheet, block: Notice) -> None:
    """A list with a bar at its left, which runs on over a page break."""
    indent = 4.0
    title = sheet.broken(block.title, sheet.epw - indent, BOLD)
    items = [sheet.broken(f"• {item}", sheet.epw - indent - 2, BODY) for item in block.items]
    height = sum(style.height for lines in (title, *items) for _, style in lines) + 2
    sheet.need(min(height, sheet.body_height / 2))
    with sheet.group("Sect"):
        with sheet.group("P"):
            sheet.flow(title, lambda lines: _barred(sheet, lines, indent, block))
        with sheet.group("L"):
            for item in items:
                with sheet.group("LI"), sheet.group("LBody"):
                    sheet.flow(item, lambda lines: _barred(sheet, lines, indent, block))
    sheet.set_y(sheet.y + 3)


def _barred(sheet: Sheet, lines: Any, indent: float, block: Notice) -> None:
    """Lines with their piece of the bar: two thin lines where something is open, one otherwise."""
    top = sheet.y
    with sheet.text_leaf("Span", lines):
        sheet.set_y(_put_lines(sheet, list(lines), SIDE + indent, top))
    with sheet.artifact():
        sheet.set_draw_color(*(INK if block.tone == "open" else RULE))
        sheet.set_line_width(0.7)
        for x in (0.4, 1.8) if block.tone == "open" else (0.4,):
            sheet.line(SIDE + x, top, SIDE + x, sheet.y)


def _signatures(sheet: Sheet, block: Signatures) -> None:
    sheet.need(18)
    gap = 6.0
    width = (sheet.epw - gap * (len(block.labels) - 1)) / len(block.labels)
    top = sheet.y + 12
    for place, label in enumerate(block.labels):
        x = SIDE + place * (width + gap)
        with sheet.artifact():
            sheet.set_draw_color(*INK)
            sheet.set_line_width(0.3)
            sheet.line(x, top, x + width, top)
        with sheet.leaf("P"):
            sheet.put(x, top + 0.8, width, label, SMALL)
    sheet.set_y(top + 6)


_WRITERS: dict[type, Callable[[Sheet, Any], None]] = {
    Paragraph: _paragraph,
    Facts: _facts,
    Notice: _notice,
    Table: write_table,
    Drawing: write_drawing,
    Pictures: write_pictures,
    Signatures: _signatures,
}
