"""The loop of a session: sound from a source, one utterance after another, until it ends.

    source -> segmenter -> engine -> dialogue -> tone, spoken answer and feed

The tone sounds after the commit.  While an answer sounds, the microphone is gated.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import timedelta
from pathlib import Path

import numpy as np

from voicelog.actions.steps_and_time import keep_memo
from voicelog.answering import Answerer, SilentAnswerer, Sound
from voicelog.errors import VoicelogError
from voicelog.journal.clips import Clips
from voicelog.listening import (
    Segment,
    Segmenter,
    SegmenterSettings,
    Source,
    SpeechAudio,
    SpeechEvent,
    SpeechPaused,
    SpeechResumed,
    SpeechStarted,
)
from voicelog.recognition.engine import Engine, Stream
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.session import reports
from voicelog.session.dialogue import Dialogue, Origin, Outcome
from voicelog.sound.format import Samples

INTERRUPTED = 0.5
"""Confidence of a segment that was cut short, at most."""
SOUNDS: dict[str, Sound] = {"accepted": "accepted", "asked": "asked", "rejected": "rejected", "kept": "asked"}


def _nobody(item: reports.FeedItem) -> None:
    """Takes reports where nobody watches."""


@dataclass
class Ear:
    """What a session listens and answers with."""

    dialogue: Dialogue
    engine: Engine
    clips: Clips | None = None
    answerer: Answerer = field(default_factory=SilentAnswerer)
    feed: reports.Feed = _nobody
    partials: bool = False
    """Report words while they are spoken; costs decoding time."""
    asleep: Path | None = None
    """The small grammar that is searched instead while asleep."""
    segmenting: SegmenterSettings = field(default_factory=SegmenterSettings)

    def hear(self, source: Source, stop: threading.Event | None = None) -> Iterator[Outcome]:
        """Take every utterance of a source; yields each outcome after its commit."""
        stop = stop or threading.Event()
        self._report_ear(source)
        segmenter = Segmenter(self.segmenting)
        hearing = _Hearing(self, segmenter)
        clock = self.dialogue.logbook.clock
        for chunk in source:
            if stop.is_set():
                source.stop()
                break
            self.feed(reports.Level(chunk.level_dbfs, chunk.clipped))
            clock.moment = None if source.began is None else source.began + timedelta(seconds=chunk.end_s)
            for event in segmenter.feed(chunk):
                yield from hearing.take(event, source)
        for event in segmenter.finish():
            yield from hearing.take(event, source)
        for warning in source.warnings:
            self.feed(reports.Trouble(warning))
        self.feed(reports.Ended())

    def _report_ear(self, source: Source) -> None:
        state: reports.Ear = "listening" if self.dialogue.logbook.state.awake else "asleep"
        self.feed(reports.EarChanged(state, source.name, self.engine.name))

    def decide(self, segment: Segment, hypothesis: Hypothesis, source: Source) -> Outcome:
        """One segment with its hypothesis: commit, then answer."""
        clip = None if self.clips is None else lambda: self._kept(segment)
        if segment.interrupted and hypothesis.words:
            # Its last words may be missing: whatever the engine thinks, it is asked about.
            hypothesis = replace(hypothesis, confidence=min(hypothesis.confidence, INTERRUPTED))
        origin = Origin(source.name, segment.start_s, segment.end_s, source.fingerprint, clip)
        outcome = self.dialogue.take(hypothesis, origin)
        self._answer(outcome, source)
        return outcome

    def _kept(self, segment: Segment) -> str | None:
        """Keep the sound; a disk that refuses it must not cost the note."""
        assert self.clips is not None
        try:
            return self.clips.put(segment.samples)
        except (VoicelogError, OSError) as error:
            self.feed(reports.Trouble(f"the sound could not be kept: {error}"))
            return None

    def keep_memo(self, segment: Segment) -> None:
        """Keep a segment as a memo: its sound, no words."""
        name = None if self.clips is None else self._kept(segment)
        with self.dialogue.logbook.lock:
            self.dialogue.do(keep_memo(self.dialogue.context(), name))
        self.answerer.sound("warning" if self.dialogue.logbook.pending else "accepted")

    def _answer(self, outcome: Outcome, source: Source) -> None:
        heard = outcome.heard
        if outcome.control == "louder":
            self.answerer.louder()
        elif outcome.control == "quieter":
            self.answerer.quieter()
        if outcome.committed:
            self.answerer.sound("warning" if outcome.waits else SOUNDS[heard.decision])
            if heard.kind != "none":  # A refusal says why; talk in the room gets no answer.
                self.answerer.speak(heard.answer)
        self.feed(reports.Utterance(heard, heard.answer, heard.decision))
        for caution in outcome.cautions:
            self.answerer.speak(caution.spoken)
            self.feed(reports.Caution(caution.id, caution.text))
        if outcome.control in ("sleep", "wake"):
            self._report_ear(source)
        trouble = self.dialogue.logbook.trouble
        if trouble:
            self.feed(reports.Trouble(trouble))


class _Hearing:
    """The utterance being spoken."""

    GROWTH = 1.25
    """Another look ahead waits until the utterance is so much longer: bounded work in restless noise."""

    def __init__(self, ear: Ear, segmenter: Segmenter) -> None:
        self._ear = ear
        self._segmenter = segmenter
        self._sound: list[Samples] = []
        self._answer: Hypothesis | None = None
        self._looked_at = 0
        self._stream: Stream | None = None
        self._partial = ""
        self._memo = False

    def take(self, event: SpeechEvent, source: Source) -> Iterator[Outcome]:
        ear = self._ear
        if isinstance(event, SpeechStarted):
            self._start()
        elif isinstance(event, SpeechAudio):
            self._sound.append(event.samples)
            self._spell(event.samples)
        elif isinstance(event, SpeechPaused):
            self._look_ahead()
        elif isinstance(event, SpeechResumed):
            self._answer = None
        else:
            answer = self._answer
            self._drop()
            if self._memo:
                self._memo = False
                ear.keep_memo(event.segment)
                return
            outcome = ear.decide(event.segment, answer or ear.engine.decode(event.segment.samples), source)
            self._memo = outcome.control == "memo" and outcome.committed
            yield outcome

    def _start(self) -> None:
        ear = self._ear
        awake = ear.dialogue.logbook.state.awake
        ear.engine.only(None if awake else ear.asleep)
        # Asleep, nobody's talk is spelled out on the screen.
        self._stream = ear.engine.stream() if ear.partials and awake else None

    def _spell(self, samples: Samples) -> None:
        """Report the words so far where somebody watches."""
        words = self._partial if self._stream is None else self._stream.feed(samples)
        if words != self._partial:
            self._partial = words
            self._ear.feed(reports.Partial(words))

    def _look_ahead(self) -> None:
        """Decode at the pause already: the answer is there when the pause has become the end."""
        samples = np.concatenate(self._sound)
        if self._memo or len(samples) < self.GROWTH * self._looked_at:
            return
        self._looked_at = len(samples)
        self._answer = self._ear.engine.decode(samples)
        if self._ear.dialogue.is_complete(self._answer):
            self._segmenter.complete()

    def _drop(self) -> None:
        if self._stream is not None:
            self._stream.close()
        self._stream, self._answer, self._partial = None, None, ""
        self._sound, self._looked_at = [], 0
