"""Whether a journal is whole: SQLite's own check, the guards, every hash, the views, the clips."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from voicelog.errors import VoicelogError
from voicelog.files import new_file
from voicelog.journal import connect, schema
from voicelog.journal import seal as seals
from voicelog.journal.clips import Clips
from voicelog.journal.forget import Forgettings
from voicelog.journal.gaps import Gaps
from voicelog.journal.rows import GENESIS, Row
from voicelog.journal.store import Store, Views, ViewsMaker
from voicelog.journal.work import Cancelled, Progress, Watch

_SHOWN: Final = 20
"""Problems that are told one by one."""
_DAMAGE: Final = (sqlite3.DatabaseError, TypeError, ValueError, AttributeError)
"""What reading a damaged file may raise."""


@dataclass
class Report:
    """What was found."""

    events: int = 0
    devices: int = 0
    forgotten: int = 0
    """Events whose personal details were deleted on request."""
    gaps: int = 0
    """Places where a salvaged journal lacks what was damaged in the one before."""
    clips: int = 0
    clips_gone: int = 0
    """Clips that events speak of and that are not kept any more: purged or forgotten."""
    problems: list[str] = field(default_factory=list)
    wrong_views: int = 0
    """How many of the problems are of tables that can be made anew from the events."""

    @property
    def ok(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems

    @property
    def only_views(self) -> bool:
        """Whether all that is wrong can be made anew from the events."""
        return 0 < len(self.problems) == self.wrong_views

    def wrong(self, text: str) -> None:
        """Note a problem; past twenty only the last line counts them."""
        if len(self.problems) < _SHOWN:
            self.problems.append(" ".join(text.split()))
        elif len(self.problems) == _SHOWN:
            self.problems.append("and more")


def verify(
    path: Path | str,
    views: ViewsMaker | None = None,
    *,
    clips: bool = True,
    seal: str | None = None,
    kept: Path | None = None,
    full: bool = False,
    progress: Progress = lambda done, total: None,
    cancelled: Cancelled = lambda: False,
) -> Report:
    """Check a journal; works beside a writer, on one state of the file.

    Args:
        path: the journal.
        views: rebuilt in memory and compared (`voicelog.jobs.sqlite_views.JobViews`).
        clips: whether each clip is read and its hash compared.
        seal: a code of `journal.seal.seal`, to find what was cut off since.
        kept: a file for the views of a journal that was found whole: the next time only what came
            after is added to them.  Hashes are checked from the first event on every time.
        full: whether the views are made from the first event on all the same.
        progress: called with (events checked, events).
        cancelled: asked now and then.

    Raises:
        VoicelogError: there is no such file, or it is from a newer version.
        StoppedError: when cancelled.
    """
    report = Report()
    watch = Watch("verify", progress, cancelled)
    try:
        path = connect.real(path)
        store = Store.open(path, writer=False)
    except VoicelogError as error:
        _take_damage(error, report, Path(path))
        return report
    try:
        _check(store, Clips.beside(path) if clips else None, report, watch)
        if views is not None and report.ok:
            _check_views(store, views, report, kept, full=full)
        broken = None if seal is None else seals.broken(store.connection, seal)
        if broken is not None:
            report.wrong(broken)
    except _DAMAGE as error:
        if not connect.is_damage(error):
            raise VoicelogError(f"cannot be read ({error})", where=str(path), todo="try again") from error
        report.wrong(f"the file cannot be read to its end ({error})")
    except VoicelogError as error:
        _take_damage(error, report, Path(path))
    finally:
        store.connection.close()
    return report


def _take_damage(error: VoicelogError, report: Report, path: Path) -> None:
    """Note what damage did; a lock, a drive, a missing right or another file is no damage and is raised."""
    cause = error.__cause__
    if not isinstance(cause, _DAMAGE) or not connect.is_damage(cause):
        raise error
    if getattr(cause, "sqlite_errorname", "") == "SQLITE_NOTADB" and not schema.was_journal(path):
        raise VoicelogError("is no journal", where=str(path), todo="give another file") from cause
    report.wrong(error.line())


def _check(store: Store, clips: Clips | None, report: Report, watch: Watch) -> None:
    store.connection.execute("BEGIN")
    for (line,) in store.connection.execute(f"PRAGMA integrity_check({_SHOWN})"):
        if line != "ok":
            report.wrong(f"SQLite: {line}")
    for gap in schema.unguarded(store.connection):
        report.wrong(f"the guard {gap} is missing or changed")
    heard = _check_chain(store, report, watch)
    if clips is not None:
        _check_clips(clips, heard, report, watch)


class _Chain:
    """The hashes of each device so far."""

    def __init__(self) -> None:
        self.known: dict[str, dict[bytes, int]] = {}
        self.missing: dict[str, str] = {}
        """Hashes, in hex, of events that are not there, each with an event that follows it."""

    def problem(self, row: Row) -> str | None:
        """What is wrong with the next row; None when it fits."""
        known = self.known.setdefault(row.device, {GENESIS: 0})
        before = known.get(row.prev)
        known[row.hash] = row.ord
        if before is None:
            self.missing.setdefault(row.prev.hex(), row.id)
            return None
        return None if row.ord == before + 1 else f"event {row.id} is out of order"


def _check_chain(store: Store, report: Report, watch: Watch) -> set[str]:
    """Checks every row; returns the clips that events speak of."""
    total = int(store.connection.execute("SELECT count(*) FROM events").fetchone()[0])
    chain, clips = _Chain(), set[str | None]()
    forgettings, gaps = Forgettings.of(store), Gaps.of(store.connection)
    for row in store.rows():
        report.events += 1
        try:
            wrong = chain.problem(row) or row.problem()
            wrong = wrong or _personal_problem(row, forgettings, gaps, report)
        except (TypeError, ValueError):
            wrong = f"event {row.id!r} cannot be read"
        if wrong is not None:
            report.wrong(wrong)
        elif row.type in ("heard", "memo-kept"):
            clips.add(json.loads(row.body).get("clip"))
        if report.events % 500 == 0:
            watch.at(report.events, total)
    for name, event in chain.missing.items():
        if name in gaps.hashes:
            report.gaps += 1
        else:
            report.wrong(f"an event before {event} is missing")
    report.devices = len(chain.known)
    _check_heads(store, chain, report)
    watch.at(report.events, total)
    return {clip for clip in clips if clip}


def _personal_problem(row: Row, forgettings: Forgettings, gaps: Gaps, report: Report) -> str | None:
    if row.personal is None:
        return None if row.data is None else f"event {row.id} has details that are not its own"
    if row.data is None or row.salt is None:
        if row.id not in forgettings and row.id in gaps.details:
            report.gaps += 1
            return None
        report.forgotten += 1
        return None if row.id in forgettings else f"the details of event {row.id} are missing"
    return None


def _check_heads(store: Store, chain: _Chain, report: Report) -> None:
    heads = store.connection.execute("SELECT device, events, ord, hash FROM heads").fetchall()
    for device, events, order, digest in heads:
        known = chain.known.get(device, {GENESIS: 0})
        if known.get(bytes(digest)) != order or len(known) - 1 != events:
            report.wrong(f"the last events of {device} are missing")
    for device in chain.known.keys() - {head[0] for head in heads}:
        report.wrong(f"the events of {device} are not counted")
    lost = store.connection.execute(
        "SELECT count(*) FROM personal WHERE event NOT IN (SELECT id FROM events)"
    ).fetchone()[0]
    if lost:
        report.wrong(f"{lost} details belong to no event")


def _check_views(store: Store, views: ViewsMaker, report: Report, kept: Path | None, *, full: bool) -> None:
    store.checks = False  # every row was looked at before, in this same transaction
    made = views(lambda job: store.events(job=job))
    if made.of_other_version(store.connection):
        return  # nobody reads them, and the next writer makes them anew
    fresh = None if kept is None or full else _gone_on(store, made, kept)
    wrong = made.tables if fresh is None else _unlike(store, made, fresh)
    if fresh is None or wrong:
        fresh = sqlite3.connect(":memory:", isolation_level=None)
        made.rebuild(fresh, store.events(bare=True))
        wrong = _unlike(store, made, fresh)
    for table in wrong:
        report.wrong_views += 1
        report.wrong(f"the view {table} does not say what the events add up to")
    if kept is not None and not wrong:
        _keep(store, fresh, kept)
    fresh.close()


def _unlike(store: Store, made: Views, fresh: sqlite3.Connection) -> tuple[str, ...]:
    """Tables that say something else than those in `fresh`."""
    return tuple(table for table in made.tables if _rows(store.connection, table) != _rows(fresh, table))


def _rows(connection: sqlite3.Connection, table: str) -> list[Any]:
    with suppress(sqlite3.OperationalError):  # it is not there, or has other columns
        return connection.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall()
    return []


def _gone_on(store: Store, made: Views, kept: Path) -> sqlite3.Connection | None:
    """The views that were kept, with the events since; None where they are not of this journal's first
    events, or where some that came since belong before the last of those."""
    fresh = sqlite3.connect(":memory:", isolation_level=None)
    try:
        with closing(sqlite3.connect(f"{kept.absolute().as_uri()}?mode=ro", uri=True)) as file:
            file.backup(fresh)
        ((seq, code),) = fresh.execute("SELECT seq, code FROM of").fetchall()
        span = "SELECT (SELECT max(id) FROM events WHERE seq <= ?1) < coalesce(min(id), 'x') FROM events"
        (later,) = store.connection.execute(f"{span} WHERE seq > ?1", (seq,)).fetchone()
        if (
            later
            and code == seals.Seals(store.connection).until(seq)
            and made.resume(store.connection, fresh)
        ):
            made.add(list(store.events(after=seq, bare=True)))
            made.write(fresh)
            return fresh
    except (sqlite3.Error, ValueError, TypeError):
        pass
    fresh.close()
    return None


def _keep(store: Store, fresh: sqlite3.Connection, kept: Path) -> None:
    """Keep views that were found right; where that cannot be, the next look takes longer."""
    fresh.execute("DROP TABLE IF EXISTS of")
    fresh.execute("CREATE TABLE of (seq INTEGER, code TEXT)")
    fresh.execute("INSERT INTO of VALUES (?, ?)", (store.position, seals.seal(store.connection)))
    with suppress(OSError, sqlite3.Error):
        kept.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with new_file(kept, private=True) as part, closing(sqlite3.connect(part)) as file:
            fresh.backup(file)


def _check_clips(clips: Clips, wanted: set[str], report: Report, watch: Watch) -> None:
    for number, name in enumerate(sorted(wanted)):
        watch.at(number, len(wanted))
        if name not in clips:
            report.clips_gone += 1
            continue
        report.clips += 1
        try:
            clips.get(name)
        except VoicelogError as error:
            report.wrong(error.line())
