"""A journal out to a file of JSON Lines, and two journals into one.

Two journals are joined by the union of their events by id.  Ids sort by time and an
id is always later than every id its device had seen, so the order of the union is the
same whichever journal is taken into which, and a cause stays before its effects.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NoReturn, TextIO

from voicelog.errors import VoicelogError
from voicelog.journal import connect, schema
from voicelog.journal.clips import Clips
from voicelog.journal.content import unfit
from voicelog.journal.forget import Forgettings, delete_clips, delete_details
from voicelog.journal.gaps import Gaps
from voicelog.journal.json_lines import HEADER, line_of, line_text
from voicelog.journal.rows import GENESIS, Row
from voicelog.journal.store import Store
from voicelog.journal.work import Cancelled, Progress, Watch

_EVERYTHING: Final = (
    "SELECT e.*, p.salt, p.data FROM events e LEFT JOIN personal p ON p.event = e.id ORDER BY e.id"
)
_BATCH: Final = 500


def export(
    path: Path | str,
    out: TextIO,
    *,
    progress: Progress = lambda done, total: None,
    cancelled: Cancelled = lambda: False,
) -> int:
    """Write a journal as JSON Lines; returns the number of events.

    Works beside a writer, and on a journal of a newer version: columns that this version
    does not know go out under their own names.

    Raises:
        VoicelogError: the journal cannot be read.
        StoppedError: when cancelled.
    """
    where = Path(path)
    watch = Watch("export", progress, cancelled)
    connection = connect.connect(where, writer=False)
    try:
        with connect.readable(str(where)):
            schema.check_is_journal(connection, str(where))
            connection.execute("BEGIN")
            total = int(connection.execute("SELECT count(*) FROM events").fetchone()[0])
            cursor = connection.execute(_EVERYTHING)
            names = [column[0] for column in cursor.description]
            out.write(line_text(HEADER))
            for number, values in enumerate(cursor):
                out.write(line_text(line_of(dict(zip(names, values, strict=True)))))
                if number % _BATCH == 0:
                    watch.at(number, total)
            out.write(line_text({"end": True, "events": total}))
            watch.at(total, total)
            return total
    finally:
        connection.close()


@dataclass(frozen=True)
class Taken:
    """What an import brought."""

    new: int
    known: int
    """Events that were there already."""
    clips: int = 0


def take_in(
    store: Store,
    rows: Iterable[Row],
    where: str = "",
    *,
    total: int = 0,
    progress: Progress = lambda done, total: None,
    cancelled: Cancelled = lambda: False,
) -> Taken:
    """Add the events that a journal lacks, all or none.

    The caller has its logbooks `reload` afterwards (`Logbook.take_in` does).

    Args:
        store: open for writing.
        rows: in the order of their ids, from `read_lines` or from another `Store.rows`.
        where: the file that they come from, for errors.
        total: how many rows there are, for `progress`.

    Raises:
        VoicelogError: a row is damaged or holds what its kind may not hold, what it follows is missing,
            or the disk refuses.
        StoppedError: when cancelled.
    """
    with store.guarding, connect.readable(str(store.path)):
        if not store.retry():
            raise VoicelogError(store.trouble or "commits wait", where=str(store.path))
        try:
            with connect.transaction(store.connection):
                taken = _insert_new(store, rows, where, total, Watch("import", progress, cancelled))
            delete_clips(store)
            return taken
        finally:
            store.read_head()


def _insert_new(store: Store, rows: Iterable[Row], where: str, total: int, watch: Watch) -> Taken:
    gate = _Gate(store, where)
    new = seen = 0
    for batch in _batches(rows):
        fresh = [row for row in batch if gate.lets_in(row)]
        store.insert(fresh)
        new, seen = new + len(fresh), seen + len(batch)
        watch.at(seen, total)
    forgettings = Forgettings.of(store)
    gate.check_what_is_missing(forgettings)
    if forgettings.until:
        delete_details(store.connection, forgettings)
    store.remake_views()
    return Taken(new, seen - new)


def _batches(rows: Iterable[Row]) -> Iterator[list[Row]]:
    batch: list[Row] = []
    for row in rows:
        batch.append(row)
        if len(batch) == _BATCH:
            yield batch
            batch = []
    yield batch


class _Gate:
    """Lets in what is whole, fits its kind, and follows what is there.

    Args:
        store: the journal that takes in.
        where: the file that is taken in, for errors.
    """

    def __init__(self, store: Store, where: str) -> None:
        self._connection = store.connection
        self._where = where
        found = store.connection.execute("SELECT id, hash, ord FROM events").fetchall()
        self._known = {event: digest for event, digest, _ in found}
        self._orders = {GENESIS: 0, **{digest: order for _, digest, order in found}}
        self._lacking = Gaps.of(store.connection).details
        self._missing: dict[str, str] = {}
        """Hashes, in hex, of events that are not there, each with an event that follows it."""
        self._bare: list[str] = []
        """Events without the details that they had."""
        self._number = 0

    def lets_in(self, row: Row) -> bool:
        """Whether the row is new; raises `VoicelogError` where it cannot be taken in."""
        self._number += 1
        if row.id in self._known:
            if self._known[row.id] != row.hash:
                self._refuse(row, "differs from the one in the journal", "verify both")
            self._bring_back(row)
            return False
        if row.problem() is not None:
            self._refuse(row, "is damaged", "export it again")
        wrong = unfit(row)
        if wrong is not None:
            self._refuse(row, f"cannot be taken in: {wrong}", "export it again")
        before = self._orders.get(row.prev)
        if before is None:
            self._missing[row.prev.hex()] = row.id
        elif row.ord != before + 1:
            self._refuse(row, "is out of order", "export it again")
        if row.personal is not None and row.data is None:
            self._bare.append(row.id)
        self._known[row.id], self._orders[row.hash] = row.hash, row.ord
        return True

    def _refuse(self, row: Row, what: str, todo: str) -> NoReturn:
        raise VoicelogError(f"event {self._number} ({row.id[:36]}) {what}", where=self._where, todo=todo)

    def _bring_back(self, row: Row) -> None:
        """Details that were lost to damage and that another journal still has."""
        if row.id in self._lacking and row.data is not None and row.problem() is None:
            values = (row.id, row.salt, row.data)
            self._connection.execute("INSERT OR IGNORE INTO personal VALUES (?, ?, ?)", values)

    def check_what_is_missing(self, forgettings: Forgettings) -> None:
        """Raises where something is missing that was neither forgotten nor lost to damage and named."""
        gaps = Gaps.of(self._connection)
        for name in self._missing.keys() - gaps.hashes:
            raise VoicelogError(
                f"an event before {self._missing[name]} is missing", where=self._where, todo="export it again"
            )
        for event in self._bare:
            if event not in forgettings and event not in gaps.details:
                raise VoicelogError(
                    f"the details of event {event} are missing", where=self._where, todo="export it again"
                )


def merge(
    store: Store,
    other: Path | str,
    *,
    progress: Progress = lambda done, total: None,
    cancelled: Cancelled = lambda: False,
) -> Taken:
    """Take another journal's events and clips into this one; the other is left as it is.

    Raises:
        VoicelogError, StoppedError: as `take_in`; the other journal cannot be read.
    """
    other = connect.real(other)
    theirs = Store.open(other, writer=False)
    try:
        total = int(theirs.connection.execute("SELECT count(*) FROM events").fetchone()[0])
        taken = take_in(store, theirs.rows(), str(other), total=total, progress=progress, cancelled=cancelled)
        return Taken(taken.new, taken.known, _copy_clips(store, Clips.beside(other)))
    finally:
        theirs.connection.close()


def _copy_clips(store: Store, theirs: Clips) -> int:
    """Copy the clips that this journal's events speak of and lacks."""
    if store.path is None:
        return 0
    ours, copied = Clips.beside(store.path), 0
    gone = Forgettings.of(store)
    rows = store.connection.execute("SELECT id, body FROM events WHERE type IN ('heard', 'memo-kept')")
    wanted = {json.loads(body).get("clip") for event, body in rows.fetchall() if event not in gone}
    for name in theirs.names():
        if name in wanted and name not in ours:
            ours.put(theirs.get(name))
            copied += 1
    return copied
