"""Words to a note: a sentence of the grammar, else free talk."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from voicelog.grammar import Network, Stop
from voicelog.meaning.note import Note, Trouble
from voicelog.meaning.numbers import FIGURES, TEENS, TYS
from voicelog.meaning.region import Region
from voicelog.meaning.sentence import faults_of, parsed
from voicelog.meaning.spelling import breaks, normalise, stems
from voicelog.meaning.talk import talked

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
        network: the word network of the grammar; its `wider` one takes free talk.

    Returns:
        A note; of kind "none" with a trouble where nothing of it can be filled in: what may have been
        said to us is in `kept` then.
    """
    text = normalise(words)
    strict = parsed(text, region, network)
    if strict is not None and faults_of(strict) == 0:
        return strict
    free = None if network.wider is None else talked(text, region, network.wider, breaks(words))
    if free is not None and any(_is_lone_right(note) for note in free.further):
        # A place was torn apart: the side is no "yes" within a note.
        free = Note("none", words=text, kept=(text,))
    understood = free is not None and free.kind != "none" and not free.kept
    if (
        free is not None
        and understood
        and (strict is None or (faults_of(free) == 0 and _holds(free, strict)))
    ):
        return free
    if strict is not None:
        return strict
    if free is not None and free.kind != "none":
        return free
    lost = Note("none", words=text, troubles=(_unparsed(text, network),))
    return lost if free is None else replace(lost, kept=free.kept)


def _holds(free: Note, strict: Note) -> bool:
    """Whether free talk leaves out nothing that the stricter reading, faulty as it is, takes up."""
    taken = set(free.slots).union(free.denied, *(note.slots for note in free.further))
    return set(strict.slots) <= taken


def _is_lone_right(note: Note) -> bool:
    return note.kind == "answer" and "answer" in note.slots and note.slots["answer"].words == "right"


def _unparsed(text: str, network: Network) -> Trouble:
    if not text:
        return Trouble("", "nothing was said")
    stop = network.stop(" ".join(stems(text.split(), network.vocabulary)))
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
