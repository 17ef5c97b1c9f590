"""The form of all sound: mono at one rate in, mono at one rate out, chunks of 100 ms."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

import numpy as np
import numpy.typing as npt

RATE = 16_000
"""Samples per second of everything behind this room."""

PLAY_RATE = 48_000
"""Samples per second of what we make to be played."""

CHUNK_S = 0.1
CHUNK_SAMPLES = int(RATE * CHUNK_S)

Samples = npt.NDArray[np.int16]
Floats = npt.NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Chunk:
    """A piece of sound.

    Attributes:
        samples: int16, one channel, 16 kHz; 1600 of them, fewer only in the
            last chunk of a source or before a break.
        start_s: seconds from the start of the source to the first sample.
        level_dbfs: root mean square of the samples, dB below full scale
            (0 is a full-scale square wave, silence is -120).
        clipped: the source reached full scale and stayed there.
        gated: our own answer was sounding; not to be heard as a note.
        broken: sound was lost just before this chunk (overflow, lost device).
    """

    samples: Samples
    start_s: float
    level_dbfs: float
    clipped: bool = False
    gated: bool = False
    broken: bool = False

    @property
    def end_s(self) -> float:
        """Seconds from the start of the source to the end of the last sample."""
        return self.start_s + len(self.samples) / RATE


class Source(Protocol):
    """Anything that can be listened to: a microphone, a recording, a test."""

    @property
    def name(self) -> str:
        """What to call it to the user: a file's path, a device's name."""

    @property
    def began(self) -> datetime | None:
        """When its first sample was taken; None for one that is taken now."""

    @property
    def fingerprint(self) -> str:
        """SHA-256 of a recording's file; empty for a microphone."""

    @property
    def warnings(self) -> list[str]:
        """One-line warnings so far, in the order they came up."""

    def __iter__(self) -> Iterator[Chunk]:
        """The chunks in order, each once."""

    def stop(self) -> None:
        """End the iteration after the chunk in hand; callable from any thread."""
