"""Makes the recordings in `tests/speech/trade` from `sentences.txt`: `python -m tests.speech.make_corpus`.

Each sentence goes to two or three voices in turn; the part held out has sentences and voices of
its own, and nothing in the recogniser may be tuned on it.  Recordings that are there are kept.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import soundfile

from tests.speech.noise import RATE
from tests.speech.sets import lines
from tests.speech.voices import say

HERE = Path(__file__).parent
NATURAL = {
    "tuning": ["af_bella", "af_heart", "am_michael", "am_puck", "bf_emma", "bm_george"],
    "held": ["bf_isabella", "bm_lewis", "af_sarah", "am_liam", "bm_daniel", "bf_lily"],
}
"""Natural voices of each part; every sentence is spoken by two of them."""
PLAIN = {
    "tuning": ["flite:rms", "festival:ked_diphone", "flite:awb"],
    "held": ["flite:slt", "festival:cmu_us_slt_arctic_hts", "espeak:en-gb"],
}
"""Plainer voices; one of them speaks every third sentence."""


def speakers(split: str, place: int) -> list[str]:
    """Who speaks a sentence of a part."""
    names = NATURAL[split]
    chosen = [f"natural:{names[(place + 2 * turn) % len(names)]}" for turn in range(2)]
    if place % 3 == 0:
        chosen.append(PLAIN[split][place // 3 % len(PLAIN[split])])
    return chosen


def main() -> None:
    """Make every recording and the manifest."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, default=HERE / "trade")
    given = parser.parse_args()
    given.folder.mkdir(exist_ok=True)
    items = []
    for split, texts in lines("sentences.txt").items():
        for place, line in enumerate(texts):
            for speaker in speakers(split, place):
                name = f"{split}_{place:02}_{speaker.partition(':')[2]}.flac"
                if not (given.folder / name).exists():
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
