"""Twenty small jobs, spoken from end to end: which cautions, questions and gaps each produces.

`python -m tests.jobs.mini_jobs` prints the table; `test_mini_jobs.py` holds it against what
`mini_jobs.toml` expects.  All jobs are invented.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from voicelog.estimate.card import load_card
from voicelog.estimate.pricing.price import price_job
from voicelog.grammar import Network, load_grammar
from voicelog.jobs.checklist import gaps
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.paint import assessments
from voicelog.jobs.records import Job
from voicelog.journal.clock import Clock
from voicelog.meaning.region import Region
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.session.dialogue import Dialogue, Outcome

ROOT = Path(__file__).parents[2]
DATA = Path(__file__).with_suffix(".toml")


class SteppedClock(Clock):
    """A clock that goes on ten seconds with each sentence, and as far as a job says."""

    def __init__(self) -> None:
        self.time = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)

    def now(self) -> datetime:
        """The time it stands at."""
        return self.time

    def wait(self, **span: float) -> None:
        """Let time pass."""
        self.time += timedelta(**span)


@dataclass(frozen=True)
class Result:
    """What a job produced."""

    outcomes: tuple[Outcome, ...]
    job: Job
    settled: bool
    """Whether its price hangs on nothing in doubt."""
    paint: tuple[str, ...]
    """What the readings at each dent suggest: "1 refinish"."""

    @property
    def cautions(self) -> list[str]:
        """Ids in the order in which they were given."""
        return [caution.id for outcome in self.outcomes for caution in outcome.cautions]

    @property
    def questions(self) -> list[str]:
        """Questions in the order in which they were asked aloud."""
        return [str(o.heard.question) for o in self.outcomes if o.heard.decision == "asked"]

    @property
    def missing(self) -> list[str]:
        """Ids of the checklist at the end."""
        return [gap.id for gap in gaps(self.job)]

    def to_json(self) -> dict[str, Any]:
        """As the data file writes it."""
        return {
            "cautions": self.cautions,
            "questions": self.questions,
            "missing": self.missing,
            "paint": list(self.paint),
            "settled": self.settled,
        }


@cache
def network() -> Network:
    """The product's own grammar."""
    return load_grammar(ROOT / "grammars" / "voicelog.jsgf").network()


def jobs() -> list[dict[str, Any]]:
    """The jobs of the data file with what is expected of them."""
    return list(tomllib.loads(DATA.read_text(encoding="utf-8"))["job"])


def run(lines: list[str]) -> Result:
    """Say the lines of one job; "+30 min" lets so many minutes pass."""
    clock = SteppedClock()
    logbook = Logbook.in_memory(clock)
    card = load_card(ROOT / "demo" / "rate-card.toml")
    dialogue = Dialogue(logbook, network(), Region("GB"), card, now=clock.now)
    outcomes = []
    try:
        for line in lines:
            if line.startswith("+"):
                clock.wait(minutes=float(line.strip("+ min")))
            else:
                outcomes.append(dialogue.take(Hypothesis(line, engine="typed")))
                clock.wait(seconds=10)
        job = logbook.state.job
        assert job is not None
        paint = tuple(f"{dent.number} {found.result}" for dent, found in assessments(job, card.paint))
        return Result(tuple(outcomes), job, price_job(job, card).confirmed, paint)
    finally:
        logbook.close()


def table() -> Iterator[str]:
    """The jobs as a Markdown table."""
    yield "| job | said | cautions | questions | missing at the end | paint | price settled |"
    yield "|---|---|---|---|---|---|---|"
    for number, item in enumerate(jobs(), 1):
        found = run(item["say"])
        cells = [
            f"{number} {item['name']}",
            " · ".join(item["say"]),
            ", ".join(found.cautions),
            " · ".join(found.questions),
            ", ".join(found.missing),
            ", ".join(found.paint),
            "yes" if found.settled else "no",
        ]
        yield f"| {' | '.join(cell or '–' for cell in cells)} |"


if __name__ == "__main__":
    print("\n".join(table()))
