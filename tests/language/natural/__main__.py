"""Figures of a file of natural talk: `python -m tests.language.natural FILE [--show …]`."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from .play import play
from .score import CATEGORIES, Score, score
from .sessions import read_file

SHOWN = {
    "none": (),
    "wrong": ("wrong", "lost"),
    "rejected": ("rejected",),
    "asked": ("asked", "bothered"),
    "kept": ("kept",),
    "all": tuple(CATEGORIES),
}
TIERS = ("core", "natural", "stretch")


def main() -> None:
    """Play the file and print the counts, and the utterances asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.language.natural", description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--show", choices=SHOWN, default="none", help="list these utterances")
    given = parser.parse_args()
    scores = [score(played) for played in play(read_file(given.file))]
    for item in scores:
        if item.category in SHOWN[given.show]:
            show(item)
    print(table(scores))
    times = sorted(item.played.seconds * 1000 for item in scores)
    print(f"time per utterance: median {times[len(times) // 2]:.1f} ms, slowest {times[-1]:.1f} ms")


def show(item: Score) -> None:
    """Print one utterance, what became of it, and what was expected."""
    saying, outcome = item.played.saying, item.played.outcome
    print(f"{CATEGORIES[item.category]:28} {saying.session:3} {saying.country} {saying.say!r}")
    if item.category != "right":
        print(f"{'':28}     {item.why}")
        print(f"{'':28}     expected {saying.kind} {saying.slots} keep {list(saying.keep)}")
        print(f"{'':28}     got      {outcome['kind']} {outcome['slots']} {outcome.get('kept', '')}")


def table(scores: Sequence[Score]) -> str:
    """Counts by category, by tier and overall."""
    counts = Counter((item.category, item.played.saying.tier) for item in scores)
    sizes = {tier: sum(counts[category, tier] for category in CATEGORIES) for tier in TIERS}
    rows = [f"{'':28}" + "".join(f"{tier:>9}" for tier in TIERS) + f"{'all':>9}"]
    for category, title in CATEGORIES.items():
        found = [counts[category, tier] for tier in TIERS]
        share = sum(found) / max(len(scores), 1)
        rows.append(f"{title:28}" + "".join(f"{n:9}" for n in found) + f"{sum(found):9} {share:6.1%}")
    rows.append(f"{'utterances':28}" + "".join(f"{sizes[t]:9}" for t in TIERS) + f"{len(scores):9}")
    return "\n".join(rows)


if __name__ == "__main__":
    main()
