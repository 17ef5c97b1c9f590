"""From the sentences that the search found to how likely each was said, and whether any was."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from voicelog.grammar.network import ANY
from voicelog.recognition.comparing import FUNCTION_WORDS
from voicelog.recognition.neural.model import Sound
from voicelog.recognition.neural.pieces import Pieces
from voicelog.recognition.neural.search import Sentence, spoken
from voicelog.recognition.neural.sounds_like import apart, sounds
from voicelog.recognition.neural.spelling import DIGITS, TEENS, TYS

PER_SOUND = 0.7
"""Cost of a sound in which a sentence differs from what was written freely."""
FEW_SOUNDS = 4
"""Added to a length, so that one sound in a short word ("yes, sir") does not count as much."""
FIGURES = {**DIGITS, **TEENS, **{word: f"{digit}_" for word, digit in TYS.items()}}
PAIRS = {word: ty for word in TEENS for ty in TYS if TEENS[word] == f"1{TYS[ty]}" and TYS[ty] != "2"}
PAIRS |= {ty: teen for teen, ty in PAIRS.items()}
"""Numbers that differ in one sound, of which the search may have followed only one."""
_PAIR = re.compile(rf"\b({'|'.join(PAIRS)})\b|1[3-9](?!\d)|[3-9]0(?!\d)", re.IGNORECASE)


def weighed(found: list[Sentence], sound: Sound, pieces: Pieces, text: str) -> list[Sentence]:
    """The sentences in their order once their sounds are held against `text`, what was written freely.

    The best one is joined by those that differ from it in a -teen for a -ty.
    """
    found = [replace(item, total=item.total - PER_SOUND * apart(text, spoken(item.words))) for item in found]
    best = max(found, key=lambda item: item.total)
    found += _partners(best, sound, pieces)
    return sorted(found, key=lambda item: -item.total)


def _partners(best: Sentence, sound: Sound, pieces: Pieces) -> Iterator[Sentence]:
    """The sentence with one -teen or -ty exchanged, as likely as it is in one batch with the sentence."""
    written = pieces.decode(best.pieces)
    places = [at for at, word in enumerate(best.words) if word in PAIRS]
    matches = list(_PAIR.finditer(written))
    if not places or len(places) != len(matches):
        return
    texts = [written, *(written[: m.start()] + _exchanged(m[0]) + written[m.end() :] for m in matches)]
    likely = sound.score([pieces.encode(f" {text}") for text in texts])
    for at, other in zip(places, likely[1:], strict=True):
        words = (*best.words[:at], PAIRS[best.words[at]], *best.words[at + 1 :])
        yield replace(best, words=words, total=best.total + other - likely[0])


def _exchanged(number: str) -> str:
    if number.isdigit():
        return f"{number[1]}0" if number[0] == "1" else f"1{number[0]}"
    return PAIRS[number.lower()]


def raw_scores(best: Sentence, text: str) -> dict[str, float]:
    """What tells whether a sentence of the language was said at all.

    All are relative to what the same voice sounds like without the language, so that a voice that is
    hard to understand is not refused for that.
    """
    said = spoken(best.words)
    longer = max(1, len(sounds(text)), len(sounds(said)))
    return {
        "off": apart(text, said) / (longer + FEW_SOUNDS),
        "short": 1 / longer,
        "regret_per_letter": max(-10.0, best.regret / max(3, sum(map(str.isalnum, text)))),
    }


def shared_out(found: Sequence[Sentence], temperature: float) -> list[tuple[str, float]]:
    """Each content's likeliest words and its share of the chance, by the distances between totals."""
    weights = np.exp(np.array([item.total - found[0].total for item in found]) / temperature)
    shares: dict[str, tuple[str, float]] = {}
    for item, weight in zip(found, weights / weights.sum(), strict=True):
        # Sound-alikes among free words are no other meaning.
        key = content(ANY if word.startswith(ANY) else word for word in item.words)
        words, share = shares.get(key, (spoken(item.words), 0.0))
        shares[key] = words, share + float(weight)
    return sorted(shares.values(), key=lambda item: -item[1])


def content(words: Iterable[str]) -> str:
    """Words as they count when answers are compared: without little ones, numbers in figures."""
    text = " ".join(FIGURES.get(word, word) for word in words if word not in FUNCTION_WORDS)
    text = re.sub(rf"{ANY}( {ANY})+", ANY, text)
    text = re.sub(r"_ (?=[1-9]\b)", "", text).replace("_", "0")
    return re.sub(r"(?<=\d) (?=\d)", "", text)
