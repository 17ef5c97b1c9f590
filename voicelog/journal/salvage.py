"""A new journal of everything that is whole in a damaged one.

Every event carries a hash of all it holds, and so do its details and its sound: whatever can
still be read and fits its hash is whole, wherever in the file it lies.  Nothing is guessed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from voicelog.errors import VoicelogError
from voicelog.files import new_file
from voicelog.journal import connect, schema
from voicelog.journal.clips import Clips
from voicelog.journal.clock import Clock, IdMaker, id_before, stamp
from voicelog.journal.events import REOPENED, Body, DentOpened, Event, Forgotten, JobOpened, Salvaged
from voicelog.journal.forget import Forgettings, delete_details
from voicelog.journal.pages import Pages, Record
from voicelog.journal.personal import commitment
from voicelog.journal.rows import COLUMNS, GENESIS, Row, make_row
from voicelog.journal.store import Store, ViewsMaker
from voicelog.journal.work import Cancelled, Progress, Watch
from voicelog.version import VERSION


@dataclass(frozen=True)
class Lost:
    """Events of one device, one after the other, that are not in the new journal."""

    device: str
    first: int
    last: int
    """Their places in the device's order."""
    after: str = ""
    before: str = ""
    """When the events around them were written, ISO 8601; empty where there are none."""
    job: str | None = None
    """Id of the job they belong to, or of the job of the event before them."""
    kind: str = ""
    """Type of the event, as far as it can be read."""
    why: str = "cannot be read"


@dataclass
class Rescued:
    """What could be saved, and what could not."""

    events: int = 0
    clips: int = 0
    lost: list[Lost] = field(default_factory=list)
    details: list[str] = field(default_factory=list)
    """Ids of events that are whole but whose personal details are not."""
    sounds: list[str] = field(default_factory=list)
    """Hashes of clips that are damaged."""
    reopened: int = 0
    """Jobs and dents whose opening was lost: opened anew so that what was noted in them counts."""

    @property
    def lost_events(self) -> int:
        """Number of events that are lost, as far as they are known."""
        return sum(item.last - item.first + 1 for item in self.lost)


def salvage(
    path: Path | str,
    target: Path | str,
    views: ViewsMaker | None = None,
    *,
    progress: Progress = lambda done, total: None,
    cancelled: Cancelled = lambda: False,
) -> Rescued:
    """Make a new journal of every event, detail and clip of a damaged one that is whole.

    The old one is only read.  The new one goes on as another device and holds a `Salvaged`
    event, so that it passes `verify` and can be merged with backups, which fill the gaps.

    Args:
        path: the damaged journal.
        target: a file that does not exist yet.
        views: made in the new journal (`voicelog.jobs.sqlite_views.JobViews`).

    Raises:
        VoicelogError: there is nothing to save, or the target exists or cannot be written.
        StoppedError: when cancelled; no new journal is there.
    """
    source, place = connect.real(path), Path(target)
    if place.exists():
        raise VoicelogError("is there already", where=str(place), todo="give a new file")
    watch = Watch("salvage", progress, cancelled)
    with connect.readable(str(source)):
        found = _Found.of(Pages(source), watch)
    if not found.rows:
        raise VoicelogError("not one whole event is in it", where=str(source), todo="restore a backup")
    connect.private_folder(place)
    with connect.readable(str(place)), new_file(place, private=True) as part:
        result = _write(found, part, views)
        _copy_clips(found, source, place, result, watch)
    return result


@dataclass
class _Found:
    """What the pages of a journal hold, as far as it can be told from damage."""

    rows: dict[str, Row] = field(default_factory=dict)
    """Whole events by id."""
    broken: dict[tuple[str, int], Row] = field(default_factory=dict)
    """Events that do not fit their hash, by device and order."""
    details: dict[str, list[tuple[str, str]]] = field(default_factory=dict)
    heads: dict[str, int] = field(default_factory=dict)
    """Order of the last event of each device."""

    @classmethod
    def of(cls, pages: Pages, watch: Watch) -> _Found:
        found = cls()
        for number, record in enumerate(pages.records()):
            found._take(record)
            if number % 500 == 0:
                watch.at(number)
        found._complete()
        return found

    def _take(self, record: Record) -> None:
        kinds = tuple(type(value) for value in record)
        if kinds == (str, str, str):
            self.details.setdefault(record[0], []).append(record[1:])
        elif kinds == (str, int, int, bytes):
            self.heads[record[0]] = max(record[2], self.heads.get(record[0], 0))
        elif len(record) == len(COLUMNS) + 1 and isinstance(record[5], str) and isinstance(record[4], int):
            row = Row(*record[1:])
            if _is_whole(row):
                self.rows[row.id] = row
            else:
                self.broken[row.device, row.ord] = row

    def _complete(self) -> None:
        """Give each event its details, where they fit its hash."""
        for row in self.rows.values():
            for salt, data in self.details.get(row.id, ()):
                if commitment(salt, data) == row.personal:
                    self.rows[row.id] = replace(row, salt=salt, data=data)

    def lost(self) -> Iterator[Lost]:
        """Runs of events that are not there, by device."""
        for device in sorted({row.device for row in self.rows.values()} | self.heads.keys()):
            of = {row.ord: row for row in self.rows.values() if row.device == device}
            end = max([self.heads.get(device, 0), *of])
            before: Row | None = None
            first = 0
            for order in range(1, end + 2):
                row = of.get(order)
                if row is None and order <= end:
                    first = first or order
                elif first:
                    yield from self._run(device, first, order - 1, before, row)
                    first = 0
                before = row or before

    def _run(
        self, device: str, first: int, last: int, before: Row | None, after: Row | None
    ) -> Iterator[Lost]:
        around = (before.at if before else "", after.at if after else "")
        start = first
        for order in range(first, last + 2):
            row = self.broken.get((device, order)) if order <= last else None
            if row is None and order <= last:
                continue
            if start < order:
                yield Lost(device, start, order - 1, *around, before.job if before else None)
            if row is not None:
                why = "does not fit its hash: damaged, or changed after it was written"
                yield Lost(device, order, order, *around, row.job, row.type, why)
            start = order + 1


def _is_whole(row: Row) -> bool:
    texts = (row.id, row.grp, row.at, row.version, row.type, row.body, row.derived)
    if not all(isinstance(text, str) for text in texts) or not isinstance(row.prev, bytes):
        return False
    try:
        return row.computed_hash() == row.hash and row.event is not None
    except (VoicelogError, TypeError, ValueError, AttributeError):
        return False


def _write(found: _Found, part: Path, views: ViewsMaker | None) -> Rescued:
    connection = connect.connect(part, writer=True)
    try:
        schema.migrate(connection, schema.version_of(connection))
        store = Store(connection, part, None)
        store.device = schema.new_device()
        with connect.transaction(connection):
            result = _fill(found, store)
            if views is not None:
                views(lambda job: store.events(job=job)).rebuild(connection, store.events())
        connection.execute("UPDATE meta SET value = ? WHERE key = 'device'", (store.device,))
        # One file, whole by itself, until a writer opens it.
        connection.execute("PRAGMA journal_mode = DELETE")
    finally:
        connection.close()
    return result


def _fill(found: _Found, store: Store) -> Rescued:
    rows = [found.rows[key] for key in sorted(found.rows)]
    store.insert(rows)
    forgotten = Forgettings.of(store)
    if forgotten.until:
        delete_details(store.connection, forgotten)
    details = [row.id for row in rows if row.personal and row.data is None and row.id not in forgotten]
    hashes = {GENESIS, *(row.hash for row in rows)}
    gaps = sorted({row.prev.hex() for row in rows if row.prev not in hashes})
    marks = [*_openings(rows), _mark(rows[-1], Salvaged(tuple(gaps), tuple(details)))]
    own, prev = [], GENESIS
    for order, event in enumerate(sorted(marks, key=lambda event: event.id), start=1):
        row = make_row(replace(event, device=store.device, order=order), prev)
        own.append(row)
        prev = row.hash
    store.insert(own)
    return Rescued(len(rows), lost=list(found.lost()), details=details, reopened=len(marks) - 1)


def _mark(last: Row, body: Body) -> Event:
    ids = IdMaker(Clock())
    ids.saw(last.id)
    return Event(ids.new(), ids.new(), stamp(Clock().now()), 0, "", VERSION, None, body)


def _openings(rows: list[Row]) -> Iterator[Event]:
    """Events that open anew the jobs and dents whose opening was lost, right before their first mention."""
    events = [row.event for row in rows if row.job is not None and row.type != Forgotten.TYPE]
    jobs = {event.job for event in events if isinstance(event.body, JobOpened)}
    dents = {(event.job, event.body.dent) for event in events if isinstance(event.body, DentOpened)}
    numbers = {event.body.number for event in events if isinstance(event.body, JobOpened)}
    taken = {row.id for row in rows}
    for event in events:
        wanted: list[Body] = []
        if event.job not in jobs:
            jobs.add(event.job)
            number = next(n for n in range(1, len(jobs) + len(numbers) + 1) if n not in numbers)
            numbers.add(number)
            wanted.append(JobOpened(number))
        dent = getattr(event.body, "dent", None)
        if dent is not None and (event.job, dent) not in dents:
            dents.add((event.job, dent))
            wanted.append(DentOpened(dent))
        before = event.id
        for body in reversed(wanted):
            while (before := id_before(before)) in taken:
                pass
            taken.add(before)
            group = str(event.job) if isinstance(body, JobOpened) else event.group
            yield replace(event, id=before, group=group, body=body, derived={REOPENED: True})


def _copy_clips(found: _Found, source: Path, place: Path, result: Rescued, watch: Watch) -> None:
    ours, theirs = Clips.beside(place), Clips.beside(source)
    wanted: set[Any] = set()
    for row in found.rows.values():
        if row.type in ("heard", "memo-kept"):
            wanted.add(row.event.body.clip)  # type: ignore[attr-defined]
    for name in theirs.names():
        watch.at(result.clips)
        if name not in wanted:
            continue
        try:
            ours.put(theirs.get(name))
            result.clips += 1
        except VoicelogError:
            result.sounds.append(name)
