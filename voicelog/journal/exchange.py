"""A journal out to a file of JSON Lines, and two journals into one.

Two journals are joined by the union of their events by id.  Ids sort by time and an
id is always later than every id its device had seen, so the order of the union is the
same whichever journal is taken into which, and a cause stays before its effects.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TextIO

from voicelog.errors import VoicelogError
from voicelog.journal import connect, schema
from voicelog.journal.clips import Clips
from voicelog.journal.forget import Forgettings, delete_clips, delete_details
from voicelog.journal.gaps import Gaps
from voicelog.journal.json_lines import HEADER, line_of, line_text
from voicelog.journal.personal import commitment
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
        total: how many rows there are, for `progress`.

    Raises:
        VoicelogError: a row is damaged, an event before it is missing, or the disk refuses.
        StoppedError: when cancelled.
    """
    where = str(store.path)
    with store.guarding, connect.readable(where):
        if not store.retry():
            raise VoicelogError(store.trouble or "commits wait", where=where)
        try:
            with connect.transaction(store.connection):
                taken = _insert_new(store, rows, total, Watch("import", progress, cancelled))
            delete_clips(store)
            return taken
        finally:
            store.read_head()


def _insert_new(store: Store, rows: Iterable[Row], total: int, watch: Watch) -> Taken:
    where = str(store.path)
    known = dict(store.connection.execute("SELECT id, hash FROM events").fetchall())
    hashes = {GENESIS, *known.values()}
    missing: dict[str, str] = {}
    lacking = Gaps.of(store.connection).details
    new = seen = 0
    for batch in _batches(rows):
        fresh = [row for row in batch if not _is_known(row, known, where)]
        _bring_back(store, [row for row in batch if row.id in lacking and row.data is not None])
        _check(fresh, hashes, missing, where)
        store.insert(fresh)
        new, seen = new + len(fresh), seen + len(batch)
        watch.at(seen, total)
    _check_gaps(missing, Gaps.of(store.connection), where)
    forgettings = Forgettings.of(store)
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


def _is_known(row: Row, known: dict[str, bytes], where: str) -> bool:
    if row.id not in known:
        return False
    if known[row.id] != row.hash:
        raise VoicelogError(
            f"event {row.id} differs from the one in the journal", where=where, todo="verify both"
        )
    return True


def _bring_back(store: Store, rows: list[Row]) -> None:
    """Details that were lost to damage and that another journal still has."""
    for row in rows:
        if row.salt is not None and row.data is not None and commitment(row.salt, row.data) == row.personal:
            values = (row.id, row.salt, row.data)
            store.connection.execute("INSERT OR IGNORE INTO personal VALUES (?, ?, ?)", values)


def _check(rows: list[Row], hashes: set[bytes], missing: dict[str, str], where: str) -> None:
    """Each row is whole and of a known type; those that follow one that is not there go to `missing`."""
    for row in rows:
        sound = row.computed_hash() == row.hash and uuid.UUID(row.id).version == 7
        if row.data is not None:
            sound = sound and row.salt is not None and commitment(row.salt, row.data) == row.personal
        if not sound:
            raise VoicelogError(f"event {row.id} is damaged", where=where, todo="export it again")
        if row.prev not in hashes:
            missing[row.prev.hex()] = row.id
        hashes.add(row.hash)
        _ = row.event


def _check_gaps(missing: dict[str, str], gaps: Gaps, where: str) -> None:
    """What is missing was damaged in a journal that was salvaged, and is named there."""
    for name in missing.keys() - gaps.hashes:
        raise VoicelogError(
            f"an event before {missing[name]} is missing", where=where, todo="export it again"
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
    theirs = Store.open(other, writer=False)
    try:
        total = int(theirs.connection.execute("SELECT count(*) FROM events").fetchone()[0])
        taken = take_in(store, theirs.rows(), total=total, progress=progress, cancelled=cancelled)
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
