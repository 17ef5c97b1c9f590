"""The table of the workshop sentences: understood exactly, asked, wrong.

Run it with `python -m tests.language.workshop_table`; add `--all` to list every sentence.
"""

from __future__ import annotations

import sys
import time
import tomllib
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any, Literal

from voicelog.grammar import Network, load_grammar
from voicelog.meaning.doubt import in_doubt
from voicelog.meaning.note import Note
from voicelog.meaning.region import Region
from voicelog.meaning.understand_hypothesis import TYPED, understand_hypothesis
from voicelog.recognition.hypothesis import Hypothesis

SENTENCES = Path(__file__).with_name("workshop.toml")
GRAMMAR = Path(__file__).parents[2] / "grammars" / "voicelog.jsgf"

Outcome = Literal["exact", "asked", "wrong"]


@dataclass(frozen=True)
class Row:
    """One sentence, what it should mean, what was made of it, and how long that took."""

    sentence: dict[str, Any]
    note: Note
    outcome: Outcome
    seconds: float


def sentences() -> list[dict[str, Any]]:
    """The sentences as written, numbers as `int` or `Decimal`."""
    text = SENTENCES.read_text(encoding="utf-8")
    found: list[dict[str, Any]] = tomllib.loads(text, parse_float=Decimal)["sentence"]
    return found


def is_asked(note: Note) -> bool:
    """Whether the note cannot be taken without a question."""
    return note.kind == "none" or bool(note.troubles) or any(map(in_doubt, note.slots.values()))


def judge(sentence: dict[str, Any], note: Note) -> Outcome:
    """Compare a note with what should have been put down."""
    if is_asked(note):
        return "asked"
    got = {
        name: list(slot.value) if isinstance(slot.value, tuple) else slot.value
        for name, slot in note.slots.items()
    }
    right = note.kind == sentence["kind"] and got == sentence["slots"] and not sentence.get("ask")
    return "exact" if right else "wrong"


def rows(network: Network) -> list[Row]:
    """Every sentence, typed, through the whole of the meaning room."""
    found = []
    for sentence in sentences():
        region = Region(sentence.get("country", "GB"))
        start = time.perf_counter()
        note = understand_hypothesis(Hypothesis(sentence["say"], engine=TYPED), region, network)
        found.append(Row(sentence, note, judge(sentence, note), time.perf_counter() - start))
    return found


def main() -> None:
    """Print the table."""
    table = rows(load_grammar(GRAMMAR).network())
    for row in table:
        if row.outcome != "exact" or "--all" in sys.argv:
            why = "; ".join(trouble.reason for trouble in row.note.troubles) or "; ".join(
                f"{name}: {slot.doubt}" for name, slot in row.note.slots.items() if in_doubt(slot)
            )
            print(f"{row.outcome:6} {row.sentence['say']!r} -> {row.note.kind} {row.note.values()} {why}")
    counts = Counter(row.outcome for row in table)
    for outcome in ("exact", "asked", "wrong"):
        print(f"{outcome:6} {counts[outcome]:4} {counts[outcome] / len(table):6.1%}")
    times = sorted(row.seconds * 1000 for row in table)
    print(f"time per sentence: median {times[len(times) // 2]:.1f} ms, slowest {times[-1]:.1f} ms")


if __name__ == "__main__":
    main()
