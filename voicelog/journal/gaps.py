"""What a salvaged journal is known to lack: where the chain of hashes may have gaps."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass

from voicelog.journal.events import Salvaged


@dataclass(frozen=True)
class Gaps:
    """Everything that `Salvaged` events of a journal name."""

    hashes: frozenset[str] = frozenset()
    """In hex, of events that could not be read and that others follow."""
    details: frozenset[str] = frozenset()
    """Ids of events whose personal details could not be read."""

    @classmethod
    def of(cls, connection: sqlite3.Connection) -> Gaps:
        """As the events of a journal say it."""
        bodies = connection.execute("SELECT body FROM events WHERE type = ?", (Salvaged.TYPE,)).fetchall()
        found = [json.loads(body) for (body,) in bodies]
        return cls(
            frozenset(name for body in found for name in body["gaps"]),
            frozenset(name for body in found for name in body["details"]),
        )
