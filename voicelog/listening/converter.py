"""Any rate, any number of channels -> chunks of 100 ms at 16 kHz mono, streaming."""

from __future__ import annotations

import numpy as np
import soxr

from voicelog.errors import VoicelogError
from voicelog.listening.levels import clipped_at, rms_dbfs
from voicelog.sound.format import CHUNK_SAMPLES, RATE, Chunk, Floats, Samples

LOWEST_RATE, HIGHEST_RATE = 1_000, 1_000_000


def to_int16(block: Floats) -> Samples:
    """Floats of full scale 1.0 to int16, rounded, limited to the range."""
    scaled = np.rint(block * 32768.0)
    limited: Samples = np.clip(scaled, -32768, 32767).astype(np.int16)
    return limited


class Converter:
    """Mixes down, resamples (soxr, high quality) and cuts into chunks.

    Args:
        rate: samples per second of what is pushed, 1 000 to 1 000 000.
        where: whose sound it is, for the error.

    Raises:
        VoicelogError: the rate is out of range.
    """

    def __init__(self, rate: int, where: str) -> None:
        if not LOWEST_RATE <= rate <= HIGHEST_RATE:
            raise VoicelogError(
                f"a sample rate of {rate} Hz is no speech recording",
                where=where,
                todo="record at 16 000 Hz or more",
            )
        self._rate = rate
        self._stream = None if rate == RATE else soxr.ResampleStream(rate, RATE, 1, dtype="float32")
        self._pending: list[Samples] = []
        self._pending_len = 0
        self._done = 0
        self._pushed = 0
        self._clips: list[int] = []
        self.origin_s = 0.0
        """Seconds added to every chunk's start: where this run of sound begins."""

    def push(self, block: Floats, *, last: bool = False) -> list[Chunk]:
        """Take `block` (frames, channels; full scale 1.0), give the chunks now complete.

        Values that are no numbers count as silence.  With `last` the
        resampler's tail and the shorter last chunk come out too.
        """
        block = np.nan_to_num(block, nan=0.0, posinf=1.0, neginf=-1.0)
        hit = clipped_at(block)
        if hit is not None:
            self._clips.append(round((self._pushed + hit) * RATE / self._rate))
        self._pushed += len(block)
        mono = block.mean(axis=1, dtype=np.float32) if block.shape[1] > 1 else block[:, 0]
        if self._stream is not None:
            mono = self._stream.resample_chunk(np.ascontiguousarray(mono), last=last)
        self._pending.append(to_int16(mono))
        self._pending_len += len(mono)
        return self._cut(last)

    def _cut(self, last: bool) -> list[Chunk]:
        if self._pending_len < CHUNK_SAMPLES and not (last and self._pending_len):
            return []
        samples = np.concatenate(self._pending)
        chunks = []
        while len(samples) >= CHUNK_SAMPLES or (last and len(samples)):
            chunks.append(self._chunk(samples[:CHUNK_SAMPLES]))
            samples = samples[CHUNK_SAMPLES:]
        self._pending, self._pending_len = [samples], len(samples)
        return chunks

    def _chunk(self, samples: Samples) -> Chunk:
        start = self._done
        self._done += len(samples)
        clipped = bool(self._clips) and self._clips[0] < self._done
        self._clips = [at for at in self._clips if at >= self._done]
        return Chunk(samples, self.origin_s + start / RATE, rms_dbfs(samples), clipped)
