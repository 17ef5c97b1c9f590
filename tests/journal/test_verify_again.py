"""A second verify adds only what came since to the views, and sees all the same what is wrong."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest

from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal.backup import restore
from voicelog.journal.verify import Report, verify

from .making import SetClock, a_day, note_dent, open_job, undo


@pytest.fixture
def path(tmp_path: Path) -> Path:
    place = tmp_path / "day.journal"
    with Logbook.open(place, clock=SetClock()) as log:
        a_day(log)
    assert verify(place, JobViews, kept=tmp_path / "kept").ok
    return place


@pytest.fixture
def rebuilt(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """One entry for each time that views were made from the first event on."""
    times: list[int] = []
    whole = JobViews.rebuild

    def counting(self: JobViews, *given: Any) -> None:
        times.append(1)
        whole(self, *given)

    monkeypatch.setattr(JobViews, "rebuild", counting)
    return times


def again(path: Path, **more: Any) -> Report:
    return verify(path, JobViews, kept=path.with_name("kept"), **more)


def change(path: Path, *statements: str) -> None:
    database = sqlite3.connect(path, isolation_level=None)
    for statement in statements:
        assert database.execute(statement).rowcount
    database.close()


def test_only_what_came_since_is_added(path: Path, rebuilt: list[int]) -> None:
    with Logbook.open(path) as log:
        note_dent(log, str(log.state.current), 30)
        open_job(log)
        undo(log)
        undo(log)
    for _ in range(2):
        assert again(path).problems == []
    assert rebuilt == []
    assert again(path, full=True).ok
    assert rebuilt == [1]


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE view_dents SET worked_ms = 5 WHERE rowid_is_first",
        "UPDATE view_jobs SET number = 9 WHERE number = 1",
        "UPDATE view_groups SET undone = 1 WHERE place = 3",
        "DELETE FROM view_quotes",
        "UPDATE view_journal SET value = 'x' WHERE key = 'current'",
    ],
)
def test_a_wrong_view_of_before_is_found(path: Path, statement: str) -> None:
    change(path, statement.replace("rowid_is_first", "dent = 1"))
    report = again(path)
    assert report.only_views
    assert again(path).only_views


def test_a_changed_event_of_before_is_found(path: Path) -> None:
    change(path, "DROP TRIGGER events_no_update", "UPDATE events SET body = body || ' ' WHERE ord = 5")
    assert any("was changed after it was written" in problem for problem in again(path).problems)


@pytest.mark.parametrize("damage", ["cut", "values", "another", "version"])
def test_what_was_kept_may_be_damaged_or_old(path: Path, tmp_path: Path, damage: str) -> None:
    kept = tmp_path / "kept"
    if damage == "cut":
        kept.write_bytes(kept.read_bytes()[:5000])
    elif damage == "values":
        change(kept, "UPDATE view_dents SET worked_ms = 77")
    elif damage == "version":
        change(kept, "UPDATE view_journal SET value = '0' WHERE key = 'version'")
    else:
        with Logbook.open(tmp_path / "other.db", clock=SetClock()) as log:
            a_day(log, jobs=1)
        assert verify(tmp_path / "other.db", JobViews, kept=kept).ok
    assert again(path).problems == []
    assert again(path).problems == []


def test_events_of_another_device_from_before_are_added_in_their_place(
    path: Path, tmp_path: Path, rebuilt: list[int]
) -> None:
    other = tmp_path / "other" / "day.journal"
    restore(path, other)
    with Logbook.open(other) as log:
        note_dent(log, str(log.state.current), 31)
    with Logbook.open(path) as log:
        note_dent(log, str(log.state.current), 30)
    assert again(path).ok
    with Logbook.open(path) as log:
        log.merge(other)
    rebuilt.clear()
    assert again(path).problems == []
    assert rebuilt == [1]


def test_what_is_kept_is_private_and_tells_no_plate(path: Path, tmp_path: Path) -> None:
    kept = tmp_path / "kept"
    assert kept.stat().st_mode & 0o077 == 0
    assert b"AB02CDE" not in kept.read_bytes()
    assert b"AB02CDE" in path.read_bytes()


def test_views_of_an_older_version_are_no_damage(path: Path) -> None:
    change(path, "UPDATE view_journal SET value = '0' WHERE key = 'version'")
    assert again(path).problems == []
