"""The tones: length, level, spectrum, and that they differ where it matters."""

from __future__ import annotations

from itertools import combinations
from typing import get_args

import numpy as np
import pytest

from voicelog.answering.tones import HIGHEST_HZ, TONES, Sound, render, seconds_of
from voicelog.sound.format import PLAY_RATE

KINDS: tuple[Sound, ...] = get_args(Sound)


def test_every_kind_has_its_tone() -> None:
    assert set(TONES) == set(KINDS) == {"accepted", "asked", "rejected", "warning"}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("volume", [0.05, 0.5, 1.0])
def test_length_and_peak(kind: Sound, volume: float) -> None:
    sound = render(kind, volume)
    assert sound.dtype == np.float32
    assert len(sound) / PLAY_RATE == pytest.approx(seconds_of(kind), abs=0.001)
    assert np.max(np.abs(sound)) == pytest.approx(volume, rel=1e-3)
    assert 0.1 < seconds_of(kind) <= 0.6


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_above_two_kilohertz(kind: Sound) -> None:
    power = np.abs(np.fft.rfft(render(kind))) ** 2
    hz = np.fft.rfftfreq(len(render(kind)), 1 / PLAY_RATE)
    assert power[hz > HIGHEST_HZ].sum() < 1e-4 * power.sum()
    assert power[hz < 150].sum() < 1e-2 * power.sum()  # small loudspeakers give nothing below


@pytest.mark.parametrize("kind", KINDS)
def test_begins_and_ends_without_a_click(kind: Sound) -> None:
    sound = render(kind, 1.0)
    assert abs(float(sound[0])) < 0.01
    assert abs(float(sound[-1])) < 0.01
    # No step larger than a full-scale 2 kHz sine makes in one sample.
    assert np.max(np.abs(np.diff(sound))) < 2 * np.pi * HIGHEST_HZ / PLAY_RATE


def contour(kind: Sound) -> np.ndarray:
    """Loudness in steps of 20 ms over 0.6 s, unit length: the rhythm, without the pitch."""
    sound = np.zeros(round(0.6 * PLAY_RATE))
    sound[: len(render(kind))] = render(kind)
    rms = np.sqrt(np.mean(sound.reshape(30, -1) ** 2, axis=1))
    return np.asarray(rms / np.linalg.norm(rms))


def main_hz(sound: np.ndarray) -> float:
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), 1 << 16))
    return float(np.argmax(spectrum) * PLAY_RATE / (1 << 16))


def test_tones_differ_in_direction_or_rhythm() -> None:
    def direction(kind: Sound) -> float:
        sound = render(kind)
        third = len(sound) // 3
        return 12 * float(np.log2(main_hz(sound[-third:]) / main_hz(sound[:third])))

    semitones = {kind: direction(kind) for kind in KINDS}
    assert semitones["accepted"] > 5
    assert semitones["asked"] > 5
    assert semitones["rejected"] < -1.5
    assert abs(semitones["warning"]) < 1
    for a, b in combinations(KINDS, 2):
        alike = float(contour(a) @ contour(b))
        # Either the rhythm differs or the pitch goes another way.
        assert alike < 0.9 or abs(semitones[a] - semitones[b]) > 5, (a, b, alike)
