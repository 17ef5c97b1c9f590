"""Words to a note: what kind of utterance it is and what it puts into which slot."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import cast

from voicelog.grammar import Network, Parse, Stop
from voicelog.meaning.fill_slots import correction, doubt_depth, fill_slots, labelled
from voicelog.meaning.identify import plate_doubt, vin_doubt
from voicelog.meaning.note import Note, SlotValue, Trouble
from voicelog.meaning.numbers import FIGURES, TEENS, TYS
from voicelog.meaning.place import place_troubles, settle_panel
from voicelog.meaning.region import Region
from voicelog.meaning.spelling import normalise
from voicelog.meaning.tags_to_values import kind_of, said_in
from voicelog.vocabulary import NUMBERS, Kind

_PARSES = 12
"""How many parses of an ambiguous sentence are weighed."""
_HINTS = 6
_NUMBER_WORDS = frozenset((*FIGURES, *TEENS, *TYS, "oh", "nought", "niner", "double", "hundred", "thousand"))
_SMALL = frozenset(
    {"a", "an", "and", "er", "um", "uh", "the", "with", "of", "is", "it's", "in", "on", "about", "around"}
)


def understand(words: str, region: Region, network: Network) -> Note:
    """The note that `words` are.

    Args:
        words: what was typed or heard, in any spelling.
        region: the country of the settings.
        network: the word network of the grammar.

    Returns:
        A note; of kind "none" with a trouble where the grammar has no such sentence.
    """
    text = normalise(words)
    return parsed(text, region, network) or Note("none", words=text, troubles=(_unparsed(text, network),))


def parsed(text: str, region: Region, network: Network) -> Note | None:
    """The note of words that are a sentence of the grammar, else None."""
    tokens = text.split()
    parses = network.match(tokens, _PARSES) if tokens else []
    notes = [_note(parse, tokens, region) for parse in parses]
    if not notes:
        return None
    best = min(notes, key=_rank)
    return with_readings(_splits(best, notes))


_FIRST = ("answer", "step")
"""Kinds that go before others where the words fit both as well: "no fifty", "push"."""


def _rank(found: _Candidate) -> tuple[int, int, bool, bool]:
    """Fewest contradictions, then fewest pieces; "trim off bumper" takes the bumper off."""
    note = found.note
    return found.faults, found.pieces, note.kind not in _FIRST, "take_off" not in note.slots


def _splits(best: _Candidate, others: Iterable[_Candidate]) -> Note:
    """Mark the note where its words can also be cut into other numbers."""
    note = best.note
    numbers = {name: slot.value for name, slot in note.slots.items() if name in NUMBERS}
    for other in others:
        cut = {name: slot.value for name, slot in other.note.slots.items() if name in NUMBERS}
        as_good = other.faults == best.faults == 0 and other.pieces == best.pieces
        if as_good and other.note.kind == note.kind and cut != numbers:
            name = next(name for name in (*numbers, *cut) if numbers.get(name) != cut.get(name))
            return replace(
                note, troubles=(*note.troubles, Trouble(name, "the numbers can be taken in two ways"))
            )
    return note


def _unparsed(text: str, network: Network) -> Trouble:
    if not text:
        return Trouble("", "nothing was said")
    stop = network.stop(text)
    return Trouble(
        "", "that cannot be said here" if stop is None else _stopped(text.split(), stop, network.words())
    )


def _stopped(words: list[str], stop: Stop, known: frozenset[str]) -> str:
    """Where a sentence left the grammar, and what could have stood there."""
    after = f' after "{words[stop.index - 1]}"' if stop.index else " at the start"
    if stop.index >= len(words):
        return f"something is missing{after}: {_hint(stop.expected)}"
    wrong = words[stop.index]
    why = f"cannot stand{after}" if wrong in known else f"is not a word that can be said{after}"
    return f'"{wrong}" {why}, there could be {_hint(stop.expected)}'


def _hint(expected: Sequence[str]) -> str:
    """What could have come, in few words: the words themselves where they are few."""
    words = [word for word in expected if word not in _SMALL and word not in _NUMBER_WORDS]
    hints = words if len(words) <= _HINTS else ["another part of a note"]
    if any(word in _NUMBER_WORDS for word in expected):
        hints = [*hints, "a number"]
    return " or ".join(hints or expected[:_HINTS])


@dataclass(frozen=True)
class _Candidate:
    """A note and what speaks against it: contradictions, then the number of pieces it is cut into."""

    note: Note
    faults: int
    pieces: int


def _note(parse: Parse, tokens: list[str], region: Region) -> _Candidate:
    kind = kind_of(parse)
    said, troubles = labelled(said_in(parse, tokens, region))
    pieces = len(said)
    if said and said[0].slot == "oops":
        kind, said, more = correction(said)
        troubles += more
    slots, more = fill_slots(said)
    troubles += more
    doubt_depth(said, slots)
    settle_panel(slots)
    _doubt_spelling(slots, region)
    troubles += place_troubles(slots)
    note = Note(cast(Kind, kind), MappingProxyType(slots), " ".join(tokens), troubles)
    faults = len(troubles) + sum(not slot.confirmed for slot in slots.values())
    return _Candidate(note, faults, pieces)


def _doubt_spelling(slots: dict[str, SlotValue], region: Region) -> None:
    for name, doubt in (("vin", vin_doubt), ("plate", lambda plate: plate_doubt(plate, region.country))):
        if name in slots:
            slots[name] = replace(slots[name], doubt=doubt(str(slots[name].value)))


_METHOD_STEPS = ("push", "lever", "knock-down")


def with_readings(note: Note) -> Note:
    """Add what the same words mean elsewhere: a lone number is also a length, a lone "push" also a method."""
    if note.kind == "answer" and "number" in note.slots:
        number = note.slots["number"]
        kind: Kind = "correction" if "answer" in note.slots else "damage"
        other = Note(kind, MappingProxyType({"length_mm": number}), note.words)
    elif note.kind == "step" and set(note.slots) == {"step"} and note.slots["step"].value in _METHOD_STEPS:
        step = note.slots["step"]
        other = Note("damage", MappingProxyType({"method": step}), note.words)
    else:
        return note
    return replace(note, readings=(other,))
