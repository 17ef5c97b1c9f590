"""The voice: text to samples through pyttsx3, in a process of its own."""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

import numpy as np
import soundfile
import soxr

from voicelog.answering.duration import WORDS_PER_MINUTE, spoken_seconds
from voicelog.errors import VoicelogError
from voicelog.sound.format import PLAY_RATE, Floats

_TODO = "pip install 'voicelog[speech]' and, on Linux, the package espeak-ng; tones are used until then"
AUDIBLE = 0.005
TRIES = 3
"""On a busy machine pyttsx3 2.99 with eSpeak NG now and then writes no sound (1 of 200 texts)."""


class Voice:
    """Turns text into sound.

    Args:
        rate: words a minute.
        patience_s: a text not synthesised after so long is given up.
        command: the process that synthesises; for tests.

    Raises:
        VoicelogError: pyttsx3 or the voice behind it is missing.
    """

    def __init__(
        self,
        rate: int = WORDS_PER_MINUTE,
        patience_s: float = 3.0,
        command: tuple[str, ...] = (sys.executable, "-m", "voicelog.answering.speech_worker"),
    ) -> None:
        if importlib.util.find_spec("pyttsx3") is None:
            raise VoicelogError("no voice: the Python package pyttsx3 is missing", todo=_TODO)
        self._rate = rate
        self._patience_s = patience_s
        self._folder = tempfile.TemporaryDirectory(prefix="voicelog-speech-")
        self._process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        self._await_answer()

    def render(self, text: str) -> Floats:
        """The text spoken, float32 at 48 kHz, silence at both ends cut off.

        Empty for a text without anything to say.

        Raises:
            VoicelogError: the voice failed; it is closed and of no further use.
        """
        if spoken_seconds(text) == 0.0:
            return np.zeros(0, np.float32)
        for _ in range(TRIES):
            spoken = self._render_once(text)
            if len(spoken):
                return spoken
        raise self._failed("it wrote no sound")

    def _render_once(self, text: str) -> Floats:
        path = Path(self._folder.name) / "spoken.wav"
        path.unlink(missing_ok=True)
        request = json.dumps({"text": text, "path": str(path), "rate": self._rate})
        try:
            assert self._process.stdin is not None
            self._process.stdin.write(request + "\n")
            self._process.stdin.flush()
        except OSError as error:
            raise self._failed("it ended by itself") from error
        self._await_answer()
        return self._read(path)

    def _read(self, path: Path) -> Floats:
        if not path.exists() or path.stat().st_size == 0:
            return np.zeros(0, np.float32)
        try:
            samples, rate = soundfile.read(str(path), dtype="float32", always_2d=True)
        except soundfile.LibsndfileError as error:
            raise self._failed("it wrote a file that is no sound") from error
        if len(samples) == 0:
            return np.zeros(0, np.float32)
        mono = np.ascontiguousarray(samples.mean(axis=1, dtype=np.float32))
        audible = np.flatnonzero(np.abs(mono) > AUDIBLE)
        if len(audible) == 0:
            return np.zeros(0, np.float32)
        spoken: Floats = soxr.resample(mono[audible[0] : audible[-1] + 1], rate, PLAY_RATE)
        return spoken

    def close(self) -> None:
        """End the process."""
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                pipe.close()
        self._folder.cleanup()

    def _await_answer(self) -> None:
        assert self._process.stdout is not None
        watchdog = threading.Timer(self._patience_s, self._process.kill)
        watchdog.start()
        answer = self._process.stdout.readline()
        watchdog.cancel()
        if answer != "\n":
            raise self._failed(answer.strip() or f"no answer within {self._patience_s:g} s")

    def _failed(self, reason: str) -> VoicelogError:
        self.close()
        return VoicelogError(f"no voice: {reason}", todo=_TODO)
