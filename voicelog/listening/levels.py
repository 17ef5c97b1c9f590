"""Levels in dB below full scale: meter, noise floor, clipping.

Full scale is 1.0 (32768 in int16).  Levels are 20·log10 of the amplitude, so
that a full-scale sine has a peak of 0 dBFS and a root mean square of -3.01 dBFS.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from voicelog.sound.format import RATE, Chunk, Floats, Samples

SILENCE_DBFS = -120.0
"""The level given to digital silence, whose logarithm does not exist."""

CLIP_LEVEL = 0.985
CLIP_FLATNESS = 1 / 1024
CLIP_RUN = 3

FRAME_S = 0.02


def dbfs(amplitude: float) -> float:
    """The level of an amplitude (full scale 1.0), never below -120 dBFS."""
    if amplitude <= 0.0:
        return SILENCE_DBFS
    return max(SILENCE_DBFS, 20.0 * math.log10(amplitude))


def rms_dbfs(samples: Samples) -> float:
    """Root-mean-square level of int16 samples in dBFS; -120 for none or silence."""
    if len(samples) == 0:
        return SILENCE_DBFS
    scaled = samples.astype(np.float32) / 32768.0
    return dbfs(math.sqrt(float(np.mean(np.square(scaled)))))


def peak_dbfs(samples: Samples) -> float:
    """Level of the largest int16 sample in dBFS; -120 for none or silence."""
    if len(samples) == 0:
        return SILENCE_DBFS
    return dbfs(float(np.max(np.abs(samples.astype(np.int32)))) / 32768.0)


def clipped_at(block: Floats) -> int | None:
    """Index of the first frame of `block` where a channel lies flat at full scale.

    Args:
        block: shape (frames, channels), full scale 1.0.

    A converter that runs out of range repeats its largest value; a loud but
    undistorted wave passes through it.  So three samples in a row must be near
    full scale and within 0.1 % of each other.
    """
    if len(block) < CLIP_RUN:
        return None
    high = np.abs(block) >= CLIP_LEVEL
    if not high.any():
        return None
    flat = np.abs(np.diff(block, axis=0)) < CLIP_FLATNESS
    run = high[:-2] & high[1:-1] & high[2:] & flat[:-1] & flat[1:]
    hits = np.flatnonzero(run.any(axis=1))
    return int(hits[0]) if len(hits) else None


class NoiseFloor:
    """Steady background level: the lowest level of the last seconds.

    Speech has gaps between sounds that fall back to the background, a
    compressor has none; so the minimum over a window follows the noise and not
    the voice (minimum statistics, R. Martin, IEEE Trans. Speech and Audio
    Processing 9(5), 2001, in its simplest form, from memory).
    """

    def __init__(self, window_s: float = 3.0, frame_s: float = FRAME_S, start_dbfs: float = -65.0) -> None:
        frames = max(1, round(window_s / frame_s))
        # A window filled with quiet: a recording that opens in mid-word must
        # not take that word for the background.
        self._levels: deque[float] = deque([start_dbfs] * frames, maxlen=frames)
        self._smooth = start_dbfs

    def feed(self, level_dbfs: float) -> float:
        """Take the level of the next frame, give the floor in dBFS."""
        # Power of a single 20 ms frame of noise scatters by some dB.
        self._smooth += (level_dbfs - self._smooth) * (0.5 if level_dbfs < self._smooth else 0.25)
        self._levels.append(self._smooth)
        return self.dbfs

    @property
    def dbfs(self) -> float:
        """The floor in dBFS."""
        return min(self._levels)


@dataclass(frozen=True)
class LevelReport:
    """What `check` says of a stretch of sound; levels in dBFS.

    Attributes:
        seconds: how long was measured.
        peak_dbfs: the largest sample.
        speech_dbfs: level exceeded in a tenth of the frames.
        noise_dbfs: level exceeded in nine tenths of the frames.
        clipped_share: share of chunks with clipping, 0 to 1.
    """

    seconds: float
    peak_dbfs: float
    speech_dbfs: float
    noise_dbfs: float
    clipped_share: float

    @property
    def snr_db(self) -> float:
        """Speech above noise in dB."""
        return self.speech_dbfs - self.noise_dbfs

    def findings(self) -> list[str]:
        """What is wrong and what to do, one line each; empty when all is well."""
        found = []
        if self.peak_dbfs <= -80.0:
            found.append("no sound arrives; check that the microphone is switched on and chosen")
            return found
        if self.clipped_share > 0.02:
            found.append("the sound is clipped; turn the input level down or move the microphone away")
        if self.speech_dbfs < -45.0:
            found.append("the voice is faint; turn the input level up or move the microphone closer")
        if self.snr_db < 10.0:
            found.append("the voice hardly stands out of the noise; move the microphone closer to the mouth")
        return found


def measure(chunks: Iterable[Chunk]) -> LevelReport:
    """The levels of all `chunks`, which should hold both speech and pauses."""
    frames: list[float] = []
    peak, seconds, clipped, count = SILENCE_DBFS, 0.0, 0, 0
    size = round(RATE * FRAME_S)
    for chunk in chunks:
        frames += [
            rms_dbfs(chunk.samples[i : i + size]) for i in range(0, len(chunk.samples) - size + 1, size)
        ]
        peak = max(peak, peak_dbfs(chunk.samples))
        seconds += len(chunk.samples) / RATE
        clipped += chunk.clipped
        count += 1
    if not frames:
        frames = [SILENCE_DBFS]
    noise, speech = np.percentile(frames, [10, 90])
    return LevelReport(seconds, peak, float(speech), float(noise), clipped / max(1, count))
