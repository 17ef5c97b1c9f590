"""What is whole in a damaged journal comes out of it; what is not is named; the rest goes on."""

from __future__ import annotations

import random
import sqlite3
from pathlib import Path

import numpy as np
import pytest

from voicelog.errors import VoicelogError
from voicelog.jobs.fold import fold
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal.backup import backup
from voicelog.journal.clips import Clips
from voicelog.journal.events import Event, Noted
from voicelog.journal.exchange import export
from voicelog.journal.salvage import Rescued, salvage
from voicelog.journal.schema import TRIGGERS
from voicelog.journal.store import Draft
from voicelog.journal.verify import verify

from .making import a_day, heard, note_dent, open_job


def whole(path: Path) -> None:
    report = verify(path, JobViews)
    assert report.ok, report.problems


def events_of(path: Path) -> dict[str, Event]:
    with Logbook.open(path, writer=False) as log:
        assert log.state == fold(log.events())
        return {event.id: event for event in log.events()}


def saved(path: Path, name: str = "new.journal") -> tuple[Path, Rescued]:
    target = path.with_name(name)
    return target, salvage(path, target, JobViews)


@pytest.fixture
def closed(log: Logbook, path: Path) -> Path:
    """A day, closed; its events are in the file."""
    log.close()
    return path


def edit(path: Path, statement: str, *arguments: object) -> None:
    """Change events as a program that knows the guards could."""
    database = sqlite3.connect(path, isolation_level=None)
    for name in TRIGGERS:
        database.execute(f"DROP TRIGGER {name}")
    assert database.execute(statement, arguments).rowcount > 0
    for text in TRIGGERS.values():
        database.execute(text)
    database.close()


def test_of_a_whole_journal_all_is_saved(closed: Path) -> None:
    clips = Clips.beside(closed)
    with Logbook.open(closed) as log:
        log.commit([Draft(heard(90, clip=clips.put(np.arange(400, dtype=np.int16))))])
        jobs = dict(log.state.jobs)
    before = closed.read_bytes()
    target, result = saved(closed)
    assert (result.lost, result.details, result.reopened, result.clips) == ([], [], 0, 1)
    assert closed.read_bytes() == before
    whole(target)
    assert events_of(closed).items() <= events_of(target).items()
    with Logbook.open(target) as log:
        assert log.state.jobs == jobs
        open_job(log)
    whole(target)


def test_what_is_still_in_the_write_ahead_log_is_saved(log: Logbook, path: Path) -> None:
    assert saved(path)[1].lost == []
    assert events_of(path).items() <= events_of(path.with_name("new.journal")).items()


def test_one_changed_event_is_lost_and_named(closed: Path) -> None:
    before = len(events_of(closed))
    event = next(event for event in events_of(closed).values() if isinstance(event.body, Noted))
    edit(closed, "UPDATE events SET body = replace(body, '41', '91') WHERE id = ?", event.id)
    assert not verify(closed, JobViews).ok
    target, result = saved(closed)
    (lost,) = result.lost
    assert (lost.first, lost.last, lost.kind, lost.job) == (event.order, event.order, "noted", event.job)
    assert "does not fit its hash" in lost.why
    assert lost.after <= event.at <= lost.before
    whole(target)
    assert verify(target).gaps == 1
    assert result.events == before - 1


def test_a_lost_opening_does_not_hide_the_job(closed: Path) -> None:
    with Logbook.open(closed, writer=False) as log:
        jobs = {
            job.id: {n: dent.values() for n, dent in job.dents.items()} for job in log.state.jobs.values()
        }
    edit(closed, "UPDATE events SET device = 'x' WHERE type = 'job-opened' OR type = 'dent-opened'")
    target, result = saved(closed)
    undone = 2  # a dent of each job that was taken back
    assert result.reopened == len(jobs) + sum(map(len, jobs.values())) + undone
    with Logbook.open(target, writer=False) as log:
        found = {
            job.id: {n: dent.values() for n, dent in job.dents.items()} for job in log.state.jobs.values()
        }
    assert found == jobs
    whole(target)


def test_a_backup_fills_the_gaps(closed: Path, tmp_path: Path) -> None:
    copy = tmp_path / "backup.db"
    backup(closed, copy)
    with Logbook.open(closed, writer=False) as log:
        jobs = dict(log.state.jobs)
    edit(
        closed,
        "UPDATE events SET at = '2001-01-01T00:00:00.000+00:00' WHERE type IN ('dent-opened', 'noted')",
    )
    edit(closed, "UPDATE personal SET data = '{}' WHERE event > ?", "")
    target, result = saved(closed)
    assert result.details
    with Logbook.open(target) as log:
        log.merge(copy)
        assert log.state.jobs == jobs
        assert log.state == fold(log.events())
    whole(target)
    assert all(event in events_of(target).values() for event in events_of(copy).values())


def test_a_salvaged_journal_can_be_exported_and_merged(closed: Path, tmp_path: Path) -> None:
    edit(closed, "UPDATE events SET ord = ord + 1000 WHERE type = 'noted'")
    target, _ = saved(closed)
    lines = tmp_path / "day.jsonl"
    with lines.open("w") as file:
        export(target, file)
    for number, take in enumerate((lambda log: log.take_in(lines.open()), lambda log: log.merge(target))):
        with Logbook.open(tmp_path / f"other{number}.db") as log:
            take(log)
        whole(tmp_path / f"other{number}.db")
        assert events_of(tmp_path / f"other{number}.db") == events_of(target)


def test_salvage_never_writes_over(closed: Path) -> None:
    with pytest.raises(VoicelogError, match="is there already"):
        salvage(closed, closed)
    text = closed.with_name("list.txt")
    text.write_text("a shopping list" * 900)
    with pytest.raises(VoicelogError, match="not one whole event"):
        salvage(text, closed.with_name("new"))
    assert not closed.with_name("new").exists()


def test_forgotten_details_do_not_come_back(closed: Path) -> None:
    with Logbook.open(closed) as log:
        log.forget(list(log.state.jobs))
    target, result = saved(closed)
    assert result.details == []
    whole(target)
    assert b"AB02CDE" not in target.read_bytes()


def test_at_any_damage_all_that_is_whole_is_saved(path: Path) -> None:
    """Bits, zeroed pages and cut files at random: what comes out is a part of what was in, and all but
    what was hit: at most the events on the pages that were touched are lost."""
    with Logbook.open(path) as log:
        a_day(log, jobs=4, dents=6)
        note_dent(log, str(log.state.current), 30)
    good, data, chance = events_of(path), path.read_bytes(), random.Random(3)
    on_page = max(len(good) // 4, 20)
    for number in range(25):
        bad = bytearray(data)
        at = chance.randrange(4096, len(bad))
        if number % 3 == 0:
            bad[at] ^= 1 << chance.randrange(8)
        elif number % 3 == 1:
            bad[at // 4096 * 4096 : at // 4096 * 4096 + 4096] = bytes(4096)
        else:
            bad[:100] = bytes(100)
            bad[at : at + 50] = chance.randbytes(50)[: len(bad) - at]
        place = path.with_name(f"bad{number}.db")
        place.write_bytes(bytes(bad))
        target, result = saved(place, f"good{number}.db")
        found = events_of(target)
        whole(target)
        texts = {key: event.body for key, event in good.items() if key not in result.details}
        assert all(found[key].body == body for key, body in texts.items() if key in found)
        assert len(good) - result.events == result.lost_events <= on_page


def test_prices_hang_on_hashes_and_writing_warns(closed: Path) -> None:
    edit(closed, "UPDATE events SET body = replace(body, '41', '91') WHERE type = 'noted'")
    with Logbook.open(closed, writer=False) as log, pytest.raises(VoicelogError, match="was changed after"):
        _ = list(log.state.jobs.values())
    for _ in range(2):
        with Logbook.open(closed) as log:
            assert "the journal is damaged (event" in log.warnings[0]
            note_dent(log, str(log.state.current), 31)
            assert log.trouble is None


def test_a_long_journal_is_looked_through_in_turns(closed: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("voicelog.journal.soundness.AT_ONCE", 10)
    count = len(events_of(closed))
    last = max(events_of(closed))
    edit(closed, "UPDATE events SET at = '2001-01-01T00:00:00.000+00:00' WHERE id = ?", last)
    warned = [bool(warnings_of(closed)) for _ in range(count // 10 + 3)]
    assert warned == [False] * ((count - 1) // 10) + [True] * (len(warned) - (count - 1) // 10)


def warnings_of(path: Path) -> list[str]:
    with Logbook.open(path) as log:
        return list(log.warnings)


def test_events_taken_away_with_their_count_adjusted_nowhere_are_missed(closed: Path) -> None:
    edit(closed, "DELETE FROM events WHERE id = (SELECT max(id) FROM events)")
    assert "events are missing" in warnings_of(closed)[0]
