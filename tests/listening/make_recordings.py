"""Makes the recordings in `data/` and `data/times.json`, where each utterance lies.

Needs espeak-ng, flite and soundfile: `python tests/listening/make_recordings.py`.
The voices are synthetic, the noise is drawn with a fixed seed.
"""

from __future__ import annotations

import json
import subprocess
import tempfile
from pathlib import Path

import numpy as np
import soundfile
import soxr

RATE = 16_000
DATA = Path(__file__).parent / "data"
AUDIBLE = 0.01


def speak(program: str, text: str, voice: str = "", speed: str = "150") -> np.ndarray:
    """Text spoken, float64 at 16 kHz, peak 0.4, silence at both ends cut off."""
    with tempfile.TemporaryDirectory() as folder:
        path = f"{folder}/spoken.wav"
        if program == "espeak-ng":
            command = ["espeak-ng", "-v", voice or "en-gb", "-s", speed, "-w", path, text]
        else:
            command = ["flite", "-voice", voice or "slt", "-t", text, "-o", path]
        subprocess.run(command, check=True)
        samples, rate = soundfile.read(path)
    samples = soxr.resample(samples, rate, RATE)
    samples = samples * (0.4 / np.abs(samples).max())
    audible = np.flatnonzero(np.abs(samples) > AUDIBLE)
    return samples[audible[0] : audible[-1] + 1]


def write(name: str, parts: list[np.ndarray | float], noise: float) -> list[tuple[float, float]]:
    """Join spoken parts and pauses (seconds), add noise; where the spoken parts lie."""
    rows, times, at = [], [], 0
    for part in parts:
        samples = np.zeros(round(part * RATE)) if isinstance(part, float) else part
        if not isinstance(part, float):
            times.append((round(at / RATE, 3), round((at + len(samples)) / RATE, 3)))
        rows.append(samples)
        at += len(samples)
    sound = np.concatenate(rows) + np.random.default_rng(7).normal(scale=noise, size=at)
    soundfile.write(DATA / f"{name}.flac", sound, RATE, subtype="PCM_16")
    return times


def main() -> None:
    """Write all recordings."""
    DATA.mkdir(exist_ok=True)
    first = speak("espeak-ng", "rear right door steel forty five mil shallow push")
    second = speak("flite", "five", "rms")
    third = speak("flite", "glue pull three times", "slt")
    before = speak("espeak-ng", "bonnet steel", "en-us")
    after = speak("espeak-ng", "twenty two mil", "en-us")
    times = {
        "three": write("three", [1.0, first, 1.2, second, 1.3, third, 1.3], 0.001),
        "at_once": write("at_once", [first, 1.3, second], 0.001),
        "pause_in_note": write("pause_in_note", [0.5, before, 0.9, after, 1.2], 0.001),
        "noisy": write("noisy", [1.5, first, 1.3, third, 1.3], 0.012),
    }
    for i, rate in enumerate(("120", "140", "160"), start=1):
        write(f"swage_{i}", [0.3, speak("espeak-ng", "swage", "en-gb", rate), 0.4], 0.001)
    for name, text, rate in (
        ("swage_line_1", "swage line", "130"),
        ("swage_line_2", "swage line", "155"),
        ("swage_line_unseen", "swage line", "145"),
        ("stage_line", "stage line", "140"),
    ):
        write(name, [0.3, speak("espeak-ng", text, "en-gb", rate), 0.4], 0.001)
    (DATA / "times.json").write_text(json.dumps(times, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
