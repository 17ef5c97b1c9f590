"""Recordings made on demand by the synthesisers of the machine: `python -m tests.speech.sets [SET...]`.

* outsiders: what somebody without a microphone tries: 34 utterances by each of 13 voices, clean, 1.2 s apart
* lengths: every -teen and -ty length before "mil", by each voice
* sentences: the tuning part of `sentences.txt`, by each voice
* pauses: notes with a pause of 0.3 to 1.0 s inside, and two notes with 0.7 to 2.0 s between them
* not-for-us: an hour of talk, babble, blows, music, tones and breath; half of it held out

Needs espeak-ng, flite and festival.  A set is a folder with a manifest that `tests.speech.recordings` reads.
Voices are held out, not sentences: nothing in the recogniser may be tuned on the held part.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import numpy as np
import soundfile

from tests.speech.noise import MADE, RATE, Samples, babble, mixed
from tests.speech.recordings import read_sound
from tests.speech.voices import say

HERE = Path(__file__).parent
CACHE = Path.home() / ".cache" / "voicelog-tests" / "sets"
GRAMMARS = HERE.parents[1] / "grammars"
VOICES = {
    "tuning": [
        "espeak:en-us@130", "espeak:en-us@150", "espeak:en-us@170", "flite:rms", "flite:awb",
        "festival:ked_diphone",
    ],
    "held": [
        "espeak:en-gb@130", "espeak:en-gb@150", "espeak:en-gb@170", "flite:slt", "flite:kal",
        "festival:kal_diphone", "festival:cmu_us_slt_arctic_hts",
    ],
}  # fmt: skip
"""The plain voices, by the part they belong to; the numbers are words a minute."""
GAP_S = 1.2
NOISE_FLOOR = 30.0
"""Standard deviation of the faint noise of a quiet room, in 16-bit steps: -61 dBFS."""
PAUSES_S = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
GAPS_S = (0.7, 0.9, 1.2, 1.5, 2.0)
BETWEEN_S = 2.5
"""Silence between one pause, or pair, and the next."""
PAUSED = (
    ("front left door", "aluminium thirty five mil shallow"),
    ("roof steel", "twenty two dents ten mil"),
    ("rear right quarter panel fifty mil", "crease body line"),
    ("bonnet forty five", "mil round push"),
    ("paint one four two", "reference one three eight"),
    ("nearside wing", "steel sixty mil deep glue pull"),
    ("left sill seventy mil", "bowl limited access"),
    ("pull three", "twenty mil crease tab"),
)
"""One note each, with the place of its pause."""
PAIRS = (
    ("roof steel thirty mil", "bonnet aluminium forty mil"),
    ("paint one four two", "start work"),
    ("front left door fifty mil shallow", "rear left door twenty mil deep"),
    ("warm the panel", "pull three times"),
    ("knock down", "check lines from the left"),
)
"""Two notes each, one gap each."""
TEENS = ("thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen")
TIES = ("thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
FOREIGN_S = {"talk": 700.0, "orders": 480.0, "babble": 180.0, "impacts": 120.0, "slams": 90.0, "music": 120.0,
             "tones": 40.0, "breath": 40.0, "compressor": 30.0}  # fmt: skip
"""Seconds of each kind in each half of the hour."""
SEEDS = {"tuning": 106, "held": 104}


@dataclass
class Tape:
    """Sound put together piece by piece, and where its utterances lie."""

    pieces: list[Samples] = field(default_factory=list)
    said: list[dict[str, object]] = field(default_factory=list)
    length: int = 0

    def add(self, sound: Samples) -> Tape:
        """Sound that nobody is meant to take down."""
        self.pieces.append(sound)
        self.length += len(sound)
        return self

    def wait(self, seconds: float) -> Tape:
        """Silence."""
        return self.add(np.zeros(round(seconds * RATE), np.int16))

    def utter(self, words: str, *parts: Samples | float) -> Tape:
        """One utterance: its spoken parts and the pauses between them."""
        start = self.length
        for part in parts:
            self.wait(part) if isinstance(part, float) else self.add(part)
        self.said.append({"start_s": start / RATE, "end_s": self.length / RATE, "words": words})
        return self

    def sound(self, floor: float = 0.0) -> Samples:
        """All of it, over faint noise."""
        whole = np.concatenate(self.pieces).astype(np.float64)
        whole += np.random.default_rng(7).normal(scale=floor, size=len(whole)) if floor else 0.0
        return np.clip(np.round(whole), -32768, 32767).astype(np.int16)


def lines(name: str) -> dict[str, list[str]]:
    """The sentences of each part of a text file; a line "[held]" begins the part held out."""
    parts: dict[str, list[str]] = {"tuning": [], "held": []}
    part = "tuning"
    for line in (HERE / name).read_text(encoding="utf-8").splitlines():
        if line == "[held]":
            part = "held"
        elif line and not line.startswith("#"):
            parts[part].append(line)
    return parts


def spoken(voice: str, text: str) -> Samples:
    """What a voice says, without the silence before and behind it."""
    return trimmed(say(voice, text))


def trimmed(sound: Samples) -> Samples:
    """Sound without what is below -40 dBFS before and behind it."""
    loud = np.flatnonzero(np.abs(sound) > 330)
    return sound[loud[0] : loud[-1] + 1]


def utterances(voice: str, texts: Iterable[str]) -> tuple[Tape, float]:
    """Clean utterances, 1.2 s apart."""
    tape = Tape().wait(1.0)
    for text in texts:
        tape.utter(text, spoken(voice, text)).wait(GAP_S)
    return tape, 0.0


def pauses(voice: str) -> tuple[Tape, float]:
    """Each pause in its note, then each gap between two."""
    tape = Tape().wait(1.0)
    for (first, second), pause in zip(PAUSED, PAUSES_S, strict=True):
        parts = spoken(voice, first), pause, spoken(voice, second)
        tape.utter(f"{first} {second}", *parts).wait(BETWEEN_S)
    for (first, second), gap in zip(PAIRS, GAPS_S, strict=True):
        tape.utter(first, spoken(voice, first)).wait(gap)
        tape.utter(second, spoken(voice, second)).wait(BETWEEN_S)
    return tape, NOISE_FLOOR


def lengths() -> list[str]:
    """Every -teen and -ty before "mil", within a note and at its beginning."""
    numbers = TEENS + TIES
    return [f"roof {number} mil round" for number in numbers] + [f"{number} mil deep" for number in numbers]


BY_VOICE: dict[str, Callable[[str], tuple[Tape, float]]] = {
    "outsiders": lambda voice: utterances(voice, lines("outsiders.txt")["tuning"]),
    "lengths": lambda voice: utterances(voice, lengths()),
    "pauses": pauses,
    "sentences": lambda voice: utterances(voice, lines("sentences.txt")["tuning"]),
}


def talk(split: str) -> Iterator[Samples]:
    """The talk of a part, by its voices in turn, with breaks as people make them."""
    rng = np.random.default_rng(3)
    voices = VOICES[split]
    for turn in range(len(voices)):
        for place, text in enumerate(lines("talk.txt")[split]):
            yield spoken(voices[(place + turn) % len(voices)], text)
            yield np.zeros(int(rng.uniform(0.2, 1.6) * RATE), np.int16)


def orders(folder: Path | None, split: str) -> Iterator[Samples]:
    """Real people talking to somebody else, clean and with the kitchen behind them."""
    paths = sorted(folder.glob("order*.flac")) if folder else []
    noise = read_sound(folder / "noise_kitchen.flac") if folder and paths else None
    for path in paths[:100] if split == "tuning" else paths[100:]:
        sound = read_sound(path)
        yield sound
        assert noise is not None
        yield mixed(sound, noise, 12.0, seed=len(sound))


def filled(pieces: Iterable[Samples], seconds: float) -> Samples:
    """So many seconds of pieces, one after the other; less where there are not so many."""
    tape = Tape().wait(0.5)
    for piece in pieces:
        if tape.length >= seconds * RATE:
            break
        tape.add(piece)
    return tape.sound(NOISE_FLOOR)


def foreign(kind: str, split: str, people: Path | None) -> Samples:
    """One kind of sound that is not for us."""
    seconds = FOREIGN_S[kind]
    if kind == "talk":
        return filled(talk(split), seconds)
    if kind == "orders":
        return filled(orders(people, split), seconds)
    if kind == "babble":
        return babble(
            [piece for piece, _ in zip(talk(split), range(160), strict=False)], seconds, seed=SEEDS[split]
        )
    return MADE[kind](seconds, seed=SEEDS[split])


def write(
    folder: Path, jobs: dict[str, Callable[[], tuple[Tape, float]]], facts: dict[str, dict[str, str]]
) -> None:
    """Make the recordings of a set, two at a time, and its manifest."""
    folder.mkdir(parents=True, exist_ok=True)

    def made(name: str) -> dict[str, object]:
        tape, floor = jobs[name]()
        soundfile.write(folder / name, tape.sound(floor), RATE, subtype="PCM_16")
        return {"file": name, **facts[name], "said": tape.said}

    with ThreadPoolExecutor(2) as workers:
        recordings = list(workers.map(made, jobs))
    manifest = {"grammar": str(GRAMMARS / "voicelog.jsgf"), "lexicon": str(GRAMMARS / "trade.dict"),
                "recordings": recordings}  # fmt: skip
    (folder / "manifest.json").write_text(json.dumps(manifest, indent=1) + "\n", encoding="utf-8")


def make(name: str, folder: Path | None = None, people: Path | None = None) -> Path:
    """The folder of a set, made if it is not there yet; `people` is a folder of orders, used as talk."""
    place = (folder or CACHE) / name
    if (place / "manifest.json").exists():
        return place
    jobs: dict[str, Callable[[], tuple[Tape, float]]] = {}
    facts: dict[str, dict[str, str]] = {}
    for split, voices in VOICES.items():
        for what in voices if name in BY_VOICE else FOREIGN_S:
            file = f"{split}_{what.replace(':', '_').replace('@', '_')}.flac"
            facts[file] = {"voice": what, "split": split}
            if name in BY_VOICE:
                jobs[file] = partial(BY_VOICE[name], what)
            elif what != "orders" or people is not None:
                jobs[file] = partial(_unsaid, what, split, people)
    write(place, jobs, facts)
    return place


def _unsaid(kind: str, split: str, people: Path | None) -> tuple[Tape, float]:
    return Tape().add(foreign(kind, split, people)), 0.0


def main() -> None:
    """Make sets."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "sets", nargs="*", metavar="SET", help=f"{', '.join(BY_VOICE)} or not-for-us; all without one"
    )
    parser.add_argument("--people", type=Path, help="folder of orders by real people, for not-for-us")
    parser.add_argument("--folder", type=Path, help=f"where to; default {CACHE}")
    given = parser.parse_args()
    for name in given.sets or [*BY_VOICE, "not-for-us"]:
        print(make(name, given.folder, given.people))


if __name__ == "__main__":
    main()
