"""Number plates and vehicle identification numbers as spelled."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Sequence
from functools import cache
from importlib import resources

VIN_LENGTH = 17
_VALUES = {letter: value for letters, value in (
    ("AJ", 1), ("BKS", 2), ("CLT", 3), ("DMU", 4), ("ENV", 5), ("FW", 6), ("GPX", 7), ("HY", 8), ("RZ", 9),
) for letter in letters} | {str(figure): figure for figure in range(10)}  # fmt: skip
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)


def spelled(tags: Sequence[tuple[str, str]]) -> str:
    """Letters and figures from the tags of `grammars/spelling.jsgf`, upper case without spaces."""
    text, times = "", 1
    for name, value in tags:
        if name == "double":
            times = int(value or 2)
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


@cache
def _plates() -> dict[str, dict[str, list[str]]]:
    return tomllib.loads((resources.files("voicelog.meaning") / "plates.toml").read_text(encoding="utf-8"))


def _has_form(plate: str, forms: Iterable[str]) -> bool:
    return any(re.fullmatch(form, plate) for form in forms)


def plate_doubt(plate: str, country: str) -> str:
    """Why a plate may be misheard, a clause for people; empty where it has a form known in the country."""
    forms = _plates().get(country, _plates()["elsewhere"])
    if _has_form(plate, [*forms.get("now", ()), *forms.get("also", ())]):
        return ""
    return f"it has no form that is known of plates in {country}"


def standard_plate(plate: str, country: str) -> bool:
    """Whether a plate has a form that the country gives out now, as far as that is known."""
    return _has_form(plate, _plates().get(country, {}).get("now", ()))
