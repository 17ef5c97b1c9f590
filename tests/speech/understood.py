"""What becomes of notes once their doubts are marked: `python -m tests.speech.understood ROWS.json...`.

The rows come from `python -m tests.speech.benchmark tests/speech/trade --rows ROWS.json`.  Counts the notes
that enter the record without a question, those asked about and those rejected, and how many of each mean
what was said: the measure that counts at the car, where the benchmark shows the engine alone.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from pathlib import Path
from typing import Any

from tests.speech.benchmark import share
from voicelog.actions.whole_note_questions import needs_asking, verdict
from voicelog.grammar import Network, load_grammar
from voicelog.meaning.doubt import in_doubt
from voicelog.meaning.region import Region
from voicelog.meaning.understand import understand
from voicelog.meaning.understand_hypothesis import understand_hypothesis
from voicelog.recognition.hypothesis import Alternative, Hypothesis

GRAMMAR = Path(__file__).parents[2] / "grammars" / "voicelog.jsgf"


def became(row: dict[str, Any], network: Network, region: Region, engine: str) -> tuple[str, bool]:
    """ "accepted", "asked" or "rejected", and whether it means what was said."""
    others = tuple(Alternative(*item) for item in zip(row["alternatives"], row["chances"], strict=True))
    heard = Hypothesis(row["heard"], row["confidence"], alternatives=others, engine=engine)
    note = understand_hypothesis(heard, region, network)
    said = understand(row["said"], region, network)
    right = note.kind == said.kind and note.values() == said.values()
    judged = verdict(heard, note)
    if judged == "not for us" or note.kind == "none":
        return "rejected", right
    doubtful = judged == "unsure" or needs_asking(note) or any(map(in_doubt, note.slots.values()))
    return "asked" if doubtful else "accepted", right


def main() -> None:
    """Print the counts of each file and split."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rows", type=Path, nargs="+")
    parser.add_argument("--engine", default="pocketsphinx")
    given = parser.parse_args()
    network, region = load_grammar(GRAMMAR).network(), Region("GB")
    for path in given.rows:
        rows = [row for row in json.loads(path.read_text(encoding="utf-8")) if row["for_us"]]
        for split in sorted({row["split"] for row in rows}):
            part = [row for row in rows if row["split"] == split]
            counts = Counter(became(row, network, region, given.engine) for row in part)
            print(path.name, split)
            for decision in ("accepted", "asked", "rejected"):
                right, wrong = counts[decision, True], counts[decision, False]
                both = right + wrong
                print(f"  {decision:9} {share(both, len(part))}, of these wrong {share(wrong, both)}")


if __name__ == "__main__":
    main()
