"""Forgetting a customer: their details, their words and the sound go; the figures stay.

A `Forgotten` event says that the details of a job are gone from every event before
it.  It travels with exports and merges, so another device forgets too.  Backups and
exports made earlier still hold the details: nobody but the user can delete those.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from voicelog.errors import VoicelogError
from voicelog.journal.clips import Clips
from voicelog.journal.events import Forgotten, Heard, JobOpened, JobSelected, Quoted
from voicelog.journal.personal import split
from voicelog.journal.store import Draft, Store

_CLIPS: Final = "clips_to_delete"
"""Key in `meta` of the list of clips that a forgetting leaves to be deleted."""
_SOUNDING: Final = "type IN ('heard', 'memo-kept')"


@dataclass(frozen=True)
class Forgot:
    """What was deleted."""

    jobs: int
    events: int
    """Events whose details were deleted."""
    clips: int
    traces: bool
    """Whether a reader kept SQLite from emptying its write-ahead log: close it and open the journal once."""

    old_quotes: int = 0
    """Quotes of an older voicelog, which wrote title and plate into the event: these cannot be deleted."""


class Forgettings:
    """Which events have to be without their details."""

    def __init__(self, until: dict[str, str], covered: set[str]) -> None:
        self.until = until
        """Id of the last `Forgotten` event by job."""
        self._covered = covered

    def __contains__(self, event: str) -> bool:
        return event in self._covered

    def __iter__(self) -> Iterator[str]:
        return iter(self._covered)

    @classmethod
    def of(cls, store: Store, more: dict[str, str] | None = None) -> Forgettings:
        """As the events of a journal say it; `more` adds (job, id of its last event)."""
        found = store.connection.execute(
            "SELECT job, max(id) FROM events WHERE type = ? GROUP BY job", (Forgotten.TYPE,)
        ).fetchall()
        until = {**{str(job): str(last) for job, last in found}, **(more or {})}
        return cls(until, _covered(store.connection, until) if until else set())


def _covered(connection: sqlite3.Connection, until: dict[str, str]) -> set[str]:
    """Ids of the events that speak of these jobs: of the job itself, heard in a group that has
    events of it, or heard without any job while it was the current one of the device."""
    events = connection.execute("SELECT id, grp, job, type, device FROM events ORDER BY id").fetchall()
    groups: dict[str, set[str]] = {}
    for _, group, job, _, _ in events:
        if job is not None:
            groups.setdefault(group, set()).add(job)
    current: dict[str, str] = {}
    covered = set()
    for event, group, job, kind, device in events:
        if kind in (JobOpened.TYPE, JobSelected.TYPE) and job is not None:
            current[device] = job
        jobs = groups.get(group) or {current.get(device, "")}
        if job is not None and kind != Heard.TYPE:
            jobs = {job}
        if any(event <= until[job] for job in jobs & until.keys()):
            covered.add(event)
    return covered


def forget(store: Store, jobs: Sequence[str]) -> Forgot:
    """Delete the personal details, the words and the clips of jobs.

    The caller has its logbooks `reload` afterwards (`Logbook.forget` does).

    Args:
        store: open for writing.
        jobs: ids of the jobs.

    Raises:
        VoicelogError: a job is not in the journal, or the disk refuses.
    """
    known = {row[0] for row in store.connection.execute("SELECT DISTINCT job FROM events")}
    for job in jobs:
        if job not in known:
            raise VoicelogError(f"there is no job {job}", todo="give the id of a job of this journal")
    deleted: list[int] = []
    store.commit_at_once(
        [Draft(Forgotten(), job) for job in jobs],
        lambda connection: deleted.append(delete_details(connection, Forgettings.of(store))),
    )
    clips = delete_clips(store)
    old = sum(_holds_details(store.connection, job) for job in jobs)
    return Forgot(len(jobs), deleted[0], clips, not _emptied(store.connection), old)


def _holds_details(connection: sqlite3.Connection, job: str) -> int:
    query = "SELECT body FROM events WHERE type = ? AND job = ?"
    bodies = connection.execute(query, (Quoted.TYPE, job)).fetchall()
    return sum(split(Quoted.TYPE, json.loads(body))[1] is not None for (body,) in bodies)


def delete_details(connection: sqlite3.Connection, forgettings: Forgettings) -> int:
    """Delete the details that have to go, and note the clips; inside a transaction.

    The number of events that had some.  `delete_clips` does what was noted.
    """
    before = connection.total_changes
    connection.executemany("DELETE FROM personal WHERE event = ?", ((event,) for event in forgettings))
    deleted = connection.total_changes - before
    names = json.dumps(sorted(_clips_of(connection, forgettings)))
    connection.execute("INSERT OR REPLACE INTO meta VALUES (?, ?)", (_CLIPS, names))
    return deleted


def delete_clips(store: Store) -> int:
    """Delete the clips that were noted; the number that were there.

    The note is taken away when all are gone: a cut in between is made good at the next opening.
    """
    found = store.connection.execute("SELECT value FROM meta WHERE key = ?", (_CLIPS,)).fetchone()
    if found is None or store.path is None:
        return 0
    clips = Clips.beside(store.path).remove(json.loads(found[0]))
    store.connection.execute("DELETE FROM meta WHERE key = ?", (_CLIPS,))
    return clips


def _clips_of(connection: sqlite3.Connection, forgettings: Forgettings) -> set[str]:
    """Hashes of clips that no event speaks of but those that are forgotten."""
    gone: set[str | None] = set()
    kept: set[str | None] = {None}
    for event, body in connection.execute(f"SELECT id, body FROM events WHERE {_SOUNDING}"):
        (gone if event in forgettings else kept).add(json.loads(body).get("clip"))
    return {name for name in gone - kept if name is not None}


def _emptied(connection: sqlite3.Connection) -> bool:
    """Whether the deleted details are gone from the write-ahead log as well."""
    busy = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
    return not busy
