"""Which words are heard as which: `python -m tests.speech.confusions ROWS.json...`.

The rows come from `python -m tests.speech.benchmark ... --rows ROWS.json` on recordings with
known words.  Prints each pair said > heard with its count, first from wrong answers, then from
runners-up of right answers whose confidence is low: what was nearly heard.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import jiwer

NOTHING = "-"
"""Stands for no word: "the > -" was said and not heard."""
LOW = 0.9
"""Right answers below this confidence nearly were their runner-up."""


def confusions(pairs: Iterable[tuple[str, str]]) -> Counter[tuple[str, str]]:
    """Counts of (said, heard) word groups that differ, over pairs of sentences."""
    counts: Counter[tuple[str, str]] = Counter()
    for said, heard in pairs:
        found = jiwer.process_words(said, heard or NOTHING)
        for chunk in found.alignments[0]:
            if chunk.type != "equal":
                before = " ".join(said.split()[chunk.ref_start_idx : chunk.ref_end_idx])
                after = " ".join(heard.split()[chunk.hyp_start_idx : chunk.hyp_end_idx])
                counts[before or NOTHING, after or NOTHING] += 1
    return counts


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rows", type=Path, nargs="+")
    given = parser.parse_args()
    rows = [row for path in given.rows for row in json.loads(path.read_text(encoding="utf-8"))]
    spoken = [row for row in rows if row["for_us"] and row["said"] and not row["said"].startswith("{")]
    wrong = [(row["said"], row["heard"]) for row in spoken if not row["right"] and row["heard"]]
    near = [
        (row["said"], other)
        for row in spoken
        if row["right"] and row["confidence"] < LOW
        for other in row["alternatives"][:1]
    ]
    for title, pairs in (("wrong answers", wrong), ("runners-up of unsure right answers", near)):
        print(f"{title}: {len(pairs)} of {len(spoken)}")
        for (said, heard), count in confusions(pairs).most_common():
            print(f"{count:5}  {said} > {heard}")


if __name__ == "__main__":
    main()
