"""The say-card as a file: two A4 pages at most, HTML or PDF."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path

from jinja2 import Environment

from voicelog.errors import VoicelogError
from voicelog.files import write_atomically
from voicelog.grammar.saycard import SayCard
from voicelog.papers.layout.typesetting import TooLongError, typeset

SIZES_PT = (9.0, 8.6, 8.2, 7.8, 7.4, 7.0, 6.6)
"""Tried from large to small until the card fits."""
MOST_PAGES = 2
_MADE_AT = datetime(2000, 1, 1, tzinfo=UTC)
"""The card follows from the grammar alone, so that the same grammar gives the same bytes."""


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
    page = (files("voicelog.papers.layout") / "templates" / "say-card.html.jinja").read_text(encoding="utf-8")
    environment = Environment(autoescape=True, trim_blocks=True)
    return environment.from_string(page).render(card=card)


def card_pdf(card: SayCard) -> bytes:
    """The card as a PDF of two A4 pages at most, in the largest type that fits."""
    groups = [{"title": g.title, "examples": g.examples, "lines": list(g.lines())} for g in card.groups]
    words = json.dumps({"title": card.title, "groups": groups, "remarks": list(card.remarks)})
    for size in SIZES_PT:
        try:
            inputs = {"card": words, "size": str(size), "most": str(MOST_PAGES)}
            return typeset("say-card.typ", inputs, _MADE_AT).pdf
        except TooLongError:
            continue
    raise VoicelogError("the say-card does not fit on two pages", todo="shorten the grammar's doc comments")
