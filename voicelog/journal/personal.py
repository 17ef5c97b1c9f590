"""Which parts of an event tell who the customer is, and how they are kept apart.

The events are never changed, and yet a customer may ask to be forgotten.  So these
parts do not stand in the event: they lie in a table of their own, and the event
holds a salted hash of them.  While they are there the hash proves them; once they
are deleted nothing of them can be read or guessed from the event, and the chain of
hashes still holds.

Personal are: plate, VIN, name, phone, address, email and notes of the customer, and
everything that was *said* (words, what else they may have been, questions about whole
notes, answers), because people say names.  What was *recorded* of the damage is not:
figures stay.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any, Final

from voicelog.vocabulary import CHOICES, NUMBERS

DETAILS: Final = frozenset({"plate", "vin", "customer", "phone", "address", "email", "notes"})
"""Names of slots and of keys in a quote's snapshot that are personal."""

_SAID: Final[dict[str, tuple[str, ...]]] = {
    "heard": ("words", "slots", "alternatives", "question", "answer", "reason"),
    "risk-noted": ("words",),
    "told": ("words",),
}
_FIGURES: Final = frozenset(CHOICES) | NUMBERS
"""Slots of a question whose answer is a figure of the record and stays."""
_ASKING: Final[dict[str, tuple[str, ...]]] = {
    "asked": ("choices", "text", "reason"),
    "answered": ("value", "words"),
}
_FORGOTTEN: Final[dict[str, Mapping[str, Any]]] = {
    "heard": {"words": ""},
    "job-described": {"slots": {}},
    "asked": {"choices": [], "text": ""},
    "answered": {"value": None},
    "quoted": {"snapshot": {}},
}
"""What the parts read as once they are deleted, where the body has no default."""


def split(kind: str, body: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any] | None]:
    """The JSON form of a body as (what the event holds, what is kept apart or None)."""
    apart: dict[str, Any] = {}
    if kind in _SAID:
        apart = {name: body[name] for name in _SAID[kind] if name in body}
    elif kind in _ASKING and body.get("slot") not in _FIGURES:
        apart = {name: body[name] for name in _ASKING[kind] if name in body}
    if apart:
        return {name: value for name, value in body.items() if name not in apart}, apart
    return _without_details(body)


def _without_details(body: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any] | None]:
    """Takes every key in `DETAILS` out, at any depth of mappings."""
    rest: dict[str, Any] = {}
    apart: dict[str, Any] = {}
    for name, value in body.items():
        if name in DETAILS:
            apart[name] = value
            continue
        rest[name] = value
        if isinstance(value, Mapping):
            rest[name], inner = _without_details(value)
            if inner is not None:
                apart[name] = inner
    return rest, apart or None


def join(kind: str, rest: Mapping[str, Any], apart: Mapping[str, Any] | None) -> dict[str, Any]:
    """The inverse of `split`; with None for parts that were deleted, the body without them."""
    return _merged({**_FORGOTTEN.get(kind, {}), **rest}, apart or {})


def _merged(rest: Mapping[str, Any], apart: Mapping[str, Any]) -> dict[str, Any]:
    whole = dict(rest)
    for name, value in apart.items():
        known = whole.get(name)
        both = isinstance(value, Mapping) and isinstance(known, Mapping)
        whole[name] = _merged(known, value) if both else value  # type: ignore[arg-type]
    return whole


def commitment(salt: str, data: str) -> bytes:
    """SHA-256 over the salt and the JSON text of the parts: what the event holds of them."""
    return hashlib.sha256(f"{salt}:{data}".encode()).digest()
