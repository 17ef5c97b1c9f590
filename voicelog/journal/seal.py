"""A short code over all that a journal holds now, to be kept outside of it.

The hashes in a journal show what was changed or taken out of its middle.  Whoever cuts off its
end and puts the counts right leaves no trace in it; the code, written on a paper, shows it.
"""

from __future__ import annotations

import base64
import hashlib
import re
import sqlite3
from typing import Final

from voicelog.errors import VoicelogError

_FORM: Final = re.compile(r"([0-9]{1,12})-([A-Z2-7]{4})-([A-Z2-7]{4})-([A-Z2-7]{4})")


def seal(connection: sqlite3.Connection, events: int | None = None) -> str:
    """The code over the first `events` rows in the order in which this file took them, or over all.

    The number of events, and 60 bits of a SHA-256 over their hashes: "56-ABCD-EFGH-IJKL".
    """
    query = "SELECT max(seq) FROM (SELECT seq FROM events ORDER BY seq LIMIT ?)"
    (last,) = connection.execute(query, (-1 if events is None else events,)).fetchone()
    return Seals(connection).until(last or 0)


class Seals:
    """Codes over more and more of a journal: each goes on from the one before where it can."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._last, self._count, self._digest = 0, 0, hashlib.sha256()

    def until(self, seq: int) -> str:
        """The code over the rows up to that one."""
        if seq < self._last:
            self._last, self._count, self._digest = 0, 0, hashlib.sha256()
        query = "SELECT hash FROM events WHERE seq > ? AND seq <= ? ORDER BY seq"
        for (found,) in self._connection.execute(query, (self._last, seq)):
            self._digest.update(found)
            self._count += 1
        self._last = seq
        text = base64.b32encode(self._digest.digest()).decode()
        return f"{self._count}-{text[:4]}-{text[4:8]}-{text[8:12]}"


def broken(connection: sqlite3.Connection, code: str) -> str | None:
    """Why the journal is not one that this code was given for, in one line; None where it is.

    Raises:
        VoicelogError: it is no such code.
    """
    text = code.strip().upper()
    form = _FORM.fullmatch(text)
    if form is None:
        raise VoicelogError(f'"{code}" is no seal', todo="give it as voicelog seal printed it")
    sealed = int(form[1])
    (there,) = connection.execute("SELECT count(*) FROM events").fetchone()
    if there < sealed:
        return f"{sealed - there} of the {sealed} events that were sealed are missing"
    return (
        None
        if seal(connection, sealed) == text
        else f"the first {sealed} events are not those that were sealed"
    )
