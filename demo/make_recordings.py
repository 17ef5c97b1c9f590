"""Makes the recordings of the invented day from `day.toml`, with a little workshop noise.

    python demo/make_recordings.py COMMAND...

COMMAND is a speech synthesiser that is called as `COMMAND VOICE TEXT OUT.wav`.  The committed
recordings were made with the neural voices that `tests/speech/` describes; any other does.
The noise (compressor hum, pink noise, a few light taps) has a fixed seed.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile
import soxr

RATE = 16_000
PAUSE_S = 1.1
"""Silence after each utterance."""
NOISE_DB = -38.0
"""Level of the noise against the voice."""
HERE = Path(__file__).parent
Sound = npt.NDArray[np.float64]


def spoken(command: list[str], voice: str, text: str) -> Sound:
    """One utterance at 16 kHz, mono, peak 0.5."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "said.wav"
        subprocess.run([*command, voice, text, str(out)], check=True)
        samples, rate = soundfile.read(out, always_2d=True)
    mono = soxr.resample(samples.mean(axis=1), rate, RATE)
    return np.asarray(0.5 * mono / np.max(np.abs(mono)))


def workshop_noise(length: int, rng: np.random.Generator) -> Sound:
    """A compressor at 100 Hz with harmonics, pink noise, and a tap every few seconds; RMS 1."""
    at = np.arange(length) / RATE
    hum = sum(np.sin(2 * np.pi * 100 * k * at) / k for k in (1, 2, 3))
    spectrum = np.fft.rfft(rng.standard_normal(length))
    spectrum[1:] /= np.sqrt(np.arange(1, len(spectrum)))
    pink = np.fft.irfft(spectrum, length)
    noise = hum / np.std(hum) * 0.5 + pink / np.std(pink)
    for start in np.cumsum(rng.uniform(4, 9, size=length // RATE)):
        place = int(start * RATE)
        if place + 800 < length:
            tap = np.exp(-np.arange(800) / 120) * rng.standard_normal(800)
            noise[place : place + 800] += 6 * tap
    return np.asarray(noise / np.std(noise))


def main() -> None:
    """Make every recording of the day."""
    command = sys.argv[1:]
    if not command:
        sys.exit(__doc__)
    day = tomllib.loads((HERE / "day.toml").read_text(encoding="utf-8"))
    for number, recording in enumerate(day["recording"]):
        pause = np.zeros(round(PAUSE_S * RATE))
        parts = [pause]
        for text in recording["said"]:
            parts += [spoken(command, recording["voice"], text), pause]
        voice = np.concatenate(parts)
        rng = np.random.default_rng(number + 1)
        loudness = np.std(voice[np.abs(voice) > 0.01])
        mixed = voice + workshop_noise(len(voice), rng) * loudness * 10 ** (NOISE_DB / 20)
        out = HERE / "recordings" / recording["file"]
        soundfile.write(out, np.clip(mixed, -1, 1), RATE, subtype="PCM_16")
        print(f"{out.name}: {len(voice) / RATE:.1f} s, {len(recording['said'])} utterances")


if __name__ == "__main__":
    main()
