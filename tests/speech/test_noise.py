"""Mixing levels and made noises, checked by measuring them again."""

from __future__ import annotations

import numpy as np
import pytest

from tests.speech.noise import MADE, RATE, babble, loudest, mixed, pink


@pytest.mark.parametrize("snr", [0.0, 6.0, 12.0, 24.0])
def test_the_loudest_frames_stand_snr_apart(snr: float) -> None:
    time = np.arange(2 * RATE) / RATE
    speech = (3000 * np.sin(2 * np.pi * 440 * time)).astype(np.int16)
    added = mixed(speech, pink(2, seed=1), snr, seed=4).astype(float) - speech
    measured = 20 * np.log10(loudest(speech.astype(float)) / loudest(added))
    assert measured == pytest.approx(snr, abs=0.1)


def test_a_longer_noise_is_entered_at_a_place_the_seed_decides() -> None:
    speech = np.full(RATE, 1000, np.int16)
    noise = pink(5, seed=2)
    assert np.array_equal(mixed(speech, noise, 6, seed=1), mixed(speech, noise, 6, seed=1))
    assert not np.array_equal(mixed(speech, noise, 6, seed=1), mixed(speech, noise, 6, seed=2))


@pytest.mark.parametrize("name", sorted(MADE))
def test_made_noises_are_long_loud_and_repeatable(name: str) -> None:
    first, second = MADE[name](3.0, 7), MADE[name](3.0, 7)
    assert np.array_equal(first, second)
    assert len(first) == 3 * RATE
    assert np.abs(first).max() == 16_000


def test_pink_noise_falls_three_decibels_an_octave() -> None:
    # Pink noise has equal power in every octave (IEC 60268-1 describes it so; from memory).
    power = np.abs(np.fft.rfft(pink(20, seed=3).astype(float))) ** 2
    hertz = len(power) / (RATE / 2)
    octaves = [
        power[int(low * hertz) : int(2 * low * hertz)].sum() for low in (100, 200, 400, 800, 1600, 3200)
    ]
    assert 10 * np.log10(max(octaves) / min(octaves)) < 1.0


def test_babble_is_made_of_the_voices() -> None:
    voices = [np.full(RATE, 1000, np.int16), np.full(RATE, -500, np.int16)]
    assert len(np.unique(babble(voices, 4, seed=1))) > 2
