"""Number plates and vehicle identification numbers as spelled."""

from __future__ import annotations

import re
from collections.abc import Sequence

VIN_LENGTH = 17
_VALUES = {letter: value for letters, value in (
    ("AJ", 1), ("BKS", 2), ("CLT", 3), ("DMU", 4), ("ENV", 5), ("FW", 6), ("GPX", 7), ("HY", 8), ("RZ", 9),
) for letter in letters} | {str(figure): figure for figure in range(10)}  # fmt: skip
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_GB_PLATE = re.compile(r"[A-HJ-PR-Y]{2}[0-9]{2}[A-HJ-PR-Z]{3}")
_GB_SHAPE = re.compile(r"[A-Z]{2}[0-9]{2}[A-Z]{3}")


def spelled(tags: Sequence[tuple[str, str]]) -> str:
    """Letters and figures from the tags of `grammars/spelling.jsgf`, upper case without spaces."""
    text, times = "", 1
    for name, value in tags:
        if name == "double":
            times = 2
        elif name in ("letter", "digit"):
            text, times = text + value * times, 1
    return text


def check_digit(vin: str) -> str:
    """The check digit of a VIN, "0" to "9" or "X" (49 CFR 565.15(c)).

    Raises:
        KeyError: for a character no VIN may hold (I, O, Q).
    """
    total = sum(_VALUES[sign] * weight for sign, weight in zip(vin, _WEIGHTS, strict=True))
    return "X" if total % 11 == 10 else str(total % 11)


def vin_doubt(vin: str) -> str:
    """Why a VIN may be misheard, a clause for people; empty when its check digit agrees.

    The digit is compulsory in North America only, and equal for some characters that sound
    alike (A and J, eight and H), so a failed one is a doubt and a good one no proof.
    """
    if len(vin) != VIN_LENGTH:
        return f"a VIN has {VIN_LENGTH} characters, this has {len(vin)}"
    forbidden = [sign for sign in "IOQ" if sign in vin]
    if forbidden:
        return f"no VIN holds the letter {' or '.join(forbidden)}"
    digit = check_digit(vin)
    return "" if vin[8] == digit else f"the check digit, the ninth character, should be {digit}, not {vin[8]}"


def plate_doubt(plate: str, country: str) -> str:
    """Why a plate may be misheard, a clause for people; empty where nothing is known against it.

    Only the British form since 2001 is known (two letters, two figures, three letters; no I or
    Q, no Z in front).  Older and personal plates have other forms, so only a plate of this very
    shape is doubted.
    """
    if not 1 < len(plate) <= 8:
        return f"a plate has 2 to 8 characters, this has {len(plate)}"
    if country == "GB" and _GB_SHAPE.fullmatch(plate) and not _GB_PLATE.fullmatch(plate):
        return "no British plate since 2001 holds I or Q, or Z in front"
    return ""


def standard_plate(plate: str, country: str) -> bool:
    """Whether a plate has the form that the country gives out now; only the British one is known."""
    return country == "GB" and _GB_PLATE.fullmatch(plate) is not None
