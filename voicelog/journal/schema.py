"""The tables of a journal, the guards on them, and how older journals are brought forward."""

from __future__ import annotations

import secrets
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Final

from voicelog.errors import VoicelogError
from voicelog.journal.connect import transaction

APPLICATION_ID: Final = 0x564C4F47
"""SQLite's application id of a journal: "VLOG"."""

EVENTS: Final = """CREATE TABLE events (
  seq INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  grp TEXT NOT NULL,
  at TEXT NOT NULL,
  ord INTEGER NOT NULL CHECK (ord > 0),
  device TEXT NOT NULL,
  version TEXT NOT NULL,
  job TEXT,
  type TEXT NOT NULL,
  schema INTEGER NOT NULL,
  body TEXT NOT NULL,
  derived TEXT NOT NULL,
  personal BLOB,
  prev BLOB NOT NULL,
  hash BLOB NOT NULL
) STRICT"""

TRIGGERS: Final[dict[str, str]] = {
    "events_no_update": """CREATE TRIGGER events_no_update BEFORE UPDATE ON events
BEGIN SELECT RAISE(ABORT, 'events are never changed'); END""",
    "events_no_delete": """CREATE TRIGGER events_no_delete BEFORE DELETE ON events
BEGIN SELECT RAISE(ABORT, 'events are never deleted'); END""",
    # INSERT OR REPLACE deletes without the delete trigger unless recursive_triggers is on,
    # and a plain connection has it off.
    "events_no_replace": """CREATE TRIGGER events_no_replace BEFORE INSERT ON events
WHEN EXISTS (SELECT 1 FROM events WHERE id = NEW.id OR seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'events are never replaced'); END""",
}

_FIRST: Final = (
    EVENTS,
    "CREATE INDEX events_by_job ON events (job, id)",
    "CREATE INDEX events_by_type ON events (type, id)",
    "CREATE TABLE personal (event TEXT PRIMARY KEY, salt TEXT NOT NULL, data TEXT NOT NULL) "
    "STRICT, WITHOUT ROWID",
    "CREATE TABLE heads (device TEXT PRIMARY KEY, events INTEGER NOT NULL, ord INTEGER NOT NULL, "
    "hash BLOB NOT NULL) STRICT, WITHOUT ROWID",
    "CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID",
)


def _create(connection: sqlite3.Connection) -> None:
    for statement in (*_FIRST, *TRIGGERS.values()):
        connection.execute(statement)
    connection.execute("INSERT INTO meta VALUES ('device', ?)", (new_device(),))
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")


MIGRATIONS: Final[tuple[Callable[[sqlite3.Connection], None], ...]] = (_create,)
"""Step n brings a journal from version n to n + 1.  Steps are added, never changed."""

VERSION: Final = len(MIGRATIONS)


def was_journal(path: Path) -> bool:
    """Whether a file that SQLite cannot open holds parts of a journal, so that its head is damaged."""
    data = path.read_bytes()
    return any(mark in data for mark in (b"events_no_update", b"job-opened", b"view_journal"))


def new_device() -> str:
    """A name for a device: random, because the name of a computer is often that of a person."""
    return f"dev-{secrets.token_hex(4)}"


def version_of(connection: sqlite3.Connection) -> int:
    """The schema version of a journal; 0 for an empty file."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def check_is_journal(connection: sqlite3.Connection, where: str) -> int:
    """The schema version of the journal.

    Raises:
        VoicelogError: the file is a database of something else.
    """
    application = int(connection.execute("PRAGMA application_id").fetchone()[0])
    tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if application != APPLICATION_ID and (application or tables):
        raise VoicelogError("is a database, but not a journal", where=where, todo="give another file")
    return version_of(connection)


def check_not_newer(version: int, where: str) -> None:
    """Raises `VoicelogError` where a newer version of voicelog made the journal."""
    if version > VERSION:
        raise VoicelogError(
            f"the journal has version {version}, this program knows up to {VERSION}",
            where=where,
            todo="update voicelog; export-journal can still read it",
        )


def migrate(connection: sqlite3.Connection, version: int) -> None:
    """Bring the journal forward; each step is one transaction with its version number."""
    for number, step in enumerate(MIGRATIONS[version:], start=version):
        with transaction(connection):
            if version_of(connection) == number:
                step(connection)
                connection.execute(f"PRAGMA user_version = {number + 1}")


def unguarded(connection: sqlite3.Connection) -> list[str]:
    """What of the guards is missing or changed; empty when all is in place."""
    triggers = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
    found = dict(connection.execute(triggers).fetchall())
    gaps = [name for name, sql in TRIGGERS.items() if found.get(name) != sql]
    extra = [name for name in found if name not in TRIGGERS]
    table = connection.execute("SELECT sql FROM sqlite_master WHERE name = 'events'").fetchone()
    if table is None or table[0] != EVENTS:
        gaps.append("events")
    return gaps + extra


def guard(connection: sqlite3.Connection, where: str) -> list[str]:
    """Put missing guards back and say which these were.

    Raises:
        VoicelogError: the table itself is not as it was made.
    """
    gaps = unguarded(connection)
    if "events" in gaps:
        raise VoicelogError(
            "the table of events was remade by another program",
            where=where,
            todo="export-journal from it and import-journal into a new file",
        )
    for name in gaps:
        connection.execute(f'DROP TRIGGER IF EXISTS "{name}"')
        if name in TRIGGERS:
            connection.execute(TRIGGERS[name])
    return gaps
