"""Cuts the stream of chunks into utterances, by voice activity.

An utterance begins when enough frames in a short window are speech; the sound
before it (pre-roll) belongs to it, so that the first word is whole.  It ends
after a silence, at a gap in the sound, when our own answer begins, at the end of
the source, or, if it will not end, at its quietest place.  A pause is told before it
is long enough to be the end, so that whoever listens may say that nothing is missing.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from voicelog.errors import VoicelogError
from voicelog.listening.levels import FRAME_S, rms_dbfs
from voicelog.listening.voice_activity import FRAME_SAMPLES, Detector, open_detector
from voicelog.sound.format import RATE, Chunk, Samples


@dataclass(frozen=True)
class SegmenterSettings:
    """When an utterance begins and ends; all in seconds.

    Attributes:
        silence_s: a silence this long ends the utterance (0.1 to 2); people stop for up
            to a second within a note, and wait longer between two.
        complete_s: ends it when what was said is known to be complete.
        pause_s: a silence this long is told.
        pre_roll_s: sound before the first speech that is kept with it.
        onset_window_s, onset_s: so much speech (`onset_s`) within such a window
            begins one, or goes on with it after a pause.  A blow of a hammer is
            taken for speech for up to 0.1 s (0.02 s frames, generated blows), the
            shortest words of four synthetic voices for 0.14 s and more.
        longest_s: no utterance is longer; it is cut at its quietest place.
        cut_search_s: the quietest place is looked for in so much before the end.
    """

    silence_s: float = 1.05
    complete_s: float = 0.55
    pause_s: float = 0.3
    pre_roll_s: float = 0.4
    onset_window_s: float = 0.18
    onset_s: float = 0.14
    longest_s: float = 20.0
    cut_search_s: float = 4.0

    def __post_init__(self) -> None:
        if not 0.1 <= self.silence_s <= 2.0:
            raise VoicelogError(
                f"a silence of {self.silence_s} s cannot end an utterance", todo="set 0.1 to 2 seconds"
            )
        if not 0.0 < self.cut_search_s < self.longest_s:
            raise VoicelogError(
                f"an utterance of {self.longest_s} s is too short to be cut", todo="set 10 to 30 seconds"
            )


@dataclass(frozen=True, eq=False)
class Segment:
    """One utterance.

    Attributes:
        samples: int16, 16 kHz, mono: pre-roll, speech and the silence that ended it.
        start_s, end_s: where `samples` begin and end in the source, in seconds.
        speech_start_s, speech_end_s: first and last frame taken for speech.
        level: root mean square from first to last speech, dBFS.
        clipped: the source was clipped somewhere in it.
        cut: ended only because it was too long; the next one goes on from it.
        interrupted: ended because sound was lost or our own answer began, so
            its last words may be missing.
    """

    samples: Samples
    start_s: float
    end_s: float
    speech_start_s: float
    speech_end_s: float
    level: float
    clipped: bool
    cut: bool = False
    interrupted: bool = False


@dataclass(frozen=True)
class SpeechStarted:
    """Someone began to speak, `at_s` seconds into the source."""

    at_s: float


@dataclass(frozen=True, eq=False)
class SpeechAudio:
    """The next samples of the utterance; all of them together are the segment's."""

    samples: Samples
    start_s: float


@dataclass(frozen=True)
class SpeechPaused:
    """Nothing was said for `pause_s`; it may be the end."""


@dataclass(frozen=True)
class SpeechResumed:
    """It was not the end."""


@dataclass(frozen=True, eq=False)
class SpeechEnded:
    """The utterance is complete."""

    segment: Segment


SpeechEvent = SpeechStarted | SpeechAudio | SpeechPaused | SpeechResumed | SpeechEnded


@dataclass(frozen=True, eq=False)
class _Frame:
    samples: Samples
    at: int
    speech: bool
    clipped: bool


class Segmenter:
    """Push chunks in, get events out; every `SpeechStarted` has its `SpeechEnded`.

    Args:
        settings: when an utterance begins and ends.
        detector: tells speech from other sound; by default the best there is.
    """

    def __init__(self, settings: SegmenterSettings | None = None, detector: Detector | None = None) -> None:
        self.settings = settings or SegmenterSettings()
        self._detector: Detector = detector or open_detector()
        seconds = self.settings
        onset_frames = max(1, round(seconds.onset_window_s / FRAME_S))
        self._onset_needed = max(1, round(seconds.onset_s / FRAME_S))
        self._onset_window = onset_frames
        self._silence = round(seconds.silence_s / FRAME_S)
        self._complete = min(self._silence, round(seconds.complete_s / FRAME_S))
        self._pause = round(seconds.pause_s / FRAME_S)
        self._longest = round(seconds.longest_s / FRAME_S)
        self._search = round(seconds.cut_search_s / FRAME_S)
        self._pre_roll = max(1, round(seconds.pre_roll_s / FRAME_S))
        self._before: deque[_Frame] = deque(maxlen=onset_frames + self._pre_roll)
        self._speech: list[_Frame] = []
        self._sent = 0
        self._quiet = 0
        self._paused = False
        self._ends_after = self._silence
        self._rest: Samples = np.zeros(0, np.int16)
        self._rest_clipped = False
        self._at = 0
        self.gated_s = 0.0
        """Seconds not listened to because our own answer was sounding."""

    @property
    def in_speech(self) -> bool:
        """Whether an utterance is open."""
        return bool(self._speech)

    def complete(self) -> None:
        """What was said before this pause needs nothing more: end it sooner if the pause goes on."""
        self._ends_after = self._complete

    def feed(self, chunk: Chunk) -> list[SpeechEvent]:
        """Take the next chunk, give what it brought about."""
        events: list[SpeechEvent] = []
        at = round(chunk.start_s * RATE)
        if chunk.gated or chunk.broken or abs(at - self._at - len(self._rest)) > FRAME_SAMPLES:
            events += self._break(at)
        if chunk.gated:
            self.gated_s += len(chunk.samples) / RATE
            self._at = at + len(chunk.samples)
            return events
        samples = np.concatenate([self._rest, chunk.samples])
        clipped = chunk.clipped or self._rest_clipped
        whole = len(samples) // FRAME_SAMPLES * FRAME_SAMPLES
        for i in range(0, whole, FRAME_SAMPLES):
            events += self._frame(samples[i : i + FRAME_SAMPLES], clipped)
        self._rest, self._rest_clipped = samples[whole:], chunk.clipped
        return events + self._stream() + self._pausing()

    def finish(self) -> list[SpeechEvent]:
        """The source has ended: give what is still open, with its last samples."""
        events: list[SpeechEvent] = []
        if len(self._rest):
            padded = np.zeros(FRAME_SAMPLES, np.int16)
            padded[: len(self._rest)] = self._rest
            speech = self._detector.is_speech(padded)
            events += self._advance(_Frame(self._rest, self._at, speech, self._rest_clipped))
        self._rest = np.zeros(0, np.int16)
        recent = list(self._before)[-self._onset_window :]
        if recent and recent[-1].speech and sum(f.speech for f in recent) >= min(3, self._onset_needed):
            # A last short word that the end of the file cut off before its onset was sure.
            events += self._open()
        if self._speech:
            events += self._close()
        self._before.clear()
        return events

    def _frame(self, samples: Samples, clipped: bool) -> list[SpeechEvent]:
        return self._advance(_Frame(samples, self._at, self._detector.is_speech(samples), clipped))

    def _advance(self, frame: _Frame) -> list[SpeechEvent]:
        self._at = frame.at + len(frame.samples)
        if not self._speech:
            self._before.append(frame)
            recent = list(self._before)[-self._onset_window :]
            begun = frame.speech and sum(f.speech for f in recent) >= self._onset_needed
            return self._open() if begun else []
        self._speech.append(frame)
        recent = self._speech[-self._onset_window :]
        if frame.speech and sum(f.speech for f in recent) >= self._onset_needed:
            self._quiet = 0
            self._ends_after = self._silence
        else:
            # A single blow does not hold the utterance open.
            self._quiet += 1
        if self._quiet >= self._ends_after and not frame.speech:
            return self._close()
        if len(self._speech) >= self._longest:
            return self._cut()
        return []

    def _open(self) -> list[SpeechEvent]:
        frames = list(self._before)
        self._before.clear()
        recent = len(frames) - self._onset_window
        first = next(i for i, f in enumerate(frames) if f.speech and i >= recent)
        self._speech = frames[max(0, first - self._pre_roll) :]
        self._sent = 0
        self._quiet = 0
        self._ends_after = self._silence
        return [SpeechStarted(frames[first].at / RATE), *self._stream()]

    def _stream(self) -> list[SpeechEvent]:
        # What may yet fall to the next utterance is held back, so that the
        # sound already given out is never more than the segment's.
        if not self._speech:
            return []
        ready = min(len(self._speech), max(self._sent, self._longest - self._search))
        fresh = self._speech[self._sent : ready]
        self._sent = ready
        if not fresh:
            return []
        return [SpeechAudio(np.concatenate([f.samples for f in fresh]), fresh[0].at / RATE)]

    def _pausing(self) -> list[SpeechEvent]:
        paused = self._quiet >= self._pause
        if not self._speech or paused == self._paused:
            return []
        self._paused = paused
        return [SpeechPaused() if paused else SpeechResumed()]

    def _close(self, *, cut: bool = False, interrupted: bool = False) -> list[SpeechEvent]:
        frames, self._speech = self._speech, []
        self._paused = False
        events: list[SpeechEvent] = []
        fresh = frames[self._sent :]
        if fresh:
            events.append(SpeechAudio(np.concatenate([f.samples for f in fresh]), fresh[0].at / RATE))
        self._before.clear()
        if not (cut or interrupted):
            # The silence that ended this one is the pre-roll of the next: a word
            # that begins softly just then must not lose its first sound.
            self._before.extend(frames[-self._pre_roll :] if self._quiet >= self._pre_roll else [])
        events.append(SpeechEnded(self._segment(frames, cut, interrupted)))
        return events

    def _segment(self, frames: list[_Frame], cut: bool, interrupted: bool) -> Segment:
        voiced = [i for i, f in enumerate(frames) if f.speech] or [0, len(frames) - 1]
        first, last = frames[voiced[0]], frames[voiced[-1]]
        spoken = np.concatenate([f.samples for f in frames[voiced[0] : voiced[-1] + 1]])
        end = frames[-1]
        return Segment(
            samples=np.concatenate([f.samples for f in frames]),
            start_s=frames[0].at / RATE,
            end_s=(end.at + len(end.samples)) / RATE,
            speech_start_s=first.at / RATE,
            speech_end_s=(last.at + len(last.samples)) / RATE,
            level=rms_dbfs(spoken),
            clipped=any(f.clipped for f in frames),
            cut=cut,
            interrupted=interrupted,
        )

    def _cut(self) -> list[SpeechEvent]:
        at = _quietest(self._speech, len(self._speech) - self._search)
        rest = self._speech[at:]
        self._speech = self._speech[:at]
        events = self._close(cut=True)
        self._speech, self._sent = rest, 0
        events.append(SpeechStarted(rest[0].at / RATE))
        return events + self._stream()

    def _break(self, at: int) -> list[SpeechEvent]:
        events: list[SpeechEvent] = []
        if self._speech:
            events = self._close(interrupted=True)
        self._before.clear()
        self._rest = np.zeros(0, np.int16)
        self._rest_clipped = False
        self._at = at
        return events


def _quietest(frames: list[_Frame], start: int) -> int:
    """Middle of the quietest five frames (100 ms) from index `start` on; at least 1."""
    levels = np.array([10.0 ** (rms_dbfs(f.samples) / 10.0) for f in frames])
    sums = np.convolve(levels, np.ones(5), mode="valid")
    start = max(0, min(start, len(sums) - 1))
    return max(1, start + int(np.argmin(sums[start:])) + 2)


def events_of(chunks: Iterable[Chunk], segmenter: Segmenter) -> Iterator[SpeechEvent]:
    """All events of a source, the last utterance flushed at its end."""
    for chunk in chunks:
        yield from segmenter.feed(chunk)
    yield from segmenter.finish()


def segments_of(chunks: Iterable[Chunk], settings: SegmenterSettings | None = None) -> Iterator[Segment]:
    """The utterances of a source."""
    for event in events_of(chunks, Segmenter(settings)):
        if isinstance(event, SpeechEnded):
            yield event.segment
