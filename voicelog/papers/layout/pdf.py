"""A paper as PDF by typst, after PDF/UA-1 (ISO 14289-1), with fonts that are shipped along.

The template `paper.typ` holds the whole look; a paper goes into it as JSON, so that no word of
a user is ever read as markup.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import datetime
from typing import Any

from voicelog.papers.blocks import Beside, Block, Drawing, Paper, Picture, Pictures
from voicelog.papers.car_drawing.svg import plan_svg
from voicelog.papers.layout.html import contact_lines
from voicelog.papers.layout.typesetting import Typeset, typeset
from voicelog.papers.photos.thumbnails import logo_of
from voicelog.papers.text import isolated


def paper_pdf(paper: Paper, made_at: datetime) -> bytes:
    """The paper as PDF; `made_at` is the date of making that the file carries.

    The same paper and date give the same bytes.
    """
    return typeset_paper(paper, made_at).pdf


def typeset_paper(paper: Paper, made_at: datetime) -> Typeset:
    """The same, with the letters that no font has."""
    return typeset("paper.typ", {"paper": json.dumps(_data(paper))}, made_at)


def _data(paper: Paper) -> dict[str, Any]:
    letterhead = paper.letterhead
    logo = logo_of(letterhead)
    return {
        "title": paper.title,
        "name": isolated(paper.name),
        "workshop": isolated(letterhead.name),
        "seal": paper.seal,
        "contact": contact_lines(letterhead),
        "logo": None if logo is None else _picture(logo),
        "size": letterhead.paper,
        "country": letterhead.language.partition("-")[2] or None,
        "addressee": paper.addressee,
        "meta": paper.heads,
        "blocks": [_block(block) for block in paper.blocks],
    }


def _block(block: Block) -> dict[str, Any]:
    if isinstance(block, Drawing):
        plan = block.plan
        words = f"{plan.title}. {'; '.join(plan.spoken)}"
        return {"kind": block.kind, "svg": plan_svg(plan), "describes": words, "caption": plan.caption}
    if isinstance(block, Pictures):
        return {**asdict(block), "items": [_picture(item) for item in block.items]}
    if isinstance(block, Beside):
        sides = {
            "left": [_block(item) for item in block.left],
            "right": [_block(item) for item in block.right],
        }
        return {"kind": block.kind, "share": block.share, **sides}
    return asdict(block)


def _picture(picture: Picture) -> dict[str, Any]:
    return {"jpeg": list(picture.jpeg), "describes": picture.describes, "caption": picture.caption}
