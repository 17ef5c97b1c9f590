"""What an answer to a question settles."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from voicelog.meaning.note import Note, Value
from voicelog.meaning.wording import heard_number
from voicelog.vocabulary import LENGTHS, NUMBERS, THICKNESSES


def offered(note: Note, slot: str) -> Value | None:
    """The value a note offers for a slot, whether said as an answer or as a note of its own.

    A value that is itself in doubt ("fifteen" to the question of fifteen or fifty) is none;
    said figure by figure it is.  Figures alone are no value of a slot that holds words.
    """
    for reading in (note, *note.readings):
        if slot in reading.slots and reading.slots[slot].confirmed:
            return reading.slots[slot].value
    number = note.slots.get("number") if slot in NUMBERS else None
    return number.value if number is not None and number.confirmed else None


def interpret_answer(note: Note, slot: str, choices: Sequence[Value]) -> Value | None:
    """The choice that a note picks, or None when it picks none of them.

    The digits or the number pick, so does the whole phrase again ("fifty mil", "left").  "Yes"
    picks the value of a question that offers only one; between two it says nothing.  "No" drops
    the only value, or nothing: both give None.  A value that is none of the choices gives None
    too; see `offered` for it.
    """
    value = offered(note, slot)
    if value is not None:
        exact = next((choice for choice in choices if _same(choice, value)), None)
        inches = (choice for choice in choices if _in_inches(slot, choice) == value)
        return next(inches, None) if exact is None else exact
    answer = note.slots.get("answer")
    if answer is not None and answer.value == "yes" and len(choices) == 1:
        return choices[0]
    return None


def _in_inches(slot: str, choice: Value) -> Value | None:
    """A choice as it was heard where the question named inches or thousandths of one."""
    if slot not in LENGTHS | THICKNESSES or not isinstance(choice, int | Decimal):
        return None
    return heard_number(slot, choice, "inch")


def _same(choice: Value, value: Value) -> bool:
    if isinstance(choice, str) and isinstance(value, tuple):
        return value == (choice,)
    return choice == value
