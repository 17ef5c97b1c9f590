"""What another program with a plain connection can do to a journal: nothing, or nothing unseen."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from voicelog.errors import VoicelogError
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal import rows, schema
from voicelog.journal.exchange import export
from voicelog.journal.verify import verify

from .making import note_dent, open_job

ROW = ", ".join(rows.COLUMNS)
GUARDED = [
    "UPDATE events SET body = '{}'",
    "UPDATE OR REPLACE events SET id = (SELECT max(id) FROM events) WHERE seq = 1",
    "UPDATE events SET at = at WHERE seq = 1",
    "DELETE FROM events",
    "DELETE FROM events WHERE seq = (SELECT max(seq) FROM events)",
    "INSERT OR REPLACE INTO events SELECT * FROM events WHERE seq = 1",
    f"REPLACE INTO events ({ROW}) SELECT {ROW} FROM events WHERE seq = 2",
    f"REPLACE INTO events (seq, {ROW}) SELECT 1, 'x' || {ROW} FROM events WHERE seq = 2",
    f"INSERT INTO events ({ROW}) SELECT {ROW} FROM events WHERE seq = 1",
    f"INSERT INTO events ({ROW}) SELECT {ROW} FROM events WHERE seq = 1 "
    "ON CONFLICT (id) DO UPDATE SET body = '{}'",
]  # fmt: skip


def plain(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(path)


@pytest.mark.parametrize("statement", GUARDED)
def test_events_cannot_be_changed(log: Logbook, path: Path, statement: str) -> None:
    other = plain(path)
    before = other.execute("SELECT * FROM events ORDER BY seq").fetchall()
    with pytest.raises(sqlite3.IntegrityError, match="never"):
        other.execute(statement)
    other.rollback()
    assert other.execute("SELECT * FROM events ORDER BY seq").fetchall() == before
    other.close()
    assert verify(path, JobViews).ok


def test_a_plain_connection_has_recursive_triggers_off(path: Path, log: Logbook) -> None:
    """Else the statements above would prove nothing about the delete trigger's blind spot."""
    other = plain(path)
    assert other.execute("PRAGMA recursive_triggers").fetchone() == (0,)
    other.execute("DROP TRIGGER events_no_replace")
    other.execute("INSERT OR REPLACE INTO events SELECT * FROM events WHERE seq = 1")
    other.rollback()
    other.close()


def test_columns_are_strict(log: Logbook, path: Path) -> None:
    other = plain(path)
    columns = ROW.replace("ord", "'twelve'").replace("id,", "'new',", 1)
    with pytest.raises(sqlite3.IntegrityError, match="TEXT value in INTEGER column"):
        other.execute(f"INSERT INTO events ({ROW}) SELECT {columns} FROM events WHERE seq = 1")
    other.close()


def test_settings_of_the_file(log: Logbook, path: Path) -> None:
    """SQLite, "Database File Format": text at 0, WAL versions at 18 and 19, application id at 68;
    "PRAGMA synchronous": FULL is 2."""
    full, wal = (
        log.store.connection.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("synchronous", "journal_mode")
    )
    assert (full, wal) == (2, "wal")
    log.close()
    header = path.read_bytes()[:100]
    assert header[:16] == b"SQLite format 3\0"
    assert (header[18], header[19]) == (2, 2)
    assert header[68:72] == b"VLOG"


def test_files_are_private(log: Logbook, path: Path) -> None:
    assert path.parent.stat().st_mode & 0o777 == 0o700
    modes = {part.name: part.stat().st_mode & 0o777 for part in path.parent.iterdir()}
    assert {"day.journal", "day.journal-wal", "day.journal-shm", "day.journal.lock"} <= set(modes)
    assert set(modes.values()) == {0o600}


@pytest.mark.parametrize("name", list(schema.TRIGGERS))
def test_missing_guards_are_put_back_and_told(log: Logbook, path: Path, name: str) -> None:
    log.close()
    other = plain(path)
    other.execute(f"DROP TRIGGER {name}")
    other.close()
    assert not verify(path).ok
    with Logbook.open(path) as again:
        assert name in again.warnings[0]
        assert schema.unguarded(again.store.connection) == []


def test_a_weakened_guard_is_put_back(log: Logbook, path: Path) -> None:
    log.close()
    other = plain(path)
    other.execute("DROP TRIGGER events_no_delete")
    other.execute("CREATE TRIGGER events_no_delete BEFORE DELETE ON events WHEN 0 BEGIN SELECT 1; END")
    other.close()
    with Logbook.open(path) as again:
        assert "events_no_delete" in again.warnings[0]
    other = plain(path)
    with pytest.raises(sqlite3.IntegrityError, match="never deleted"):
        other.execute("DELETE FROM events")
    other.close()


def test_a_transform_that_drops_the_guards_is_noticed(log: Logbook, path: Path) -> None:
    """sqlite-utils' transform remakes the table without its triggers."""
    from sqlite_utils import Database

    log.close()
    database = Database(path)
    database["events"].transform(rename={"derived": "origin"})
    database.close()
    assert any("guard" in problem for problem in verify(path).problems)
    with pytest.raises(VoicelogError, match="remade by another program"):
        Logbook.open(path)


TAMPERING: dict[str, tuple[str, str]] = {
    "body": ("UPDATE events SET body = replace(body, '41', '31') WHERE type = 'noted'", "was changed"),
    "time": ("UPDATE events SET at = '2026-01-01T00:00:00.000+00:00' WHERE seq = 5", "was changed"),
    "middle": ("DELETE FROM events WHERE seq = 7", "before .* is missing"),
    "last": ("DELETE FROM events WHERE seq = (SELECT max(seq) FROM events)", "last events of .* are missing"),
    "swap": ("UPDATE events SET job = (SELECT max(job) FROM events) WHERE type = 'noted'", "was changed"),
    "details": ("UPDATE personal SET data = replace(data, 'AB0', 'XY0')", "details of event .* were changed"),
    "no details": ("DELETE FROM personal", "details of event .* are missing"),
    "view": ("UPDATE view_dents SET slots = replace(slots, '50', '15')", "view_dents does not say"),
    "money": ("UPDATE view_quotes SET low_minor = 1", "view_quotes does not say"),
    "heads": ("DELETE FROM heads", "are not counted"),
}


@pytest.mark.parametrize("what", list(TAMPERING))
def test_verify_finds_what_was_changed_with_the_guards_off(log: Logbook, path: Path, what: str) -> None:
    statement, found = TAMPERING[what]
    other = plain(path)
    for name in schema.TRIGGERS:
        other.execute(f"DROP TRIGGER {name}")
    assert other.execute(statement).rowcount > 0
    for sql in schema.TRIGGERS.values():
        other.execute(sql)
    other.commit()
    other.close()
    problems = verify(path, JobViews).problems
    assert any(re.search(found, problem) for problem in problems), problems


def test_money_is_a_whole_number_of_minor_units(log: Logbook) -> None:
    found = log.store.connection.execute("SELECT DISTINCT currency, low_minor, high_minor FROM view_quotes")
    assert found.fetchall() == [("GBP", 12345, 15000)]
    real = [
        (table, column[1])
        for (table,) in log.store.connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table'"
        ).fetchall()
        for column in log.store.connection.execute(f"PRAGMA table_info({table})")
        if column[2] not in ("TEXT", "INTEGER", "BLOB")
    ]
    assert real == []


def test_another_database_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    other = plain(path)
    other.execute("CREATE TABLE t (x)")
    other.close()
    with pytest.raises(VoicelogError, match="not a journal"):
        Logbook.open(path)


def test_a_file_that_is_no_database_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("panel roof, forty five mil\n" * 100)
    for writer in (True, False):
        with pytest.raises(VoicelogError, match="is no journal") as caught:
            Logbook.open(path, writer=writer)
        assert "\n" not in caught.value.line()
    assert path.read_text() == "panel roof, forty five mil\n" * 100
    with pytest.raises(VoicelogError, match=r"notes\.txt: is no journal"):
        verify(path)


def test_reading_what_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(VoicelogError, match="no such journal"):
        Logbook.open(tmp_path / "none.journal", writer=False)
    assert list(tmp_path.iterdir()) == []


def newer(path: Path) -> None:
    """A journal of a later version: one more column, and an event of a type not known yet."""
    other = plain(path)
    other.execute("ALTER TABLE events ADD COLUMN place TEXT")
    other.execute(
        f"INSERT INTO events ({ROW}) SELECT 'f' || substr(id, 2), grp, at, ord + 1, device, version, job, "
        "'sung', 7, '{\"tune\":\"la\"}', derived, NULL, hash, hash FROM events ORDER BY seq DESC LIMIT 1"
    )
    other.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
    other.commit()
    other.close()


def test_a_newer_journal_is_refused_but_exported(log: Logbook, path: Path, tmp_path: Path) -> None:
    log.close()
    newer(path)
    for writer in (True, False):
        with pytest.raises(VoicelogError, match="update voicelog"):
            Logbook.open(path, writer=writer)
    with pytest.raises(VoicelogError, match="update voicelog"):
        verify(path)
    out = tmp_path / "out.jsonl"
    with out.open("w") as file:
        count = export(path, file)
    last = json.loads(out.read_text().splitlines()[-2])
    assert (last["type"], last["body"], last["place"]) == ("sung", {"tune": "la"}, None)
    assert count == len(out.read_text().splitlines()) - 2


def test_an_older_journal_is_brought_forward(
    log: Logbook, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = list(log.events())
    log.close()

    def add(connection: sqlite3.Connection) -> None:
        connection.execute("CREATE TABLE places (name TEXT PRIMARY KEY) STRICT")

    steps: tuple[Callable[[sqlite3.Connection], None], ...] = (*schema.MIGRATIONS, add)
    monkeypatch.setattr(schema, "MIGRATIONS", steps)
    monkeypatch.setattr(schema, "VERSION", len(steps))
    with pytest.raises(VoicelogError, match="an older voicelog wrote it"):
        Logbook.open(path, writer=False)
    with Logbook.open(path) as again:
        assert schema.version_of(again.store.connection) == 2
        assert again.store.connection.execute("SELECT count(*) FROM places").fetchone() == (0,)
        assert list(again.events()) == before


def test_a_failed_migration_leaves_the_journal_as_it_was(
    log: Logbook, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log.close()

    def fail(connection: sqlite3.Connection) -> None:
        connection.execute("CREATE TABLE half (name TEXT) STRICT")
        connection.execute("INSERT INTO nowhere VALUES (1)")

    with monkeypatch.context() as patch:
        patch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, fail))
        patch.setattr(schema, "VERSION", 2)
        with pytest.raises(VoicelogError):
            Logbook.open(path)
    with Logbook.open(path) as again:
        tables = again.store.connection.execute("SELECT name FROM sqlite_master").fetchall()
        assert ("half",) not in tables
        note_dent(again, open_job(again), 1)
        assert again.trouble is None


def test_bodies_of_an_older_schema_are_brought_forward(monkeypatch: pytest.MonkeyPatch) -> None:
    from voicelog.journal.events import Finished

    monkeypatch.setattr(Finished, "SCHEMA", 2)
    monkeypatch.setitem(rows.UPGRADES, ("finished", 1), lambda body: {"gaps": [body["gap"]]})
    assert rows.decode("finished", 1, {"gap": "reference"}) == Finished(("reference",))
    assert rows.decode("finished", 2, {"gaps": []}) == Finished(())
    with pytest.raises(VoicelogError, match="newer version"):
        rows.decode("finished", 3, {})
