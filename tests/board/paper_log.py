"""A logbook on paper: events in a list, a fixed clock, no file."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from voicelog.jobs.fold import Ledger
from voicelog.jobs.records import State
from voicelog.journal import events as ev
from voicelog.session.by_hand import Draft

START = datetime(2025, 3, 4, 9, 0, tzinfo=UTC)


class PaperLog:
    """Every group of events comes twenty seconds after the one before."""

    def __init__(self) -> None:
        self.ledger = Ledger()
        self.events: list[ev.Event] = []
        self.groups = 0
        self.refreshed = 0

    @property
    def state(self) -> State:
        return self.ledger.state

    @property
    def now(self) -> datetime:
        return START + timedelta(seconds=20 * self.groups)

    def commit(self, drafts: Sequence[Draft]) -> list[ev.Event]:
        self.groups += 1
        group = f"g{self.groups:05d}"
        heard = next((d.body for d in drafts if isinstance(d.body, ev.Heard)), None)
        written = []
        for draft in drafts:
            job = group if isinstance(draft.body, ev.JobOpened) else draft.job
            event = ev.Event(
                id=f"e{len(self.events) + 1:05d}", group=group, at=self.now.isoformat(),
                order=len(self.events) + 1, device="bench", version="0", job=job, body=draft.body,
                derived={"utterance": heard.utterance} if heard else {},
            )  # fmt: skip
            self.events.append(event)
            self.ledger.add(event)
            written.append(event)
        return written

    def undo(self) -> None:
        self.commit([Draft(ev.Undone(self.state.undoable[-1]), self.state.current)])

    def redo(self) -> None:
        self.commit([Draft(ev.Redone(self.state.redoable[-1]), self.state.current)])

    def heards(self) -> list[ev.Event]:
        return [event for event in self.events if isinstance(event.body, ev.Heard)]

    def refresh(self) -> None:
        self.refreshed += 1
