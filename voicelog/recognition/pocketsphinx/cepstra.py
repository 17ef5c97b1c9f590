"""Mel-frequency cepstra as PocketSphinx computes them, with the filters moved for a voice.

One spectrum serves every search of a segment: only filters, cosine transform and mean are
computed anew for another length of the vocal tract.  The steps are those of Davis and Mermelstein,
"Comparison of parametric representations for monosyllabic word recognition" (IEEE Trans. ASSP 28(4),
1980), with the settings of the acoustic model; a test holds the scores against PocketSphinx's own
front end.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voicelog.errors import VoicelogError
from voicelog.recognition.pocketsphinx.speech_bounds import FRAME

Array = NDArray[np.floating[Any]]

RATE = 16_000
WINDOW = 410
"""Samples of a frame, under a Hamming window."""
POINTS = 512
"""Of the Fourier transform."""
CEPSTRA = 13
EMPHASIS = 0.97
LEAST = 1.0
"""Added to every filter's power, about the samples' rounding noise: digital silence has no logarithm."""


@dataclass(frozen=True)
class FrontEnd:
    """The settings of an acoustic model (`feat.params`) that shape its cepstra."""

    lowest_hz: float = 130.0
    highest_hz: float = 6800.0
    filters: int = 25
    lifter: int = 22

    def cepstra(self, power: Array, warp: float = 1.0) -> Array:
        """Cepstra less their mean.

        Args:
            power: frames x (POINTS / 2 + 1), from `power_spectrum`.
            warp: factor on the filters' frequencies, 0.8 to 1.2: above 1 for a vocal tract shorter
                than that of the model's speakers (Lee and Rose, "A frequency warping approach to
                speaker normalization", IEEE Trans. SAP 6(1), 1998).

        Returns:
            frames x CEPSTRA, as float32.
        """
        bank = _bank(self.lowest_hz, self.highest_hz, self.filters, warp)
        level = np.log(_product(power, bank) + LEAST)
        found = _product(level, _cosines(self.filters, self.lifter))
        # As in PocketSphinx, frames of digital silence do not count for the mean.
        heard = found[:, 0] > 0
        mean = found[heard].mean(axis=0) if heard.any() else 0.0
        return np.ascontiguousarray(found - mean, dtype=np.float32)


def front_end(parameters: Path) -> FrontEnd:
    """The front end that a model's `feat.params` asks for.

    Raises:
        VoicelogError: when the file is missing, or asks for what is not done here.
    """
    said = read_parameters(parameters)
    asked = {"-transform": "dct", "-feat": "1s_c_d_dd"}
    for name, value in asked.items():
        if said.get(name, value) != value:
            raise VoicelogError(
                f"this model was trained with {name[1:]} {said[name]}, and only {value} is known here",
                where=str(parameters),
                todo="choose a model with the features of PocketSphinx's en-us",
            )
    try:
        return FrontEnd(
            float(said.get("-lowerf", 130)),
            float(said.get("-upperf", 6800)),
            int(said.get("-nfilt", 25)),
            int(said.get("-lifter", 22)),
        )
    except ValueError as error:
        raise VoicelogError(f"this is no number: {error}", where=str(parameters)) from error


def read_parameters(path: Path) -> dict[str, str]:
    """A model's `feat.params`: names with their dash, and values.

    Raises:
        VoicelogError: when the file cannot be read.
    """
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except OSError as error:
        raise VoicelogError(
            f"this folder holds no PocketSphinx model ({error.strerror})", where=str(path.parent)
        ) from error
    return dict(pair for line in lines if len(pair := line.split()) == 2)


def power_spectrum(samples: NDArray[np.int16]) -> Array:
    """Power of each frame of 16 kHz sound: frames x (POINTS / 2 + 1)."""
    sound = samples.astype(np.float64)
    sound[1:] -= EMPHASIS * sound[:-1]
    count = max(1, -(-(len(sound) - WINDOW) // FRAME) + 1)
    sound = np.pad(sound, (0, max(0, (count - 1) * FRAME + WINDOW - len(sound))))
    frames = np.lib.stride_tricks.sliding_window_view(sound, WINDOW)[::FRAME]
    spectrum: Array = np.abs(np.fft.rfft(frames * np.hamming(WINDOW), POINTS)) ** 2
    return spectrum


def _product(left: Array, right: Array) -> Array:
    """Matrix product on one core: the threads of a matrix library would go on spinning into the search."""
    product: Array = np.einsum("ij,jk->ik", left, right)
    return product


@lru_cache(maxsize=32)
def _bank(lowest_hz: float, highest_hz: float, filters: int, warp: float) -> Array:
    """Triangles of one area, evenly spaced on the mel scale, edges on whole bins."""
    step = RATE / POINTS
    mels = np.linspace(
        2595 * np.log10(1 + lowest_hz / 700), 2595 * np.log10(1 + highest_hz / 700), filters + 2
    )
    edges = np.floor(700 * (10 ** (mels / 2595) - 1) * warp / step + 0.5) * step
    bins = np.arange(POINTS // 2 + 1)[:, None] * step
    low, middle, high = edges[:-2], edges[1:-1], edges[2:]
    rising = (bins - low) / np.maximum(middle - low, step)
    falling = (high - bins) / np.maximum(high - middle, step)
    bank: Array = np.maximum(0, np.minimum(rising, falling)) * 2 / np.maximum(high - low, step)
    return bank


@lru_cache(maxsize=4)
def _cosines(filters: int, lifter: int) -> Array:
    """The unitary cosine transform with the lifter on its coefficients: filters x CEPSTRA."""
    order = np.arange(CEPSTRA)
    basis = np.cos(np.pi * np.outer(np.arange(filters) + 0.5, order) / filters) * np.sqrt(2 / filters)
    basis[:, 0] /= np.sqrt(2)
    lifted: Array = basis * (1 + lifter / 2 * np.sin(order * np.pi / lifter)) if lifter else basis
    return lifted
