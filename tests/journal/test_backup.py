"""Backup while listening, and restore."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import numpy as np
import pytest

from voicelog.errors import VoicelogError
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal.backup import backup, restore
from voicelog.journal.clips import Clips
from voicelog.journal.verify import verify
from voicelog.journal.work import StoppedError

from .making import note_dent, open_job


def ids(path: Path) -> list[str]:
    with Logbook.open(path, writer=False) as log:
        return [event.id for event in log.events()]


def test_backup_while_listening(
    log: Logbook, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One moment of the journal, however much is written meanwhile."""
    monkeypatch.setattr("voicelog.journal.backup._PAGES", 1)
    job, stop, told = open_job(log), threading.Event(), []

    def listen() -> None:
        dent = 0
        while not stop.is_set():
            dent += 1
            told.append(note_dent(log, job, dent)[0].id)

    listener = threading.Thread(target=listen)
    listener.start()
    try:
        for number in range(5):
            copy = tmp_path / f"backup{number}.journal"
            before = set(told)
            count = backup(path, copy, progress=lambda done, total: time.sleep(0.002))
            kept = ids(copy)
            assert len(kept) == count
            assert before <= set(kept)
    finally:
        stop.set()
        listener.join()
    everything = ids(path)
    for number in range(5):
        copy = tmp_path / f"backup{number}.journal"
        kept = ids(copy)
        assert kept == everything[: len(kept)]
        assert verify(copy, JobViews).ok
        assert copy.stat().st_mode & 0o777 == 0o600
    assert [part.name for part in tmp_path.iterdir() if "part" in part.name] == []


def test_backup_takes_the_clips(log: Logbook, path: Path, tmp_path: Path) -> None:
    name = Clips.beside(path).put(np.arange(800, dtype=np.int16))
    copy = tmp_path / "b" / "backup.journal"
    backup(path, copy)
    assert name in Clips.beside(copy)
    parts = [part.stat().st_mode & 0o777 for part in Clips.beside(copy).folder.rglob("*")]
    assert set(parts) == {0o700, 0o600}


def test_a_backup_never_overwrites(log: Logbook, path: Path, tmp_path: Path) -> None:
    copy = tmp_path / "backup.journal"
    copy.write_text("mine")
    with pytest.raises(VoicelogError, match="is there already"):
        backup(path, copy)
    assert copy.read_text() == "mine"


def test_a_stopped_backup_leaves_nothing(log: Logbook, path: Path, tmp_path: Path) -> None:
    with pytest.raises(StoppedError):
        backup(path, tmp_path / "b" / "backup.journal", cancelled=lambda: True)
    assert list((tmp_path / "b").iterdir()) == []


def test_a_damaged_journal_is_not_backed_up(log: Logbook, path: Path, tmp_path: Path) -> None:
    log.close()
    content = bytearray(path.read_bytes())
    content[8192:12288] = bytes(4096)
    path.write_bytes(content)
    with pytest.raises(VoicelogError):
        backup(path, tmp_path / "backup.journal")
    assert not (tmp_path / "backup.journal").exists()


def test_restore(log: Logbook, path: Path, tmp_path: Path) -> None:
    copy = tmp_path / "backup.journal"
    name = Clips.beside(path).put(np.arange(800, dtype=np.int16))
    backup(path, copy)
    kept = ids(copy)
    note_dent(log, str(log.state.current), 30)
    lost = ids(path)
    with pytest.raises(VoicelogError, match="another voicelog is writing"):
        restore(copy, path)
    log.close()
    Clips.beside(path).remove([name])
    aside = restore(copy, path)
    assert aside is not None
    assert ids(aside) == lost
    assert name in Clips.beside(path)
    with Logbook.open(path) as again:
        assert [event.id for event in again.events()] == kept
        assert again.store.device != log.store.device
        note_dent(again, str(again.state.current), 31)
        # What the lost journal held beyond the backup can be taken in when it turns up.
        again.merge(aside)
        assert set(lost) < {event.id for event in again.events()}
        assert again.state.job is not None
        assert {30, 31} <= set(again.state.job.dents)
    assert verify(path, JobViews).ok
    assert restore(copy, tmp_path / "new" / "day.journal") is None
    assert ids(tmp_path / "new" / "day.journal") == kept


def test_what_is_no_backup_is_not_restored(log: Logbook, path: Path, tmp_path: Path) -> None:
    log.close()
    before = ids(path)
    bad = tmp_path / "bad.journal"
    bad.write_bytes(b"no database at all" * 100)
    with pytest.raises(VoicelogError, match="is no journal"):
        restore(bad, path)
    assert ids(path) == before
    assert sorted(part.name for part in path.parent.iterdir() if "restor" in part.name) == []
