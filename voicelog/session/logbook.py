"""The journal and its fold together: what the session, the commands, the board and the papers use."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from voicelog.jobs.fold import Ledger
from voicelog.jobs.records import State
from voicelog.journal import events as ev
from voicelog.journal.clock import Clock
from voicelog.journal.store import Draft, Store


class Logbook:
    """An open journal with the state its events add up to."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._ledger = Ledger()
        self._seen = 0
        self.refresh()

    @classmethod
    def open(cls, path: Path | str, *, writer: bool = True, clock: Clock | None = None) -> Logbook:
        """Open a journal file; `writer=False` reads beside whoever writes.

        Raises:
            VoicelogError: as `Store.open`.
        """
        return cls(Store.open(path, writer=writer, clock=clock))

    @classmethod
    def in_memory(cls, clock: Clock | None = None) -> Logbook:
        """A journal that is gone when it is closed: for tests and previews."""
        return cls(Store.open(None, clock=clock))

    @property
    def state(self) -> State:
        """Equal to `fold(self.events())`; read it under `lock` where another thread commits."""
        return self._ledger.state

    @property
    def lock(self) -> threading.RLock:
        """Held while something is committed; hold it to read the state and commit upon it."""
        return self.store.guarding

    @property
    def pending(self) -> int:
        """Number of commits that wait in memory because the disk refuses them."""
        return self.store.pending

    @property
    def trouble(self) -> str | None:
        """Why commits wait, in one line; None while everything is on disk."""
        return self.store.trouble

    @property
    def warnings(self) -> list[str]:
        """What was found and put right on opening, one line each."""
        return self.store.warnings

    def retry(self) -> bool:
        """Try again to write what waits; whether all is on disk now."""
        return self.store.retry()

    def new_group(self) -> str:
        """An id for the events of one utterance or one action by hand."""
        return self.store.new_group()

    def commit(self, drafts: Sequence[Draft], group: str | None = None) -> list[ev.Event]:
        """Append the drafts as one group: events and views in one transaction.

        Never loses them: see `pending` and `trouble`.
        """
        with self.lock:
            events = self.store.commit([self._completed(draft) for draft in drafts], group)
            for event in events:
                self._ledger.add(event)
            self._seen = self.store.position
            return events

    def _completed(self, draft: Draft) -> Draft:
        """An answer with the slot of its question: whether it is personal hangs on that."""
        body = draft.body
        if not isinstance(body, ev.Answered) or body.slot or draft.job is None:
            return draft
        job = self.state.jobs.get(draft.job)
        question = None if job is None else job.questions.get(body.question)
        return draft if question is None else replace(draft, body=replace(body, slot=question.slot))

    def undo(self) -> str | None:
        """Take back the last group that changed a record; its id, or None where there is none."""
        return self._turn(self.state.undoable, ev.Undone)

    def redo(self) -> str | None:
        """Bring back the group undone last; its id, or None where there is none."""
        return self._turn(self.state.redoable, ev.Redone)

    def _turn(self, stack: list[str], body: type[ev.Undone] | type[ev.Redone]) -> str | None:
        with self.lock:
            if not stack:
                return None
            target = stack[-1]
            self.commit([Draft(body(target))])
            return target

    def events(self, *, job: str | None = None, kind: str | None = None) -> Iterator[ev.Event]:
        """Events in the order in which they count, optionally of one job or of one type."""
        return self.store.events(job=job, kind=kind)

    def heards(self, job: str | None = None) -> list[ev.Event]:
        """Every `Heard` event, in order."""
        return list(self.store.events(job=job, kind=ev.Heard.TYPE))

    def refresh(self) -> int:
        """Take in what others have written since; the number of new events."""
        with self.lock:
            position = self.store.position
            events = list(self.store.events(after=self._seen)) if position > self._seen else []
            for event in events:
                self._ledger.add(event)
            self._seen = position
            return len(events)

    def close(self) -> None:
        """Write what waits and let go of the file.

        Raises:
            VoicelogError: as `Store.close`.
        """
        self.store.close()

    def __enter__(self) -> Logbook:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
