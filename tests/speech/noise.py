"""Noise for the benchmark: recorded or made, mixed at a stated level.

Every made noise comes from a fixed seed, so that a run can be repeated.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
LOUDNESS_FRAME = 2048
"""Samples over which loudness is taken: the rule of the public speech-to-intent benchmark."""

Samples = NDArray[np.int16]
Wave = NDArray[np.float64]


def loudest(samples: Wave) -> float:
    """Root mean square of the loudest frame."""
    count = max(1, len(samples) // LOUDNESS_FRAME)
    frames = samples[: count * LOUDNESS_FRAME].reshape(count, -1)
    return float(np.sqrt((frames**2).mean(axis=1).max()))


def mixed(speech: Samples, noise: Samples, snr_db: float, seed: int) -> Samples:
    """`speech` with a random stretch of `noise`, its loudest frame `snr_db` below that of the speech."""
    rng = np.random.default_rng(seed)
    if len(noise) > len(speech):
        first = int(rng.integers(0, len(noise) - len(speech)))
        stretch = noise[first : first + len(speech)].astype(np.float64)
    else:
        stretch = np.resize(noise, len(speech)).astype(np.float64)
    voice = speech.astype(np.float64)
    gain = loudest(voice) / (max(loudest(stretch), 1e-9) * 10 ** (snr_db / 20))
    total = voice + gain * stretch
    return (total * min(1.0, 32767 / max(1.0, float(np.abs(total).max())))).astype(np.int16)


def _coloured(rng: np.random.Generator, count: int, slope: float) -> Wave:
    """Noise whose power falls with frequency to the power of `slope` (1 is pink, 2 is brown)."""
    spectrum = np.fft.rfft(rng.standard_normal(count))
    frequency = np.maximum(np.arange(len(spectrum)), 1)
    wave: Wave = np.fft.irfft(spectrum / frequency ** (slope / 2), count)
    return wave / np.abs(wave).max()


def pink(seconds: float, seed: int) -> Samples:
    """Pink noise."""
    return _scaled(_coloured(np.random.default_rng(seed), int(seconds * RATE), 1.0))


def compressor(seconds: float, seed: int) -> Samples:
    """A piston compressor: hum of 25 Hz with its harmonics, beating slowly, and a hiss of air."""
    rng = np.random.default_rng(seed)
    time = np.arange(int(seconds * RATE)) / RATE
    hum = sum(np.sin(2 * np.pi * 24.6 * k * time + rng.uniform(0, 6)) / k for k in range(1, 24))
    beat = 1 + 0.4 * np.sin(2 * np.pi * 0.7 * time)
    return _scaled(hum * beat + 2.0 * _coloured(rng, len(time), 0.5))


def impacts(seconds: float, seed: int) -> Samples:
    """Hammer and knock-down blows: short bursts that ring, two a second on the average."""
    rng = np.random.default_rng(seed)
    total = np.zeros(int(seconds * RATE))
    for start in np.cumsum(rng.exponential(0.5, int(seconds * 3))):
        first = int(start * RATE)
        length = int(rng.uniform(0.05, 0.25) * RATE)
        if first + length >= len(total):
            break
        time = np.arange(length) / RATE
        ring = sum(np.sin(2 * np.pi * rng.uniform(300, 4000) * time) for _ in range(5))
        burst = ring + 3 * rng.standard_normal(length) * np.exp(-time * 200)
        total[first : first + length] += rng.uniform(0.3, 1) * burst * np.exp(-time * rng.uniform(15, 60))
    return _scaled(total + 0.001 * rng.standard_normal(len(total)))


def breath(seconds: float, seed: int) -> Samples:
    """Breathing into the microphone: slow swells of low noise."""
    rng = np.random.default_rng(seed)
    time = np.arange(int(seconds * RATE)) / RATE
    swell = np.maximum(0, np.sin(2 * np.pi * 0.35 * time + rng.uniform(0, 6))) ** 2
    return _scaled(_coloured(rng, len(time), 1.2) * swell + 1e-4 * rng.standard_normal(len(time)))


def slams(seconds: float, seed: int) -> Samples:
    """Car doors: a thump of 40 to 120 Hz, the rattle of the lock, a second blow when it falls open."""
    rng = np.random.default_rng(seed)
    total = np.zeros(int(seconds * RATE))
    time = np.arange(int(0.5 * RATE)) / RATE
    for start in np.cumsum(rng.exponential(2.0, int(seconds))):
        thump = np.sin(2 * np.pi * rng.uniform(40, 120) * time) * np.exp(-time * 12)
        rattle = _coloured(rng, len(time), 0.5) * np.exp(-time * rng.uniform(20, 50))
        for later in (0.0, rng.uniform(0.08, 0.3)):
            first = int((start + later) * RATE)
            if first + len(time) < len(total):
                total[first : first + len(time)] += rng.uniform(0.3, 1) * (thump + rattle)
    return _scaled(total + 0.001 * rng.standard_normal(len(total)))


def music(seconds: float, seed: int) -> Samples:
    """A band of tones: a melody with vibrato and harmonics, chords below it, a beat."""
    rng = np.random.default_rng(seed)
    beat = 0.25
    time = np.arange(int(beat * RATE)) / RATE
    total, note = [], 0
    for place in range(int(seconds / beat) + 1):
        note = int(np.clip(note + rng.integers(-4, 5), -12, 12))
        held = 1 + 0.006 * np.sin(2 * np.pi * 5.5 * (time + place * beat))
        tone = _tone(440 * 2 ** (note / 12) * held, time, 8) * np.exp(-time * 2)
        chord = sum(_tone(110 * 2 ** (step / 12), time, 5) for step in (0, 4, 7)) / 3
        drum = rng.standard_normal(len(time)) * np.exp(-time * 60) * (place % 2)
        total.append(tone + 0.6 * np.asarray(chord) + 0.5 * drum)
    return _scaled(np.concatenate(total)[: int(seconds * RATE)])


def tones(seconds: float, seed: int) -> Samples:
    """Signals: tones and two-tone rings of half a second, with pauses, as telephones and machines give."""
    rng = np.random.default_rng(seed)
    time = np.arange(RATE // 2) / RATE
    total: list[Wave] = []
    while sum(map(len, total)) < seconds * RATE:
        low, high = rng.uniform(300, 900), rng.uniform(900, 2500)
        total += [np.sin(2 * np.pi * low * time) + rng.integers(0, 2) * np.sin(2 * np.pi * high * time)]
        total += [np.zeros(int(rng.uniform(0.1, 1.0) * RATE))]
    return _scaled(np.concatenate(total)[: int(seconds * RATE)])


def _tone(hertz: Wave | float, time: Wave, harmonics: int) -> Wave:
    return np.asarray(sum(np.sin(2 * np.pi * hertz * k * time) / k for k in range(1, harmonics + 1)))


def babble(voices: list[Samples], seconds: float, seed: int) -> Samples:
    """Talk of many: six stretches of recordings at once."""
    rng = np.random.default_rng(seed)
    joined = np.concatenate(voices).astype(np.float64)
    count = int(seconds * RATE)
    total = np.zeros(count)
    for _ in range(6):
        total += np.roll(np.resize(joined, max(count, len(joined))), int(rng.integers(len(joined))))[:count]
    return _scaled(total)


def _scaled(wave: Wave) -> Samples:
    return (wave / max(1e-9, float(np.abs(wave).max())) * 16_000).astype(np.int16)


MADE = {
    "pink": pink, "compressor": compressor, "impacts": impacts, "breath": breath,
    "slams": slams, "music": music, "tones": tones,
}  # fmt: skip
"""Noises that need no recording, by name."""
