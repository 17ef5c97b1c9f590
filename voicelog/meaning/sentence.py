"""A sentence of the grammar to a note: what kind of utterance it is and what it puts into which slot."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from types import MappingProxyType
from typing import cast

from voicelog.grammar import Network, Parse
from voicelog.meaning.fill_slots import RANGE, doubt_depth, fill_slots, labelled, settle_end
from voicelog.meaning.identify import plate_doubt, vin_doubt
from voicelog.meaning.note import Note, SlotValue, Trouble, Value
from voicelog.meaning.place import place_troubles, settle_panel
from voicelog.meaning.region import Region
from voicelog.meaning.spelling import stems
from voicelog.meaning.tags_to_values import Said, kind_of, said_in
from voicelog.units import KM_PER_MILE, round_half_up
from voicelog.vocabulary import NUMBERS, Kind

_PARSES = 12
"""How many parses of an ambiguous sentence are weighed."""


def parsed(text: str, region: Region, network: Network) -> Note | None:
    """The note of words that are a sentence of the grammar, else None."""
    tokens = text.split()
    parses = network.match(stems(tokens, network.vocabulary), _PARSES) if tokens else []
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
    numbers = _numbers_of(note)
    for other in others:
        cut = _numbers_of(other.note)
        as_good = other.faults == best.faults == 0 and other.pieces == best.pieces
        if as_good and other.note.kind == note.kind and cut != numbers:
            name = next(name for name in (*numbers, *cut) if numbers.get(name) != cut.get(name))
            return replace(
                note, troubles=(*note.troubles, Trouble(name, "the numbers can be taken in two ways"))
            )
    return note


def _numbers_of(note: Note) -> dict[str, Value]:
    every = enumerate((note, *note.further))
    return {
        f"{name}{at or ''}": s.value for at, one in every for name, s in one.slots.items() if name in NUMBERS
    }


@dataclass(frozen=True)
class _Candidate:
    """A note and what speaks against it: contradictions, then the number of pieces it is cut into."""

    note: Note
    faults: int
    pieces: int


def _note(parse: Parse, tokens: list[str], region: Region) -> _Candidate:
    said = said_in(parse.root, tokens, region)
    note = _with_tallies(kind_of(parse.root), said, tokens, region)
    return _Candidate(note, faults_of(note), len({item.start for item in said}))


def _with_tallies(kind: str, said: list[Said], tokens: list[str], region: Region) -> Note:
    """The note; of several counts in one breath ("forty at ten, five oversize") each is one of its own."""
    starts = [item.start for item in said if item.slot == "tally"][1:]
    ends = [*starts, len(tokens)]
    notes = [
        note_of(kind, [s for s in said if start <= s.start < end], " ".join(tokens[start:end]), region)
        for start, end in zip([0, *starts], ends, strict=True)
    ]
    return replace(notes[0], words=" ".join(tokens), further=tuple(notes[1:]))


def note_of(kind: str, said: list[Said], words: str, region: Region) -> Note:
    """The note of values in the order of speech."""
    denied, _ = fill_slots(item for item in said if item.denied)
    kept = tuple(item.words for item in said if item.slot == "kept")
    told, troubles = labelled([item for item in said if not item.denied and item.slot not in _ASIDE])
    slots, more = fill_slots(told)
    troubles += more
    settle_end(slots)
    doubt_depth(told, slots)
    settle_panel(slots)
    _settle_mileage(slots, words, region)
    _doubt_spelling(slots, region)
    troubles += place_troubles(slots)
    return Note(
        cast(Kind, kind), MappingProxyType(slots), words, troubles, kept=kept, denied=MappingProxyType(denied)
    )


_ASIDE = ("kept", "turns", "mended", "weak", "tally", "loose")


def faults_of(note: Note) -> int:
    """How often a note contradicts itself."""
    said_and_denied = sum(
        name in note.denied and slot.value == note.denied[name].value for name, slot in note.slots.items()
    )
    doubtful = sum(not slot.confirmed and slot.doubt != RANGE for slot in note.slots.values())
    return len(note.troubles) + doubtful + said_and_denied


def _settle_mileage(slots: dict[str, SlotValue], words: str, region: Region) -> None:
    """Bring a mileage said in the other unit to that of the country."""
    if "mileage" not in slots:
        return
    value, said = Decimal(str(slots["mileage"].value)), set(words.split())
    kilometres = bool({"kilometres", "kays", "k"} & said)
    if kilometres if region.distance == "miles" else "miles" in said:
        told = value / KM_PER_MILE if kilometres else value * KM_PER_MILE
        slots["mileage"] = replace(slots["mileage"], value=int(round_half_up(told, 0)))


def _doubt_spelling(slots: dict[str, SlotValue], region: Region) -> None:
    for name, doubt in (("vin", vin_doubt), ("plate", lambda plate: plate_doubt(plate, region.country))):
        if name in slots:
            slots[name] = replace(slots[name], doubt=doubt(str(slots[name].value)))


_FEW = 2
"""A method said as if it were a step is said alone."""
_METHOD_STEPS = ("push", "lever", "knock-down")


def with_readings(note: Note) -> Note:
    """Add what the same words mean elsewhere: a lone number is also a length, a lone "push" also a method."""
    if note.kind == "answer" and "number" in note.slots:
        number = note.slots["number"]
        said_no = "answer" in note.slots
        kind: Kind = "correction" if said_no else "damage"
        # After "no" the number mends what was said last, whatever that was.
        other = Note(kind, MappingProxyType({"number" if said_no else "length_mm": number}), note.words)
    elif (
        note.kind == "step"
        and set(note.slots) == {"step"}
        and len(note.slots["step"].words.split()) <= _FEW
        and note.slots["step"].value in _METHOD_STEPS
    ):
        step = note.slots["step"]
        other = Note("damage", MappingProxyType({"method": step}), note.words)
    else:
        return note
    return replace(note, readings=(other,))
