"""Is this frame of 20 ms speech?  PocketSphinx's detector, and the noise floor."""

from __future__ import annotations

from typing import Protocol

from voicelog.listening.levels import FRAME_S, NoiseFloor, rms_dbfs
from voicelog.sound.format import RATE, Samples

FRAME_SAMPLES = int(RATE * FRAME_S)


class Detector(Protocol):
    """Decides frame by frame; keeps state between frames of one source."""

    def is_speech(self, frame: Samples) -> bool:
        """Whether these 320 samples (20 ms) are speech."""


class VoiceActivity:
    """PocketSphinx's voice activity detector, and a level above the noise floor.

    Args:
        mode: 0 (takes most for speech) to 3 (strict).
        margin_db: how far a frame must stand above the noise floor.
        lowest_dbfs: nothing below this level is speech.

    The detector alone takes a compressor for speech for as long as it runs; the
    floor alone takes every blow of a hammer for it.  Both must agree.
    """

    def __init__(self, mode: int = 2, margin_db: float = 6.0, lowest_dbfs: float = -58.0) -> None:
        from pocketsphinx import Vad

        self._vad = Vad(mode, RATE, FRAME_S)
        self._margin_db = margin_db
        self._lowest_dbfs = lowest_dbfs
        self.floor = NoiseFloor()

    def is_speech(self, frame: Samples) -> bool:
        """Whether these 320 samples (20 ms) are speech."""
        level = rms_dbfs(frame)
        floor = self.floor.feed(level)
        # Asked every time, also below the floor: it adapts to what it hears.
        voiced = bool(self._vad.is_speech(frame.tobytes()))
        return voiced and level >= max(self._lowest_dbfs, floor + self._margin_db)
