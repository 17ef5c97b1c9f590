"""Typed text to slot values, checked; one clause says what is wrong."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation

from voicelog.board.words import Wording, label
from voicelog.errors import VoicelogError
from voicelog.meaning.doubt import nonsense
from voicelog.meaning.identify import plate_doubt, vin_doubt
from voicelog.meaning.note import SlotValue, Value
from voicelog.meaning.place import missing_place, place_of, place_troubles
from voicelog.units import MM_PER_INCH
from voicelog.vocabulary import LENGTHS, THICKNESSES

_WHOLE = frozenset({"count", "belongs_to", "pulls"})


def number(slot: str, text: str, wording: Wording) -> Value:
    """A number as typed: "45", "4.5", "1 3/4"; measures in the unit of the settings, given back in mm or µm.

    Raises:
        VoicelogError: not a number, not above nought, or not whole where it must be.
    """
    value = _decimal(text)
    if value is None:
        raise VoicelogError(f"{label(slot)} must be a number", todo="type figures, as in 45 or 4.5")
    if slot in LENGTHS | THICKNESSES and wording.units == "inch":
        value *= MM_PER_INCH
    if value <= 0 and slot != "discount_percent":
        raise VoicelogError(f"{label(slot)} must be more than nought")
    if value == value.to_integral_value():
        return int(value)
    if slot in _WHOLE:
        raise VoicelogError(f"{label(slot)} must be a whole number")
    return value


def _decimal(text: str) -> Decimal | None:
    text = text.strip().replace(",", ".")
    fraction = re.fullmatch(r"(?:(\d+)\s+)?(\d+)/([1-9]\d*)", text)
    if fraction:
        whole, upper, lower = fraction.groups()
        return Decimal(whole or 0) + Decimal(upper) / Decimal(lower)
    if not re.fullmatch(r"\d{1,7}(\.\d{1,4})?", text):
        return None
    try:
        return Decimal(text)
    except InvalidOperation:
        return None


def remark(slot: str, value: Value, panel: str, country: str = "GB") -> str:
    """What is unusual about a value that may stand all the same; empty where nothing is."""
    if slot == "vin":
        return vin_doubt(str(value)) if value else ""
    if slot == "plate":
        return plate_doubt(str(value), country) if value else ""
    return nonsense(slot, value, panel)


def misplaced(values: Mapping[str, Value]) -> str:
    """What is wrong with a place, a clause for people; empty where it makes sense."""
    slots = {name: SlotValue(values[name]) for name in ("panel", "end", "side") if values.get(name)}
    troubles = place_troubles(slots)
    if troubles:
        return troubles[0].reason
    needed = {"panel": "a panel", "end": "front or rear", "side": "left or right"}
    missing = [needed[name] for name in (missing_place(place_of(slots)) if slots else ())]
    return f"it needs {' and '.join(missing)}" if missing else ""


def identifier(text: str) -> str:
    """A plate or VIN as records hold it: upper case without spaces."""
    return re.sub(r"[\s-]", "", text).upper()
