"""The neural recogniser behind the engine interface.

A segment is encoded once.  The model first writes freely: that text is kept, and tells how long the
sentence is.  Then the same decoder is held to the grammar, and the sentences it finds share out the
chance of having been said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from voicelog.errors import VoicelogError
from voicelog.grammar import OwnWords
from voicelog.recognition.calibration import calibration, logistic
from voicelog.recognition.engine import Engine, Sound, Stream, samples_of
from voicelog.recognition.hypothesis import Alternative, Hypothesis
from voicelog.recognition.neural.compiled import compiled
from voicelog.recognition.neural.language import Language
from voicelog.recognition.neural.model import Model
from voicelog.recognition.neural.model import Sound as Segment
from voicelog.recognition.neural.model_files import (
    HOW_TO_GET,
    LICENCE,
    ModelFiles,
    files_in,
    find_model_files,
)
from voicelog.recognition.neural.pieces import Pieces
from voicelog.recognition.neural.search import Sentence, Width, search, spoken, write_freely
from voicelog.recognition.neural.weighing import (
    Offer,
    heard,
    offers,
    other_hearings,
    raw_scores,
    shared_out,
    weighed,
    weighed_again,
)
from voicelog.sound.format import RATE, Samples

MOST_ALTERNATIVES = 6
LEAST = 0.005
"""Chance from which another answer is told."""
CLEAR = 0.97
"""Share of the chance from which the sound is not heard again."""
PARTIAL_EVERY = RATE * 3 // 10
"""Samples after which the words heard so far are written anew."""
LONGEST_ALONE = RATE * 4
"""Samples of the longest sound that is searched for a phrase of the small grammar: it is a short one."""


class NeuralEngine(Engine):
    """Sentences of a grammar, found by a model that could write any."""

    def __init__(
        self,
        grammar: Path,
        lexicon: Path | None = None,
        *,
        model: Path | str | None = None,
        threads: int = 1,
        width: Width | None = None,
        own: OwnWords = (),
    ) -> None:
        """See `open_engine`; `model` is a folder with other files of the same kind.

        Raises:
            VoicelogError: no model, a damaged one, or onnxruntime is missing or too old.
        """
        files = wanted_files(model)
        self.name = f"neural {files.version}".strip()
        self.model = f"{files.encoder.parent} ({LICENCE if not model else 'your own'})"
        self._model = Model(files, threads)
        self._pieces = Pieces(files.tokenizer)
        self._width = width or Width()
        self._calibration = calibration("neural")
        self._lexicon = lexicon
        self._language = self._compiled(grammar, own)
        self._alone: Path | None = None
        self._small: dict[Path, Language] = {}

    def _compiled(self, grammar: Path, own: OwnWords = ()) -> Language:
        return Language(compiled(grammar, self._lexicon, own), self._pieces)

    def only(self, grammar: Path | None) -> None:
        if grammar is not None and grammar not in self._small:
            self._small[grammar] = self._compiled(grammar)
        self._alone = grammar

    def stream(self, partials: bool = True) -> Stream:
        return NeuralStream(self, partials)

    def decode(self, sound: Sound) -> Hypothesis:
        samples = samples_of(sound)
        if not len(samples) or (self._alone is not None and len(samples) > LONGEST_ALONE):
            return Hypothesis("", 0.0, for_us=0.0, engine=self.name)
        sound_heard = self._model.listen(samples)
        if self._alone is not None:
            return self._phrase(sound_heard, self._small[self._alone])
        return self._all(samples, sound_heard)

    def written(self, samples: Samples, before: Sequence[int]) -> tuple[int, ...]:
        """What the model writes freely of sound so far, given what it wrote of less of it."""
        return write_freely(self._model.listen(samples), before).pieces

    def text(self, pieces: Sequence[int]) -> str:
        """The text of pieces."""
        return self._pieces.decode(pieces)

    def _all(self, samples: Samples, sound: Segment) -> Hypothesis:
        free = write_freely(sound)
        text = self._pieces.decode(free.pieces)
        letters = sum(self._language.letters[piece] for piece in free.pieces)
        found = search(sound, self._language, letters, self._width)
        if not found:
            return Hypothesis("", 0.0, for_us=0.0, engine=self.name, heard=text)
        best = self._weighed(found, samples, sound, text)
        scores = raw_scores(best[0], free, text)
        for_us = logistic(self._calibration.for_us, scores)
        found_at_all = min(for_us, logistic(self._calibration.found, scores))
        (words, share), *others = shared_out(best)
        likely = [Alternative(other, found_at_all * rest) for other, rest in others]
        likely = [other for other in likely if other.confidence > LEAST]
        return Hypothesis(
            words, found_at_all * share, tuple(likely[:MOST_ALTERNATIVES]), for_us=for_us, weighed=True,
            heard=text, engine=self.name, scores=scores,
        )  # fmt: skip

    def _weighed(self, found: list[Sentence], samples: Samples, sound: Segment, text: str) -> list[Offer]:
        """The sentences in their order; where it is in doubt the sound is heard again."""
        made = offers(found, self._pieces, text)
        best = weighed(made, heard(made, sound), self._calibration.right)
        if shared_out(best)[0][1] < CLEAR:
            sounds = map(self._model.listen, other_hearings(samples))
            best = weighed_again(best, sounds, self._calibration.right)
        return best

    def _phrase(self, sound: Segment, language: Language) -> Hypothesis:
        """The phrase of a small grammar, or nothing: nobody's talk is written down meanwhile."""
        found = search(sound, language, 0, replace(self._width, length=0.0))
        if not found:
            return Hypothesis("", 0.0, for_us=0.0, engine=self.name)
        scores = {"regret": found[0].regret}
        sure = logistic(self._calibration.alone, scores)
        return Hypothesis(spoken(found[0].words), sure, for_us=sure, engine=self.name, scores=scores)


class NeuralStream(Stream):
    """Words while they are spoken: the growing segment is encoded again and again, and written freely."""

    def __init__(self, engine: NeuralEngine, partials: bool) -> None:
        super().__init__(engine)
        self._neural = engine
        self._partials = partials
        self._written_at = 0
        self._pieces: tuple[int, ...] = ()

    def partial(self, chunk: Samples) -> str:
        samples = self.samples()
        if self._partials and len(samples) - self._written_at >= PARTIAL_EVERY:
            self._written_at = len(samples)
            self._pieces = self._neural.written(samples, self._pieces)
        return self._neural.text(self._pieces)


def wanted_files(folder: Path | str | None) -> ModelFiles:
    """The model in a folder, or the installed one.

    Raises:
        VoicelogError: there is none.
    """
    found = files_in(Path(folder)) if folder else find_model_files()
    if found is None:
        raise VoicelogError("the neural recogniser's model is not installed", todo=HOW_TO_GET)
    return found
