"""Tables of what the events add up to: for opening a long journal at once, and for other programs.

They change in the transaction of the commit, and can be rebuilt from the events at
any time.  They hold no personal details.  Money is a whole number of minor units,
time a whole number of milliseconds.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final

from voicelog.jobs.fold import Ledger, Opening, Outline, Source
from voicelog.jobs.records import Dent, Job, Opened, Quote, State
from voicelog.journal.connect import readable
from voicelog.journal.events import Body, DayClosed, Event, JobOpened, JobSelected, Joined
from voicelog.journal.rows import canonical

VERSION: Final = "4"
"""Views of another version are rebuilt when a writer opens the journal."""
_AT_HAND: Final = 32
"""Jobs whose records stay in memory while a journal is written."""

TABLES: Final[dict[str, str]] = {
    "view_journal": "key TEXT PRIMARY KEY, value TEXT NOT NULL",
    "view_groups": "grp TEXT PRIMARY KEY, place INTEGER NOT NULL, undone INTEGER NOT NULL, "
    "jobs TEXT NOT NULL",
    "view_jobs": "job TEXT PRIMARY KEY, place INTEGER NOT NULL, openings TEXT NOT NULL, "
    "counts INTEGER NOT NULL, number INTEGER NOT NULL, opened_at TEXT NOT NULL, finished_at TEXT, "
    "open_dent INTEGER, questions INTEGER, worked_ms INTEGER",
    "view_dents": "job TEXT, dent INTEGER, place INTEGER NOT NULL, removed INTEGER NOT NULL, "
    "worked_ms INTEGER NOT NULL, slots TEXT NOT NULL, unconfirmed TEXT NOT NULL, PRIMARY KEY (job, dent)",
    "view_quotes": "job TEXT, place INTEGER, version INTEGER NOT NULL, at TEXT NOT NULL, "
    "supplement_to INTEGER, accepted INTEGER, currency TEXT, low_minor INTEGER, high_minor INTEGER, "
    "PRIMARY KEY (job, place)",
}  # fmt: skip
"""Columns by table; the first one or two are the key."""

Rows = dict[tuple[Any, ...], tuple[Any, ...]]


def create(connection: sqlite3.Connection) -> None:
    """Make the tables afresh, empty."""
    for name in TABLES:
        connection.execute(f"DROP TABLE IF EXISTS {name}")
        connection.execute(_sql(name))


def _sql(name: str) -> str:
    return f"CREATE TABLE {name} ({TABLES[name]}) STRICT, WITHOUT ROWID"


class JobViews:
    """The views of one journal with the ledger that feeds them (`journal.store.Views`).

    Args:
        source: where the ledger reads a job's events again.
    """

    tables = tuple(TABLES)

    def __init__(self, source: Source) -> None:
        self._source = source
        self.ledger = Ledger(source)
        self._events = 0
        self.last = ""
        """Id of the last event folded."""
        self._journal: dict[str, str] = {}

    def add(self, events: Iterable[Event]) -> None:
        """Fold events in memory."""
        for event in events:
            self.ledger.add(event)
            self._events += 1
            self.last = max(self.last, event.id)

    def write(self, connection: sqlite3.Connection) -> None:
        """Write what changed since the last `written`."""
        touched, outline = self.ledger.touched, self.ledger.outline
        for group in touched.groups:
            place, jobs = outline.groups[group]
            _put(connection, "view_groups", (group, place, int(group in outline.undone), jobs))
        for job in touched.dents.keys() & outline.opened.keys():
            self._write_job(connection, job)
        for key, value in self._journal_values().items():
            if self._journal.get(key) != value:
                _put(connection, "view_journal", (key, value))

    def written(self) -> None:
        """The transaction is on disk."""
        self.ledger.touched.clear()
        self.ledger.rest(_AT_HAND)
        self._journal = self._journal_values()

    def rebuild(self, connection: sqlite3.Connection, events: Iterator[Event]) -> None:
        """Make all tables afresh from all events in the order of the fold."""
        create(connection)
        self.fold(events)
        self.write(connection)

    def fold(self, events: Iterator[Event]) -> None:
        """Start again in memory from all events; the tables are left alone."""
        self.ledger, self._events, self.last = Ledger(self._source), 0, ""
        self._journal = {}
        self.add(events)

    def resume(self, connection: sqlite3.Connection, kept: sqlite3.Connection | None = None) -> bool:
        """Go on from the tables; False where they are missing, old, or not of these events.

        With tables that were kept elsewhere, of the first events of the journal, go on from those.
        """
        try:
            return _as_made(kept or connection) and self._resume(connection, kept)
        except (KeyError, ValueError, TypeError, AttributeError):
            return False

    def of_other_version(self, connection: sqlite3.Connection) -> bool:
        """Whether another version made the tables; False where that cannot be told."""
        try:
            return _about(connection)["version"] != VERSION
        except (KeyError, sqlite3.OperationalError):
            return False

    def _resume(self, connection: sqlite3.Connection, kept: sqlite3.Connection | None) -> bool:
        journal = _about(kept or connection)
        count, last = int(journal["events"]), journal["last"]
        if journal["version"] != VERSION:
            return False
        if kept is None:
            (there,) = connection.execute("SELECT coalesce(sum(events), 0) FROM heads").fetchone()
            (latest,) = connection.execute("SELECT coalesce(max(id), '') FROM events").fetchone()
            if (count, last) != (there, latest):
                return False
        state = State(
            current=journal["current"] or None,
            awake=journal["awake"] == "1",
            utterances=int(journal["utterances"]),
            redoable=json.loads(journal["redoable"]),
            refused=journal["refused"] == "1",
        )
        self.ledger = Ledger.resumed(self._source, _outline(connection, kept or connection), state)
        self._events, self.last, self._journal = count, last, journal
        return True

    def _journal_values(self) -> dict[str, str]:
        state = self.ledger.state
        return {
            "version": VERSION,
            "events": str(self._events),
            "last": self.last,
            "utterances": str(state.utterances),
            "awake": str(int(state.awake)),
            "redoable": canonical(state.redoable),
            "refused": str(int(state.refused)),
            "current": state.current or "",
        }

    def _write_job(self, connection: sqlite3.Connection, key: str) -> None:
        job = self.ledger.state.jobs.get(key)
        known = self.ledger.outline.opened[key]
        opened = (known.opened.number, known.opened.opened_at)
        opening = (key, known.place, " ".join(known.groups), int(job is not None), *opened)
        _put(connection, "view_jobs", (*opening, *((None,) * 4 if job is None else _summary(job))))
        whole = key in self.ledger.touched.whole
        dents = None if whole else self.ledger.touched.dents[key]
        _replace(connection, "view_dents", key, {} if job is None else _dent_rows(job, dents), whole=whole)
        quotes = [] if job is None else job.quotes
        _replace(connection, "view_quotes", key, dict(_quote_row(key, *q) for q in enumerate(quotes)))


def _replace(connection: sqlite3.Connection, table: str, job: str, rows: Rows, *, whole: bool = True) -> None:
    """Bring the rows of a job up to `rows`; all that are not among them go when these are the whole."""
    if whole:
        stored = connection.execute(f"SELECT * FROM {table} WHERE job = ?", (job,)).fetchall()
        second = "dent" if table == "view_dents" else "place"
        for key in {row[:2] for row in stored} - rows.keys():
            connection.execute(f"DELETE FROM {table} WHERE job = ? AND {second} = ?", key)
        known = set(stored)
        rows = {key: row for key, row in rows.items() if row not in known}
    for row in rows.values():
        _put(connection, table, row)


def _put(connection: sqlite3.Connection, table: str, row: Sequence[Any]) -> None:
    connection.execute(f"INSERT OR REPLACE INTO {table} VALUES ({', '.join('?' * len(row))})", row)


def _as_made(connection: sqlite3.Connection) -> bool:
    found = dict(connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'table'").fetchall())
    return all(found.get(name) == _sql(name) for name in TABLES)


def _about(connection: sqlite3.Connection) -> dict[str, str]:
    return dict(connection.execute("SELECT key, value FROM view_journal").fetchall())


def _outline(connection: sqlite3.Connection, tables: sqlite3.Connection) -> Outline:
    (known,) = tables.execute("SELECT count(*) FROM view_groups").fetchone()
    undone = tables.execute("SELECT grp FROM view_groups WHERE undone").fetchall()
    opened = tables.execute(
        "SELECT job, place, openings, number, opened_at FROM view_jobs ORDER BY place"
    ).fetchall()

    def groups() -> dict[str, tuple[int, str]]:
        query = "SELECT grp, place, jobs FROM view_groups WHERE place < ? ORDER BY place"
        return {group: (place, jobs) for group, place, jobs in _late(tables, query, known)}

    def choices() -> list[tuple[str, str]]:
        query = "SELECT grp, job FROM events WHERE type IN (?, ?) AND job IS NOT NULL ORDER BY id"
        return _late(connection, query, JobOpened.TYPE, JobSelected.TYPE)

    return Outline(
        opened={
            job: Opening(place, tuple(groups.split()), Opened(number, at))
            for job, place, groups, number, at in opened
        },
        undone={group for (group,) in undone},
        days=[(group, body["date"]) for group, _, body in _bodies(connection, DayClosed)],
        joins=[
            (group, job, body["other"])
            for group, job, body in _bodies(connection, Joined)
            if body["other"] < job
        ],
        load_groups=groups,
        load_choices=choices,
    )


def _late(connection: sqlite3.Connection, query: str, *arguments: Any) -> list[Any]:
    with readable("the journal's tables"):
        return connection.execute(query, arguments).fetchall()


def _bodies(connection: sqlite3.Connection, kind: type[Body]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """(group, job, body) of every event of a type, in the order in which they count."""
    rows = connection.execute("SELECT grp, job, body FROM events WHERE type = ? ORDER BY id", (kind.TYPE,))
    return ((group, job, json.loads(body)) for group, job, body in rows)


def _summary(job: Job) -> tuple[Any, ...]:
    return (
        job.finished_at,
        job.open_dent,
        len(job.questions),
        _ms(job.timer.worked_s),
    )


def _dent_rows(job: Job, wanted: set[int] | None) -> Rows:
    places = {number: place for place, number in enumerate(job.order)}
    numbers = job.dents.keys() if wanted is None else job.dents.keys() & wanted
    return {(job.id, number): _dent_row(job.id, job.dents[number], places[number]) for number in numbers}


def _dent_row(job: str, dent: Dent, place: int) -> tuple[Any, ...]:
    return (
        job,
        dent.number,
        place,
        int(dent.removed),
        _ms(dent.worked_s),
        canonical(dent.values()),
        canonical(dent.unconfirmed),
    )


def _quote_row(job: str, place: int, quote: Quote) -> tuple[tuple[Any, ...], tuple[Any, ...]]:
    total = quote.snapshot.get("total")
    total = total if isinstance(total, dict) else {}
    accepted = None if quote.accepted is None else int(quote.accepted)
    money = (total.get("currency"), _minor(total.get("low")), _minor(total.get("high")))
    return (job, place), (job, place, quote.version, quote.at, quote.supplement_to, accepted, *money)


def _minor(amount: Any) -> int | None:
    """A rounded amount as papers print it, in minor units: "123.45" is 12345, "1200" (yen) is 1200."""
    text = str(amount).replace(".", "", 1)
    return int(text) if text.removeprefix("-").isdecimal() else None


def _ms(seconds: float) -> int:
    return round(seconds * 1000)
