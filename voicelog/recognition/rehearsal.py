"""Ten phrases said aloud: which words this voice and microphone lose.

Pure of sound and engine: both are given in.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from rapidfuzz.distance import Levenshtein

from voicelog.sound.format import Samples

NOTHING = ""
"""Stands for the missing partner of a word that was dropped or put in."""


@dataclass(frozen=True)
class PhraseResult:
    """One phrase: what was to be said, what was heard, and word by word."""

    expected: str
    heard: str
    pairs: tuple[tuple[str, str], ...]
    """(expected word, heard word); `NOTHING` for a dropped or an added word."""

    @property
    def exact(self) -> bool:
        """Whether every word was heard, and no other."""
        return all(a == b for a, b in self.pairs)


@dataclass(frozen=True)
class LostWord:
    """A word of the phrases that was not always heard."""

    word: str
    said: int
    lost: int
    heard_as: tuple[str, ...]
    """What was heard in its place, most often first; `NOTHING` when dropped."""


@dataclass(frozen=True)
class RehearsalReport:
    """The outcome of a rehearsal."""

    phrases: tuple[PhraseResult, ...]

    @property
    def words_right(self) -> float:
        """Share of the expected words that were heard, 0 to 1; added words count against it.

        This is 1 minus the word error rate, not below 0.
        """
        expected = sum(a != NOTHING for p in self.phrases for a, _ in p.pairs)
        errors = sum(a != b for p in self.phrases for a, b in p.pairs)
        return max(0.0, 1.0 - errors / expected) if expected else 0.0

    @property
    def lost_words(self) -> list[LostWord]:
        """Words not always heard, those lost most often first, then by alphabet."""
        said: Counter[str] = Counter()
        wrong: dict[str, Counter[str]] = {}
        for phrase in self.phrases:
            for expected, heard in phrase.pairs:
                if expected == NOTHING:
                    continue
                said[expected] += 1
                if heard != expected:
                    wrong.setdefault(expected, Counter())[heard] += 1
        found = [
            LostWord(word, said[word], counts.total(), tuple(w for w, _ in counts.most_common()))
            for word, counts in wrong.items()
        ]
        return sorted(found, key=lambda w: (-w.lost / w.said, -w.lost, w.word))

    def lines(self) -> list[str]:
        """The report for the user, a line for each finding."""
        exact = sum(p.exact for p in self.phrases)
        lines = [f"{exact} of {len(self.phrases)} phrases heard exactly, {self.words_right:.0%} of the words"]
        for word in self.lost_words:
            instead = ", ".join(f'"{w}"' if w else "nothing" for w in word.heard_as)
            lines.append(
                f'"{word.word}" lost {word.lost} of {word.said} times, heard as {instead}; '
                f"try: voicelog teach {word.word}"
            )
        return lines


def align(expected: str, heard: str) -> PhraseResult:
    """Pair the words of a phrase with those heard, with the fewest edits (Levenshtein)."""
    wanted, got = expected.split(), heard.split()
    pairs: list[tuple[str, str]] = []
    for code in Levenshtein.opcodes(wanted, got):
        left = wanted[code.src_start : code.src_end]
        right = got[code.dest_start : code.dest_end]
        longest = max(len(left), len(right))
        left += [NOTHING] * (longest - len(left))
        right += [NOTHING] * (longest - len(right))
        pairs += zip(left, right, strict=True)
    return PhraseResult(expected, heard, tuple(pairs))


def score(recorded: Iterable[tuple[str, Samples]], decode: Callable[[Samples], str]) -> RehearsalReport:
    """Decode recorded phrases, (words said, sound), and compare.

    Args:
        decode: gives the words heard in 16 kHz mono int16 samples.
    """
    return RehearsalReport(tuple(align(words, decode(sound)) for words, sound in recorded))


def rehearse(
    phrases: Sequence[str],
    record: Callable[[str], Samples | None],
    decode: Callable[[Samples], str],
) -> tuple[RehearsalReport, list[tuple[str, Samples]]]:
    """Ask for each phrase, hear it, compare; the recordings serve `teach` later.

    Args:
        record: asks the user for the phrase and returns their utterance, or None
            when they said nothing, which counts as heard nothing.
    """
    results, recorded = [], []
    for phrase in phrases:
        sound = record(phrase)
        if sound is None:
            results.append(align(phrase, ""))
            continue
        recorded.append((phrase, sound))
        results.append(align(phrase, decode(sound)))
    return RehearsalReport(tuple(results)), recorded
