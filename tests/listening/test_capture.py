"""Real capture and playback through PortAudio, on a private sound server."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from voicelog.answering import Player, open_answerer
from voicelog.listening import (
    RATE,
    Chunk,
    HalfDuplexGate,
    Microphone,
    Recording,
    segments_of,
)
from voicelog.sound import portaudio

from .pulse import PulseServer, pulse_environment, pulse_server


@pytest.fixture
def pulse() -> Iterator[PulseServer]:
    with pulse_server() as server, pulse_environment(server):
        portaudio.refresh(portaudio.load())
        yield server
    portaudio.refresh(portaudio.load())


class Listening:
    """A microphone iterated in a thread until the block ends."""

    def __init__(self, microphone: Microphone) -> None:
        self.microphone = microphone
        self.chunks: list[Chunk] = []
        self._thread = threading.Thread(target=self._run)

    def _run(self) -> None:
        for chunk in self.microphone:
            self.chunks.append(chunk)

    def __enter__(self) -> Listening:
        self._thread.start()
        self.until(lambda: len(self.chunks) >= 3, 8)
        return self

    def __exit__(self, *_: object) -> None:
        self.microphone.stop()
        self._thread.join(timeout=10)
        assert not self._thread.is_alive()

    @staticmethod
    def until(condition: object, seconds: float) -> None:
        deadline = time.monotonic() + seconds
        while not condition():  # type: ignore[operator]
            assert time.monotonic() < deadline, "did not happen in time"
            time.sleep(0.02)


def likeness(captured: np.ndarray, original: np.ndarray) -> float:
    """Largest normalised cross-correlation, 1 for the same sound anywhere within."""
    size = 1 << (len(captured) + len(original)).bit_length()
    a, b = captured.astype(float), original.astype(float)
    lags = np.fft.irfft(np.fft.rfft(a, size) * np.conj(np.fft.rfft(b, size)), size)
    at = int(np.argmax(lags[: len(captured)]))
    piece = a[at : at + len(b)]
    return float(lags[at] / np.sqrt(np.sum(piece**2) * np.sum(b**2)))


def test_what_is_played_is_what_is_heard(pulse: PulseServer, data: Path) -> None:
    microphone = Microphone()
    with Listening(microphone) as listening:
        pulse.play(data / "three.flac")
        time.sleep(0.5)
    captured = np.concatenate([c.samples for c in listening.chunks])
    original = np.concatenate([c.samples for c in Recording(data / "three.flac")])
    assert microphone.overflows == 0
    assert likeness(captured, original) > 0.98
    direct = list(segments_of(Recording(data / "three.flac")))
    live = list(segments_of(listening.chunks))
    assert len(live) == len(direct) == 3
    for ours, theirs in zip(live, direct, strict=True):
        length = theirs.speech_end_s - theirs.speech_start_s
        assert ours.speech_end_s - ours.speech_start_s == pytest.approx(length, abs=0.1)


def test_tones_are_heard_and_gated(pulse: PulseServer, tmp_path: Path) -> None:
    gate = HalfDuplexGate()
    answerer = open_answerer(Player(on_sounding=gate.close), spoken=False, volume=0.5)
    with pulse.recording_speaker(tmp_path / "spoken.wav"):
        began = time.monotonic()
        answerer.sound("accepted")
        assert answerer.wait(5)
        assert gate.closed(began, began + 1.0)
    answerer.close()
    assert answerer.state.startswith("tones only")
    recorded, rate = soundfile.read(tmp_path / "spoken.wav")
    loud = np.abs(recorded) > 0.02
    assert loud.sum() > 0.1 * rate
    spectrum = np.abs(np.fft.rfft(recorded))
    hz = np.fft.rfftfreq(len(recorded), 1 / rate)
    assert spectrum[hz > 2_000].max() < 0.02 * spectrum.max()


def test_the_sound_server_dies_and_the_session_lives_on(data: Path) -> None:
    """Loss of the device for real: the server is stopped and another one started."""
    states: list[str] = []
    with pulse_server() as first, pulse_environment(first):
        portaudio.refresh(portaudio.load())
        microphone = Microphone(retry_s=0.2, on_state=lambda state, _line: states.append(state))
        listening = Listening(microphone)
        listening.__enter__()
        first.stop()
        listening.until(lambda: microphone.state == "lost", 8)
        first.start()
        listening.until(lambda: microphone.state == "listening", 10)
        before = sum(len(c.samples) for c in listening.chunks)
        first.play(data / "at_once.flac")
        time.sleep(0.5)
        listening.__exit__()
        assert sum(len(c.samples) for c in listening.chunks) - before > 4 * RATE
    portaudio.refresh(portaudio.load())
    assert states == ["listening", "lost", "listening", "closed"]
    live = list(segments_of(listening.chunks))
    assert len(live) == 2
