"""A conversation without sound: typed or pretended-to-be-heard words over a journal in memory."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from voicelog.estimate.card import load_card
from voicelog.grammar import Network, load_grammar
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.records import Job
from voicelog.meaning.region import Region
from voicelog.recognition.hypothesis import Alternative, Hypothesis
from voicelog.session.dialogue import Dialogue, Outcome

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


@dataclass
class Talk:
    """Says things and looks at what became of them."""

    dialogue: Dialogue
    logbook: Logbook
    outcomes: list[Outcome] = field(default_factory=list)

    def say(self, *lines: str) -> Outcome:
        """Type lines; the outcome of the last."""
        for line in lines:
            self.outcomes.append(self.dialogue.take(Hypothesis(line, engine="typed")))
        return self.outcomes[-1]

    def hear(
        self, words: str, confidence: float = 1.0, *others: tuple[str, float], for_us: float = 1.0
    ) -> Outcome:
        """An answer of the embedded engine with its alternatives."""
        alternatives = tuple(Alternative(*other) for other in others)
        heard = Hypothesis(words, confidence, alternatives, for_us, engine="pocketsphinx test")
        self.outcomes.append(self.dialogue.take(heard))
        return self.outcomes[-1]

    @property
    def job(self) -> Job:
        job = self.logbook.state.job
        assert job is not None
        return job

    def dents(self) -> list[dict[str, Any]]:
        """The values of every dent that counts."""
        return [dent.values() for dent in self.job.listed()]


@pytest.fixture(scope="session")
def network() -> Network:
    return load_grammar(ROOT / "grammars" / "voicelog.jsgf").network()


@pytest.fixture
def talk(network: Network) -> Iterator[Talk]:
    logbook = Logbook.in_memory()
    card = load_card(ROOT / "demo" / "rate-card.toml")
    yield Talk(Dialogue(logbook, network, Region("GB"), card, now=lambda: NOW), logbook)
    logbook.close()
