"""The texts of lines: what a line is about, in the trade words of the card's region."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

from voicelog.estimate.card.model import Card
from voicelog.jobs.records import Dent
from voicelog.meaning.place import Place
from voicelog.meaning.wording import name_of, place_text
from voicelog.units import MM_PER_INCH, format_number
from voicelog.vocabulary import LISTS

Choice = Callable[[str], Sequence[Any]]
"""Every value that a slot of a dent may have, None for nothing said."""


def dent_text(dent: Dent, of: Choice, card: Card) -> str:
    """A dent with all that its slots may be (`of`), without its number: "roof, 15 or 50 mm, crease, deep"."""
    place = place_text(dent.place, card.words)
    parts = [place, _size(of, card)]
    for slot in ("shape", "depth", "material", "features", "access", "method", "density"):
        parts.append(either([value_text(slot, value, card) for value in _said(of(slot))]))
    parts.append("oversize" if dent.get("oversize") else "")
    side = dent.get("square_mm")
    parts.append(f"counted in a square of {format_number(Decimal(side))} mm" if side else "")
    return ", ".join(part for part in parts if part)


def _said(values: Sequence[Any]) -> list[Any]:
    return [value for value in values if value is not None]


def _size(of: Choice, card: Card) -> str:
    counts = either([format_number(Decimal(v)) for v in _said(of("count"))])
    sizes = [_extent(of(slot), card) for slot in ("length_mm", "width_mm")]
    size = " × ".join(text for text in sizes if text)
    unit = "in" if card.units == "inch" else "mm"
    size = f"{size} {unit}" if size else "length not said"
    return size if counts in ("", "1") else f"{counts} dents of {size}"


def _extent(values: Sequence[Any], card: Card) -> str:
    scale = MM_PER_INCH if card.units == "inch" else Decimal(1)
    return either([format_number(Decimal(value) / scale) for value in _said(values)])


def either(texts: Sequence[str]) -> str:
    """ "15 or 50"."""
    return " or ".join(dict.fromkeys(text for text in texts if text))


def value_text(slot: str, value: Any, card: Card) -> str:
    """One value in the region's words; several joined with "and"."""
    if isinstance(value, tuple):
        return " and ".join(name_of(item, card.words) for item in value)
    if slot in LISTS or isinstance(value, str):
        return name_of(str(value), card.words)
    return str(value)


def part_text(item: str, place: Place, card: Card) -> str:
    """A part taken off: "Left tail light off and on", "Rear bumper off and on"."""
    panel, end, side = place
    words = [name_of(part, card.words) for part in (end, side, item) if part]
    if item in ("liner", "trim") and panel is not None:
        words.append(f"({name_of(panel, card.words)})")
    name = " ".join(words)
    return f"{name[:1].upper()}{name[1:]} off and on"
