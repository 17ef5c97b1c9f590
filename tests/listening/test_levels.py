"""Levels against their definitions, the noise floor against generated noise."""

from __future__ import annotations

import numpy as np
import pytest

from voicelog.listening import RATE, Chunk
from voicelog.listening.levels import (
    SILENCE_DBFS,
    NoiseFloor,
    clipped_at,
    dbfs,
    measure,
    peak_dbfs,
    rms_dbfs,
)


def int16(sound: np.ndarray) -> np.ndarray:
    return np.clip(np.rint(sound * 32768), -32768, 32767).astype(np.int16)


def chunks(sound: np.ndarray, *, clipped: bool = False) -> list[Chunk]:
    samples = int16(sound)
    return [
        Chunk(samples[i : i + 1600], i / RATE, rms_dbfs(samples[i : i + 1600]), clipped)
        for i in range(0, len(samples), 1600)
    ]


def test_levels_by_definition() -> None:
    """A full-scale sine: peak 0 dBFS, root mean square 1/sqrt 2, that is -3.01 dB."""
    sine = int16(np.sin(2 * np.pi * 1_000 * np.arange(RATE) / RATE))
    assert peak_dbfs(sine) == pytest.approx(0.0, abs=0.001)
    assert rms_dbfs(sine) == pytest.approx(-3.0103, abs=0.001)
    assert rms_dbfs(int16(np.full(100, 0.1))) == pytest.approx(-20.0, abs=0.01)
    assert peak_dbfs(np.array([-32768], np.int16)) == 0.0


def test_silence_and_nothing_have_the_lowest_level() -> None:
    nothing, silence = np.zeros(0, np.int16), np.zeros(10, np.int16)
    for samples in (nothing, silence):
        assert rms_dbfs(samples) == peak_dbfs(samples) == SILENCE_DBFS == dbfs(0.0) == -120.0


@pytest.mark.parametrize("level", [-60.0, -45.0, -30.0])
def test_the_floor_follows_noise_and_not_speech(level: float) -> None:
    """Noise with bursts 25 dB louder for 0.7 of each second, as speech with its pauses."""
    rng = np.random.default_rng(4)
    floor = NoiseFloor()
    sound = rng.normal(scale=10 ** (level / 20), size=RATE * 10)
    t = np.arange(len(sound)) / RATE
    sound[(t % 1.0) < 0.7] *= 10 ** (25 / 20)
    for frame in sound.reshape(-1, 320):
        floor.feed(rms_dbfs(int16(frame)))
    assert floor.dbfs == pytest.approx(level, abs=3.0)


def test_clipping_needs_a_flat_top() -> None:
    t = np.arange(4_800) / 48_000
    sine = np.sin(2 * np.pi * 440 * t)[:, None].astype(np.float32)
    assert clipped_at(sine) is None
    assert clipped_at(sine[:2]) is None
    flat = np.clip(sine * 1.5, -1, 1)
    first = clipped_at(flat)
    # sin reaches 1/1.5 at asin(0.667) = 0.7297 rad: sample 0.7297 / (2 pi 440) * 48000 = 12.7
    assert first in (12, 13)


def test_check_finds_what_is_wrong() -> None:
    rng = np.random.default_rng(6)
    quiet = rng.normal(scale=0.001, size=RATE * 4)
    good = quiet.copy()
    good[RATE : RATE * 3] += 0.2 * np.sin(np.arange(RATE * 2) * 0.3)
    report = measure(chunks(good))
    assert report.seconds == pytest.approx(4.0)
    assert report.noise_dbfs == pytest.approx(-60.0, abs=1.0)
    assert report.speech_dbfs == pytest.approx(20 * np.log10(0.2 / np.sqrt(2)), abs=0.5)
    assert report.findings() == []
    assert "no sound arrives" in measure(chunks(np.zeros(RATE))).findings()[0]
    assert "no sound arrives" in measure([]).findings()[0]
    assert "clipped" in measure(chunks(good, clipped=True)).findings()[0]
    faint = measure(chunks(good * 0.01)).findings()
    assert "faint" in faint[0]
    steady = measure(chunks(rng.normal(scale=0.1, size=RATE * 4))).findings()
    assert "hardly stands out" in steady[0]
