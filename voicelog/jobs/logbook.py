"""The journal and its fold together: what the session, the commands, the board and the papers use."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta, tzinfo
from pathlib import Path

from voicelog.errors import VoicelogError
from voicelog.jobs.records import Job, Past, State
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal import events as ev
from voicelog.journal.clock import Clock
from voicelog.journal.connect import readable, transaction
from voicelog.journal.exchange import Taken, merge, take_in
from voicelog.journal.forget import Forgot, delete_clips, forget
from voicelog.journal.json_lines import read_lines
from voicelog.journal.personal import DETAILS
from voicelog.journal.seal import Seals
from voicelog.journal.store import Draft, Store
from voicelog.journal.work import Cancelled, Progress


class Logbook:
    """An open journal with the state its events add up to.

    One thread uses a logbook; a second thread of the process takes one of its own from
    `beside`, another process one with `writer=False`.
    """

    def __init__(self, store: Store, *, writer: bool = True, main: Logbook | None = None) -> None:
        self.store = store
        self._writer = writer and main is None
        self._main = main
        self._others: list[Logbook] = []
        self._inbox: deque[ev.Event | None] = deque()
        """Events that the main logbook committed since the last refresh; None for "read all again"."""
        self._seen = 0
        self._last = ""
        self._views = JobViews(self._source)
        self._seals = Seals(store.connection)
        self.reload()

    @classmethod
    def open(
        cls,
        path: Path | str,
        *,
        writer: bool = True,
        clock: Clock | None = None,
        rescue_folder: Path | None = None,
    ) -> Logbook:
        """Open a journal file; `writer=False` reads beside whoever writes.

        What an earlier session could not write, and kept elsewhere, is taken in.

        Raises:
            VoicelogError: as `Store.open`.
        """
        store = Store.open(path, writer=writer, clock=clock, rescue_folder=rescue_folder)
        try:
            with readable(str(path)):
                logbook = cls(store, writer=writer)
                if writer:
                    delete_clips(store)
            for left in store.rescue.left():
                logbook._take_back(left)
            return logbook
        except BaseException:
            store.close()
            raise

    @classmethod
    def in_memory(cls, clock: Clock | None = None) -> Logbook:
        """A journal that is gone when it is closed: for tests and previews."""
        return cls(Store.open(None, clock=clock))

    def beside(self) -> Logbook:
        """A logbook for another thread of this process, with a state of its own.

        It commits through this one; `refresh` brings in what this one committed meanwhile.
        """
        with self.lock:
            other = Logbook(self.store, main=self)
            self._others.append(other)
            return other

    @property
    def state(self) -> State:
        """Equal to `fold(self.events())` as of the last commit or refresh."""
        return self._views.ledger.state

    @property
    def lock(self) -> threading.RLock:
        """Held during every commit.  Hold it to decide upon the state and commit in one go."""
        return self.store.guarding

    @property
    def clock(self) -> Clock:
        """What events are stamped by."""
        return self.store.clock

    def heard_before(self, recording: str) -> bool:
        """Whether something was taken down from the recording of this SHA-256."""
        where = "e.type = ? AND json_extract(e.derived, '$.recording') = ?"
        return any(self.store.rows(where, (ev.Heard.TYPE, recording), "e.id LIMIT 1"))

    @property
    def pending(self) -> int:
        """Number of commits that wait in memory because the disk refuses them."""
        return self.store.pending

    @property
    def trouble(self) -> str | None:
        """Why commits wait, in one line; None while everything is on disk."""
        return self.store.trouble

    @property
    def warnings(self) -> list[str]:
        """What was found and put right on opening, one line each."""
        return self.store.warnings

    def retry(self) -> bool:
        """Try again to write what waits; whether all is on disk now."""
        return self.store.retry()

    def new_group(self) -> str:
        """An id for the events of one utterance or one action by hand."""
        return self.store.new_group()

    def commit(self, drafts: Sequence[Draft], group: str | None = None) -> list[ev.Event]:
        """Append the drafts as one group: events and views in one transaction.

        Never loses them: see `pending` and `trouble`.
        """
        with self.lock:
            if self._main is not None:
                events = self._main.commit(drafts, group)
                self.refresh()
                return events
            events = self.store.commit([self._completed(draft) for draft in drafts], group)
            for other in self._others:
                other._inbox.extend(events)
            return events

    def _completed(self, draft: Draft) -> Draft:
        """An answer with the slot of its question: whether it is personal hangs on that."""
        body = draft.body
        if not isinstance(body, ev.Answered) or body.slot or draft.job is None:
            return draft
        job = self.state.jobs.get(draft.job)
        question = None if job is None else job.questions.get(body.question)
        return draft if question is None else replace(draft, body=replace(body, slot=question.slot))

    def events(self, *, job: str | None = None, kind: str | None = None) -> Iterator[ev.Event]:
        """Events in the order in which they count, optionally of one job or of one type."""
        return self.store.events(until=self._until, job=job, kind=kind)

    def is_undone(self, group: str) -> bool:
        """Whether what was said or done in a group counts no longer."""
        return group in self._views.ledger.outline.undone

    def counting(self, job: str) -> list[ev.Event]:
        """The events of a job that make its record: neither undone nor struck."""
        return self._views.ledger.counting(job)

    def whole_of(self, job: str) -> str:
        """The id of the job that a job is part of; its own where it stands alone."""
        while (whole := self._views.ledger.outline.whole_of(job)) is not None:
            job = whole
        return job

    def heards(self, job: str | None = None) -> list[ev.Event]:
        """Every `Heard` event, in order."""
        return list(self.events(job=job, kind=ev.Heard.TYPE))

    def jobs_by_day(self, first: date, last: date, zone: tzinfo | None) -> dict[date, set[str]]:
        """Ids of the jobs that something was said about, by day of the zone; None: days as recorded."""
        days: dict[date, set[str]] = {}
        around = ((first - timedelta(1)).isoformat(), (last + timedelta(1)).isoformat())
        for job, at, group in self.store.times(*around):
            day = _day(at, zone)
            if first <= day <= last and not self.is_undone(group):
                days.setdefault(day, set()).add(job)
        return dict(sorted(days.items()))

    def heards_on(self, day: date, zone: tzinfo | None) -> list[ev.Event]:
        """Every `Heard` event of a day of the zone, in order; None: of the day as recorded."""
        around = [(day + timedelta(apart)).isoformat() for apart in (-1, 1)]
        rows = self.store.rows("e.type = ? AND date(e.at) BETWEEN ? AND ?", (ev.Heard.TYPE, *around))
        return [self.store.checked(row).event for row in rows if _day(row.at, zone) == day]

    def seal(self, jobs: Sequence[str] = ()) -> str:
        """The code over all that was written until something was last said of these jobs, or until now:
        papers that carry it stay the same as long as their jobs do."""
        of = f"WHERE job IN ({', '.join('?' * len(jobs))})" if jobs else ""
        found = self.store.connection.execute(f"SELECT max(seq) FROM events {of}", tuple(jobs)).fetchone()
        return self._seals.until(found[0] or 0)

    def origin(self, past: Past) -> ev.Event | None:
        """The `Heard` event behind a value: its words, its alternatives, its clip; None by hand."""
        event = next(self.store.with_ids([past.event]), None)
        return None if event is None else self.store.heard_with(event)

    def forget(self, jobs: Sequence[str]) -> Forgot:
        """Delete the customer's details, words and sound of jobs; figures stay.

        Raises:
            VoicelogError: as `journal.forget.forget`.
        """
        with self.lock:
            done = forget(self.store, jobs)
            self.reload()
            return done

    def jobs_of(self, text: str) -> list[Job]:
        """Jobs with a personal detail that is this text, or holds all its words; case does not matter.

        Parts of words do not count: what is found may be forgotten.
        """
        return [
            job
            for job in self.state.jobs.values()
            if any(_is_meant(text, str(job.get(name) or "")) for name in DETAILS - {"notes"})
        ]

    def take_in(
        self,
        lines: Iterable[str],
        where: str = "",
        *,
        progress: Progress = lambda done, total: None,
        cancelled: Cancelled = lambda: False,
    ) -> Taken:
        """Import an exported journal: adds the events that are not here, all or none.

        Raises:
            VoicelogError, StoppedError: as `journal.exchange.read_lines` and `take_in`.
        """
        return self._joined(
            lambda: take_in(
                self.store, read_lines(lines, where), where, progress=progress, cancelled=cancelled
            )
        )

    def merge(
        self,
        other: Path | str,
        *,
        progress: Progress = lambda done, total: None,
        cancelled: Cancelled = lambda: False,
    ) -> Taken:
        """Take in the events and clips of another journal file; that file is left as it is.

        Raises:
            VoicelogError, StoppedError: as `journal.exchange.merge`.
        """
        return self._joined(lambda: merge(self.store, other, progress=progress, cancelled=cancelled))

    def _take_back(self, left: Path) -> None:
        try:
            with left.open(encoding="utf-8") as lines:
                new = self.take_in(lines, str(left)).new
            left.unlink()
        except (VoicelogError, OSError) as error:
            line = error.line() if isinstance(error, VoicelogError) else str(error)
            self.warnings.append(f"what could not be written the last time is in {left} ({line})")
            return
        if new:
            self.warnings.append(f"{new} events that could not be written the last time were taken in")

    def _joined(self, join: Callable[[], Taken]) -> Taken:
        with self.lock:
            try:
                return join()
            finally:
                self.reload()

    @property
    def _until(self) -> str | None:
        """A logbook that does not write knows events only as far as it has taken them in."""
        return None if self._writer else self._last

    def _source(self, job: str) -> list[ev.Event]:
        # Utterances are half of all events and change no record.
        with self.lock:
            return list(self.store.events(until=self._until, job=job, unless=ev.Heard.TYPE))

    def reload(self) -> None:
        """Read the whole state again: after an import, or when details were forgotten."""
        with self.lock:
            if self._writer:
                self._load_to_write()
            elif self._main is not None:
                self._take_all()
            else:
                self.store.connection.execute("BEGIN")
                try:
                    self._take_all()
                finally:
                    self.store.connection.execute("ROLLBACK")
            for other in self._others:
                other._inbox.append(None)

    def _load_to_write(self) -> None:
        self.store.views = self._views
        if not self._views.resume(self.store.connection):
            self.rebuild()

    def rebuild(self) -> None:
        """Make the views anew from all events; the journal is open for writing."""
        with self.lock, transaction(self.store.connection):
            self._views.rebuild(self.store.connection, self.store.events(bare=True))
        self._views.written()

    def _take_all(self) -> None:
        self._inbox.clear()
        self._seen = self.store.position
        if self.store.pending or not self._views.resume(self.store.connection):
            self._last = ""
            self._views.fold(self.store.events(bare=True))
        self._last = self._views.last

    def refresh(self) -> int:
        """Take in what others have written since; the number of new events."""
        if self._writer:
            return 0
        with self.lock:
            events = self._drained() if self._main is not None else self._read()
            if any(event is None or event.id <= self._last or _rereads(event) for event in events):
                self.reload()
                return len(events)
            fresh = [event for event in events if event is not None]
            self._views.add(fresh)
            self._views.ledger.touched.clear()
            self._last = self._views.last
            return len(fresh)

    def _drained(self) -> list[ev.Event | None]:
        events = list(self._inbox)
        self._inbox.clear()
        return events

    def _read(self) -> list[ev.Event | None]:
        position = self.store.position
        if position == self._seen:
            return []
        found: list[ev.Event | None] = list(self.store.events(after=self._seen))
        self._seen = position
        return found

    def close(self) -> None:
        """Write what waits and let go of the file.

        Raises:
            VoicelogError: as `Store.close`.
        """
        if self._main is None:
            self.store.close()
        elif self in self._main._others:
            self._main._others.remove(self)

    def __enter__(self) -> Logbook:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def _day(at: str, zone: tzinfo | None) -> date:
    moment = datetime.fromisoformat(at)
    return (moment if zone is None else moment.astimezone(zone)).date()


def _is_meant(text: str, detail: str) -> bool:
    wanted, words = text.casefold().split(), detail.casefold().split()
    return bool(wanted) and ("".join(wanted) == "".join(words) or set(wanted) <= set(words))


def _rereads(event: ev.Event) -> bool:
    """Whether an event changes how earlier ones read."""
    return isinstance(event.body, ev.Forgotten)
