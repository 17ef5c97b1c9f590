"""Wherever the power goes, a journal is in its place and whole: the one before or the one after."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from voicelog.errors import VoicelogError
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal import store as stores
from voicelog.journal.backup import backup, restore
from voicelog.journal.clips import Clips
from voicelog.journal.store import Draft
from voicelog.journal.verify import verify

from .cutting import CUT
from .making import a_day, heard, image, note_dent, open_job

ROOT = Path(__file__).parents[2]
MOST_STEPS = 60


def cut(step: int, work: str, *paths: Path) -> int:
    command = [sys.executable, "-m", "tests.journal.cutting", str(step), work, *map(str, paths)]
    return subprocess.run(command, cwd=ROOT, check=False).returncode


def ids(path: Path) -> list[str]:
    assert verify(path, JobViews).problems == []
    with Logbook.open(path, writer=False) as log:
        return [event.id for event in log.events()]


def test_a_restore_that_is_cut_off(log: Logbook, path: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    backup(path, copy)
    old = ids(copy)
    note_dent(log, str(log.state.current), 40)
    new = ids(path)
    assert len(new) > len(old)
    results = []
    for step in range(1, MOST_STEPS):
        there = image(path, tmp_path / f"cut{step}")  # its last entries are in its log
        status = cut(step, "restore", copy, there)
        assert status in (0, CUT)
        found = ids(there)
        assert found in (old, new)
        results.append(found == old)
        if status == 0:
            break
    assert results == sorted(results)
    assert (results[0], results[-1]) == (False, True)
    aside = there.with_name(f"{there.name}.before-restore-1")
    assert ids(aside) == new
    log.close()


def test_a_forgetting_that_is_cut_off(log: Logbook, path: Path, tmp_path: Path) -> None:
    name = Clips.beside(path).put(np.arange(900, dtype=np.int16))
    log.commit([Draft(heard(90, clip=name), str(log.state.current))])
    log.close()
    for step in range(1, MOST_STEPS):
        there = tmp_path / f"cut{step}" / path.name
        shutil.copytree(path.parent, there.parent)
        status = cut(step, "forget", there)
        with Logbook.open(there) as again:
            gone = all(job.get("plate") is None for job in again.state.jobs.values())
        assert (name in Clips.beside(there)) == (not gone)
        assert verify(there, JobViews).problems == []
        if status == 0:
            assert gone
            break
        assert status == CUT
    assert status == 0


def test_a_damaged_journal_can_be_replaced(log: Logbook, path: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    backup(path, copy)
    log.close()
    path.write_bytes(b"x" * 5000)
    aside = restore(copy, path)
    assert aside is not None
    assert aside.read_bytes() == b"x" * 5000
    assert ids(path) == ids(copy)


def test_the_day_is_in_the_file_soon(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever copies the file alone, while it is written, has what was said up to a while ago."""
    monkeypatch.setattr(stores, "CHECKPOINT_S", 0.1)
    log = Logbook.open(path)
    a_day(log)
    alone, end = tmp_path / "alone.db", time.monotonic() + 20
    while time.monotonic() < end:
        time.sleep(0.2)
        shutil.copy(path, alone)
        with Logbook.open(alone, writer=False) as reader:
            if len(list(reader.events())) == len(list(log.events())):
                break
    assert ids(alone) == ids(path)
    log.close()


def test_a_file_without_its_log_says_so(path: Path, tmp_path: Path) -> None:
    database = sqlite3.connect(tmp_path / "lost.db", isolation_level=None)
    database.execute("PRAGMA journal_mode = WAL")
    database.execute("CREATE TABLE events (id)")
    lost = image(tmp_path / "lost.db", tmp_path / "away")
    lost.with_name("lost.db-wal").unlink()
    for writer in (True, False):
        with pytest.raises(VoicelogError, match="without its -wal file"):
            Logbook.open(lost, writer=writer)
    database.close()
    Logbook.open(path).close()
    assert ids(path) == []


def test_a_link_leads_to_one_journal(log: Logbook, path: Path, tmp_path: Path) -> None:
    link = tmp_path / "elsewhere" / "link.db"
    link.parent.mkdir()
    link.symlink_to(path)
    with pytest.raises(VoicelogError, match="another voicelog is writing"):
        Logbook.open(link)
    log.close()
    with Logbook.open(link) as again:
        open_job(again)
    assert sorted(link.parent.iterdir()) == [link]
    assert verify(link, JobViews).ok


def test_a_seal_shows_what_was_cut_off(log: Logbook, path: Path) -> None:
    from voicelog.journal.seal import seal

    code = seal(log.store.connection)
    assert verify(path, seal=code).ok
    note_dent(log, str(log.state.current), 40)
    assert verify(path, seal=code).ok
    later = seal(log.store.connection)
    log.close()
    database = sqlite3.connect(path, isolation_level=None)
    triggers = database.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in triggers:
        database.execute(f"DROP TRIGGER {name}")
    database.execute("DELETE FROM events WHERE seq > (SELECT max(seq) - 3 FROM events)")
    database.execute("DELETE FROM personal WHERE event NOT IN (SELECT id FROM events)")
    database.execute(
        "UPDATE heads SET (events, ord, hash) = "
        "(SELECT count(*), max(ord), (SELECT hash FROM events ORDER BY seq DESC LIMIT 1) FROM events)"
    )
    for _, text in triggers:
        database.execute(text)
    for (name,) in database.execute("SELECT name FROM sqlite_master WHERE name LIKE 'view%'").fetchall():
        database.execute(f"DROP TABLE {name}")
    database.close()
    Logbook.open(path).close()
    assert verify(path, JobViews).ok  # nothing in it shows the cut
    assert verify(path, JobViews, seal=code).ok
    report = verify(path, JobViews, seal=later)
    assert report.problems == [f"3 of the {later.split('-')[0]} events that were sealed are missing"]
    assert "are not those" in verify(path, seal=f"{code[:-1]}{'A' if code[-1] != 'A' else 'B'}").problems[0]
    with pytest.raises(VoicelogError, match="no seal"):
        verify(path, seal="hello")
