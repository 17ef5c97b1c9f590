"""The rate card: reading, starting and showing it.

A card is a TOML file, checked as a whole: one error names everything that is wrong with it.
It is known by the SHA-256 of its text.
"""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache
from pathlib import Path

from voicelog.estimate.card.model import Card
from voicelog.estimate.card.print import card_as_text
from voicelog.estimate.card.start import REGIONS, starting_card_text
from voicelog.toml_model import read_text, read_toml

__all__ = [
    "REGIONS",
    "Card",
    "card_as_text",
    "default_card",
    "load_card",
    "read_card",
    "starting_card_text",
]


def read_card(text: str, where: str | None = None) -> Card:
    """The card in a text of TOML.

    Raises:
        VoicelogError: it is no valid card; every problem is in the one line.
    """
    todo = "mend the card, or print a fresh one with 'voicelog card new'"
    return read_toml(Card, text, where=where, parse_float=Decimal, todo=todo).with_text(text)


def load_card(path: Path | str) -> Card:
    """Read a rate card.

    Raises:
        VoicelogError: the file cannot be read or is no valid card.
    """
    return read_card(read_text(Path(path)), str(path))


@lru_cache(maxsize=8)
def default_card(region: str = "GB") -> Card:
    """The starting card of a region, used where the user gave none."""
    return read_card(starting_card_text(region), f"starting card for {region}")
