"""The say-card as a file: two A4 pages at most, HTML or PDF."""

from __future__ import annotations

from importlib.resources import as_file, files
from pathlib import Path
from typing import cast

from fpdf import FPDF
from fpdf.enums import MethodReturnValue

from voicelog.errors import VoicelogError
from voicelog.files import write_atomically
from voicelog.grammar.saycard import SayCard
from voicelog.papers.layout.say_card_page import PAGE
from voicelog.units import MM_PER_PT

FAMILY = "card"
COLUMNS = 3
MARGIN_MM = 9
GUTTER_MM = 5
INDENT_MM = 2.5
LINE_HEIGHT = 1.15
"""Of the type size."""
GAP = 0.6
"""Between two groups, in lines."""
SIZES_PT = (8.0, 7.6, 7.2, 6.8, 6.4, 6.0)
"""Tried from large to small until the card fits on two pages."""
MOST_PAGES = 2


def write_say_card(card: SayCard, out: Path) -> str:
    """Write the card by the ending of `out`; what happened: "wrote", "replaced" or "unchanged".

    Raises:
        VoicelogError: another ending than .html or .pdf, or more words than fit on two pages.
    """
    if out.suffix.lower() in (".html", ".htm"):
        return write_atomically(out, card_html(card).encode())
    if out.suffix.lower() == ".pdf":
        return write_atomically(out, card_pdf(card))
    raise VoicelogError("the say-card is a .html or a .pdf file", where=str(out), todo="name it so")


def card_html(card: SayCard) -> str:
    """The card as self-contained HTML for A4."""
    return PAGE.render(card=card)


def card_pdf(card: SayCard) -> bytes:
    """The card as a PDF of two A4 pages at most, in the largest type that fits."""
    for size in SIZES_PT:
        pdf = _pdf(card, size)
        if pdf.page <= MOST_PAGES:
            return bytes(pdf.output())
    raise VoicelogError("the say-card does not fit on two pages", todo="shorten the grammar's doc comments")


def _pdf(card: SayCard, size: float) -> FPDF:
    pdf = FPDF(unit="mm", format="A4")
    pdf.set_margin(MARGIN_MM)
    pdf.set_auto_page_break(False)
    for style, name in (("", "DejaVuSansCondensed.ttf"), ("B", "DejaVuSansCondensed-Bold.ttf")):
        with as_file(files("voicelog.papers.layout") / "fonts" / name) as path:
            pdf.add_font(FAMILY, style, path)
    pdf.set_title(card.title)
    pdf.set_lang("en-GB")
    pdf.add_page()
    pdf.set_font(FAMILY, "B", 14)
    pdf.cell(0, 8, card.title, new_x="LMARGIN", new_y="NEXT", border="B")
    columns = _Columns(pdf, size, pdf.get_y() + 2)
    for group in card.groups:
        columns.place([
            *columns.wrapped("B", group.title),
            *columns.wrapped("", group.examples),
            *(line for text in group.lines() for line in columns.wrapped("", text)),
        ])  # fmt: skip
    columns.place([line for remark in card.remarks for line in columns.wrapped("B", remark)])
    return pdf


_Line = tuple[str, float, str]
"""Font style, indent in mm, text."""


class _Columns:
    """Blocks of lines from column to column and page to page, split only if longer than a column."""

    def __init__(self, pdf: FPDF, size: float, top: float) -> None:
        self.pdf = pdf
        self.size = size
        self.height = size * MM_PER_PT * LINE_HEIGHT
        self.width = (pdf.epw - GUTTER_MM * (COLUMNS - 1)) / COLUMNS
        self.top = self.at = top
        self.column = 0

    def wrapped(self, style: str, text: str) -> list[_Line]:
        """A text as lines, the further ones indented so that its end is seen."""
        if not text:
            return []
        self.pdf.set_font(FAMILY, style, self.size)
        lines = cast(
            list[str],
            self.pdf.multi_cell(
                self.width - INDENT_MM, text=text, dry_run=True, output=MethodReturnValue.LINES
            ),
        )
        return [(style, INDENT_MM if place else 0.0, line) for place, line in enumerate(lines)]

    def place(self, lines: list[_Line]) -> None:
        if not self._holds(len(lines)) and self.at > self.top:
            self._next_column()
        for style, indent, text in lines:
            if not self._holds(1):
                self._next_column()
            self.pdf.set_font(FAMILY, style, self.size)
            self.pdf.set_xy(MARGIN_MM + self.column * (self.width + GUTTER_MM) + indent, self.at)
            self.pdf.cell(self.width - indent, self.height, text)
            self.at += self.height
        self.at += self.height * GAP

    def _holds(self, lines: int) -> bool:
        return self.at + lines * self.height <= self.pdf.h - MARGIN_MM

    def _next_column(self) -> None:
        self.column += 1
        if self.column == COLUMNS:
            self.pdf.add_page()
            self.column, self.top = 0, MARGIN_MM
        self.at = self.top
