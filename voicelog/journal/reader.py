"""Reading a journal: what is on disk, and what waits for it."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from voicelog.errors import VoicelogError
from voicelog.journal import connect
from voicelog.journal.events import Event, Heard
from voicelog.journal.rows import COLUMNS, Row

_SELECT = (
    "SELECT " + ", ".join(f"e.{name}" for name in COLUMNS) + ", p.salt, p.data "
    "FROM events e LEFT JOIN personal p ON p.event = e.id "
)


class Reader:
    """The events of an open journal, in the order of their ids: the order in which they count.

    Safe to use from several threads.
    """

    def __init__(self, connection: sqlite3.Connection, path: Path | None) -> None:
        self.connection = connection
        self.path = path
        """None for a journal in memory."""
        self.guarding = threading.RLock()
        """Held while something is written."""
        self.checks = False
        """Whether events that do not fit their hash are refused: prices hang on them."""
        self._pending: list[Row] = []

    def rows(self, where: str = "", arguments: Sequence[Any] = (), order: str = "e.id") -> Iterator[Row]:
        """Rows on disk; `where` is a condition over `e`, the table of events."""
        condition = f"WHERE {where} " if where else ""
        where_is = str(self.path)
        with self.guarding, connect.readable(where_is):
            cursor = self.connection.execute(f"{_SELECT}{condition}ORDER BY {order}", tuple(arguments))
        while True:
            with self.guarding, connect.readable(where_is):
                batch = cursor.fetchmany(500)
            if not batch:
                return
            for values in batch:
                yield Row(*values)

    def events(
        self,
        after: int = 0,
        *,
        until: str | None = None,
        job: str | None = None,
        kind: str | None = None,
        unless: str | None = None,
        bare: bool = False,
    ) -> Iterator[Event]:
        """Events in the order in which they count, those that wait for the disk last.

        Args:
            after: only those written to this file after its `position` was this.
            until: only those up to the one with this id.
            job: only those of this job.
            kind: only those of this type.
            unless: none of this type.
            bare: utterances without what was said, which no record hangs on.
        """
        wanted = [
            ("e.seq > ?", after or None),
            ("e.id <= ?", until),
            ("e.job = ?", job),
            ("e.type = ?", kind),
            ("e.type <> ?", unless),
        ]
        given = [(text, value) for text, value in wanted if value is not None]
        waiting = list(self._pending)
        known = {row.id for row in waiting}
        for row in self.rows(" AND ".join(text for text, _ in given), [value for _, value in given]):
            if row.id not in known:
                self.checked(row)
                yield (replace(row, data=None) if bare and row.type == Heard.TYPE else row).event
        for row in waiting:
            late = until is not None and row.id > until
            wanted_kind = kind in (None, row.type) and row.type != unless
            if not late and job in (None, row.job) and wanted_kind:
                yield row.event

    def checked(self, row: Row) -> Row:
        """The row; raises `VoicelogError` where it is not what was written and this reader checks."""
        wrong = row.problem() if self.checks else None
        if wrong is not None:
            raise VoicelogError(
                f"{wrong}: nothing is made of it", where=str(self.path), todo="run: voicelog verify"
            )
        return row

    def times(self, first: str, last: str) -> list[tuple[str, str, str]]:
        """(job, ISO time, group) of the events of jobs on days of UTC between two ISO dates."""
        query = "SELECT job, at, grp FROM events WHERE job IS NOT NULL AND date(at) BETWEEN ? AND ?"
        with self.guarding, connect.readable(str(self.path)):
            return self.connection.execute(query, (first, last)).fetchall()

    def with_ids(self, ids: Sequence[str]) -> Iterator[Event]:
        """The events with these ids, as far as they are here."""
        for event in ids:
            waiting = next((row for row in self._pending if row.id == event), None)
            found = waiting or next(self.rows("e.id = ?", [event]), None)
            if found is not None:
                yield found.event

    def of_group(self, group: str) -> list[Event]:
        """The events of one group."""
        # A group gets its id before its events get theirs: no need to look at older ones.
        found = list(self.rows("e.id > ? AND e.grp = ?", [group, group])) or list(
            self.rows("e.grp = ?", [group])
        )
        known = {row.id for row in found}
        waiting = [row for row in self._pending if row.grp == group and row.id not in known]
        return [row.event for row in (*found, *waiting)]

    def heard_with(self, event: Event) -> Event | None:
        """The utterance of the event's group; None for an action by hand."""
        for row in self._pending:
            if row.grp == event.group and row.type == Heard.TYPE:
                return row.event
        arguments = (Heard.TYPE, event.id, event.device)
        where = "e.type = ? AND e.id <= ? AND e.device = ?"
        found = next(self.rows(where, arguments, "e.id DESC LIMIT 1"), None)
        return found.event if found is not None and found.grp == event.group else None

    @property
    def position(self) -> int:
        """Number of rows appended to this file so far, for `events(after=...)`."""
        return int(self.connection.execute("SELECT coalesce(max(seq), 0) FROM events").fetchone()[0])
