"""Every utterance of the journal, read once and then only what is new."""

from __future__ import annotations

from voicelog.jobs.logbook import Logbook
from voicelog.journal.events import Event, Heard


class HeardLog:
    """`Heard` events in the order in which they count."""

    def __init__(self, logbook: Logbook) -> None:
        self._logbook = logbook
        self._events: list[Event] = []
        self._known: set[str] = set()
        self._position = 0

    def all(self) -> list[Event]:
        """Every one so far."""
        store = self._logbook.store
        with self._logbook.lock:
            position = store.position
            if position == self._position and not store.pending:
                return self._events
            # What waits for the disk has no position and comes with every reading.
            new = [
                found
                for found in store.events(self._position, kind=Heard.TYPE)
                if found.id not in self._known
            ]
            self._position = position
        late = bool(new and self._events and new[0].id < self._events[-1].id)
        self._known.update(found.id for found in new)
        self._events = (
            sorted([*self._events, *new], key=lambda found: found.id) if late else self._events + new
        )
        return self._events
