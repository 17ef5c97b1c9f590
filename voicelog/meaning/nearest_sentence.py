"""Words that are no sentence, repaired to the nearest one; every repair is marked as a guess."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import product

from rapidfuzz import fuzz, process

from voicelog.grammar import Network
from voicelog.meaning.note import Note, SlotValue, Trouble
from voicelog.meaning.region import Region
from voicelog.meaning.sentence import parsed

CLOSE = 80.0
"""Least likeness, 0 to 100, of a word to the word that replaces it."""
_CHOICES = 4
_MOST = 2
"""More strange words than this are no slip of the tongue or the keyboard."""
_IDLE = frozenset(
    {"a", "an", "the", "is", "er", "um", "uh", "of", "on", "it", "it's", "there's", "with", "please"}
)
"""Words without meaning that may stand where the grammar has none."""


def repaired(text: str, region: Region, network: Network) -> Note | None:
    """The note of the nearest sentence, slots that hang on a replaced word marked; None if too far off."""
    tokens = text.split()
    known = _words(network)
    strange = [place for place, token in enumerate(tokens) if token not in known]
    if not strange:
        return _without_idle(tokens, region, network)
    if len(strange) > _MOST:
        return None
    best: Note | None = None
    for trial, swapped in _trials(tokens, strange, known):
        note = parsed(" ".join(trial), region, network) or _without_idle(trial, region, network)
        if note is not None and (best is None or len(note.troubles) < len(best.troubles)):
            best = _marked(note, swapped)
            if not note.troubles:
                break
    return best


@lru_cache(maxsize=4)
def _words(network: Network) -> frozenset[str]:
    return frozenset(network.words())


def _trials(
    tokens: list[str], strange: list[int], known: frozenset[str]
) -> Iterator[tuple[list[str], dict[str, str]]]:
    """Sentences with every strange word replaced, the likest first, with what was replaced by what."""
    options = []
    for place in strange:
        found = process.extract(tokens[place], known, scorer=fuzz.ratio, limit=_CHOICES, score_cutoff=CLOSE)
        options.append([(word, score) for word, score, _ in found])
    for choice in sorted(product(*options), key=lambda picked: -sum(score for _, score in picked)):
        trial = list(tokens)
        for place, (word, _) in zip(strange, choice, strict=True):
            trial[place] = word
        yield trial, {word: tokens[place] for place, (word, _) in zip(strange, choice, strict=True)}


def _without_idle(tokens: list[str], region: Region, network: Network) -> Note | None:
    kept = [token for token in tokens if token not in _IDLE]
    return parsed(" ".join(kept), region, network) if len(kept) < len(tokens) else None


def _marked(note: Note, swapped: dict[str, str]) -> Note:
    """Mark the slots said with a replaced word; a note that no slot shows it in gets a trouble."""
    hit = False
    for name, slot in note.slots.items():
        found = [word for word in slot.words.split() if word in swapped]
        if found:
            hit = True
            why = f'"{swapped[found[0]]}" was taken for "{found[0]}"'
            note = note.with_slot(name, SlotValue(slot.value, slot.words, slot.alternatives, why, guess=True))
    if not hit:
        word, heard = next(iter(swapped.items()))
        note = replace(note, troubles=(*note.troubles, Trouble("", f'"{heard}" was taken for "{word}"')))
    return note
