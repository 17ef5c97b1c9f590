"""Words to a note: what kind of utterance it is and what it puts into which slot."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from types import MappingProxyType
from typing import cast

from voicelog.grammar import Network, Parse, Stop
from voicelog.meaning.identify import plate_doubt, vin_doubt
from voicelog.meaning.note import Note, SlotValue, Trouble
from voicelog.meaning.numbers import FIGURES, TEENS, TYS
from voicelog.meaning.places import place_troubles, settle_panel
from voicelog.meaning.reading import Said, kind_of, said_in
from voicelog.meaning.region import Region
from voicelog.meaning.spelling import normalise
from voicelog.vocabulary import CHOICES, LISTS, NUMBERS, Kind

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
    said, troubles = _labelled(said_in(parse, tokens, region))
    pieces = len(said)
    if said and said[0].slot == "oops":
        kind, said, more = _correction(said)
        troubles += more
    slots, more = _gather(said)
    troubles += more
    _doubt_depth(said, slots)
    settle_panel(slots)
    _doubt_spelling(slots, region)
    troubles += place_troubles(slots)
    note = Note(cast(Kind, kind), MappingProxyType(slots), " ".join(tokens), troubles)
    faults = len(troubles) + sum(not slot.confirmed for slot in slots.values())
    return _Candidate(note, faults, pieces)


def _correction(said: list[Said]) -> tuple[str, list[Said], tuple[Trouble, ...]]:
    """A note that begins with "no": a correction of the record, unless what follows is unclear."""
    rest = said[1:]
    if not rest:
        return "correction", rest, (Trouble("", "a correction was begun without a value"),)
    return "correction", rest, _denied(said[0], rest[0])


_DENIED = ("features", "access", "take_off", "risk")


def _denied(oops: Said, item: Said) -> tuple[Trouble, ...]:
    """What "no" may also deny: "no filler" says that there is none."""
    if oops.words != "no" or item.slot not in _DENIED:
        return ()
    return (Trouble(item.slot, f"whether it is {item.words} or not is not clear"),)


_SHALLOW_MM = 10
"""A size below this said right before "deep" may be the depth: "five mil deep"."""


def _doubt_depth(said: Sequence[Said], slots: dict[str, SlotValue]) -> None:
    for size, depth in pairwise(said):
        held = slots.get("length_mm")
        adjacent = depth.value == "deep" and size.start + len(size.words.split()) == depth.start
        small = size.slot == "length_mm" and cast(int, size.value) < _SHALLOW_MM
        if adjacent and small and held is not None and size.value == held.value:
            slots["length_mm"] = replace(held, doubt=f"{size.words} may be how deep it is")


def _labelled(said: list[Said]) -> tuple[list[Said], tuple[Trouble, ...]]:
    """Give each labelled number its slot ("width thirty") and drop the labels; "same" is the spot before."""
    kept: list[Said] = []
    troubles: list[Trouble] = []
    label: Said | None = None
    spot = ""
    for item in [*said, None]:
        if item is not None and item.slot == "same":
            if not spot:
                troubles.append(Trouble("paint_um", "there is no reading before it to correct"))
            item = replace(item, slot=spot or "paint_um")
        elif item is not None and item.slot in ("paint_um", "reference_um"):
            spot = item.slot
        if label is not None and not _fits(label, item):
            troubles.append(Trouble(str(label.value), f'nothing was said for "{label.words}"'))
        elif label is not None and item is not None and label.value in _MEASURES:
            words = f"{label.words} {item.words}"
            item = replace(item, slot=str(label.value), words=words, start=label.start)
        label = item if item is not None and item.slot == "label" else None
        if item is not None and label is None:
            kept.append(item)
    return kept, tuple(troubles)


_PLACE = ("panel", "end", "side")


_MEASURES = ("length_mm", "width_mm", "count")
_ANNOUNCED = {"panel": _PLACE, "access": ("access", "take_off")} | dict.fromkeys(_MEASURES, _MEASURES)
"""Slots that may follow a label, where they are more than the one it names."""


def _fits(label: Said, item: Said | None) -> bool:
    """Whether what follows a label can be what it announces."""
    name = str(label.value)
    return item is not None and item.slot in _ANNOUNCED.get(name, (name,))


def _gather(said: Iterable[Said]) -> tuple[dict[str, SlotValue], tuple[Trouble, ...]]:
    """Slots from values in the order of speech; a second value counts only after a self-correction."""
    slots: dict[str, SlotValue] = {}
    troubles: list[Trouble] = []
    before: dict[str, Said] = {}
    begun: Said | None = None
    first: Said | None = None
    """The "no" just said, and the first value after it while its correction lasts."""
    for item in said:
        if item.slot == "oops":
            begun, first = item, None
            continue
        if begun is not None:
            troubles += _denied(begun, item)
            begun, first = None, item
            if item.slot not in slots:
                troubles.append(Trouble(item.slot, "there is nothing before it to correct"))
        elif first is not None and not _goes_with(item, first):
            first = None
        dropped = before.get(item.slot) if first is not None else None
        slots[item.slot] = _joined(slots.get(item.slot), item, dropped)
        before[item.slot] = item
    if begun is not None:
        troubles.append(Trouble("", "a correction was begun without a value"))
    return slots, tuple(troubles)


def _goes_with(item: Said, first: Said) -> bool:
    """Whether a value still belongs to a correction: said with the same words, or the rest of a place."""
    return item.start == first.start or (item.slot in _PLACE and first.slot in _PLACE)


def _joined(before: SlotValue | None, item: Said, dropped: Said | None) -> SlotValue:
    """A slot after one more value; `dropped` is the value that a self-correction takes back."""
    if item.slot in LISTS:
        earlier = () if before is None else cast(tuple[str, ...], before.value)
        kept = [value for value in earlier if dropped is None or value != dropped.value]
        words = item.words if before is None or dropped is not None else f"{before.words} {item.words}"
        return SlotValue(ordered(item.slot, (*kept, str(item.value))), words)
    if before is None or dropped is not None or before.value == item.value:
        return SlotValue(item.value, item.words)
    others = tuple(value for value in (*before.alternatives, item.value) if value != before.value)
    return replace(before, alternatives=others, doubt="two values were said")


def ordered(slot: str, values: Iterable[str]) -> tuple[str, ...]:
    """Values of a list slot without repeats, in the order of the vocabulary."""
    given = set(values)
    return tuple(value for value in CHOICES[slot] if value in given)


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
