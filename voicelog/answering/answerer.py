"""Answers by ear: a tone at once, and a read-back where there is a voice."""

from __future__ import annotations

import queue
import threading
import time
from dataclasses import dataclass
from typing import Protocol

from voicelog.answering.speech import Voice
from voicelog.answering.tones import Sound, render
from voicelog.errors import VoicelogError
from voicelog.sound.player import Player

QUIETEST, LOUDEST, STEP = 0.05, 1.0, 2**0.5
"""Volumes as peak amplitude (full scale 1); a step is 3 dB."""


class Answerer(Protocol):
    """Gives answers to the ear; no call waits for the sound to end."""

    @property
    def state(self) -> str:
        """One line for screen and `check`: "tones and voice", "tones only: ...", "no sound: ..."."""

    def sound(self, kind: Sound) -> None:
        """Play a tone; what an earlier answer still has to say is dropped."""

    def speak(self, text: str) -> None:
        """Speak after what is sounding; without a voice nothing is heard of it."""

    def louder(self) -> float:
        """One step (3 dB) louder; the new volume, 0 to 1."""

    def quieter(self) -> float:
        """One step (3 dB) quieter; the new volume, 0 to 1."""

    def close(self) -> None:
        """Fall silent and let go of the device."""


class SilentAnswerer:
    """Makes no sound and remembers what it was given; for recordings and tests."""

    def __init__(self) -> None:
        self.given: list[tuple[str, str]] = []
        """("sound", kind) and ("speak", text) in order."""
        self.volume = 0.5

    @property
    def state(self) -> str:
        """Always that it is silent."""
        return "no sound: answers are written only"

    def sound(self, kind: Sound) -> None:
        """Remember a tone."""
        self.given.append(("sound", kind))

    def speak(self, text: str) -> None:
        """Remember a text."""
        self.given.append(("speak", text))

    def louder(self) -> float:
        """One step louder; the new volume, 0 to 1."""
        self.volume = min(LOUDEST, self.volume * STEP)
        return self.volume

    def quieter(self) -> float:
        """One step quieter; the new volume, 0 to 1."""
        self.volume = max(QUIETEST, self.volume / STEP)
        return self.volume

    def close(self) -> None:
        """Nothing to let go of."""


@dataclass(frozen=True)
class _Answer:
    kind: Sound | None
    text: str
    number: int


class SpeakerAnswerer:
    """Answers through the loudspeaker, from a thread of its own.

    Args:
        player: the loudspeaker.
        voice: speaks, or None for tones only.
        volume: 0.05 to 1.
        voice_missing: why there is no voice, for `state`.

    A missing or failing device never raises here: `state` says what is wrong,
    and every answer tries again.
    """

    def __init__(
        self, player: Player, voice: Voice | None = None, volume: float = 0.5, voice_missing: str = ""
    ) -> None:
        self._player = player
        self._voice = voice
        self._voice_missing = voice_missing
        self._output_missing = ""
        self.volume = min(LOUDEST, max(QUIETEST, volume))
        self._waiting: queue.Queue[_Answer | None] = queue.Queue()
        self._cancel = threading.Event()
        self._newest = 0
        self._lock = threading.Lock()
        self._thread = threading.Thread(target=self._run, name="answers", daemon=True)
        self._thread.start()

    @property
    def state(self) -> str:
        """What can be heard of the answers, and why not more."""
        if self._output_missing:
            return f"no sound: {self._output_missing}"
        if self._voice is None:
            return f"tones only: {self._voice_missing or 'no voice was asked for'}"
        return "tones and voice"

    def sound(self, kind: Sound) -> None:
        """Play a tone at once; what an earlier answer still has to say is dropped."""
        with self._lock:
            self._newest += 1
            self._cancel.set()
            self._waiting.put(_Answer(kind, "", self._newest))

    def speak(self, text: str) -> None:
        """Speak after what is sounding; does nothing without a voice."""
        if self._voice is None or not text:
            return
        with self._lock:
            self._waiting.put(_Answer(None, text, self._newest))

    def louder(self) -> float:
        """One step (3 dB) louder; the new volume, 0 to 1."""
        self.volume = min(LOUDEST, self.volume * STEP)
        return self.volume

    def quieter(self) -> float:
        """One step (3 dB) quieter; the new volume, 0 to 1."""
        self.volume = max(QUIETEST, self.volume / STEP)
        return self.volume

    def close(self) -> None:
        """Fall silent and let go of the device."""
        with self._lock:
            self._newest += 1
            self._cancel.set()
            self._waiting.put(None)
        self._thread.join(timeout=5.0)
        if self._voice is not None:
            self._voice.close()

    def wait(self, seconds: float = 10.0) -> bool:
        """Wait until all given so far has sounded; False if it took longer."""
        deadline = time.monotonic() + seconds
        while self._waiting.unfinished_tasks and time.monotonic() < deadline:
            time.sleep(0.01)
        return not self._waiting.unfinished_tasks

    def _run(self) -> None:
        while (answer := self._waiting.get()) is not None:
            with self._lock:
                outdated = answer.number != self._newest
                if not outdated:
                    self._cancel.clear()
            if not outdated:
                self._give(answer)
            self._waiting.task_done()

    def _give(self, answer: _Answer) -> None:
        try:
            if answer.kind is not None:
                samples = render(answer.kind, self.volume)
            elif self._voice is not None:
                samples = self._voice.render(answer.text) * self.volume
            else:
                return
        except VoicelogError as error:
            self._voice, self._voice_missing = None, error.line()
            return
        try:
            self._player.play(samples, self._cancel)
            self._output_missing = ""
        except VoicelogError as error:
            self._output_missing = error.line()


def open_answerer(player: Player, *, spoken: bool = True, volume: float = 0.5) -> SpeakerAnswerer:
    """An answerer with a voice if `spoken` and there is one, else with tones."""
    if not spoken:
        return SpeakerAnswerer(player, None, volume)
    try:
        return SpeakerAnswerer(player, Voice(), volume)
    except VoicelogError as error:
        return SpeakerAnswerer(player, None, volume, error.line())
