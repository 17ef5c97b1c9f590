"""PocketSphinx behind the engine interface: grammar search with its bundled English model.

The plain engine for systems that the neural one is not made for.  How well its words fit beside any
phones tells how sure it is; what sounds alike is doubted by rule (`meaning/confusions.toml`).  It tells
no words before the end: a search that goes along with the sound would double its work.
"""

from __future__ import annotations

from dataclasses import replace
from importlib.metadata import version
from pathlib import Path
from typing import Any

from voicelog.grammar import OwnWords, load_grammar
from voicelog.recognition.calibration import calibration, logistic
from voicelog.recognition.engine import Engine, Sound, Stream, samples_of
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.recognition.pocketsphinx.decoder import (
    Found,
    add_network,
    grammar_entries,
    model_folder,
    open_decoder,
    search,
    unspelled,
)
from voicelog.recognition.speech_bounds import FRAME, speech_bounds

MAIN, PHONES, ALONE = "answer", "phones", "alone"
BEAMS = {"beam": 1e-60, "pbeam": 1e-60, "wbeam": 1e-40}
"""Wide enough to lose no answer, and the search still takes a twentieth of real time."""
FEATURES = {"-remove_noise": "no"}
"""A noise estimate carried from one segment to the next would make the same sound score differently; of
a hundred orders in kitchen noise 89 were right without it and 90 with it."""
MOST_HMMS = 6000
"""Phone models searched per frame at most: the bound on the time of a decode."""
SHORTEST = FRAME * 15
"""Samples of the shortest sound that is searched."""


class PocketSphinxEngine(Engine):
    """Grammar search."""

    def __init__(
        self,
        grammar: Path,
        lexicon: Path | None = None,
        *,
        model: Path | str | None = None,
        own: OwnWords = (),
        **options: Any,
    ) -> None:
        """See `open_engine`; `options` are decoder parameters that replace ours."""
        self.name = f"pocketsphinx {version('pocketsphinx')}"
        folder = model_folder(model)
        self.model = f"{folder} ({'your own' if model else 'BSD, of Carnegie Mellon University'})"
        # Own words that nobody has taught it to say would keep it from hearing anything.
        silent = unspelled((text for word in own for text in word.phrase.split()), folder, lexicon)
        own = tuple(word for word in own if not set(silent) & set(word.phrase.split()))
        self.grammar = load_grammar(grammar, own).network()
        entries = grammar_entries(self.grammar.words(), folder, lexicon, grammar)
        settings = {
            "hmm": str(folder), "lm": None, "bestpath": False, "loglevel": "FATAL", "maxhmmpf": MOST_HMMS,
            **BEAMS, **options,
        }  # fmt: skip
        self._calibration = calibration("pocketsphinx")
        self._decoder = open_decoder(entries, settings, FEATURES)
        add_network(self._decoder, MAIN, self.grammar.fsg(MAIN))
        self._decoder.add_allphone_file(PHONES, str(folder.parent / "en-us-phone.lm.bin"))
        self._alone: Path | None = None

    def only(self, grammar: Path | None) -> None:
        if grammar is not None and grammar != self._alone:
            add_network(self._decoder, ALONE, load_grammar(grammar).network().fsg(ALONE))
        self._alone = grammar

    def decode(self, sound: Sound) -> Hypothesis:
        samples = samples_of(sound)
        samples = samples[slice(*speech_bounds(samples))]
        nothing = Hypothesis("", 0.0, engine=self.name)
        if len(samples) < SHORTEST:
            return nothing
        found = search(self._decoder, MAIN if self._alone is None else ALONE, samples)
        if not found.words:
            return nothing
        phones = search(self._decoder, PHONES, samples).score
        scores = raw_scores(found, phones, len(samples) / FRAME)
        if self._alone is not None:
            sure = logistic(self._calibration.alone, scores)
            return Hypothesis(found.words, sure, for_us=sure, engine=self.name, scores=scores)
        if not self.grammar.match(found.words, 1):
            # Its search knows no limits (see `Network.limits`) and may say a slot twice.
            return replace(nothing, scores=scores)
        sure = self._calibration.confidence(scores)
        return Hypothesis(found.words, sure, for_us=sure, engine=self.name, scores=scores)

    def stream(self, partials: bool = True) -> Stream:
        return Stream(self)


def raw_scores(found: Found, phones: float, frames: float) -> dict[str, float]:
    """What the confidence is made of; scores in units of the decoder."""
    return {
        "phones_per_frame": max(-200.0, (found.score - phones) / frames),
        "acoustic_per_frame": sum(part.score for part in found.parts)
        / sum(part.frames for part in found.parts),
        "worst_word": min(part.score / part.frames for part in found.parts),
    }
