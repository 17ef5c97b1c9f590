"""What an answer to a question settles."""

from __future__ import annotations

from collections.abc import Sequence

from voicelog.meaning.note import Note, Value
from voicelog.vocabulary import NUMBERS


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
        return next((choice for choice in choices if _same(choice, value)), None)
    answer = note.slots.get("answer")
    if answer is not None and answer.value == "yes" and len(choices) == 1:
        return choices[0]
    return None


def _same(choice: Value, value: Value) -> bool:
    if isinstance(choice, str) and isinstance(value, tuple):
        return value == (choice,)
    return choice == value
