"""The journal on disk: events are appended, in one transaction with the views they change.

A commit that the disk refuses is kept in memory and written with the next one; what
is on disk already is never touched.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol

from voicelog.errors import VoicelogError
from voicelog.journal import connect, schema, soundness
from voicelog.journal.clock import Clock, IdMaker, stamp
from voicelog.journal.events import Body, Event, Heard, JobOpened
from voicelog.journal.locks import WriterLock
from voicelog.journal.reader import Reader
from voicelog.journal.rescue import Rescue
from voicelog.journal.rows import COLUMNS, GENESIS, Row, canonical, decode, make_row, shown
from voicelog.version import VERSION

_INSERT = f"INSERT INTO events ({', '.join(COLUMNS)}) VALUES ({', '.join('?' * len(COLUMNS))})"


CHECKPOINT_S = 5.0
"""What is in the write-ahead log is brought into the file so long after it was written, at most."""
RETRY_S = 2.0
"""What waits for the disk is tried again so often, also while nobody speaks."""


@dataclass(frozen=True)
class Draft:
    """An event that is yet to be committed."""

    body: Body
    job: str | None = None
    """Id of the job; a `JobOpened` without one gets the id of its group."""
    derived: Mapping[str, Any] = field(default_factory=dict)


class Views(Protocol):
    """Tables that are rebuilt from events and kept up in the transaction of each commit."""

    def add(self, events: Sequence[Event]) -> None:
        """Fold events in memory."""

    def fold(self, events: Iterator[Event]) -> None:
        """Start again in memory from all events; the tables are left alone."""

    def write(self, connection: sqlite3.Connection) -> None:
        """Write the rows that changed since the last `written`; inside the transaction."""

    def written(self) -> None:
        """The transaction is on disk."""

    def resume(self, connection: sqlite3.Connection, kept: sqlite3.Connection | None = None) -> bool:
        """Go on from the tables, or from those of its first events that were kept; whether that can be."""

    def of_other_version(self, connection: sqlite3.Connection) -> bool:
        """Whether another version of voicelog made the tables."""

    def rebuild(self, connection: sqlite3.Connection, events: Iterator[Event]) -> None:
        """Make all tables afresh from all events in the order of the fold; inside a transaction."""

    @property
    def tables(self) -> tuple[str, ...]:
        """Names of the tables."""


ViewsMaker = Callable[[Callable[[str], Iterable[Event]]], Views]
"""Makes empty views; gets a function that gives the events of a job (`jobs.sqlite_views.JobViews`)."""


class Store(Reader):
    """An open journal.  Safe to use from several threads.

    `events` are in the order of their ids: the order in which they count.
    """

    def __init__(self, connection: sqlite3.Connection, path: Path | None, lock: WriterLock | None) -> None:
        super().__init__(connection, path)
        self.views: Views | None = None
        self.warnings: list[str] = []
        """What was found and put right on opening, one line each."""
        self.trouble: str | None = None
        """Why commits wait, in one line; None while all is on disk."""
        self.rescue = Rescue(path, None)
        self._idle: threading.Timer | None = None
        self._timer: threading.Timer | None = None
        self._closed = False
        self._lock = lock
        self.clock = Clock()
        self._ids = IdMaker(self.clock)
        self.device = ""
        self._order = 0
        self._hash = GENESIS
        self._written: tuple[int, bytes] = (0, GENESIS)
        self._inode = connect.inode(path)
        self._stale = False
        """Whether the connection may lead nowhere because the drive was away."""

    @classmethod
    def open(
        cls,
        path: Path | str | None,
        *,
        writer: bool = True,
        clock: Clock | None = None,
        device: str | None = None,
        views: Views | None = None,
        rescue_folder: Path | None = None,
    ) -> Store:
        """Open a journal; a writer makes it where it is missing.

        Args:
            path: the file, or None for one in memory.
            writer: False to read beside whoever writes.
            clock: for tests.
            device: name of the device; None takes the one the journal was made with.
            views: kept up with every commit.
            rescue_folder: where commits go that the disk refuses; None for the temporary folder.

        Raises:
            VoicelogError: there is no such journal, it is none, it is damaged, of a newer
                version, or another process writes it.
        """
        where = None if path is None else connect.real(path)
        lock = None
        if where is not None and writer:
            connect.private_folder(where)
            lock = WriterLock(where)
        connection = None
        try:
            connection = connect.connect(where, writer=writer)
            store = cls(connection, where, lock)
            with connect.readable(str(where)):
                store._set_up(writer, clock or Clock(), device)
        except BaseException:
            if connection is not None:
                connection.close()
            if lock is not None:
                lock.release()
            raise
        store.views = views
        store.rescue = Rescue(where if writer else None, rescue_folder)
        return store

    def _set_up(self, writer: bool, clock: Clock, device: str | None) -> None:
        where = str(self.path)
        version = schema.check_is_journal(self.connection, where)
        schema.check_not_newer(version, where)
        connect.check_has_log(self.connection, where)
        if writer:
            schema.migrate(self.connection, version)
            connect.use_log(self.connection)
            gaps = schema.guard(self.connection, where)
            if gaps:
                self.warnings.append(f"guards were missing ({', '.join(gaps)}) and are back; run verify")
        elif version < schema.VERSION:
            raise VoicelogError(
                "nothing can be read yet: the journal is empty, or an older voicelog wrote it",
                where=where,
                todo="open it for writing once, as by: voicelog say total",
            )
        self.clock, self._ids, self.checks = clock, IdMaker(clock), not writer
        named = self.connection.execute("SELECT value FROM meta WHERE key = 'device'").fetchone()
        try:
            self.device = device or str(named[0])
            self.read_head()
        except (TypeError, ValueError) as error:
            raise VoicelogError(
                "the journal is damaged", where=where, todo="run: voicelog salvage"
            ) from error
        if writer:
            wrong = soundness.glance(self)
            if wrong is not None:
                self.warnings.append(
                    f"the journal is damaged ({wrong}); what you say now is kept; run: voicelog verify"
                )

    def read_head(self) -> None:
        """Count on from what is on disk."""
        head = self._head()
        self._order, self._hash = head
        self._written = head
        last = self.connection.execute("SELECT max(id) FROM events").fetchone()[0]
        if last is not None:
            self._ids.saw(last)

    def _head(self) -> tuple[int, bytes]:
        found = self.connection.execute(
            "SELECT ord, hash FROM heads WHERE device = ?", (self.device,)
        ).fetchone()
        return (0, GENESIS) if found is None else (int(found[0]), bytes(found[1]))

    def new_group(self) -> str:
        """An id for the events of one utterance or of one action by hand."""
        with self.guarding:
            return self._ids.new()

    @property
    def pending(self) -> int:
        """Number of commits (groups) that wait for the disk."""
        return len({row.grp for row in self._pending})

    def waiting(self) -> list[Event]:
        """The events that wait for the disk, oldest first."""
        return [row.event for row in self._pending]

    def commit(self, drafts: Sequence[Draft], group: str | None = None) -> list[Event]:
        """Append the drafts as one group, in one transaction with the views.

        When the disk refuses, the events are returned all the same: they wait in memory
        and `trouble` says why.
        """
        with self.guarding:
            group = group or self._ids.new()
            events = [self._stamped(draft, group) for draft in drafts]
            if self.views is not None:
                self.views.add(events)
            self.retry()
            return events

    def commit_at_once(self, drafts: Sequence[Draft], also: Callable[[sqlite3.Connection], None]) -> None:
        """Append drafts with more work in the same transaction: all of it now, or nothing.

        The views are made afresh, because the work may change how earlier events read.

        Raises:
            VoicelogError: the disk refuses; nothing was changed.
        """
        with self.guarding:
            if not self.retry():
                raise VoicelogError(self.trouble or "commits wait", where=str(self.path))
            group = self._ids.new()
            try:
                for draft in drafts:
                    self._stamped(draft, group)
                with connect.readable(str(self.path)):
                    self._write(also)
            except BaseException:
                self._pending.clear()
                self._order, self._hash = self._written
                if self.views is not None:
                    self.views.fold(self.events(bare=True))
                raise
            self._on_disk()

    def _stamped(self, draft: Draft, group: str) -> Event:
        body = draft.body
        job = group if draft.job is None and isinstance(body, JobOpened) else draft.job
        # By way of JSON, so that what is in memory now is what will be read back later.
        body = decode(body.TYPE, body.SCHEMA, shown(canonical(body.to_json())))
        event = Event(
            id=self._ids.new(),
            group=group,
            at=stamp(self.clock.now()),
            order=self._order + 1,
            device=self.device,
            version=VERSION,
            job=job,
            body=body,
            derived=shown(canonical(dict(draft.derived))),
        )
        row = make_row(event, self._hash)
        self._order, self._hash = event.order, row.hash
        self._pending.append(row)
        return event

    def retry(self) -> bool:
        """Write what waits; whether all is on disk now."""
        with self.guarding:
            if not self._pending or self._closed:
                return not self._pending
            try:
                if self._stale:
                    self._reconnect()
                self._write()
            except (sqlite3.Error, OSError) as error:
                self._stale = connect.is_stale(error)
                self._wait(connect.trouble(error, self.pending))
                return False
            except VoicelogError as error:
                self._wait(error.line())
                return False
            self._on_disk()
            return True

    def _wait(self, trouble: str) -> None:
        """Keep what waits elsewhere, in case this process ends, and try again in a while."""
        self.trouble = trouble
        self.rescue.keep(self._pending)
        if self._timer is not None:
            self._timer.cancel()
        self._timer = threading.Timer(RETRY_S, self.retry)
        self._timer.daemon = True
        self._timer.start()

    def _on_disk(self) -> None:
        self._pending.clear()
        self._written = (self._order, self._hash)
        self.trouble = None
        self.rescue.drop()
        if self._idle is None and self.path is not None:
            self._idle = threading.Timer(CHECKPOINT_S, self._checkpoint)
            self._idle.daemon = True
            self._idle.start()
        if self.views is not None:
            self.views.written()

    def _checkpoint(self) -> None:
        """Bring what is in the log into the file: whoever copies the file alone has nearly all."""
        with self.guarding:
            self._idle = None
            if not self._closed and not self._pending:
                with suppress(sqlite3.Error):
                    self.connection.execute("PRAGMA wal_checkpoint(PASSIVE)")

    def _reconnect(self) -> None:
        """The drive may be back: open the file anew if it is the one that was left."""
        if self.path is None or not self.path.is_file():
            raise connect.GoneError
        fresh = connect.connect(self.path, writer=True)
        self.connection, old = fresh, self.connection
        if self._head() != self._written:
            self.connection = old
            fresh.close()
            raise connect.OtherJournalError
        old.close()
        if self._lock is not None:
            self._lock.release()
            self._lock = WriterLock(self.path)
        self._inode = connect.inode(self.path)
        self._stale = False

    def _write(self, also: Callable[[sqlite3.Connection], None] | None = None) -> None:
        connect.check_place(self.path, self._inode)
        with connect.transaction(self.connection):
            if self._head() != self._written:
                raise connect.OtherJournalError
            self.insert(self._pending)
            if also is not None:
                also(self.connection)
                self.remake_views()
            elif self.views is not None:
                self.views.write(self.connection)

    def insert(self, rows: Sequence[Row]) -> None:
        """Append rows with their personal parts and count them in `heads`; inside a transaction."""
        execute = self.connection.execute
        self.connection.executemany(_INSERT, (row.values() for row in rows))
        for row in rows:
            if row.data is not None:
                execute("INSERT INTO personal VALUES (?, ?, ?)", (row.id, row.salt, row.data))
        for device in {row.device for row in rows}:
            of = [row for row in rows if row.device == device]
            last = max(of, key=lambda row: row.ord)
            execute(
                "INSERT INTO heads VALUES (?, ?, ?, ?) ON CONFLICT (device) DO UPDATE SET "
                "events = events + excluded.events, hash = iif(excluded.ord >= ord, excluded.hash, hash), "
                "ord = max(ord, excluded.ord)",
                (device, len(of), last.ord, last.hash),
            )

    def remake_views(self) -> None:
        """Make the views afresh from all rows; inside the transaction."""
        if self.views is not None:
            self.views.rebuild(self.connection, self.events(bare=True))
            self.views.written()

    def close(self) -> None:
        """Write what waits, and let go of the file.

        Raises:
            VoicelogError: the disk still refuses; what waited is in a file that the line names.
        """
        with self.guarding:
            waits = not self.retry()
            if self._timer is not None:
                self._timer.cancel()
            rescued = self.rescue.keep(self._all_rows()) if waits else None
            if self._idle is not None:
                self._idle.cancel()
            self._closed = True
            self.connection.close()
            if self._lock is not None:
                self._lock.release()
        if waits:
            raise VoicelogError(
                f"what was said last could not be written ({self.trouble})",
                where=str(self.path),
                todo=f"it is in {rescued}, and is taken in at the next start" if rescued else self._lost(),
            )

    def _lost(self) -> str:
        """What nobody could keep, so that at least it can be read and said again."""
        said = [event.body.words for event in self.waiting() if isinstance(event.body, Heard)]
        return f"no folder takes it; say again: {' / '.join(said)}"

    def _all_rows(self) -> list[Row]:
        """What waits; before it, where the file is gone but can still be read, all it held."""
        try:
            return [*(self.rows() if self._stale else ()), *self._pending]
        except VoicelogError:
            return self._pending
