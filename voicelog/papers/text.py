"""Text from outside made harmless: names, notes, plates, file names, heard words."""

from __future__ import annotations

import unicodedata
from typing import Final

_BIDI_CONTROLS: Final = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Explicit directional formatting characters (Unicode Standard Annex 9, table 1 and section 2)."""
ISOLATE_START: Final = "\u2068"
ISOLATE_END: Final = "\u2069"

FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""First characters that a spreadsheet may take for a formula (OWASP, "CSV Injection")."""


def clean(text: str) -> str:
    """One line of `text` without control, surrogate and directional override characters."""
    kept = "".join(_harmless(char) for char in str(text) if char not in _BIDI_CONTROLS)
    return " ".join(kept.split())


def _harmless(char: str) -> str:
    category = unicodedata.category(char)
    if category in ("Cc", "Zl", "Zp"):
        return " "
    # Noncharacters (Unicode 15, section 23.7) must not stand in XML.
    noncharacter = ord(char) & 0xFFFE == 0xFFFE or 0xFDD0 <= ord(char) <= 0xFDEF
    return "\ufffd" if category == "Cs" or noncharacter else char


def lines_of(text: str) -> tuple[str, ...]:
    """The lines of an address or a remark, each cleaned, without empty ones."""
    return tuple(line for part in str(text).splitlines() if (line := clean(part)))


def right_to_left(text: str) -> bool:
    """Whether a letter of `text` is written from right to left."""
    return any(unicodedata.bidirectional(char) in ("R", "AL") for char in text)


def isolated(text: str) -> str:
    """Cleaned text that cannot turn the words around it the other way (UAX 9, isolates)."""
    cleaned = clean(text)
    return f"{ISOLATE_START}{cleaned}{ISOLATE_END}" if right_to_left(cleaned) else cleaned


def cell_text(text: str) -> str:
    """Text for a cell of a spreadsheet: cleaned, and with an apostrophe before what could be a formula."""
    raw, cleaned = str(text), clean(text)
    risky = raw.startswith(FORMULA_STARTS) or cleaned.startswith(FORMULA_STARTS)
    return f"'{cleaned}" if risky and cleaned else cleaned
