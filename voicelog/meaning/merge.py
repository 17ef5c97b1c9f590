"""Slots of several notes brought together into one dent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import cast

from voicelog.meaning.fill_slots import ordered
from voicelog.meaning.note import SlotValue, Value
from voicelog.vocabulary import LISTS, TEXTS


@dataclass(frozen=True)
class Merged:
    """Fields after a merge, and where two notes contradict each other."""

    fields: Mapping[str, SlotValue]
    """A contradicted slot holds both values, one as the other's alternative, in a fixed order."""
    conflicts: Mapping[str, tuple[SlotValue, SlotValue]] = field(default_factory=dict)
    """By slot: what stood there and what came; empty when all fits."""


def merge(fields: Mapping[str, SlotValue], slots: Mapping[str, SlotValue]) -> Merged:
    """Fill `fields` with `slots`; neither is changed.

    New slots fill, equal values stay, lists are united, a repetition settles a value in doubt.
    Anything else is a conflict.  The values of the result do not depend on the order in which
    notes are merged.
    """
    merged = dict(fields)
    conflicts: dict[str, tuple[SlotValue, SlotValue]] = {}
    for name, new in slots.items():
        old = merged.get(name)
        if old is None:
            merged[name] = new
        elif name in LISTS:
            merged[name] = _united(name, old, new)
        else:
            agreed = _agreed(old, new) or _added(name, old, new)
            if agreed is None:
                conflicts[name] = (old, new)
            merged[name] = agreed or _contradicted(old, new)
    return Merged(merged, conflicts)


def _united(name: str, old: SlotValue, new: SlotValue) -> SlotValue:
    values = ordered(name, (*cast(tuple[str, ...], old.value), *cast(tuple[str, ...], new.value)))
    words = old.words if new.words in old.words else f"{old.words} {new.words}".strip()
    return SlotValue(values, words, doubt=old.doubt or new.doubt, guess=old.guess or new.guess)


def _added(name: str, old: SlotValue, new: SlotValue) -> SlotValue | None:
    """Words about a place go on; None where the slot holds no words."""
    if name not in TEXTS:
        return None
    first, second = sorted((str(old.value), str(new.value)))
    return SlotValue(f"{first}, {second}", f"{old.words} {new.words}".strip())


def _agreed(old: SlotValue, new: SlotValue) -> SlotValue | None:
    """The value on which two notes agree; None where they contradict each other."""
    possible = [value for value in _possible(old) if value in _possible(new)]
    if not possible:
        return None
    first = old.value if old.value == new.value else min(possible, key=_rank)
    source = old if old.confirmed or not new.confirmed else new
    rest = tuple(value for value in possible if value != first)
    doubt = source.doubt if rest else ""
    return SlotValue(first, source.words, rest, doubt, guess=old.guess and new.guess)


def _contradicted(old: SlotValue, new: SlotValue) -> SlotValue:
    first, *rest = sorted({*_possible(old), *_possible(new)}, key=_rank)
    return SlotValue(
        first, f"{old.words} / {new.words}", tuple(rest), "two values were said", old.guess or new.guess
    )


def _possible(slot: SlotValue) -> tuple[Value, ...]:
    return (slot.value, *slot.alternatives)


def _rank(value: Value) -> tuple[str, float, str]:
    if isinstance(value, str | tuple):
        return ("text", 0.0, str(value))
    return ("number", float(value), "")
