"""Recordings with what was said in them: reading folders and their manifests.

A manifest is a JSON file, either

* `{"a.flac": {"slot": "words"}, ...}`: slots named after rules of the grammar, or
* `{"grammar": ..., "lexicon": ..., "recordings": [{"file": ..., "words": ..., "voice": ..., "split": ...}]}`
  with paths from the manifest's folder; empty words mark sound that is not for us.  In place of "words",
  "said" lists the utterances of a longer recording: `{"words": ..., "start_s": ..., "end_s": ...}`.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
import soxr

from tests.speech.noise import RATE, Samples

SOUNDS = (".wav", ".flac", ".ogg", ".raw")


@dataclass(frozen=True)
class Said:
    """One utterance of a recording of many."""

    words: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Recording:
    """One recording and what was said; neither words nor slots for sound that is not for us."""

    path: Path
    words: str | None = None
    slots: dict[str, str] | None = None
    voice: str = "people"
    split: str = ""
    said: tuple[Said, ...] | None = None
    """None for a recording of one utterance."""

    @property
    def for_us(self) -> bool:
        """Whether a sentence of the grammar was said."""
        return bool(self.words) or self.slots is not None


@dataclass(frozen=True)
class Corpus:
    """Recordings with the grammar they were said from."""

    recordings: list[Recording]
    grammar: Path | None = None
    lexicon: Path | None = None


def read_corpus(folder: Path, manifest: Path | None = None) -> Corpus:
    """Read `manifest`, or `manifest.json` or `labels.json` in the folder."""
    if manifest is None:
        manifest = next(path for name in ("manifest.json", "labels.json") if (path := folder / name).exists())
    data = json.loads(manifest.read_text(encoding="utf-8"))
    if "recordings" not in data:
        grammar = next(iter(folder.glob("*.jsgf")), None)
        return Corpus(
            [Recording(folder / name, slots=slots) for name, slots in sorted(data.items())],
            grammar,
            grammar.with_suffix(".dict") if grammar else None,
        )
    recordings = [
        Recording(
            folder / item["file"],
            item.get("words"),
            item.get("slots"),
            item.get("voice", "people"),
            item.get("split", ""),
            tuple(Said(**said) for said in item["said"]) if "said" in item else None,
        )
        for item in data["recordings"]
    ]
    paths = {key: folder / data[key] if data.get(key) else None for key in ("grammar", "lexicon")}
    return Corpus(recordings, paths["grammar"], paths["lexicon"])


def read_sound(path: Path) -> Samples:
    """A recording as 16 kHz mono 16-bit samples; `.raw` files are taken to be just that."""
    if path.suffix == ".raw":
        return np.fromfile(path, dtype="<i2")
    samples, rate = soundfile.read(path, dtype="float64", always_2d=True)
    mono = samples.mean(axis=1)
    if rate != RATE:
        mono = soxr.resample(mono, rate, RATE)
    return np.clip(np.round(mono * 32768), -32768, 32767).astype(np.int16)


def pieces(samples: Samples, seconds: float = 4.0) -> Iterator[Samples]:
    """Long sound cut as a segmenter would at most leave it."""
    step = int(seconds * RATE)
    for first in range(0, len(samples), step):
        if len(samples) - first > RATE // 2:
            yield samples[first : first + step]
