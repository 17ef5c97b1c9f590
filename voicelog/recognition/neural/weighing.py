"""From the sentences that the search found to how likely each was said, and whether any of them was.

The search follows few ways to write a sentence.  Here the likeliest sentences are written out whole, and
with their numbers in words as well as in digits; where they are near to each other, the sound is heard
again a little slower and again behind some silence, which the model takes for other sounds.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import soxr

from voicelog.grammar.network import ANY
from voicelog.recognition.neural.language import Said, letters_in
from voicelog.recognition.neural.model import Floats, Sound
from voicelog.recognition.neural.pieces import Pieces
from voicelog.recognition.neural.search import Free, Sentence, spoken
from voicelog.recognition.neural.sounds_like import apart, longest_apart, sounds
from voicelog.recognition.neural.spelling import DIGITS, TEENS, TYS
from voicelog.sound.format import RATE, Samples

MOST = 12
"""Sentences that are written out."""
PAIRED = 4
"""How many of them are joined by those that differ in a -teen for a -ty."""
NEAREST = 4
"""How many are scored again when the sound is heard again: the answer has to be there when the pause ends."""
PER_SOUND = 0.7
"""Cost of a sound in which a sentence differs from what was written freely, for the choice of these."""
FEW_SOUNDS = 4
"""Added to a length, so that one sound in a short word ("yes, sir") does not count as much."""
SLOWER, BEFORE, BEHIND = 0.92, RATE * 4 // 10, RATE // 5
"""The other hearings: a speed, and silence around the sound in samples."""
LITTLE_WORDS = (
    "a an and at can er for from get give have i i'd i'm in is it it's like make may me of on please "
    "that the there there's to uh um want was we with"
)
FUNCTION_WORDS = frozenset(LITTLE_WORDS.split())
"""Words that do not change what a sentence means; two answers that differ only here count as one."""
FIGURES = {**DIGITS, **TEENS, **{word: f"{digit}_" for word, digit in TYS.items()}}
PAIRS = {word: ty for word in TEENS for ty in TYS if TEENS[word] == f"1{TYS[ty]}" and TYS[ty] != "2"}
PAIRS |= {ty: teen for teen, ty in PAIRS.items()}
"""Numbers that differ in one sound, of which the search may have followed only one."""
_DIGITS = {word: TEENS[word] if word in TEENS else f"{TYS[word]}0" for word in PAIRS}
_WORDS = {digits: word for word, digits in _DIGITS.items()}
_PAIR = re.compile(rf"\b({'|'.join(PAIRS)})\b|1[3-9](?!\d)|[3-9]0(?!\d)", re.IGNORECASE)


@dataclass(frozen=True)
class Offer:
    """A sentence that may have been said."""

    words: Said
    ways: tuple[tuple[int, ...], ...]
    """In pieces, each way to write it."""
    scores: Mapping[str, float]
    """What counts beside the sound."""
    total: float = 0.0


def offers(found: Sequence[Sentence], pieces: Pieces, text: str) -> list[Offer]:
    """The likeliest sentences, also by the free `text`, and beside the best those with a -teen for a -ty."""
    best = sorted(
        found, key=lambda item: item.total - PER_SOUND * apart(text, spoken(item.words)), reverse=True
    )
    ways = {item.words: (pieces.decode(item.pieces), item.pieces) for item in best[:MOST]}
    for item in best[:PAIRED]:
        for words, written in _partners(item.words, ways[item.words][0]):
            ways.setdefault(words, (written, pieces.encode_words(written)))
    made = []
    for words, (written, cut) in ways.items():
        swapped = _PAIR.sub(_in_other_signs, written)
        both = (cut,) if swapped == written else (cut, pieces.encode_words(swapped))
        beside = {
            "apart": apart(text, spoken(words)),
            "under": max(0, letters_in(text) - letters_in(written)),
        }
        made.append(Offer(words, both, beside))
    return made


def _partners(words: Said, written: str) -> Iterator[tuple[Said, str]]:
    places = [at for at, word in enumerate(words) if word in PAIRS]
    matches = list(_PAIR.finditer(written))
    if len(places) == len(matches):
        for at, m in zip(places, matches, strict=True):
            other = PAIRS[words[at]]
            number = _DIGITS[other] if m[0].isdigit() else other
            yield (*words[:at], other, *words[at + 1 :]), written[: m.start()] + number + written[m.end() :]


def _in_other_signs(number: re.Match[str]) -> str:
    return _WORDS[number[0]] if number[0].isdigit() else _DIGITS[number[0].lower()]


def other_hearings(samples: Samples) -> list[Samples]:
    """The same sound, slower and behind some silence."""
    slower = soxr.resample(samples.astype(np.float32), RATE * SLOWER, RATE)
    return [np.clip(slower, -32768, 32767).astype(np.int16), np.pad(samples, (BEFORE, BEHIND))]


def heard(made: Sequence[Offer], sound: Sound) -> Floats:
    """How likely each offer is in one hearing of the sound: log probability and regret, offers x 2."""
    scored = np.array(sound.score([way for offer in made for way in offer.ways]), np.float32)
    ends = np.cumsum([len(offer.ways) for offer in made])
    return np.array([np.logaddexp.reduce(part) for part in np.split(scored, ends[:-1])])


def weighed(made: Sequence[Offer], likely: Floats, factors: Mapping[str, float]) -> list[Offer]:
    """The offers in their order, `likely` being what `heard` gives, by what each score counts."""
    found = []
    for offer, (logprob, regret) in zip(made, likely.tolist(), strict=True):
        scores = {**offer.scores, "logprob": logprob, "regret": regret}
        total = sum(factor * scores[name] for name, factor in factors.items())
        found.append(replace(offer, scores=scores, total=total))
    return sorted(found, key=lambda offer: -offer.total)


def weighed_again(
    best: Sequence[Offer], others: Iterable[Sound], factors: Mapping[str, float]
) -> list[Offer]:
    """The offers by the mean of all hearings; those that are not scored again change as the nearest do."""
    likely = np.array([[offer.scores[name] for name in ("logprob", "regret")] for offer in best])
    mean = np.mean([likely[:NEAREST], *(heard(best[:NEAREST], sound) for sound in others)], axis=0)
    rest = likely[NEAREST:] + (mean - likely[:NEAREST]).mean(axis=0)
    return weighed(best, np.concatenate([mean, rest]), factors)


def raw_scores(best: Offer, free: Free, text: str) -> dict[str, float]:
    """What tells whether a sentence of the language was said at all, and whether all of it was found.

    All are relative to what the same voice sounds like without the language, so that a voice that is
    hard to understand is not refused for that.
    """
    said = spoken(best.words)
    longer = max(1, len(sounds(text)), len(sounds(said)))
    behind = min(2.0, max(-20.0, best.scores["logprob"] - free.logprob))
    return {
        "off": best.scores["apart"] / (longer + FEW_SOUNDS),
        "short": 1 / longer,
        "run": longest_apart(text, said),
        # Of each sound: noise costs a long sentence as much a sound as a short one.
        "behind": behind / (longer + FEW_SOUNDS),
    }


def shared_out(found: Sequence[Offer]) -> list[tuple[str, float]]:
    """Each content's likeliest words and its share of the chance."""
    weights = np.exp(np.array([offer.total - found[0].total for offer in found]))
    shares: dict[str, tuple[str, float]] = {}
    for offer, weight in zip(found, weights / weights.sum(), strict=True):
        # Sound-alikes among free words are no other meaning.
        key = content(ANY if word.startswith(ANY) else word for word in offer.words)
        words, share = shares.get(key, (spoken(offer.words), 0.0))
        shares[key] = words, share + float(weight)
    return sorted(shares.values(), key=lambda item: -item[1])


def content(words: Iterable[str]) -> str:
    """Words as they count when answers are compared: without little ones, numbers in figures."""
    text = " ".join(FIGURES.get(word, word) for word in words if word not in FUNCTION_WORDS)
    text = re.sub(rf"{ANY}( {ANY})+", ANY, text)
    text = re.sub(r"_ (?=[1-9]\b)", "", text).replace("_", "0")
    return re.sub(r"(?<=\d) (?=\d)", "", text)
