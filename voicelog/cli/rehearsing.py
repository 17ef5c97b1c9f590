"""Recording phrases one by one, for `check --rehearse` and `teach`."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
import soundfile
import typer

from voicelog.errors import VoicelogError
from voicelog.listening import RATE, Microphone, Samples, Segmenter, SpeechEnded
from voicelog.settings import data_folder

PHRASES = (
    "front left door aluminium thirty five mil shallow push",
    "rear right quarter steel fifteen mil sharp glue pull",
    "roof twenty two dents eighty mil",
    "bonnet body line deep limited access",
    "paint one four two reference nine five",
    "trim off door card",
    "pull three twenty mil crease tab",
    "check lines from the rear",
    "scratch that",
    "what is missing",
)
"""Ten phrases with the words that are told apart least easily."""
WAIT_S = 12.0
"""So long a phrase is waited for."""


def rehearsal_folder() -> Path:
    """Where the recordings of the last rehearsal are kept, for `teach`."""
    return data_folder() / "rehearsal"


def recorder(device: str | int | None) -> Callable[[str], Samples | None]:
    """Asks for a phrase on the terminal and gives what was said, or None after a while."""

    def record(phrase: str) -> Samples | None:
        typer.echo(f'say: "{phrase}"')
        microphone = Microphone(device)
        segmenter = Segmenter()
        until = time.monotonic() + WAIT_S
        for chunk in microphone:
            for event in segmenter.feed(chunk):
                if isinstance(event, SpeechEnded):
                    microphone.stop()
                    return event.segment.samples
            if time.monotonic() > until and not segmenter.in_speech:
                microphone.stop()
                return None
        return None

    return record


def keep(recorded: Iterable[tuple[str, Samples]]) -> None:
    """Keep the recordings of a rehearsal in place of the last one's."""
    folder = rehearsal_folder()
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    for old in folder.glob("*.flac"):
        old.unlink()
    for number, (phrase, samples) in enumerate(recorded, 1):
        name = f"{number:02d} {re.sub('[^a-z ]', '', phrase)}.flac"
        soundfile.write(folder / name, samples, RATE, subtype="PCM_16")


def kept() -> list[tuple[str, Samples]]:
    """The recordings of the last rehearsal: (words said, samples)."""
    found: list[tuple[str, Samples]] = []
    for path in sorted(rehearsal_folder().glob("*.flac")):
        samples, _ = soundfile.read(path, dtype="int16")
        found.append((path.stem.partition(" ")[2], np.asarray(samples, np.int16)))
    return found


def need_rehearsal() -> list[tuple[str, Samples]]:
    """The recordings of the last rehearsal, which have to be there."""
    found = kept()
    if not found:
        raise VoicelogError("there is no rehearsal to measure against", todo="run: voicelog check --rehearse")
    return found
