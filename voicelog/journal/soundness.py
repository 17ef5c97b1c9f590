"""Whether rows are what was written: a look at every opening to write, and at all that prices hang on."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final

from voicelog.errors import VoicelogError
from voicelog.journal.personal import commitment
from voicelog.journal.rows import Row

Rows = Callable[[str, Sequence[Any], str], Iterable[Row]]
"""Rows by condition, arguments and order, as `Reader.rows`."""

AT_ONCE: Final = 10_000
"""Rows looked at when a journal is opened to write, about 0.2 s; a longer one is gone through in turns."""


def problem(row: Row) -> str | None:
    """Why a row is not what was written; None where it is."""
    try:
        if row.computed_hash() != row.hash:
            return f"event {row.id} was changed after it was written"
        whole = row.data is None or row.salt is None or commitment(row.salt, row.data) == row.personal
    except (TypeError, ValueError):
        return f"event {row.id!r} cannot be read"
    return None if whole else f"the details of event {row.id} were changed"


def glance(connection: sqlite3.Connection, rows_of: Rows) -> str | None:
    """What is found wrong at an opening to write, in one line.

    Goes on where the last look ended, and stays where damage is: it is told at every opening.
    """
    try:
        found = connection.execute("SELECT value FROM meta WHERE key = 'looked_at'").fetchone()
        begin = int(found[0]) if found else 0
        rows = list(rows_of("e.seq > ?", [begin], f"e.seq LIMIT {AT_ONCE}"))
        for row in rows:
            wrong = problem(row)
            if wrong is not None:
                return wrong
        if _miscounted(connection):
            return "events are missing"
        following = begin + AT_ONCE if len(rows) == AT_ONCE else 0
        if following != begin:
            connection.execute("INSERT OR REPLACE INTO meta VALUES ('looked_at', ?)", (str(following),))
    except (VoicelogError, sqlite3.DatabaseError, UnicodeDecodeError, ValueError, TypeError) as error:
        return str(error)
    return None


def _miscounted(connection: sqlite3.Connection) -> bool:
    (told,) = connection.execute("SELECT coalesce(sum(events), 0) FROM heads").fetchone()
    (there,) = connection.execute("SELECT count(*) FROM events").fetchone()
    return bool(told != there)
