"""A journal as JSON Lines, and two journals into one.

The first line is `{"format": "voicelog-journal", "format_version": 1}`, the last one
`{"end": true, "events": N}`.  Between them stands one event a line, in the order in
which events count (that of their ids):

    id, group, job   text; job may be null
    at               wall clock, ISO 8601 with offset
    order            whole number, counted by the device from 1
    device, version  text: which device and which voicelog wrote it
    type, schema     the kind of event and the version of its body
    body             what happened, without personal parts
    derived          what it was derived from
    personal         hex SHA-256 of `salt + ":" + JSON of apart`, or null
    salt, apart      the personal parts, merged into body by key; null where there are
                     none or where they were forgotten
    prev, hash       hex; hash is SHA-256 over the JSON array [id, group, at, order,
                     device, version, job, type, schema, body, derived, personal, prev],
                     body and derived as JSON text; prev is the hash of the event before
                     of the same device, "" for its first

JSON text that is hashed has sorted keys, no spaces, and no escapes beyond those needed.

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
from typing import Any, Final, TextIO

from voicelog.errors import VoicelogError
from voicelog.journal import connect, schema
from voicelog.journal.clips import Clips
from voicelog.journal.forget import Forgettings, delete_details
from voicelog.journal.personal import commitment
from voicelog.journal.rows import COLUMNS, GENESIS, Row, canonical
from voicelog.journal.store import Store
from voicelog.journal.work import Cancelled, Progress, Watch

HEADER: Final = {"format": "voicelog-journal", "format_version": 1}
_NAMES: Final = {"grp": "group", "ord": "order"}
"""Names in JSON where they differ from the columns."""
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
            out.write(_text(HEADER))
            for number, values in enumerate(cursor):
                out.write(_text(_line(dict(zip(names, values, strict=True)))))
                if number % _BATCH == 0:
                    watch.at(number, total)
            out.write(_text({"end": True, "events": total}))
            watch.at(total, total)
            return total
    finally:
        connection.close()


def lines(rows: Iterable[Row]) -> Iterator[str]:
    """Rows in the form of an export."""
    yield _text(HEADER)
    count = 0
    for row in rows:
        count += 1
        yield _text(_line({**row.__dict__}))
    yield _text({"end": True, "events": count})


def _text(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")) + "\n"


def _line(columns: dict[str, Any]) -> dict[str, Any]:
    line: dict[str, Any] = {}
    for name, value in columns.items():
        if name in ("seq", "data"):
            continue
        if name in ("body", "derived"):
            value = json.loads(value)
        elif isinstance(value, bytes):
            value = value.hex()
        line[_NAMES.get(name, name)] = value
    data = columns["data"]
    line["apart"] = None if data is None else json.loads(data)
    return line


def read_lines(file: Iterable[str], where: str = "") -> Iterator[Row]:
    """The rows of an export.

    Raises:
        VoicelogError: it is no export, of a newer format, damaged, or cut off.
    """
    count = -1
    for number, text in enumerate(file, start=1):
        try:
            data = json.loads(text)
            if count < 0:
                _check_header(data, where)
            elif data.get("end"):
                if data["events"] != count:
                    raise ValueError(f"{data['events']} events were meant to be here, {count} are")
                return
            else:
                yield _row(data)
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            raise VoicelogError(f"line {number} cannot be read ({error})", where=where) from error
        count += 1
    raise VoicelogError("it is cut off: the last line is missing", where=where, todo="export again")


def _check_header(data: Any, where: str) -> None:
    if not isinstance(data, dict) or data.get("format") != HEADER["format"]:
        raise VoicelogError("is no exported journal", where=where, todo="give a file of export-journal")
    if data["format_version"] != HEADER["format_version"]:
        raise VoicelogError("is from a newer version", where=where, todo="update voicelog")


def _row(data: dict[str, Any]) -> Row:
    values = {name: data[_NAMES.get(name, name)] for name in COLUMNS}
    for name in ("body", "derived"):
        values[name] = canonical(values[name])
    for name in ("prev", "hash"):
        values[name] = bytes.fromhex(values[name])
    if values["personal"] is not None:
        values["personal"] = bytes.fromhex(values["personal"])
    apart = data["apart"]
    return Row(**values, salt=data["salt"], data=None if apart is None else canonical(apart))


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
                return _insert_new(store, rows, total, Watch("import", progress, cancelled))
        finally:
            store.read_head()


def _insert_new(store: Store, rows: Iterable[Row], total: int, watch: Watch) -> Taken:
    where = str(store.path)
    known = dict(store.connection.execute("SELECT id, hash FROM events").fetchall())
    hashes = {GENESIS, *known.values()}
    new = seen = 0
    for batch in _batches(rows):
        fresh = [row for row in batch if not _is_known(row, known, where)]
        _check(fresh, hashes, where)
        store.insert(fresh)
        new, seen = new + len(fresh), seen + len(batch)
        watch.at(seen, total)
    delete_details(store.connection, Forgettings.of(store))
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


def _check(rows: list[Row], hashes: set[bytes], where: str) -> None:
    """Each row is whole, of a known type, and follows one that is there."""
    for row in rows:
        sound = row.computed_hash() == row.hash and uuid.UUID(row.id).version == 7
        if row.data is not None:
            sound = sound and row.salt is not None and commitment(row.salt, row.data) == row.personal
        if not sound:
            raise VoicelogError(f"event {row.id} is damaged", where=where, todo="export it again")
        if row.prev not in hashes:
            raise VoicelogError(f"an event before {row.id} is missing", where=where, todo="export it again")
        hashes.add(row.hash)
        _ = row.event


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
