"""PocketSphinx on a segment that is still being spoken."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from voicelog.recognition.engine import Sound, Stream, samples_of
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.recognition.pocketsphinx.speech_bounds import FRAME, speech_bounds

if TYPE_CHECKING:
    from voicelog.recognition.pocketsphinx.engine import PocketSphinxEngine


class PocketSphinxStream(Stream):
    """Partial results as the sound comes, if asked for, and the answer of the whole segment at its end.

    The whole is decoded as soon as the speaker pauses, so that the answer is there, or nearly, when the
    pause has become long enough to be the end.
    """

    GROWTH = 1.25
    """A second look ahead waits until the segment is so much longer: bounded work in restless noise."""

    def __init__(self, engine: PocketSphinxEngine, partials: bool) -> None:
        super().__init__()
        self._engine = engine
        self._ahead: tuple[int, int] | None = None
        self._looked_at = 0
        self._answer: Hypothesis | None = None
        self._decoder: Any = engine.live_decoder() if partials else None
        if self._decoder is not None:
            self._decoder.start_utt()

    def feed(self, sound: Sound) -> str:
        chunk = samples_of(sound)
        self._chunks.append(chunk)
        self._look_ahead()
        if self._decoder is None:
            return ""
        self._decoder.process_raw(chunk.tobytes(), full_utt=False)
        found = self._decoder.hyp()
        return "" if found is None else str(found.hypstr)

    def finish(self) -> Hypothesis:
        self.close()
        samples = self.samples()
        bounds = speech_bounds(samples)
        if bounds != self._ahead or self._answer is None:
            self._answer = self._engine.decode(samples)
        return self._answer

    def close(self) -> None:
        if self._decoder is not None:
            self._decoder.end_utt()
            self._decoder = None

    def _look_ahead(self) -> None:
        samples = self.samples()
        bounds = speech_bounds(samples)
        longer = self._ahead is None or len(samples) > self.GROWTH * self._looked_at
        if longer and bounds != self._ahead and 0 < bounds[1] <= len(samples) - FRAME:
            self._looked_at = len(samples)
            self._ahead = bounds
            self._answer = self._engine.decode_part(samples[slice(*bounds)], bounds[0])
