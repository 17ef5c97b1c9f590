"""A word's pronunciation from three repetitions, kept only if it helps.

The repetitions are decoded into phones without any dictionary; what they say is
proposed for the user's own lexicon and tried on the rehearsal's recordings.
Engine and sound are given in, apart from `PhoneDecoder`, which is PocketSphinx.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from rapidfuzz.distance import Levenshtein

from voicelog.errors import VoicelogError
from voicelog.files import write_atomically
from voicelog.sound.format import Samples

Phones = tuple[str, ...]
"""ARPAbet without stress, as in ("S", "W", "EY", "JH")."""

REPETITIONS = 3
FEWEST_PHONES, MOST_PHONES = 2, 24


class PhoneDecoder:
    """PocketSphinx's phone loop with its bundled phone model.

    Raises:
        VoicelogError: the model or its phone language model is missing.
    """

    def __init__(self) -> None:
        import pocketsphinx

        try:
            self._decoder = pocketsphinx.Decoder(
                hmm=pocketsphinx.get_model_path("en-us/en-us"),
                allphone=pocketsphinx.get_model_path("en-us/en-us-phone.lm.bin"),
                lm=None,
                dict=None,
                # The values of PocketSphinx's own phone recognition example, from memory.
                lw=2.0,
                beam=1e-20,
                pbeam=1e-20,
                loglevel="FATAL",
            )
        except RuntimeError as error:
            raise VoicelogError(
                "the phone model of PocketSphinx cannot be loaded", todo="install pocketsphinx again"
            ) from error

    def __call__(self, sound: Samples) -> Phones:
        """The phones in 16 kHz mono int16 samples, without silence and noise."""
        self._decoder.start_utt()
        self._decoder.process_raw(sound.tobytes(), full_utt=True)
        self._decoder.end_utt()
        return tuple(s.word for s in self._decoder.seg() if s.word != "SIL" and not s.word.startswith("+"))


def propose(heard: Sequence[Phones], known: Sequence[Phones]) -> list[Phones]:
    """Pronunciations to try, the one most like all repetitions first.

    Args:
        heard: the phones of each repetition.
        known: the word's present pronunciations; they are not proposed again.

    A repetition of fewer than 2 or more than 24 phones, or of less than half or
    more than twice the length of the shortest known one, is a slip and left out.
    """
    shortest = min((len(p) for p in known), default=0)

    def plausible(phones: Phones) -> bool:
        if not FEWEST_PHONES <= len(phones) <= MOST_PHONES:
            return False
        return not shortest or 0.5 * shortest <= len(phones) <= 2 * shortest

    usable = [p for p in heard if plausible(p)]

    def distance(phones: Phones) -> int:
        return sum(Levenshtein.distance(phones, other) for other in usable)

    return sorted(dict.fromkeys(p for p in usable if p not in known), key=distance)


@dataclass(frozen=True)
class Taught:
    """What came of teaching a word; scores are shares of words right, 0 to 1."""

    word: str
    heard: tuple[Phones, ...]
    kept: Phones | None
    """The pronunciation that helped most, or None when none did."""
    before: float
    after: float

    def line(self) -> str:
        """The outcome for the user."""
        if self.kept is None:
            return (
                f'nothing kept for "{self.word}": {self.before:.0%} of the words were right '
                "and no pronunciation heard makes it better"
            )
        change = f"{self.before:.0%} -> {self.after:.0%} of the words right"
        return f'kept "{self.word}" as {" ".join(self.kept)}: {change}'


def teach(
    word: str,
    repetitions: Sequence[Samples],
    known: Sequence[Phones],
    phones_of: Callable[[Samples], Phones],
    score_with: Callable[[Phones | None], float],
) -> Taught:
    """Find the pronunciation that most improves the rehearsal.

    Args:
        repetitions: the word said alone, at least three times.
        known: the pronunciations it has now.
        phones_of: a phone decoder, such as `PhoneDecoder`.
        score_with: words right, 0 to 1, on the rehearsal's recordings when this
            pronunciation is added; with None, as things are.

    Raises:
        VoicelogError: fewer than three repetitions.
    """
    if len(repetitions) < REPETITIONS:
        raise VoicelogError(
            f'"{word}" was heard {len(repetitions)} times', todo=f"say it {REPETITIONS} times, with pauses"
        )
    heard = tuple(phones_of(sound) for sound in repetitions)
    before = score_with(None)
    best: Phones | None = None
    best_score = before
    for phones in propose(heard, known):
        reached = score_with(phones)
        if reached > best_score:
            best, best_score = phones, reached
    return Taught(word, heard, best, before, best_score)


def add_to_lexicon(path: Path, word: str, phones: Phones) -> None:
    """Append a pronunciation to a lexicon file, whole or not at all.

    Written as `word P H O N E S`, or `word(2) ...` after those it has.  The file
    is replaced at once, so that a crash leaves the old one.

    Raises:
        VoicelogError: the file cannot be read or written.
    """
    try:
        text = path.read_text(encoding="utf-8") if path.exists() else ""
        entries = [line.split() for line in text.splitlines() if line.split()]
        mine = [e for e in entries if e[0].split("(")[0] == word]
        if any(tuple(e[1:]) == phones for e in mine):
            return
        name = word if not mine else f"{word}({len(mine) + 1})"
        if text and not text.endswith("\n"):
            text += "\n"
        write_atomically(path, f"{text}{name} {' '.join(phones)}\n".encode())
    except OSError as error:
        raise VoicelogError(
            f"the lexicon cannot be written ({error.strerror})", where=str(path), todo="check its permissions"
        ) from error
