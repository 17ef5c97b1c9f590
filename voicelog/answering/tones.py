"""Short tones that tell the ear what became of an utterance.

All partials stay below 2 kHz: hearing loss from noise begins at 3 to 6 kHz, and
the people this is for work beside air tools.  The tones differ in direction and
rhythm, not only in pitch, so that they are told apart through ear defenders.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from voicelog.sound.format import PLAY_RATE, Floats

HIGHEST_HZ = 2_000.0

Sound = Literal["accepted", "asked", "rejected", "warning"]


@dataclass(frozen=True)
class Note:
    """One note: fundamental at its start and end in Hz, length in seconds; 0 Hz is a rest."""

    from_hz: float
    to_hz: float
    seconds: float


TONES: dict[Sound, tuple[Note, ...]] = {
    # A fifth up, quick: done, go on.
    "accepted": (Note(523.25, 523.25, 0.07), Note(783.99, 783.99, 0.11)),
    # Even, then gliding up, as a question does: an answer is wanted.
    "asked": (Note(440.0, 440.0, 0.12), Note(0.0, 0.0, 0.05), Note(440.0, 740.0, 0.24)),
    # One low note, falling: nothing was taken.
    "rejected": (Note(247.0, 196.0, 0.22),),
    # Three equal notes: listen, then look.
    "warning": (
        Note(622.25, 622.25, 0.1),
        Note(0.0, 0.0, 0.07),
        Note(622.25, 622.25, 0.1),
        Note(0.0, 0.0, 0.07),
        Note(622.25, 622.25, 0.16),
    ),
}
"""The tones, chosen by us."""

_HARMONICS = (1.0, 0.35, 0.15)


def seconds_of(kind: Sound) -> float:
    """How long the tone sounds, in seconds."""
    return sum(note.seconds for note in TONES[kind])


def render(kind: Sound, volume: float = 0.5) -> Floats:
    """The tone as float32 samples at 48 kHz, peak at `volume` (0 to 1)."""
    sound = np.concatenate([_render_note(note) for note in TONES[kind]])
    peak = float(np.max(np.abs(sound)))
    scaled: Floats = (sound * (volume / peak)).astype(np.float32)
    return scaled


def _render_note(note: Note) -> Floats:
    count = round(note.seconds * PLAY_RATE)
    if note.from_hz == 0.0:
        return np.zeros(count, np.float32)
    hz = np.linspace(note.from_hz, note.to_hz, count)
    phase = 2 * np.pi * np.cumsum(hz) / PLAY_RATE
    wave = np.zeros(count)
    for number, share in enumerate(_HARMONICS, start=1):
        if number * max(note.from_hz, note.to_hz) < HIGHEST_HZ:
            wave += share * np.sin(number * phase)
    # Raised-cosine edges: without them the note clicks, and a click is broadband.
    edge = min(count // 3, round(0.012 * PLAY_RATE))
    ramp = 0.5 - 0.5 * np.cos(np.pi * np.arange(edge) / edge)
    wave[:edge] *= ramp
    wave[count - edge :] *= ramp[::-1]
    return wave.astype(np.float32)
