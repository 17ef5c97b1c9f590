"""Which parts of an event tell who the customer is, and how they are kept apart.

The events are never changed, and yet a customer may ask to be forgotten.  So these
parts do not stand in the event: they lie in a table of their own, and the event
holds a salted hash of them.  While they are there the hash proves them; once they
are deleted nothing of them can be read or guessed from the event, and the chain of
hashes still holds.

Personal are: plate, VIN, name, phone, address, email and notes of the customer, and
everything that was *said* (words, what else they may have been, questions about whole
notes, answers, free lines, names of recordings), because people say names, and what a quote
says in whole sentences.  What was *recorded* of the damage is not: figures stay.  So does an
issued invoice, as tax law asks.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Set
from typing import Any, Final

from voicelog.vocabulary import CHOICES, NUMBERS

DETAILS: Final = frozenset(
    {"plate", "vin", "customer", "phone", "address", "email", "notes", "claim", "policy"}
)
"""Names of slots and of keys in a quote's snapshot that are personal."""
_SENTENCES: Final = frozenset({"title", "explained", "risks", "told"})
"""Keys in a quote's snapshot whose texts may hold a name or a plate."""

_HEARD_STAYS: Final = frozenset(
    {"utterance", "start_s", "end_s", "confidence", "decision", "kind", "engine", "grammar", "clip"}
)
"""What stays of an utterance; all else is what was said."""
_SAID: Final[dict[str, tuple[str, ...]]] = {
    "extra-added": ("text",),
    "risk-noted": ("words",),
    "told": ("words",),
}
_FIGURES: Final = frozenset(CHOICES) | NUMBERS
"""Slots of a question whose answer is a figure of the record and stays."""
_ASKING: Final[dict[str, tuple[str, ...]]] = {
    "asked": ("choices", "text", "reason", "would"),
    "answered": ("value", "words"),
}
_FORGOTTEN: Final[dict[str, Mapping[str, Any]]] = {
    "heard": {"words": "", "source": ""},
    "extra-added": {"text": ""},
    "job-described": {"slots": {}},
    "asked": {"choices": [], "text": ""},
    "answered": {"value": None},
    "quoted": {"snapshot": {}},
}
"""What the parts read as once they are deleted, where the body has no default."""


def split(kind: str, body: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any] | None]:
    """The JSON form of a body as (what the event holds, what is kept apart or None)."""
    apart: dict[str, Any] = {}
    if kind == "heard":
        apart = {name: value for name, value in body.items() if name not in _HEARD_STAYS}
    elif kind in _SAID:
        apart = {name: body[name] for name in _SAID[kind] if name in body}
    elif kind in _ASKING and body.get("slot") not in _FIGURES:
        apart = {name: body[name] for name in _ASKING[kind] if name in body}
    if apart:
        return {name: value for name, value in body.items() if name not in apart}, apart
    return _without(body, DETAILS | _SENTENCES if kind == "quoted" else DETAILS)


def _without(body: Mapping[str, Any], keys: Set[str]) -> tuple[dict[str, Any], dict[str, Any] | None]:
    """Takes these keys out, at any depth of mappings, and the texts of free lines."""
    rest: dict[str, Any] = {}
    apart: dict[str, Any] = {}
    if body.get("kind") == "extra":
        keys = keys | {"text", "entries", "reason"}
    for name, value in body.items():
        if name in keys:
            apart[name] = value
            continue
        rest[name] = value
        if isinstance(value, list):
            # Each item by its place: those that have nothing personal are not mentioned.
            value = {str(place): item for place, item in enumerate(value)}
        if isinstance(value, Mapping):
            kept, inner = _without(value, keys)
            if inner is not None:
                apart[name] = inner
                rest[name] = list(kept.values()) if isinstance(rest[name], list) else kept
    return rest, apart or None


def join(kind: str, rest: Mapping[str, Any], apart: Mapping[str, Any] | None) -> dict[str, Any]:
    """The inverse of `split`; with None for parts that were deleted, the body without them."""
    return _merged({**_FORGOTTEN.get(kind, {}), **rest}, apart or {})


def _merged(rest: Mapping[str, Any], apart: Mapping[str, Any]) -> dict[str, Any]:
    whole = dict(rest)
    for name, value in apart.items():
        known = whole.get(name)
        if isinstance(value, Mapping) and isinstance(known, list):
            items = {str(place): item for place, item in enumerate(known)}
            whole[name] = list(_merged(items, value).values())
        elif isinstance(value, Mapping) and isinstance(known, Mapping):
            whole[name] = _merged(known, value)
        else:
            whole[name] = value
    return whole


def commitment(salt: str, data: str) -> bytes:
    """SHA-256 over the salt and the JSON text of the parts: what the event holds of them."""
    return hashlib.sha256(f"{salt}:{data}".encode()).digest()
