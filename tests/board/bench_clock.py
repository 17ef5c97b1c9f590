"""A logbook in memory whose clock moves twenty seconds with every group of events."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from voicelog.jobs.logbook import Logbook
from voicelog.journal.clock import Clock
from voicelog.journal.events import Event
from voicelog.journal.store import Draft, Store

START = datetime(2025, 3, 4, 9, 0, tzinfo=UTC)


class BenchClock(Clock):
    """Stands still until it is moved."""

    def __init__(self) -> None:
        self.moment = START

    def now(self) -> datetime:
        return self.moment


class BenchLog(Logbook):
    """The logbook itself, with `now` to read its clock."""

    def __init__(self) -> None:
        self.bench_clock = BenchClock()
        super().__init__(Store.open(None, clock=self.bench_clock))

    @property
    def now(self) -> datetime:
        return self.bench_clock.moment

    def commit(self, drafts: Sequence[Draft], group: str | None = None) -> list[Event]:
        self.bench_clock.moment += timedelta(seconds=20)
        return super().commit(drafts, group)
