"""Fits what each score of a sentence counts (`[neural.right]`): `python -m tests.speech.weights SET...`.

The sets are those of `tests.speech.sets` with utterances, only their tuning voices: outsiders, lengths.
Each utterance is heard clean and once in a made noise, at 12 or 6 dB, chosen from a fixed seed.  The
sentences that the search found are scored over all hearings; the factors are those under which the ones that
mean what was said get the largest share of the chance, pulled a little towards zero.
`[neural.found]` is fitted to whether one of them means it.  Prints both, and how many are right when each
voice is left out in turn.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from tests.speech.calibrate import fitted
from tests.speech.noise import MADE, RATE, mixed
from tests.speech.recordings import read_corpus, read_sound
from tests.speech.sets import BY_VOICE, GRAMMARS, make
from voicelog.grammar import load_grammar
from voicelog.meaning.region import Region
from voicelog.meaning.sentence import parsed
from voicelog.meaning.spelling import normalise
from voicelog.recognition.neural.engine import NeuralEngine
from voicelog.recognition.neural.search import search, spoken, write_freely
from voicelog.recognition.neural.weighing import heard, offers, other_hearings, raw_scores, weighed

NAMES = ("logprob", "regret", "apart", "under")
FOUND = ("run", "off", "behind")
NOISES = ("compressor", "pink")
LEVELS_DB = (12, 6)
RIDGE = 0.02
STEPS = 400
AROUND_S = 0.3

Values = NDArray[np.float64]


@dataclass(frozen=True)
class Utterance:
    """What was found for one utterance."""

    voice: str
    scores: Values
    """Sentences x `NAMES`."""
    right: NDArray[np.bool_]
    """Which of the sentences mean what was said."""
    raw: list[float]
    """`FOUND` of the best one."""


def utterances(name: str, engine: NeuralEngine) -> Iterator[Utterance]:
    """The utterances of a set's tuning voices."""
    network = load_grammar(GRAMMARS / "voicelog.jsgf").network()

    def meaning(words: str) -> object:
        note = parsed(normalise(words), Region("GB"), network)
        return None if note is None else (note.kind, note.values())

    rng = np.random.default_rng(13)
    noises = [MADE[kind](60.0, seed=3) for kind in NOISES]
    for recording in read_corpus(make(name)).recordings:
        if recording.split != "tuning":
            continue
        samples = read_sound(recording.path)
        for said, noisy in product(recording.said or (), (False, True)):
            first, last = (round(at * RATE) for at in (said.start_s - AROUND_S, said.end_s + AROUND_S))
            piece = samples[max(0, first) : last]
            if noisy:
                noise, level = noises[rng.integers(len(noises))], LEVELS_DB[rng.integers(len(LEVELS_DB))]
                piece = mixed(piece, noise, level, int(rng.integers(1_000_000)))
            sounds = [engine._model.listen(one) for one in (piece, *other_hearings(piece))]
            free = write_freely(sounds[0])
            text = engine.text(free.pieces)
            letters = sum(engine._language.letters[part] for part in free.pieces)
            made = offers(search(sounds[0], engine._language, letters, engine._width), engine._pieces, text)
            if made:
                found = weighed(
                    made, np.mean([heard(made, one) for one in sounds], axis=0), engine._calibration.right
                )
                scores = np.array([[offer.scores[key] for key in NAMES] for offer in found])
                right = np.array([meaning(spoken(offer.words)) == meaning(said.words) for offer in found])
                raw = raw_scores(found[0], free, text)
                yield Utterance(recording.voice, scores, right, [raw[key] for key in FOUND])


def factors(found: list[Utterance]) -> Values:
    """The factors under which what was said gets the largest share, by Newton's steps.

    Utterances of which no sentence found is right say nothing of them.
    """
    usable = [(item.scores - item.scores.max(axis=0), item.right) for item in found if item.right.any()]
    spread = np.sqrt(np.mean([scores.var(axis=0) for scores, _ in usable], axis=0)) + 1e-9
    now = np.zeros(len(spread))
    for _ in range(STEPS):
        slope, curve = RIDGE * now, RIDGE * np.eye(len(now))
        for scores, right in usable:
            scaled = scores / spread
            chance = np.exp(scaled @ now - (scaled @ now).max())
            chance /= chance.sum()
            wanted = np.where(right, chance, 0) / chance[right].sum()
            slope = slope + (chance - wanted) @ scaled / len(usable)
            centred = scaled - chance @ scaled
            curve = curve + (centred.T * chance) @ centred / len(usable)
        now = now - np.linalg.solve(curve, slope)
        if np.abs(slope).max() < 1e-6:
            break
    return now / spread


def left_out(found: list[Utterance]) -> int:
    """How many utterances are right with the factors of the other voices."""
    count = 0
    for voice in {item.voice for item in found}:
        others = factors([item for item in found if item.voice != voice])
        for item in found:
            if item.voice == voice:
                count += bool(item.right[int((item.scores @ others).argmax())])
    return count


def main() -> None:
    """Fit both models."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sets", nargs="+", choices=sorted(BY_VOICE))
    given = parser.parse_args()
    engine = NeuralEngine(GRAMMARS / "voicelog.jsgf", GRAMMARS / "trade.dict")
    found = [item for name in given.sets for item in utterances(name, engine)]
    print(f"# {len(found)} utterances, {left_out(found)} right with their voice left out")
    print("[neural.right]")
    print("\n".join(f"{name} = {value:.3f}" for name, value in zip(NAMES, factors(found), strict=True)))
    raw = np.array([item.raw for item in found])
    truth = np.array([float(item.right.any()) for item in found])
    *rest, constant = fitted(raw, truth, np.ones(len(found)))
    print(f"\n[neural.found]\nconstant = {constant:.3f}")
    print("\n".join(f"{name} = {value:.3f}" for name, value in zip(FOUND, rest, strict=True)))


if __name__ == "__main__":
    main()
