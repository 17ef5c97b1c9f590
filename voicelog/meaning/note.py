"""A note: the kind of an utterance and its slots, with the words behind each.

This is the record that passes from the meaning room to the session and, through
events, into the journal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from voicelog.vocabulary import Kind

Value = int | Decimal | str | bool | tuple[str, ...]
"""What a slot can hold.  Numbers are `int` where whole, else `Decimal`."""


@dataclass(frozen=True)
class SlotValue:
    """One slot as it was said."""

    value: Value
    words: str = ""
    """The spoken words behind the value; empty for a value nobody spoke."""
    alternatives: tuple[Value, ...] = ()
    """Other values it may be; empty when nothing about it is in doubt."""
    doubt: str = ""
    """Why it is in doubt, a clause for people; empty when it is not."""
    guess: bool = False
    """True when a misheard word was repaired to reach this value."""

    @property
    def confirmed(self) -> bool:
        """Whether the value can be priced as one figure."""
        return not self.alternatives and not self.doubt

    def to_json(self) -> dict[str, Any]:
        """JSON-ready form; numbers stay numbers, tuples become lists."""
        data: dict[str, Any] = {"value": plain(self.value)}
        if self.words:
            data["words"] = self.words
        if self.alternatives:
            data["alternatives"] = [plain(value) for value in self.alternatives]
        if self.doubt:
            data["doubt"] = self.doubt
        if self.guess:
            data["guess"] = True
        return data

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> SlotValue:
        """The inverse of `to_json` (read JSON with `parse_float=Decimal`)."""
        return cls(
            value=stored(data["value"]),
            words=data.get("words", ""),
            alternatives=tuple(stored(value) for value in data.get("alternatives", ())),
            doubt=data.get("doubt", ""),
            guess=bool(data.get("guess", False)),
        )


Slots = Mapping[str, SlotValue]
NO_SLOTS: Slots = MappingProxyType({})


@dataclass(frozen=True)
class Trouble:
    """Why a slot of an utterance could not be taken as said."""

    slot: str
    reason: str
    """A clause for people, as in "roof has no left and right"."""


@dataclass(frozen=True)
class Note:
    """What one utterance means, before anybody decides what to do with it."""

    kind: Kind
    slots: Slots = field(default_factory=lambda: NO_SLOTS)
    words: str = ""
    troubles: tuple[Trouble, ...] = ()
    """Slots that failed and why; a note with troubles is asked about or rejected."""
    readings: tuple[Note, ...] = ()
    """Other full notes that the same sound may be, most likely first (from the engine's alternatives)."""
    sure: float = 1.0
    """Chance, 0 to 1, that this was said, whatever the slots marked as in doubt are."""
    kept: tuple[str, ...] = ()
    """Groups of words that no slot holds."""
    denied: Slots = field(default_factory=lambda: NO_SLOTS)
    """What was said not to be so: "no crease"."""
    further: tuple[Note, ...] = ()
    """Notes said after this one in the same breath."""

    def values(self) -> dict[str, Any]:
        """Slot values alone, JSON-ready, as `say --json` prints them."""
        return {name: plain(slot.value) for name, slot in self.slots.items()}

    def with_slot(self, name: str, slot: SlotValue) -> Note:
        """A copy with one slot set."""
        return replace(self, slots=MappingProxyType({**self.slots, name: slot}))


def plain(value: Value) -> Any:
    """A value as JSON holds it: whole numbers as int, others as float, tuples as lists."""
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    if isinstance(value, tuple):
        return list(value)
    return value


def stored(value: Any) -> Value:
    """A value read back from JSON: float becomes Decimal by its printed digits, lists become tuples."""
    if isinstance(value, float):
        value = Decimal(repr(value))
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else value
    if isinstance(value, list):
        return tuple(str(item) for item in value)
    if isinstance(value, (int, str, bool)):
        return value
    raise TypeError(f"no slot value: {value!r}")
