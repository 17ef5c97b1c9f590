"""What the journal asks of the views: it keeps them up and knows nothing of what is in them."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from typing import Protocol

from voicelog.journal.events import Event


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

    def rebuild(self, connection: sqlite3.Connection, events: Iterator[Event]) -> None:
        """Make all tables afresh from all events in the order of the fold; inside a transaction."""

    @property
    def tables(self) -> tuple[str, ...]:
        """Names of the tables."""
