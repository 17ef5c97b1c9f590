"""A paper as one HTML file that needs nothing else: styles, drawings and pictures are inside."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from functools import lru_cache
from importlib.resources import files

from jinja2 import Environment, StrictUndefined, Template
from markupsafe import Markup

from voicelog.papers.blocks import Column, Paper
from voicelog.papers.car_drawing.svg import plan_svg
from voicelog.papers.letterhead import Letterhead
from voicelog.papers.photos.thumbnails import logo_of
from voicelog.papers.text import isolated

_TEMPLATES = files("voicelog.papers.layout") / "templates"


def paper_html(paper: Paper) -> bytes:
    """The paper as UTF-8 HTML; the same paper gives the same bytes."""
    logo = logo_of(paper.letterhead)
    text: str = _template().render(
        paper=paper,
        css=Markup(_read("paper.css")),
        logo=None if logo is None else _data_uri(logo.jpeg),
        contact=contact_lines(paper.letterhead),
    )
    return text.encode("utf-8")


def contact_lines(letterhead: Letterhead) -> tuple[str, ...]:
    """Address; telephone and e-mail; tax number: a line each, cleaned, without empty ones."""
    tax = f"{letterhead.tax_name or 'Tax'} no. {letterhead.tax_number}" if letterhead.tax_number else ""
    lines = (", ".join(letterhead.address), _side_by_side(letterhead.phone, letterhead.email), tax)
    return tuple(isolated(line) for line in lines if line.strip())


def _side_by_side(*texts: str) -> str:
    return " · ".join(text for text in texts if text.strip())


def _environment() -> Environment:
    environment = Environment(autoescape=True, undefined=StrictUndefined, keep_trailing_newline=True)
    environment.filters.update(
        harmless=isolated,
        share=_share,
        svg=plan_svg,
        data_uri=lambda picture: _data_uri(picture.jpeg),
    )
    return environment


@lru_cache(maxsize=1)
def _template() -> Template:
    return _environment().from_string(_read("paper.html.jinja"))


@lru_cache(maxsize=4)
def _read(name: str) -> str:
    return (_TEMPLATES / name).read_text(encoding="utf-8")


def _share(column: Column, columns: Sequence[Column]) -> str:
    """The width of a column in percent of its table."""
    return f"{100 * column.share / sum(item.share for item in columns):.2f}"


def _data_uri(jpeg: bytes) -> str:
    return f"data:image/jpeg;base64,{base64.b64encode(jpeg).decode('ascii')}"
