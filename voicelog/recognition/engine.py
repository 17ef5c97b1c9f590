"""One interface in front of every recogniser, and the choice between them.

An engine is opened for one JSGF grammar and decodes 16 kHz mono sound, either a
whole segment at once or a stream of chunks with partial results.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from pathlib import Path
from types import TracebackType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voicelog.errors import VoicelogError
from voicelog.recognition.hypothesis import Hypothesis

SAMPLE_RATE = 16_000
"""Samples per second of the sound that every engine takes."""

Samples = NDArray[np.int16]
Sound = Samples | bytes | bytearray | memoryview
"""Mono signed 16-bit samples at 16 kHz: a numpy array, or little-endian bytes."""


def samples_of(sound: Sound) -> Samples:
    """`sound` as a one-dimensional int16 array.

    Raises:
        VoicelogError: for an array of another type or shape, or half a sample.
    """
    if isinstance(sound, np.ndarray):
        if sound.dtype != np.int16 or sound.ndim != 1:
            raise VoicelogError(
                f"the recogniser takes mono 16-bit samples, not {sound.dtype} of shape {sound.shape}"
            )
        return sound
    data = bytes(sound)
    if len(data) % 2:
        raise VoicelogError("the recogniser was given half a 16-bit sample")
    return np.frombuffer(data, dtype="<i2").astype(np.int16, copy=False)


class Stream:
    """One segment of sound as it arrives; use it as a context manager."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._chunks: list[Samples] = []

    def samples(self) -> Samples:
        """All sound fed so far."""
        return np.concatenate(self._chunks) if self._chunks else np.zeros(0, np.int16)

    def feed(self, sound: Sound) -> str:
        """Take the next chunk (100 ms is a good size); return the words heard so far."""
        chunk = samples_of(sound)
        self._chunks.append(chunk)
        return self.partial(chunk)

    def partial(self, chunk: Samples) -> str:
        """The words heard so far, now that one more chunk has come; none where an engine tells them late."""
        return ""

    def finish(self) -> Hypothesis:
        """End the segment and return the same answer as `Engine.decode` on all of it."""
        self.close()
        return self._engine.decode(self.samples())

    def close(self) -> None:
        """Give up the segment; harmless after `finish`."""

    def __enter__(self) -> Stream:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


class Engine(ABC):
    """A recogniser opened for one grammar.

    An engine is used by one thread at a time and holds one open stream at most.
    """

    name: str
    """Name and version, as in "pocketsphinx 5.1.1"."""
    model: str = ""
    """The model, where it lies, and its licence."""
    why: str = "it was asked for"
    """Why this engine and no other."""

    def only(self, grammar: Path | None) -> None:  # noqa: B027 - an engine may have no such search
        """Search this small grammar alone until called with None; its words are in the engine's own.

        For the time asleep.  An engine that cannot goes on searching everything.
        """

    @abstractmethod
    def decode(self, sound: Sound) -> Hypothesis:
        """The answer to one segment of speech; empty words when nothing of the grammar was heard."""

    @abstractmethod
    def stream(self, partials: bool = True) -> Stream:
        """A stream for the next segment; without `partials` it tells no words before its end."""


def open_engine(
    name: str | None = None,
    *,
    grammar: Path | str,
    lexicon: Path | str | None = None,
    model: Path | str | None = None,
    **options: Any,
) -> Engine:
    """Open a recogniser for a grammar.

    Args:
        name: "neural", "pocketsphinx", "vosk", or "auto" (also None): the neural one
            where it can be used, else PocketSphinx with its bundled model.
        grammar: a JSGF file.
        lexicon: pronunciations in ARPAbet, one a line (`word`, `word(2)`); its words
            replace those of the engine's own dictionary.  Vosk models carry their own
            and take none.
        model: a folder with another acoustic model (PocketSphinx) or the model (Vosk).
        options: passed to the engine.

    Raises:
        VoicelogError: for an unknown name, an unreadable grammar or lexicon, grammar
            words the engine does not know (all of them in one message), or a missing model.
    """
    if name in (None, "auto"):
        return _best(grammar, lexicon, options)
    grammar_path = Path(grammar)
    lexicon_path = None if lexicon is None else Path(lexicon)
    if name == "neural":
        from voicelog.recognition.neural.engine import NeuralEngine

        return NeuralEngine(grammar_path, lexicon_path, model=model, **options)
    if name == "vosk":
        from voicelog.recognition.vosk.engine import VoskEngine

        return VoskEngine(grammar_path, lexicon_path, model=model, **options)
    if name == "pocketsphinx":
        from voicelog.recognition.pocketsphinx.engine import PocketSphinxEngine

        return PocketSphinxEngine(grammar_path, lexicon_path, model=model, **options)
    raise VoicelogError(
        f'no recogniser is called "{name}"', todo='use "auto", "neural", "pocketsphinx" or "vosk"'
    )


def _best(grammar: Path | str, lexicon: Path | str | None, options: dict[str, Any]) -> Engine:
    """The neural recogniser, or the plain one where its parts are missing or broken."""
    from voicelog.recognition.neural.model_files import HOW_TO_GET, find_model_files

    why = f"the neural recogniser is not installed; {HOW_TO_GET}"
    try:
        if find_model_files():
            engine = open_engine("neural", grammar=grammar, lexicon=lexicon, **options)
            engine.why = "it hears best"
            return engine
    except VoicelogError as error:
        why = f"the neural recogniser cannot be used: {error.line()}"
    engine = open_engine("pocketsphinx", grammar=grammar, lexicon=lexicon)
    engine.why = why
    return engine
