"""Vosk behind the engine interface, held to the grammar.

The phrase list given to Vosk only makes listed words likely: what it hears may still be no
sentence.  So every answer has to pass the grammar's own network, and what does not is
rejected, with in-grammar readings of Vosk's other answers kept as alternatives.
"""

from __future__ import annotations

import json
from importlib.metadata import version
from pathlib import Path
from typing import Any

from voicelog.errors import VoicelogError
from voicelog.grammar import OwnWords, load_grammar
from voicelog.recognition.calibration import calibration
from voicelog.recognition.engine import Engine, Sound, Stream, samples_of
from voicelog.recognition.hypothesis import Alternative, Hypothesis
from voicelog.recognition.vosk.models import required_model
from voicelog.sound.format import RATE, Samples

UNKNOWN = "[unk]"
MOST_ALTERNATIVES = 5
CHUNK = RATE // 5 * 2
"""Bytes given to Vosk at once: a tenth of a second."""


class VoskEngine(Engine):
    """A Vosk model with the grammar's phrases."""

    def __init__(
        self,
        grammar: Path,
        lexicon: Path | None = None,
        *,
        model: Path | str | None = None,
        phrases: int = 2000,
        own: OwnWords = (),
    ) -> None:
        """Open the model.

        Args:
            grammar: a JSGF file.
            lexicon: not used: a Vosk model carries its pronunciations.
            model: the model's folder; None looks in the usual places.
            phrases: at most so many phrases are given to Vosk.

        Raises:
            VoicelogError: no model, or grammar words the model does not know, all of them named.
        """
        import vosk

        folder = required_model(model)
        self.name = f"vosk {version('vosk')}"
        self.model = f"{folder} (your own)"
        self.grammar = load_grammar(grammar, own).network()
        vosk.SetLogLevel(-1)
        try:
            self._model = vosk.Model(str(folder))
        except Exception as error:  # Vosk raises nothing narrower
            raise VoicelogError(f"Vosk cannot open its model ({error})", where=str(folder)) from error
        # Vosk drops words it does not know with no more than a line in its log.
        unknown = sorted(word for word in self.grammar.words() if self._model.vosk_model_find_word(word) < 0)
        if unknown:
            raise VoicelogError(
                f"the model {folder.name} does not know: {', '.join(unknown)}",
                where=str(grammar),
                todo="take these words out of the grammar, or use the pocketsphinx engine",
            )
        listed = self.grammar.phrases(phrases)
        if self._model.vosk_model_find_word(UNKNOWN) >= 0:
            listed.append(UNKNOWN)
        self._phrases = json.dumps(listed, ensure_ascii=False)
        self._calibration = calibration("vosk")

    def decode(self, sound: Sound) -> Hypothesis:
        data = samples_of(sound).tobytes()
        first = self._run(data, alternatives=0)
        words, parts = sentence(first)
        if not words:
            return Hypothesis("", 0.0, engine=self.name)
        others = [text for text in self._others(data) if text != words]
        if not self.grammar.match(words, 1):
            weak = tuple(Alternative(text, 0.05) for text in others[:MOST_ALTERNATIVES])
            return Hypothesis("", 0.0, alternatives=weak, engine=self.name, scores={"in_grammar": 0.0})
        sure = [part["conf"] for part in parts]
        scores = {
            "in_grammar": 1.0,
            "least_word": min(sure),
            "mean_word": sum(sure) / len(sure),
            "words": float(len(sure)),
        }
        confidence = self._calibration.confidence(scores)
        rest = (1 - confidence) / (len(others) + 1)
        return Hypothesis(
            words,
            confidence,
            alternatives=tuple(Alternative(text, min(rest, confidence)) for text in others),
            for_us=confidence,
            engine=self.name,
            scores=scores,
        )

    def stream(self, partials: bool = True) -> Stream:
        return VoskStream(self) if partials else Stream(self)

    def recogniser(self, alternatives: int = 0) -> Any:
        """A new recogniser for one segment."""
        import vosk

        found = vosk.KaldiRecognizer(self._model, RATE, self._phrases)
        if alternatives:
            found.SetMaxAlternatives(alternatives)
        else:
            found.SetWords(True)
        return found

    def _run(self, data: bytes, alternatives: int) -> list[dict[str, Any]]:
        """Vosk's results for a segment, which it may cut into several."""
        recogniser = self.recogniser(alternatives)
        results = []
        for first in range(0, len(data), CHUNK):
            if recogniser.AcceptWaveform(data[first : first + CHUNK]):
                results.append(json.loads(recogniser.Result()))
        results.append(json.loads(recogniser.FinalResult()))
        return results

    def _others(self, data: bytes) -> list[str]:
        """Vosk's answers that are sentences of the grammar, the likeliest first."""
        results = [item for item in self._run(data, MOST_ALTERNATIVES) if item.get("alternatives")]
        if len(results) != 1:
            return []
        texts = [cleaned(item["text"]) for item in results[0]["alternatives"]]
        return [text for text in dict.fromkeys(texts) if text and self.grammar.match(text, 1)]


class VoskStream(Stream):
    """Partial results from Vosk itself."""

    def __init__(self, engine: VoskEngine) -> None:
        super().__init__(engine)
        self._recogniser = engine.recogniser()
        self._done: list[str] = []

    def partial(self, chunk: Samples) -> str:
        if self._recogniser.AcceptWaveform(chunk.tobytes()):
            self._done.append(cleaned(json.loads(self._recogniser.Result())["text"]))
            return " ".join(filter(None, self._done))
        partial = cleaned(json.loads(self._recogniser.PartialResult())["partial"])
        return " ".join(filter(None, [*self._done, partial]))


def cleaned(text: str) -> str:
    """A text of Vosk without what it marks as unknown."""
    return " ".join(word for word in text.split() if word != UNKNOWN)


def sentence(results: list[dict[str, Any]]) -> tuple[str, list[dict[str, Any]]]:
    """The words of a segment, and each with its times and confidence."""
    parts = [part for item in results for part in item.get("result", []) if part["word"] != UNKNOWN]
    return " ".join(part["word"] for part in parts), parts
