"""The microphone against a stand-in for sounddevice: choice, rates, overflow, loss, gate."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from typing import Any

import numpy as np
import pytest

from voicelog.errors import VoicelogError
from voicelog.listening import Chunk, HalfDuplexGate, Microphone
from voicelog.sound import portaudio

from .fake_portaudio import FakePortAudio


class Listener:
    """Iterates a microphone in a thread, as a session does."""

    def __init__(self, microphone: Microphone) -> None:
        self.microphone = microphone
        self.chunks: list[Chunk] = []
        self.error: VoicelogError | None = None
        self._thread = threading.Thread(target=self._run)
        self._thread.start()

    def _run(self) -> None:
        try:
            for chunk in self.microphone:
                self.chunks.append(chunk)
        except VoicelogError as error:
            self.error = error

    def until(self, condition: Any, seconds: float = 5.0) -> None:
        deadline = time.monotonic() + seconds
        while not condition():
            assert time.monotonic() < deadline, "did not happen in time"
            time.sleep(0.005)

    def end(self) -> np.ndarray:
        self.microphone.stop()
        self._thread.join(timeout=5)
        assert not self._thread.is_alive()
        return np.concatenate([c.samples for c in self.chunks] or [np.zeros(0, np.int16)])


def sine(rate: int, channels: int, seconds: float = 1.0) -> np.ndarray:
    t = np.arange(round(rate * seconds)) / rate
    return np.repeat(0.5 * np.sin(2 * np.pi * 440 * t)[:, None], channels, axis=1).astype(np.float32)


def started(sd: FakePortAudio, **options: Any) -> tuple[Listener, Any]:
    listener = Listener(Microphone(sd=sd, retry_s=0.02, **options))
    assert sd.opened.wait(5)
    return listener, sd.stream


@pytest.mark.parametrize("rate", [8_000, 16_000, 44_100, 48_000])
@pytest.mark.parametrize("channels", [1, 2])
def test_any_rate_and_channels_become_16_khz_mono(rate: int, channels: int) -> None:
    sd = FakePortAudio(rate)
    sd.channels = {channels}
    listener, stream = started(sd)
    stream.push(sine(rate, channels, 2.0))
    listener.until(lambda: len(listener.chunks) >= 19)
    sound = listener.end()
    assert stream.settings["channels"] == channels
    spectrum = np.abs(np.fft.rfft(sound[4_000:20_000]))
    assert int(np.argmax(spectrum)) == 440  # 16000 samples at 16 kHz: 1 Hz a bin
    assert np.max(np.abs(sound)) == pytest.approx(16_384, rel=0.01)
    assert not stream.active


def test_a_wrong_default_rate_is_worked_around() -> None:
    sd = FakePortAudio(96_000)
    sd.rates = {44_100}
    listener, stream = started(sd)
    assert stream.settings["samplerate"] == 44_100
    listener.end()


def test_overflow_is_counted_marked_and_told() -> None:
    sd = FakePortAudio()
    listener, stream = started(sd)
    stream.push(sine(48_000, 1))
    listener.until(lambda: len(listener.chunks) >= 9)
    stream.push(sine(48_000, 1), overflow=True)
    listener.until(lambda: len(listener.chunks) >= 19)
    listener.end()
    assert listener.microphone.overflows == 1
    assert sum(c.broken for c in listener.chunks) == 1
    assert "lost 1 times" in listener.microphone.warnings[0]


def test_a_lost_device_is_told_waited_for_and_found_again_by_name() -> None:
    sd = FakePortAudio()
    states: list[str] = []
    listener, stream = started(sd, device="usb", on_state=lambda state, _line: states.append(state))
    assert stream.settings["device"] == 2
    stream.push(sine(48_000, 1))
    listener.until(lambda: len(listener.chunks) >= 9)
    headset = sd.listed.pop()
    sd.opened.clear()
    stream.die()
    listener.until(lambda: sd.restarts >= 2)
    assert listener.microphone.state == "lost"
    assert listener.chunks[-1].broken
    assert len(listener.chunks[-1].samples) == 0
    sd.listed[:] = [headset, *sd.listed]  # comes back under another number
    assert sd.opened.wait(5)
    assert sd.stream is not None
    assert sd.stream.settings["device"] == 0
    before = len(listener.chunks)
    sd.stream.push(sine(48_000, 1))
    listener.until(lambda: len(listener.chunks) >= before + 9)
    listener.end()
    assert states == ["listening", "lost", "listening", "closed"]
    assert listener.chunks[before].broken
    starts = [c.start_s for c in listener.chunks]
    assert starts == sorted(starts)
    assert [w.split(": ")[1][:22] for w in listener.microphone.warnings] == [
        "the microphone was los",
        "the microphone is back",
    ]


def test_a_device_that_falls_silent_is_lost() -> None:
    sd = FakePortAudio()
    listener, stream = started(sd, silent_s=0.2)
    stream.push(sine(48_000, 1))
    listener.until(lambda: listener.microphone.losses >= 1)
    listener.end()


def test_stopping_while_lost_ends_the_iteration() -> None:
    sd = FakePortAudio()
    listener, stream = started(sd)
    sd.listed.clear()
    stream.die()
    listener.until(lambda: listener.microphone.state == "lost")
    listener.end()
    assert listener.microphone.state == "closed"


def test_sound_during_an_answer_is_gated() -> None:
    sd = FakePortAudio()
    gate = HalfDuplexGate(tail_s=0.2)
    listener, stream = started(sd, gate=gate)
    stream.push(sine(48_000, 1, 0.5))
    listener.until(lambda: len(listener.chunks) >= 4)
    now = time.monotonic()
    gate.close(now, now + 60)
    stream.push(sine(48_000, 1, 1.0))
    listener.until(lambda: len(listener.chunks) >= 12)
    listener.end()
    assert not any(c.gated for c in listener.chunks[:4])
    assert all(c.gated for c in listener.chunks[6:])


def test_gate_opens_after_its_tail_and_forgets_nothing_captured_before() -> None:
    gate = HalfDuplexGate(tail_s=0.25)
    gate.close(10.0, 10.5)
    gate.close(10.5, 10.7)
    assert not gate.closed(9.8, 9.99)
    assert gate.closed(9.9, 10.01)
    assert gate.closed(10.9, 11.0)
    assert not gate.closed(10.96, 11.1)


@pytest.mark.parametrize(
    ("wanted", "number"), [(None, 1), ("2", 2), (2, 2), ("usb headset", 2), ("BUILT", 1), ("", 1)]
)
def test_choice_of_the_microphone(wanted: str | int | None, number: int) -> None:
    assert portaudio.choose(FakePortAudio(), "input", wanted).number == number


def test_wrong_choices_list_what_there_is() -> None:
    sd = FakePortAudio()
    with pytest.raises(VoicelogError, match="no such microphone; choose one of: 1 Built-in Microphone"):
        portaudio.choose(sd, "input", "0")
    with pytest.raises(VoicelogError, match="no such microphone"):
        portaudio.choose(sd, "input", "bluetooth")
    sd.listed.append(sd.device("USB Webcam", 1, 0, 48_000))
    with pytest.raises(VoicelogError, match="several devices match"):
        portaudio.choose(sd, "input", "usb")
    sd.listed.clear()
    with pytest.raises(VoicelogError, match="no microphone found; plug one in"):
        portaudio.choose(sd, "input")


def test_a_microphone_that_cannot_be_opened_says_so() -> None:
    sd = FakePortAudio()
    sd.rates = set()
    listener = Listener(Microphone(sd=sd))
    listener.end()
    assert listener.error is not None
    assert "cannot be opened (Invalid sample rate" in listener.error.line()


def test_without_portaudio_the_line_names_the_package() -> None:
    """In a process of its own, where the library cannot be found."""
    program = (
        "import sys, types\n"
        "class Finder:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name == 'sounddevice': raise OSError('PortAudio library not found')\n"
        "sys.meta_path.insert(0, Finder())\n"
        "from voicelog.errors import VoicelogError\n"
        "from voicelog.listening import Microphone\n"
        "try:\n"
        "    next(iter(Microphone()))\n"
        "except VoicelogError as error:\n"
        "    print(error.line())\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert "libportaudio2" in done.stdout
    assert done.stdout.count("\n") == 1


def test_importing_the_room_loads_neither_sounddevice_nor_pocketsphinx() -> None:
    program = (
        "import sys, voicelog.listening, voicelog.answering\n"
        "print(sorted({'sounddevice', 'pocketsphinx', 'pyttsx3', 'vosk', 'textual'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
