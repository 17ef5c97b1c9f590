"""A segment that is decoded while it is still being spoken."""

from __future__ import annotations

from abc import abstractmethod

from voicelog.recognition.engine import Engine, Samples, Sound, Stream, samples_of
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.recognition.speech_bounds import FRAME, speech_bounds


class PartEngine(Engine):
    """An engine that decodes the part of a segment in which somebody speaks."""

    def decode(self, sound: Sound) -> Hypothesis:
        samples = samples_of(sound)
        return self.decode_part(samples[slice(*speech_bounds(samples))])

    @abstractmethod
    def decode_part(self, samples: Samples) -> Hypothesis:
        """Decode sound that is nearly all speech."""


class AheadStream(Stream):
    """The whole is decoded as soon as the speaker pauses.

    So the answer is there, or nearly, when the pause has become long enough to be the end.
    """

    GROWTH = 1.25
    """A second look ahead waits until the segment is so much longer: bounded work in restless noise."""

    def __init__(self, engine: PartEngine) -> None:
        super().__init__()
        self._engine = engine
        self._ahead: tuple[int, int] | None = None
        self._looked_at = 0
        self._answer: Hypothesis | None = None

    def feed(self, sound: Sound) -> str:
        chunk = samples_of(sound)
        self._chunks.append(chunk)
        self._look_ahead()
        return self.partial(chunk)

    def partial(self, chunk: Samples) -> str:
        """The words heard so far, with one more chunk."""
        return ""

    def finish(self) -> Hypothesis:
        self.close()
        samples = self.samples()
        if self._answer is None or speech_bounds(samples) != self._ahead:
            self._answer = self._engine.decode(samples)
        return self._answer

    def _look_ahead(self) -> None:
        samples = self.samples()
        bounds = speech_bounds(samples)
        longer = self._ahead is None or len(samples) > self.GROWTH * self._looked_at
        if longer and bounds != self._ahead and 0 < bounds[1] <= len(samples) - FRAME:
            self._looked_at = len(samples)
            self._ahead = bounds
            self._answer = self._engine.decode_part(samples[slice(*bounds)])
