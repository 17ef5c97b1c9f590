"""The say-card as a file: one A4 page, HTML or PDF."""

from __future__ import annotations

from importlib.resources import as_file, files
from pathlib import Path

from fpdf import FPDF
from fpdf.enums import WrapMode

from voicelog.errors import VoicelogError
from voicelog.grammar.saycard import SayCard
from voicelog.papers.files import write_atomically

FAMILY = "card"
COLUMNS = 3
MARGIN_MM = 9
GUTTER_MM = 5
SIZES_PT = (8.0, 7.6, 7.2, 6.8, 6.4, 6.0)
"""Tried from large to small until the card fits on one page."""


def write_say_card(card: SayCard, out: Path) -> str:
    """Write the card by the ending of `out`; what happened: "wrote", "replaced" or "unchanged".

    Raises:
        VoicelogError: another ending than .html or .pdf, or more words than fit on a page.
    """
    if out.suffix.lower() in (".html", ".htm"):
        return write_atomically(out, card.to_html().encode())
    if out.suffix.lower() == ".pdf":
        return write_atomically(out, card_pdf(card))
    raise VoicelogError("the say-card is written as .html or .pdf", where=str(out), todo="end its name so")


def card_pdf(card: SayCard) -> bytes:
    """The card as a PDF of one A4 page, in the largest type that fits."""
    for size in SIZES_PT:
        pdf = _pdf(card, size)
        if pdf.page == 1:
            return bytes(pdf.output())
    raise VoicelogError("the say-card does not fit on one page", todo="shorten the grammar's doc comments")


def _pdf(card: SayCard, size: float) -> FPDF:
    pdf = FPDF(unit="mm", format="A4")
    pdf.set_margin(MARGIN_MM)
    pdf.set_auto_page_break(True, MARGIN_MM)
    for style, name in (("", "DejaVuSansCondensed.ttf"), ("B", "DejaVuSansCondensed-Bold.ttf")):
        with as_file(files("voicelog.papers") / "fonts" / name) as path:
            pdf.add_font(FAMILY, style, path)
    pdf.set_title(card.title)
    pdf.set_lang("en-GB")
    pdf.add_page()
    pdf.set_font(FAMILY, "B", 14)
    pdf.cell(0, 8, card.title, new_x="LMARGIN", new_y="NEXT", border="B")
    pdf.ln(2)
    with pdf.text_columns(
        ncols=COLUMNS, gutter=GUTTER_MM, line_height=1.15, wrapmode=WrapMode.WORD
    ) as columns:
        for group in card.groups:
            pdf.set_font(FAMILY, "B", size)
            columns.write(group.title + "\n")
            pdf.set_font(FAMILY, "", size)
            if group.examples:
                columns.write(group.examples + "\n")
            for line in group.lines():
                columns.write(line + "\n")
            columns.write("\n")
        pdf.set_font(FAMILY, "B", size)
        for remark in card.remarks:
            columns.write(remark + "\n")
    return pdf
