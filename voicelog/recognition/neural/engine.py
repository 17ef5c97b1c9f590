"""The neural recogniser behind the engine interface.

A segment is encoded once.  The model first writes freely: that text is kept, and tells how long the
sentence is.  Then the same decoder is held to the grammar, and the sentences it finds share out the
chance of having been said.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from importlib.metadata import version
from pathlib import Path

import numpy as np
from rapidfuzz import fuzz

from voicelog.errors import VoicelogError
from voicelog.recognition.calibration import calibration, logistic
from voicelog.recognition.engine import Engine, Samples, Sound, Stream, WholeStream, samples_of
from voicelog.recognition.hypothesis import Alternative, Hypothesis
from voicelog.recognition.network import FUNCTION_WORDS
from voicelog.recognition.neural.compiled import compiled
from voicelog.recognition.neural.language import Language
from voicelog.recognition.neural.model import Model
from voicelog.recognition.neural.model_files import HOW_TO_GET, ModelFiles, files_in, find_model_files
from voicelog.recognition.neural.pieces import Pieces
from voicelog.recognition.neural.search import Sentence, Width, search, spoken, write_freely
from voicelog.recognition.neural.spelling import DIGITS, TEENS, TYS

MOST_ALTERNATIVES = 6
FIGURES = {**DIGITS, **TEENS, **{word: f"{digit}_" for word, digit in TYS.items()}}
LEAST = 0.005
"""Chance from which another answer is told."""


class NeuralEngine(Engine):
    """Sentences of a grammar, found by a model that could write any."""

    def __init__(
        self,
        grammar: Path,
        lexicon: Path | None = None,
        *,
        model: Path | str | None = None,
        threads: int = 2,
        width: Width | None = None,
    ) -> None:
        """See `open_engine`; `model` is a folder with other files of the same kind.

        Raises:
            VoicelogError: no model, a damaged one, or onnxruntime is missing or too old.
        """
        files = wanted_files(model)
        self.name = f"neural {files.version or version('onnxruntime')}"
        self._model = Model(files, threads)
        self._pieces = Pieces(files.tokenizer)
        self._width = width or Width()
        self._calibration = calibration("neural")
        self._lexicon = lexicon
        self._all = self._language(grammar)
        self._searched = self._all
        self._alone: dict[Path, Language] = {}

    def _language(self, grammar: Path) -> Language:
        return Language(compiled(grammar, self._lexicon), self._pieces)

    def only(self, grammar: Path | None) -> None:
        if grammar is not None and grammar not in self._alone:
            self._alone[grammar] = self._language(grammar)
        self._searched = self._all if grammar is None else self._alone[grammar]

    def decode(self, sound: Sound) -> Hypothesis:
        samples = samples_of(sound)
        if not len(samples):
            return Hypothesis("", 0.0, engine=self.name)
        return self._answer(samples)

    def stream(self, partials: bool = True) -> Stream:
        return WholeStream(self)

    def _answer(self, samples: Samples) -> Hypothesis:
        language = self._searched
        heard = self._model.listen(samples)
        free = write_freely(heard)
        text = self._pieces.decode(free.pieces)
        letters = sum(language.letters[piece] for piece in free.pieces)
        found = search(heard, language, letters, self._width)
        if not found:
            return Hypothesis("", 0.0, engine=self.name, heard=text)
        scores = raw_scores(found[0], text, letters, language, len(samples) / 16_000, free.logprob)
        covered = logistic(self._calibration.for_us, scores)
        shares = shared_out(found, self._calibration.right["temperature"])
        (words, share), *others = shares
        return Hypothesis(
            words,
            covered * share,
            tuple(Alternative(w, covered * s) for w, s in others[:MOST_ALTERNATIVES] if covered * s > LEAST),
            engine=self.name,
            scores={**scores, "share": share},
            heard=text,
        )


def wanted_files(folder: Path | str | None) -> ModelFiles:
    """The model in a folder, or the installed one.

    Raises:
        VoicelogError: there is none.
    """
    found = files_in(Path(folder)) if folder else find_model_files()
    if found is None:
        raise VoicelogError("the neural recogniser's model is not installed", todo=HOW_TO_GET)
    return found


def raw_scores(
    best: Sentence, text: str, letters: int, language: Language, seconds: float, free: float
) -> dict[str, float]:
    """What tells whether a sentence of the language was said at all."""
    written = sum(language.letters[piece] for piece in best.pieces)
    return {
        "regret": max(-60.0, best.regret),
        "likeness": fuzz.ratio(plain(text), plain(spoken(best.words))) / 100,
        "length": abs(written - letters) / max(1, letters),
        "letters": float(letters),
        "free": free,
        "seconds": seconds,
    }


def plain(text: str) -> str:
    """The letters and digits of a text."""
    return "".join(c for c in text.lower() if c.isalnum())


def shared_out(found: list[Sentence], temperature: float) -> list[tuple[str, float]]:
    """Each content's likeliest words and its share of the chance, by the distances between totals."""
    weights = np.exp(np.array([item.total - found[0].total for item in found]) / temperature)
    shares: dict[str, tuple[str, float]] = {}
    for item, weight in zip(found, weights / weights.sum(), strict=True):
        key = content(spoken(item.words).split())
        words, share = shares.get(key, (spoken(item.words), 0.0))
        shares[key] = words, share + float(weight)
    return sorted(shares.values(), key=lambda item: -item[1])


def content(words: Iterable[str]) -> str:
    """Words as they count when answers are compared: without little ones, numbers in figures."""
    text = " ".join(FIGURES.get(word, word) for word in words if word not in FUNCTION_WORDS)
    text = re.sub(r"_ (?=[1-9]\b)", "", text).replace("_", "0")
    return re.sub(r"(?<=\d) (?=\d)", "", text)
