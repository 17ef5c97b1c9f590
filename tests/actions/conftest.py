"""A conversation with a desk beside it: the same record, changed by voice and by hand."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from tests.jobs.mini_jobs import ROOT, SteppedClock, network
from tests.session.conftest import Talk as Spoken
from voicelog.actions.change import Change, Context
from voicelog.estimate.card import load_card
from voicelog.estimate.estimate import Estimate
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.logbook import Logbook
from voicelog.journal import events as ev
from voicelog.meaning.note import Note
from voicelog.meaning.region import Region
from voicelog.session.dialogue import Dialogue

CARD = load_card(ROOT / "demo" / "rate-card.toml")
NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


class Talk(Spoken):
    """Says things, or does them at the desk."""

    def context(self, job: int | None = None) -> Context:
        """What an action by hand may look at; `job` is the number of the job looked at."""
        looked_at = next(
            (key for key, known in self.logbook.state.opened.items() if known.number == job), None
        )
        return replace(self.dialogue.context(), by="hand", looked_at=looked_at)

    def hand(self, action: Callable[[Context], Change], job: int | None = None) -> Change:
        """Do something at the desk; a refusal is given back and writes nothing."""
        change = action(self.context(job))
        if change.drafts:
            self.dialogue.do(change)
        return change

    def act(self, note: Note, change_of: Callable[[Note, Context], Change]) -> Change:
        """Take a note that the language cannot say yet."""
        change = change_of(note, self.dialogue.context())
        self.dialogue.do(change)
        return change

    @property
    def answer(self) -> str:
        """What was answered last."""
        return self.outcomes[-1].heard.answer

    @property
    def estimate(self) -> Estimate:
        """The price of the current job."""
        return price_job(self.job, CARD)

    def last_bodies(self) -> list[ev.Body]:
        """What the last group of events changed."""
        events = list(self.logbook.events())
        return [e.body for e in events if e.group == events[-1].group and not isinstance(e.body, ev.Heard)]


def new_talk() -> Talk:
    """A conversation over an empty journal."""
    logbook = Logbook.in_memory(SteppedClock())
    logbook.store.device = "van"
    return Talk(Dialogue(logbook, network(), Region("GB"), CARD, now=lambda: NOON), logbook)


@pytest.fixture
def talk() -> Iterator[Talk]:
    made = new_talk()
    yield made
    made.logbook.close()
