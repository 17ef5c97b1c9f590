"""Free talk to notes: known phrases wherever they stand, the rest kept as words.

The phrases and the small words between them are in `grammars/voicelog-talk.jsgf`.  Phrases of one kind that
follow one another are one note; an utterance may hold several.  Words left over are kept.  One that
may turn the meaning of others ("not", "unless") leaves its clause unfilled: all of that is kept as words.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import MappingProxyType

from voicelog.grammar import Network, Parse
from voicelog.meaning.clauses import Clauses, conditions
from voicelog.meaning.note import Note, SlotValue
from voicelog.meaning.phrases import (
    Group,
    Phrase,
    clash,
    compared,
    joined,
    misplaced,
    no_name,
    phrases_of,
    says_little,
    settled,
)  # fmt: skip
from voicelog.meaning.region import Region
from voicelog.meaning.sentence import faults_of, note_of
from voicelog.meaning.spelling import stems
from voicelog.meaning.tags_to_values import Said, said_in

_PARSES = 16


def talked(text: str, region: Region, network: Network, breaks: frozenset[int] = frozenset()) -> Note | None:
    """The note of free talk; of kind "none" with all of it kept where nothing can be filled in safely.

    Args:
        text: words in the spelling of the grammar.
        region: the country of the settings.
        network: the word network of the rule <talk>.
        breaks: words, by their number, that a comma stands before.

    Returns:
        None where there are no words.
    """
    tokens = text.split()
    parses = network.match(stems(tokens, network.vocabulary), _PARSES) if tokens else []
    if not parses:
        return None
    said = [said_in(parse.root, tokens, region) for parse in parses]
    turns = {item.start: False for items in said for item in items if item.slot == "turns"}
    turns |= {at: True for items in said for at in conditions(items)}
    found = [
        _read(parse, items, turns, tokens, region, network.vocabulary, breaks)
        for parse, items in zip(parses, said, strict=True)
    ]
    best = min(found, key=lambda read: read.rank)
    if not best.notes:
        others = any(item.slot == "turns" and item.value == "others" for items in said for item in items)
        return Note("none", words=text, kept=() if others else (text,))
    return replace(best.notes[0], kept=best.kept, further=best.notes[1:])


@dataclass(frozen=True)
class _Read:
    """One way to read an utterance."""

    notes: tuple[Note, ...]
    """Empty where nothing can be filled in safely."""
    kept: tuple[str, ...]
    cost: int = 0
    """Words that nothing in the language holds; those that it knows count twice."""
    faults: int = 0

    @property
    def rank(self) -> tuple[int, int, int]:
        """What speaks against it, the worst first."""
        return 2 * self.faults + self.cost, self.faults, len(self.notes)


def _read(
    parse: Parse,
    said: list[Said],
    turns: dict[int, bool],
    tokens: list[str],
    region: Region,
    known: frozenset[str],
    breaks: frozenset[int],
) -> _Read:
    words = " ".join(tokens)
    pieces = phrases_of(parse.root, said)
    memo = _memo(pieces, tokens)
    if memo is not None:
        return _Read((memo,), ())
    talk = Clauses(tokens, pieces, said, turns, breaks)
    sure = [piece for piece in pieces if not (talk.doubts(piece) or no_name(piece, known))]
    lost = {talk.clause[piece.start] for piece in pieces if piece not in sure}
    sure = [
        piece
        for piece in sure
        if talk.clause[piece.start] not in lost or all(i.slot != "weak" for i in piece.said)
    ]
    if len({piece.kind for piece in sure}) > 1:
        # Of several notes in one breath none is taken from a clause with strange words.
        sure = [piece for piece in sure if talk.clause[piece.start] not in talk.free]
    if len({piece.kind for piece in sure}) > 1:
        sure = [
            piece
            for piece in sure
            if not (piece.kind == "answer" or any(i.slot == "weak" for i in piece.said))
        ]
    groups = [settled(compared(group, talk.denied)) for group in joined(sure)]
    unclear = clash(groups)
    odd = [group for group in groups if group.said and misplaced(group)]
    if len(groups) > 1:
        # A place or a single word alone beside something else is none of the dent's.
        odd += [group for group in groups if says_little(group)]
    unsure = [group for group in groups if group not in odd and talk.unsure(group)]
    groups = [group for group in groups if group not in odd and group not in unsure]
    aside = note_of("none", talk.denied, words, region)
    if not groups and aside.denied:
        groups = [Group("damage", ())]
    if any(group.kind in ("correction", "undo") for group in unsure):
        groups = []
    if unclear or talk.drowns(groups):
        groups = []
    notes = [note_of(group.kind, list(group.said), words, region) for group in groups]
    if notes:
        notes[0] = replace(notes[0], denied=aside.denied)
    gone = {item for group in (*odd, *unsure) for item in group.said}
    held = {at for piece in sure if gone.isdisjoint(piece.said) for at in range(piece.start, piece.end)}
    inside = {at for at in talk.loose if at in held and at not in talk.unknown}
    left = talk.left(held)
    # A word that could have said something is a greater loss than one that is not known at all.
    cost = sum(_cost(at, tokens, known, talk) for at in left) + 3 * talk.passed_over()
    faults = sum(map(faults_of, notes)) + len(odd) + talk.torn
    return _Read(tuple(notes), talk.kept(left | inside, held - inside), cost, faults if notes else faults + 1)


def _cost(at: int, tokens: list[str], known: frozenset[str], talk: Clauses) -> int:
    if at in talk.loose and at not in talk.unknown:
        return int(at in talk.near)
    return 2 + 2 * (tokens[at] in known)


def _memo(groups: list[Phrase], tokens: list[str]) -> Note | None:
    """A memo: all words after its beginning are its text."""
    for group in groups:
        for item in group.said:
            if item.slot == "control" and item.value == "memo":
                text = next((other.start for other in group.said if other.slot == "memo"), len(tokens))
                slots = {"control": SlotValue("memo", item.words)}
                if text < len(tokens):
                    slots["memo"] = SlotValue(" ".join(tokens[text:]), " ".join(tokens[text:]))
                return Note("control", MappingProxyType(slots), " ".join(tokens))
    return None
