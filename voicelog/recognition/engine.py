"""One interface in front of every recogniser.

An engine is opened for one JSGF grammar and decodes 16 kHz mono sound, either a
whole segment at once or a stream of chunks with partial results.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from pathlib import Path
from types import TracebackType

import numpy as np

from voicelog.errors import VoicelogError
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.sound.format import Samples

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
