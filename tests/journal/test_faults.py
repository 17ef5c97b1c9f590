"""Full disks, locks, lost drives, damaged files: nothing committed is harmed, nothing said is lost."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import textwrap
from collections.abc import Iterator
from contextlib import suppress
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from voicelog.errors import VoicelogError
from voicelog.jobs.fold import fold
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal.clips import Clips
from voicelog.journal.connect import connect
from voicelog.journal.store import Draft, Store
from voicelog.journal.verify import verify

from .making import SetClock, a_day, heard, image, note_dent, open_job, redo, undo

ROOT = Path(__file__).parents[2]


def whole(path: Path) -> None:
    report = verify(path, JobViews)
    assert report.ok, report.problems


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of half a megabyte."""
    place = tmp_path / "small"
    place.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs", str(place)], capture_output=True, text=True
    )
    if made.returncode:
        pytest.skip(f"no file system can be mounted here: {made.stderr.strip()}")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_full_disk(small_disk: Path, clock: SetClock) -> None:
    path = small_disk / "day.journal"
    log = Logbook.open(path, clock=clock)
    job = open_job(log)
    ballast = small_disk / "ballast"
    ballast.write_bytes(b"x" * 200_000)
    dent = 0
    while log.pending < 5:
        dent += 1
        note_dent(log, job, dent)
        assert dent < 2000
    assert re.fullmatch("the disk is full; 5 entries wait in memory; make room", str(log.trouble))
    assert len(log.state.jobs[job].dents) == dent
    whole(path)
    kept = sum(1 for _ in Store.open(path, writer=False).events())
    assert kept == sum(1 for _ in log.events()) - 5 * 3

    ballast.unlink()
    assert log.retry()
    assert (log.pending, log.trouble) == (0, None)
    whole(path)
    log.close()
    with Logbook.open(path) as again:
        assert len(again.state.jobs[job].dents) == dent


def test_short_writes(path: Path, tmp_path: Path) -> None:
    """A write that the system cuts short (here by a limit on file sizes, as a full disk may)."""
    script = textwrap.dedent(
        """
        import resource, sys
        sys.path.insert(0, sys.argv[2])
        from tests.journal.making import note_dent, open_job
        from voicelog.jobs.logbook import Logbook
        log = Logbook.open(sys.argv[1])
        job = open_job(log)
        resource.setrlimit(resource.RLIMIT_FSIZE, (150_001, resource.RLIM_INFINITY))
        dent = 0
        while log.pending < 3:
            dent += 1
            note_dent(log, job, dent)
        print(log.trouble)
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        print(log.retry(), log.pending, log.trouble, dent)
        log.close()
        """
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(path), str(ROOT)],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    trouble, end = done.stdout.splitlines()
    assert "3 entries wait in memory" in trouble
    assert end.startswith("True 0 None")
    whole(path)
    with Logbook.open(path, writer=False) as log:
        assert log.state.job is not None
        assert len(log.state.job.dents) == int(end.split()[-1])


def test_locked_by_another_program(log: Logbook, path: Path) -> None:
    job = str(log.state.current)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    note_dent(log, job, 20)
    note_dent(log, job, 21)
    assert log.trouble == (
        "the journal is locked by another program; 2 entries wait in memory; close that program"
    )
    assert 21 in log.state.jobs[job].dents
    assert log.heards()[-1].body.words == "roof 45 mil"  # type: ignore[attr-defined]
    other.execute("ROLLBACK")
    other.close()
    note_dent(log, job, 22)
    assert (log.trouble, log.pending) == (None, 0)
    assert log.state == fold(log.events())
    whole(path)


def test_undo_while_the_disk_refuses(log: Logbook, path: Path) -> None:
    job = str(log.state.current)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    before = len(log.state.jobs[job].dents)
    group = note_dent(log, job, 20)[0].group
    assert undo(log) == group
    assert len(log.state.jobs[job].dents) == before
    assert redo(log) == group
    other.close()
    assert log.retry()
    assert len(log.state.jobs[job].dents) == before + 1
    assert log.state == fold(log.events())
    whole(path)


def test_a_journal_that_cannot_be_written_any_more(log: Logbook, path: Path) -> None:
    log.store.connection.execute("PRAGMA query_only = ON")
    note_dent(log, str(log.state.current), 20)
    assert "the journal cannot be written; 1 entry waits in memory" in str(log.trouble)
    log.store.connection.execute("PRAGMA query_only = OFF")
    assert log.retry()
    whole(path)


def test_drive_removed_and_put_back(log: Logbook, path: Path) -> None:
    job = str(log.state.current)
    away = path.parent.with_name("away")
    path.parent.rename(away)
    note_dent(log, job, 20)
    note_dent(log, job, 21)
    assert str(log.trouble).startswith("the journal file is gone; 2 entries wait in memory")
    away.rename(path.parent)
    assert log.retry()
    whole(path)
    assert {20, 21} <= set(fold(log.events()).jobs[job].dents)


def test_drive_put_back_under_another_number(log: Logbook, path: Path) -> None:
    """After unplugging, the same files are there under new inodes: the old handles lead nowhere."""
    job = str(log.state.current)
    away = path.parent.with_name("away")
    path.parent.rename(away)
    note_dent(log, job, 20)
    shutil.copytree(away, path.parent)
    for end in ("-shm",):
        path.with_name(path.name + end).unlink()
    assert log.retry(), log.trouble
    note_dent(log, job, 21)
    assert log.trouble is None
    whole(path)
    with Logbook.open(path, writer=False) as reader:
        assert {20, 21} <= set(reader.state.jobs[job].dents)


def test_another_journal_in_its_place(log: Logbook, path: Path, tmp_path: Path) -> None:
    away = path.parent.with_name("away")
    path.parent.rename(away)
    with Logbook.open(path) as other:
        open_job(other, "ZZ99ZZZ")
        before = list(other.events())
    note_dent(log, str(log.state.current), 20)
    log.retry()
    assert "another journal is in its place" in str(log.trouble)
    with Logbook.open(path, writer=False) as other:
        assert list(other.events()) == before
    shutil.rmtree(path.parent)
    away.rename(path.parent)
    assert log.retry()
    whole(path)


def test_somebody_who_wrote_without_the_lock(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two chains of one device would part in the same file: nothing is written over it."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    log = Logbook.open(path)
    open_job(log)
    intruder = Store(connect(path, writer=True), path, None)
    intruder.device = log.store.device
    intruder.read_head()
    intruder.commit([Draft(heard(70))])
    intruder.close()
    note_dent(log, str(log.state.current), 20)
    assert "another journal is in its place" in str(log.trouble)
    assert log.pending == 1
    with Logbook.open(path, writer=False) as reader:
        assert list(reader.events())[-1].body == heard(70)
    with pytest.raises(VoicelogError, match="1 entry waits in memory"):
        log.close()


def test_what_never_reached_the_disk_is_saved_on_closing(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, clock: SetClock
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    log = Logbook.open(path, clock=clock)
    a_day(log)
    path.unlink()
    note_dent(log, str(log.state.current), 20)
    state = log.state
    with pytest.raises(VoicelogError, match="could not be written") as caught:
        log.close()
    assert "\n" not in caught.value.line()
    rescued = Path(re.search(r"in (\S+jsonl)", caught.value.line())[1])  # type: ignore[index]
    assert rescued.stat().st_mode & 0o777 == 0o600
    with Logbook.open(tmp_path / "new" / "day.journal") as fresh:
        fresh.take_in(rescued.read_text().splitlines())
        assert fresh.state == state


def test_a_second_writer_is_refused(log: Logbook, path: Path) -> None:
    with pytest.raises(VoicelogError, match="another voicelog is writing this journal") as caught:
        Logbook.open(path)
    assert "\n" not in caught.value.line()
    script = f"from voicelog.jobs.logbook import Logbook; Logbook.open({str(path)!r})"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=ROOT)
    assert "another voicelog is writing this journal" in done.stderr
    log.close()
    Logbook.open(path).close()


def test_readers_beside_a_writer(log: Logbook, path: Path) -> None:
    readers = [Logbook.open(path, writer=False) for _ in range(3)]
    for dent in range(30, 40):
        note_dent(log, str(log.state.current), dent)
        for reader in readers:
            assert reader.refresh() == 3
            assert reader.state == log.state
    undo(log)
    for reader in readers:
        reader.refresh()
        assert reader.state == log.state
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            reader.store.connection.execute("DELETE FROM meta")
        reader.close()


def test_reading_from_a_folder_that_cannot_be_written(log: Logbook, path: Path) -> None:
    """As a user without rights, because the superuser may write anywhere."""
    log.close()
    shared = Path(tempfile.gettempdir()) / f"voicelog-read-only-{os.getpid()}"
    shutil.copytree(path.parent, shared)
    (shared / "day.journal.lock").unlink(missing_ok=True)
    for part in shared.iterdir():
        part.chmod(0o444)
    shared.chmod(0o555)
    script = textwrap.dedent(
        f"""
        import os
        from voicelog.jobs.logbook import Logbook
        from voicelog.errors import VoicelogError
        if os.geteuid() == 0:
            os.setgroups([]), os.setgid(65534), os.setuid(65534)
        path = {str(shared / path.name)!r}
        print(sum(1 for _ in Logbook.open(path, writer=False).events()))
        try:
            Logbook.open(path)
        except VoicelogError as error:
            print(error.line())
        """
    )
    try:
        done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=ROOT)
    finally:
        shared.chmod(0o700)
        shutil.rmtree(shared)
    assert done.stderr == ""
    count, refusal = done.stdout.splitlines()
    with Logbook.open(path, writer=False) as reader:
        assert int(count) == sum(1 for _ in reader.events())
    assert "the journal's folder cannot be written (Permission denied)" in refusal


def test_clock_set_back(log: Logbook, path: Path, clock: SetClock) -> None:
    job = str(log.state.current)
    clock.time -= timedelta(hours=3)
    late = note_dent(log, job, 20)
    note_dent(log, job, 21)
    log.close()
    clock.time -= timedelta(days=1)
    with Logbook.open(path, clock=clock) as again:
        note_dent(again, job, 22)
        events = list(again.events())
        assert [event.id for event in events] == sorted(event.id for event in events)
        assert [event.order for event in events] == list(range(1, len(events) + 1))
        assert late[0].at < events[0].at
        assert list(again.state.jobs[job].dents)[-3:] == [20, 21, 22]
    whole(path)


def test_truncated_write_ahead_log(path: Path, tmp_path: Path, clock: SetClock) -> None:
    """Cut anywhere, the journal opens with the commits before the cut, and goes on."""
    with Logbook.open(path, clock=clock) as log:
        a_day(log, jobs=1)
        copy = image(path, tmp_path / "image")
        events = [event.id for event in log.events()]
    wal = copy.with_name(copy.name + "-wal").read_bytes()
    lengths = []
    for cut in range(0, len(wal), max(1, len(wal) // 23)):
        there = image(copy, tmp_path / f"cut{cut}")
        there.with_name(there.name + "-wal").write_bytes(wal[:cut])
        with Logbook.open(there) as log:
            kept = [event.id for event in log.events()]
            assert kept == events[: len(kept)]
            lengths.append(len(kept))
            open_job(log)
        whole(there)
    assert lengths == sorted(lengths)
    assert lengths[0] < lengths[-1]


@settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(place=st.floats(0, 1, exclude_max=True), size=st.integers(1, 4096), byte=st.integers(0, 255))
@example(place=0.046875, size=1, byte=128)
def test_damaged_pages(closed: Closed, place: float, size: int, byte: int) -> None:
    """Overwritten anywhere: verify says so or nothing that counts was hit; never a traceback."""
    path = closed.path
    good = path.read_bytes()
    start = int(place * len(good))
    bad = path.with_name("bad.journal")
    bad.write_bytes(good[:start] + bytes([byte]) * min(size, len(good) - start) + good[start + size :])
    report = verify(bad, JobViews)
    if report.ok:
        assert closed.texts(bad) == closed.good
    for line in report.problems:
        assert "\n" not in line
    # Any other exception fails the test.
    with suppress(VoicelogError), Logbook.open(bad, writer=False) as log:
        _ = [job.title for job in log.state.jobs.values()]
    with suppress(VoicelogError), Logbook.open(bad) as log:
        open_job(log)
    for end in ("", "-wal", "-shm"):
        bad.with_name(bad.name + end).unlink(missing_ok=True)


class Closed:
    """A journal that nobody has open."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.good = self.texts(path)

    @staticmethod
    def texts(path: Path) -> list[str]:
        with Logbook.open(path, writer=False) as log:
            return [repr(event) for event in log.events()]


@pytest.fixture
def closed(log: Logbook, path: Path) -> Closed:
    log.close()
    return Closed(path)


def test_clips_on_a_full_disk(small_disk: Path) -> None:
    import numpy as np

    (small_disk / "ballast").write_bytes(b"x" * 500_000)
    noise = np.random.default_rng(1).integers(-20000, 20000, 80_000, dtype=np.int16)
    clips = Clips(small_disk / "clips")
    with pytest.raises(VoicelogError, match="a clip cannot be kept"):
        clips.put(noise)
    assert list(clips.folder.rglob("*.part")) == list(clips.names()) == []
