"""A stand-in for the sounddevice module: devices, streams and failures on command."""

from __future__ import annotations

import threading
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np


class PortAudioError(Exception):
    """What sounddevice raises."""


class FakeStream:
    """An input stream whose sound is pushed by the test."""

    def __init__(self, owner: FakePortAudio, **settings: Any) -> None:
        if settings["samplerate"] not in owner.rates:
            raise PortAudioError("Invalid sample rate [PaErrorCode -9997]")
        if settings["channels"] not in owner.channels:
            raise PortAudioError("Invalid number of channels [PaErrorCode -9998]")
        self.settings = settings
        self.active = False
        self._owner = owner

    def start(self) -> None:
        self.active = True
        self._owner.stream = self
        self._owner.opened.set()

    def close(self) -> None:
        self.active = False

    def push(self, sound: np.ndarray, *, overflow: bool = False) -> None:
        """Deliver (frames, channels) through the callback in blocks."""
        size = self.settings["blocksize"]
        for at in range(0, len(sound), size):
            block = sound[at : at + size]
            status = SimpleNamespace(input_overflow=overflow and at == 0)
            self.settings["callback"](block, len(block), None, status)

    def die(self) -> None:
        """What PortAudio does when the device is pulled out."""
        self.active = False
        self.settings["finished_callback"]()


class FakeOutput:
    """An output stream that keeps what is written."""

    latency = 0.02

    def __init__(self, owner: FakePortAudio, **settings: Any) -> None:
        self._owner = owner
        self.settings = settings
        if owner.output_fails:
            raise PortAudioError("Device unavailable [PaErrorCode -9985]")

    def __enter__(self) -> FakeOutput:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def write(self, data: np.ndarray) -> None:
        self._owner.played.append(np.array(data))
        if self._owner.on_write is not None:
            self._owner.on_write()


class FakePortAudio:
    """Looks like the sounddevice module as far as voicelog uses it."""

    PortAudioError = PortAudioError

    def __init__(self, rate: int = 48_000) -> None:
        self.listed = [
            self.device("Speakers", 0, 2, rate),
            self.device("Built-in Microphone", 2, 0, rate),
            self.device("USB Headset", 1, 2, rate),
        ]
        self.default = SimpleNamespace(device=(1, 0))
        self.rates = {rate}
        self.channels = {1, 2}
        self.stream: FakeStream | None = None
        self.opened = threading.Event()
        self.output_fails = False
        self.played: list[np.ndarray] = []
        self.on_write: Callable[[], None] | None = None
        self.restarts = 0

    @staticmethod
    def device(name: str, inputs: int, outputs: int, rate: int) -> dict[str, Any]:
        return {
            "name": name,
            "max_input_channels": inputs,
            "max_output_channels": outputs,
            "default_samplerate": float(rate),
        }

    def query_devices(self) -> list[dict[str, Any]]:
        return self.listed

    def query_hostapis(self) -> list[dict[str, Any]]:
        return [{"default_input_device": -1, "default_output_device": -1}]

    def InputStream(self, **settings: Any) -> FakeStream:  # noqa: N802 - sounddevice's name
        return FakeStream(self, **settings)

    def OutputStream(self, **settings: Any) -> FakeOutput:  # noqa: N802 - sounddevice's name
        return FakeOutput(self, **settings)

    def _terminate(self) -> None:
        self.restarts += 1

    def _initialize(self) -> None:
        pass
