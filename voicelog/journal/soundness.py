"""A look at a journal whenever it is opened to write: are its rows what was written?"""

from __future__ import annotations

import sqlite3
from typing import Final

from voicelog.errors import VoicelogError
from voicelog.journal.reader import Reader

AT_ONCE: Final = 2_500
"""Rows looked at when a journal is opened to write, about 0.05 s; a longer one is gone through in turns."""


def glance(reader: Reader) -> str | None:
    """What is found wrong at an opening to write, in one line.

    Goes on where the last look ended, and stays where damage is: it is told at every opening.
    """
    connection = reader.connection
    try:
        found = connection.execute("SELECT value FROM meta WHERE key = 'looked_at'").fetchone()
        begin = int(found[0]) if found else 0
        rows = list(reader.rows("e.seq > ?", [begin], f"e.seq LIMIT {AT_ONCE}"))
        for row in rows:
            wrong = row.problem()
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
