"""Makes the recordings in `tests/speech/trade` from `sentences.txt`: `python -m tests.speech.make_corpus`.

Each sentence goes to two voices in turn; the part held out has voices of its own.  Nothing in
the recogniser may be tuned on that part.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import soundfile

from tests.speech.noise import RATE
from tests.speech.voices import say

HERE = Path(__file__).parent
VOICES = {
    "tuning": [
        "natural:af_bella", "natural:af_heart", "natural:am_michael", "flite:rms", "natural:am_puck",
        "natural:bf_emma", "natural:bm_george", "festival:ked_diphone",
    ],
    "held": [
        "natural:bf_isabella", "natural:bm_lewis", "natural:af_sarah", "flite:slt", "natural:am_liam",
        "natural:bm_daniel", "natural:bf_lily", "espeak:en-gb",
    ],
}  # fmt: skip
"""Voices of each part of the corpus."""


def sentences(path: Path) -> dict[str, list[str]]:
    """The sentences of each part."""
    parts: dict[str, list[str]] = {"tuning": [], "held": []}
    part = "tuning"
    for line in path.read_text(encoding="utf-8").splitlines():
        if line == "[held]":
            part = "held"
        elif line and not line.startswith("#"):
            parts[part].append(line)
    return parts


def main() -> None:
    """Make every recording and the manifest."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, default=HERE / "trade")
    parser.add_argument("--each", type=int, default=2, help="voices for each sentence")
    given = parser.parse_args()
    given.folder.mkdir(exist_ok=True)
    items = []
    for split, lines in sentences(HERE / "sentences.txt").items():
        speakers = VOICES[split]
        for place, line in enumerate(lines):
            for turn in range(given.each):
                speaker = speakers[(place + 3 * turn) % len(speakers)]
                name = f"{split}_{place:02}_{speaker.partition(':')[2]}.flac"
                soundfile.write(given.folder / name, say(speaker, line), RATE, subtype="PCM_16")
                items.append({"file": name, "words": line, "voice": speaker, "split": split})
    manifest = {
        "grammar": "../../../grammars/voicelog.jsgf",
        "lexicon": "../../../grammars/trade.dict",
        "recordings": items,
    }
    text = json.dumps(manifest, indent=1)
    (given.folder / "manifest.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
