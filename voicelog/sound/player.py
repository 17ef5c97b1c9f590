"""Plays samples through PortAudio, block by block, so that it can be cut short."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
import soxr

from voicelog.errors import VoicelogError
from voicelog.sound import portaudio
from voicelog.sound.format import PLAY_RATE, Floats

BLOCK_S = 0.05


class Player:
    """A loudspeaker; opened for each sound, so that it may come and go.

    Args:
        device: number, name or part of a name; None for the system's default.
        sd: the sounddevice module; loaded when None.
        on_sounding: told from when to when (`time.monotonic`) it sounds.
    """

    def __init__(
        self,
        device: str | int | None = None,
        sd: Any = None,
        on_sounding: Callable[[float, float], None] | None = None,
    ) -> None:
        self._wanted = device
        self._sd = sd
        self._on_sounding = on_sounding

    def play_file(self, path: Path) -> None:
        """Play a recording of one channel to its end.

        Raises:
            VoicelogError: it cannot be read, or as `play`.
        """
        try:
            samples, rate = soundfile.read(path, dtype="float32")
        except (OSError, soundfile.LibsndfileError) as error:
            raise VoicelogError("cannot be read", where=str(path)) from error
        self.play(samples, threading.Event(), rate)

    def play(self, samples: Floats, cancel: threading.Event, rate: int = PLAY_RATE) -> None:
        """Play mono samples to the end, or until `cancel` is set.

        Raises:
            VoicelogError: no PortAudio, no loudspeaker, or it failed.
        """
        if self._sd is None:
            self._sd = portaudio.load()
        sd = self._sd
        with portaudio.LOCK:
            device = portaudio.choose(sd, "output", self._wanted)
            try:
                self._play_on(device, samples, cancel, rate)
            except sd.PortAudioError as error:
                reason = " ".join(str(error).split())
                raise VoicelogError(f"cannot play ({reason})", where=device.name) from error

    def _play_on(
        self, device: portaudio.Device, samples: Floats, cancel: threading.Event, given: int
    ) -> None:
        rate = device.rate
        sound = samples if rate == given else soxr.resample(samples, given, rate)
        channels = min(2, device.channels)
        block = round(rate * BLOCK_S)
        with self._sd.OutputStream(
            samplerate=rate, device=device.number, channels=channels, dtype="float32"
        ) as stream:
            for at in range(0, len(sound), block):
                if cancel.is_set():
                    break
                piece = sound[at : at + block]
                now = time.monotonic()
                if self._on_sounding is not None:
                    self._on_sounding(now, now + float(stream.latency) + len(piece) / rate)
                stream.write(np.ascontiguousarray(np.repeat(piece[:, None], channels, axis=1)))
