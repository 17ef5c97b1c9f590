"""The microphone as a source of chunks, through PortAudio.

PortAudio's own thread only puts sound into a queue.  Everything else, also
waiting for a device that was unplugged, happens in the thread that iterates.
"""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from voicelog.errors import VoicelogError
from voicelog.listening.converter import Converter
from voicelog.listening.gate import HalfDuplexGate
from voicelog.listening.levels import SILENCE_DBFS
from voicelog.sound import portaudio
from voicelog.sound.format import Chunk, Floats

MicrophoneState = Literal["closed", "listening", "lost"]

BLOCKS_PER_S = 20
LONGEST_BACKLOG_S = 60
FIRST_SOUND_S = 5.0
"""A sound server may take some seconds to wake a device before its first block."""


@dataclass(frozen=True, eq=False)
class _Block:
    data: Floats
    captured: float
    overflow: bool


class Microphone:
    """A microphone as a `Source`; opened when the iteration begins.

    Args:
        device: number, name or part of a name; None for the system's default.
        gate: closed while our own answers sound; None for a headset.
        on_state: told of every change of state, with a line for the user.
        sd: the sounddevice module; loaded when None.
        retry_s: pause between looks for a lost device, seconds.
        silent_s: a device that delivers nothing for so long is lost (at least
            5 s before its first sound).

    Raises:
        VoicelogError: when the iteration begins, if there is no PortAudio or no
            such device.  A device lost later is waited for.
    """

    def __init__(
        self,
        device: str | int | None = None,
        *,
        gate: HalfDuplexGate | None = None,
        on_state: Callable[[MicrophoneState, str], None] | None = None,
        sd: Any = None,
        retry_s: float = 1.0,
        silent_s: float = 2.0,
    ) -> None:
        self._wanted = device
        self._gate = gate
        self._on_state = on_state
        self._sd = sd
        self._retry_s = retry_s
        self._silent_s = silent_s
        self._blocks: queue.Queue[_Block] = queue.Queue(LONGEST_BACKLOG_S * BLOCKS_PER_S)
        self._stopped = threading.Event()
        self._ended = threading.Event()
        self._dropped = threading.Event()
        self._warnings: list[str] = []
        self._began = 0.0
        self._heard_s = 0.0
        self._name = "microphone" if device is None else str(device)
        self.state: MicrophoneState = "closed"
        self.overflows = 0
        """How often sound was lost because it was not fetched in time."""
        self.losses = 0
        """How often the device went away."""
        self.level_dbfs = SILENCE_DBFS
        """Level of the last chunk."""
        self.rate = 0
        """Samples per second at which the device is open, 0 when closed."""

    began = None
    fingerprint = ""

    @property
    def name(self) -> str:
        """The device's name as the system gives it, once open."""
        return self._name

    @property
    def warnings(self) -> list[str]:
        """Losses of the device, and a count of overflows."""
        lines = list(self._warnings)
        if self.overflows:
            lines.append(f"{self.name}: sound was lost {self.overflows} times (the computer was too busy)")
        return lines

    def stop(self) -> None:
        """Close the device and end the iteration; from any thread."""
        self._stopped.set()

    def __iter__(self) -> Iterator[Chunk]:
        if self._sd is None:
            self._sd = portaudio.load()
        self._began = time.monotonic()
        stream = self._open()
        try:
            while stream is not None:
                yield from self._chunks(stream)
                self._close(stream)
                if self._stopped.is_set():
                    break
                yield self._lost()
                stream = self._wait_for_device()
        finally:
            if stream is not None:
                self._close(stream)
            self._set_state("closed", f"{self.name}: closed")

    def _chunks(self, stream: Any) -> Iterator[Chunk]:
        """Chunks until the device is lost or we are stopped."""
        converter: Converter | None = None
        broken = self.losses > 0
        waiting = time.monotonic()
        patience = max(self._silent_s, FIRST_SOUND_S)
        while not self._stopped.is_set():
            try:
                block = self._blocks.get(timeout=0.1)
            except queue.Empty:
                silent = time.monotonic() - waiting > patience
                if silent or self._ended.is_set() or not stream.active:
                    return
                continue
            waiting, patience = time.monotonic(), self._silent_s
            if converter is None:
                converter = self._converter(block)
            if block.overflow:
                self.overflows += 1
                broken = True
            gated = self._gated(block)
            for chunk in converter.push(block.data):
                self.level_dbfs = chunk.level_dbfs
                self._heard_s = chunk.end_s
                yield replace(chunk, gated=gated, broken=broken)
                broken = False

    def _converter(self, first: _Block) -> Converter:
        """A converter whose chunks count from when `first` was captured."""
        converter = Converter(self.rate, self.name)
        captured_s = first.captured - self._began - len(first.data) / self.rate
        converter.origin_s = max(self._heard_s, captured_s)
        return converter

    def _gated(self, block: _Block) -> bool:
        # A chunk is made of this block and the ones before it.
        return self._gate is not None and self._gate.closed(block.captured - 0.1, block.captured)

    def _open(self) -> Any:
        """An open, running stream at the device's own rate.

        Raises:
            VoicelogError: no such device, or it cannot be opened.
        """
        sd = self._sd
        with portaudio.LOCK:
            device = portaudio.choose(sd, "input", self._wanted)
            reason = ""
            for rate, channels in _ways_to_open(device):
                try:
                    stream = self._try(device, rate, channels)
                except sd.PortAudioError as error:
                    reason = " ".join(str(error).split())
                    continue
                self._name, self.rate = device.name, rate
                self._set_state("listening", f"{device.name}: listening at {rate} Hz")
                return stream
        raise VoicelogError(
            f"cannot be opened ({reason})", where=device.name, todo="close other programs that record from it"
        )

    def _try(self, device: portaudio.Device, rate: int, channels: int) -> Any:
        while not self._blocks.empty():
            self._blocks.get_nowait()
        self._ended.clear()
        self._dropped.clear()
        stream = self._sd.InputStream(
            samplerate=rate,
            blocksize=rate // BLOCKS_PER_S,
            device=device.number,
            channels=channels,
            dtype="float32",
            callback=self._receive,
            finished_callback=self._ended.set,
        )
        try:
            stream.start()
        except self._sd.PortAudioError:
            stream.close()
            raise
        return stream

    def _receive(self, data: Floats, _frames: int, _time: Any, status: Any) -> None:
        overflow = bool(status.input_overflow) or self._dropped.is_set()
        try:
            self._blocks.put_nowait(_Block(np.array(data, copy=True), time.monotonic(), overflow))
            self._dropped.clear()
        except queue.Full:
            self._dropped.set()

    def _close(self, stream: Any) -> None:
        self.rate = 0
        try:
            stream.close()
        except self._sd.PortAudioError as error:
            # Of a device that is gone nothing better can be expected.
            self._warnings.append(f"{self.name}: did not close cleanly ({' '.join(str(error).split())})")

    def _lost(self) -> Chunk:
        """Note the loss; an empty, broken chunk ends the utterance in hand."""
        self.losses += 1
        at_s = max(self._heard_s, time.monotonic() - self._began)
        self._heard_s = at_s
        line = f"{self.name}: the microphone was lost; waiting for it to return"
        self._warnings.append(line)
        self._set_state("lost", line)
        return Chunk(np.zeros(0, np.int16), at_s, SILENCE_DBFS, broken=True)

    def _wait_for_device(self) -> Any:
        """Look for the device until it is back (the stream) or we are stopped (None)."""
        if self._wanted is not None:
            # Numbers change when PortAudio looks again, names do not.
            self._wanted = self._name
        while not self._stopped.wait(self._retry_s):
            try:
                portaudio.refresh(self._sd)
                stream = self._open()
            except VoicelogError:
                # Not back yet: the state "lost" is what the user sees meanwhile.
                continue
            self._warnings.append(f"{self.name}: the microphone is back")
            return stream
        return None

    def _set_state(self, state: MicrophoneState, line: str) -> None:
        if state != self.state:
            self.state = state
            if self._on_state is not None:
                self._on_state(state, line)


def _ways_to_open(device: portaudio.Device) -> list[tuple[int, int]]:
    """Rates and channels to try, best first: the device's own rate, one channel."""
    rates = [device.rate, 48_000, 44_100, 16_000, 32_000, 8_000]
    channels = [1, 2, device.channels]
    ways = [(rate, n) for rate in rates for n in channels if rate >= 8_000 and n <= device.channels]
    return list(dict.fromkeys(ways))
