"""The rate card: reading, checking, starting and showing it.

`check_card` reads a text and finds every problem; `load_card` reads a file and
refuses it as a whole if there is any.  A card is known by the SHA-256 of its text.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from voicelog.estimate.card.check import check_card
from voicelog.estimate.card.model import Card, CardError, Problem
from voicelog.estimate.card.print import card_as_text
from voicelog.estimate.card.start import REGIONS, starting_card_text

__all__ = [
    "REGIONS",
    "Card",
    "CardError",
    "Problem",
    "card_as_text",
    "check_card",
    "default_card",
    "load_card",
    "starting_card_text",
]


def load_card(path: Path | str) -> Card:
    """Read a rate card.

    Raises:
        CardError: the file cannot be read or is no valid card; all problems are in the one line.
    """
    where = str(path)
    try:
        text = Path(path).read_bytes().decode("utf-8")
    except OSError as error:
        reason = error.strerror or "cannot be read"
        raise CardError([Problem("", "file", reason, "a readable TOML file")], where=where) from error
    except UnicodeDecodeError as error:
        raise CardError([Problem("", "file", "not UTF-8", "TOML in UTF-8")], where=where) from error
    card, problems = check_card(text)
    if card is None:
        raise CardError(problems, where=where)
    return card


@lru_cache(maxsize=8)
def default_card(region: str = "GB") -> Card:
    """The starting card of a region, used where the user gave none."""
    card, problems = check_card(starting_card_text(region))
    if card is None:
        raise CardError(problems, where=f"starting card for {region}")
    return card
