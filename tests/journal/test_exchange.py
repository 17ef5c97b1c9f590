"""Export, import and merge: identical journals, and the same result in any order."""

from __future__ import annotations

import hashlib
import io
import itertools
import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.errors import VoicelogError
from voicelog.jobs.fold import fold
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal import events as ev
from voicelog.journal.clips import Clips
from voicelog.journal.exchange import export
from voicelog.journal.store import Draft, Store
from voicelog.journal.verify import verify
from voicelog.journal.work import StoppedError

from .making import SetClock, a_day, heard, note_dent, open_job, redo, slot, undo


def exported(path: Path) -> str:
    out = io.StringIO()
    export(path, out)
    return out.getvalue()


def imported(path: Path, text: str) -> Path:
    with Logbook.open(path) as log:
        log.take_in(text.splitlines())
    return path


def test_the_way_there_and_back(log: Logbook, path: Path, tmp_path: Path) -> None:
    text = exported(path)
    copy = imported(tmp_path / "copy.journal", text)
    assert exported(copy) == text
    assert verify(copy, JobViews).ok
    with Logbook.open(copy, writer=False) as reader:
        assert reader.state == log.state
        assert list(reader.events()) == list(log.events())


def test_lines_are_as_documented(log: Logbook, path: Path) -> None:
    """The hash worked out from the line alone, by the words of the module's docstring."""
    lines = [json.loads(line) for line in exported(path).splitlines()]
    assert lines[0] == {"format": "voicelog-journal", "format_version": 1}
    assert lines[-1] == {"end": True, "events": len(lines) - 2}
    before: dict[str, str] = {}

    def text(data: Any) -> str:
        return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"))

    for line in lines[1:-1]:
        hashed = [text(line[name]) if name in ("body", "derived") else line[name] for name in HASHED]
        assert hashlib.sha256(text(hashed).encode()).hexdigest() == line["hash"]
        assert line["prev"] == before.get(line["device"], "")
        before[line["device"]] = line["hash"]
        if line["personal"] is not None:
            salted = f"{line['salt']}:{text(line['apart'])}"
            assert hashlib.sha256(salted.encode()).hexdigest() == line["personal"]


def test_importing_again_changes_nothing(log: Logbook, path: Path) -> None:
    text = exported(path)
    taken = log.take_in(text.splitlines())
    assert (taken.new, taken.known) == (0, len(text.splitlines()) - 2)
    assert exported(path) == text
    note_dent(log, str(log.state.current), 30)
    assert verify(path, JobViews).ok


HASHED = [
    "id", "group", "at", "order", "device", "version", "job", "type", "schema", "body", "derived",
    "personal", "prev",
]  # fmt: skip
END = '{"end": true, "events": %d}'
DAMAGE = {
    "cut": (lambda lines: lines[:-1], "cut off"),
    "shorter": (lambda lines: [*lines[:-2], lines[-1]], "meant to be here"),
    "fewer": (lambda lines: [*lines[:5], *lines[6:]], "meant to be here"),
    "hole": (lambda lines: [*lines[:5], *lines[6:-1], END % (len(lines) - 3)], "before .* is missing"),
    "changed": (lambda lines: [line.replace('"dent":1', '"dent":9') for line in lines], "is damaged"),
    "details": (lambda lines: [line.replace("AB02CDE", "AB99XYZ") for line in lines], "is damaged"),
    "no header": (lambda lines: lines[1:], "no exported journal"),
    "newer": (lambda lines: ['{"format": "voicelog-journal", "format_version": 2}'], "newer version"),
    "not JSON": (lambda lines: [*lines[:3], "panel roof", *lines[3:]], "line 4 cannot be read"),
    "wrong kind": (lambda lines: [*lines[:3], "[]", *lines[3:]], "line 4 cannot be read"),
    "empty": (lambda lines: [], "cut off"),
}


@pytest.mark.parametrize("what", list(DAMAGE))
def test_a_damaged_export_changes_nothing(log: Logbook, path: Path, tmp_path: Path, what: str) -> None:
    damage, message = DAMAGE[what]
    lines = damage(exported(path).splitlines())
    with Logbook.open(tmp_path / "copy.journal") as copy:
        open_job(copy)
        before, state = exported(tmp_path / "copy.journal"), fold(copy.events())
        with pytest.raises(VoicelogError, match=message) as caught:
            copy.take_in(lines, "day.jsonl")
        assert "\n" not in caught.value.line()
        assert exported(tmp_path / "copy.journal") == before
        assert copy.state == state
        note_dent(copy, str(copy.state.current), 1)
        assert copy.trouble is None
    assert verify(tmp_path / "copy.journal", JobViews).ok


def test_stopping_an_import_changes_nothing(log: Logbook, path: Path, tmp_path: Path) -> None:
    lines = exported(path).splitlines()
    with Logbook.open(tmp_path / "copy.journal") as copy:
        with pytest.raises(StoppedError, match="import was stopped"):
            copy.take_in(lines, cancelled=lambda: True)
        assert list(copy.events()) == []
        copy.take_in(lines)
        assert copy.state == log.state
    with pytest.raises(StoppedError):
        export(path, io.StringIO(), cancelled=lambda: True)


def three_devices(folder: Path) -> list[Path]:
    """A journal, a copy of it on two other devices, and work on all three, also on one job."""
    first = folder / "a" / "day.journal"
    clock = SetClock()
    with Logbook.open(first, clock=clock) as log:
        a_day(log)
        job = str(log.state.current)
    base, paths = exported(first), [first]
    for number, skew in enumerate((timedelta(minutes=-20), timedelta(minutes=7)), start=1):
        path = imported(folder / str(number) / "day.journal", base)
        paths.append(path)
        own = SetClock(clock.time + skew)
        with Logbook.open(path, clock=own) as log:
            note_dent(log, job, 11, 60 + number)
            log.commit([Draft(ev.Corrected(11, {"width_mm": slot(20 + number)}), job)])
            new = open_job(log)
            note_dent(log, new, 1)
            undo(log)
            if number == 2:
                redo(log)
    with Logbook.open(first, clock=clock) as log:
        note_dent(log, job, 11, 99)
        undo(log)
        undo(log)
        redo(log)
        redo(log)
    return paths


def test_a_merge_gives_the_same_in_any_order(tmp_path: Path) -> None:
    paths = three_devices(tmp_path)
    results, states = set(), []
    for number, order in enumerate(itertools.permutations(paths)):
        target = tmp_path / f"merged{number}" / "day.journal"
        with Logbook.open(target) as log:
            for path in order:
                log.merge(path)
            states.append(log.state)
            assert log.state == fold(log.events())
        assert verify(target, JobViews).ok
        results.add(exported(target))
    # And by way of a chain: the first into the second, the second into the third.
    for path, into in itertools.pairwise(paths):
        with Logbook.open(into) as log:
            log.merge(path)
    results.add(exported(paths[-1]))
    assert len(results) == 1
    assert all(state == states[0] for state in states)
    # The dent that each device called 11 is there three times, each with its own sizes.
    shared = next(job for job in states[0].jobs.values() if len(job.dents) > 4)
    late = [dent for number, dent in shared.dents.items() if number >= 11]
    assert sorted((dent.get("length_mm"), dent.get("width_mm")) for dent in late) == sorted(
        [(61, 21), (62, 22), (99, None)], key=str
    )


@settings(deadline=None, max_examples=15)
@given(st.data())
def test_merging_is_a_union(tmp_path_factory: pytest.TempPathFactory, data: st.DataObject) -> None:
    """a+b = b+a, (a+b)+c = a+(b+c), a+a = a, for devices that know of each other or do not."""
    folder = tmp_path_factory.mktemp("union")
    logs = [Logbook.open(folder / f"{name}.journal") for name in "abc"]
    for _ in range(data.draw(st.integers(2, 12))):
        log = data.draw(st.sampled_from(logs))
        action = data.draw(st.sampled_from(["open", "note", "undo", "redo", "merge"]))
        if action == "merge":
            log.merge(data.draw(st.sampled_from(logs)).store.path or "")
        elif action in ("undo", "redo"):
            undo(log) if action == "undo" else redo(log)
        elif action == "open" or log.state.current is None:
            open_job(log)
        else:
            note_dent(log, log.state.current, data.draw(st.integers(1, 4)))
    for log in logs:
        log.close()
    results = set()
    for order in ("abc", "cab", "bcacb"):
        target = folder / f"{order}.journal"
        with Logbook.open(target) as log:
            for name in order:
                log.merge(folder / f"{name}.journal")
            assert log.state == fold(log.events())
        results.add(exported(target))
    assert len(results) == 1


def test_a_fork_of_one_device_is_joined(log: Logbook, path: Path, tmp_path: Path) -> None:
    """A file that was copied by hand goes on under the same device name in both places."""
    import shutil

    log.close()
    other = tmp_path / "other.journal"
    shutil.copy(path, other)
    for place, length in ((path, 61), (other, 62)):
        with Logbook.open(place) as opened:
            note_dent(opened, str(opened.state.current), 20, length)
    with Logbook.open(path) as opened:
        opened.merge(other)
        assert opened.state.job is not None
        assert {61, 62} <= {dent.get("length_mm") for dent in opened.state.job.dents.values()}
        note_dent(opened, str(opened.state.current), 40)
    assert verify(path, JobViews).ok


def test_work_after_a_merge_comes_after_it(log: Logbook, path: Path, tmp_path: Path) -> None:
    """Although this device's clock is behind."""
    ahead = SetClock(SetClock().time + timedelta(days=2))
    other = tmp_path / "ahead.journal"
    with Logbook.open(other, clock=ahead) as theirs:
        open_job(theirs)
    log.merge(other)
    job = str(log.state.current)
    note_dent(log, job, 1, 77)
    assert list(log.events())[-1].at < list(log.events(kind="job-opened"))[-1].at
    assert log.state.jobs[job].dents[1].get("length_mm") == 77
    assert undo(log) is not None
    assert log.state.jobs[job].dents == {}


def test_a_merge_brings_the_clips(log: Logbook, path: Path, tmp_path: Path) -> None:
    other = tmp_path / "b" / "day.journal"
    sound = np.arange(1600, dtype=np.int16)
    with Logbook.open(other) as theirs:
        name = Clips.beside(other).put(sound)
        theirs.commit([Draft(heard(1, clip=name))])
    assert log.merge(other).clips == 1
    assert np.array_equal(Clips.beside(path).get(name), sound)


def test_readers_and_the_board_follow_a_merge(log: Logbook, path: Path, tmp_path: Path) -> None:
    reader, beside = Logbook.open(path, writer=False), log.beside()
    other = tmp_path / "early.journal"
    with Logbook.open(other, clock=SetClock(SetClock().time - timedelta(days=9))) as theirs:
        a_day(theirs, jobs=1)
    log.merge(other)
    for follower in (reader, beside):
        follower.refresh()
        assert follower.state == log.state
    assert next(iter(log.state.jobs.values())).opened_at.startswith("2026-05-23")
    reader.close()


def test_events_of_an_unknown_type_are_not_taken_in(log: Logbook, path: Path, tmp_path: Path) -> None:
    from voicelog.journal.rows import Row, _digest

    with Logbook.open(tmp_path / "copy.journal") as copy:
        row = next(iter(log.store.rows()))
        strange = Row(**{**row.__dict__, "type": "sung"})
        strange = Row(**{**strange.__dict__, "hash": _digest(strange)})
        from voicelog.journal.json_lines import lines

        with pytest.raises(VoicelogError, match="newer version"):
            copy.take_in(list(lines([strange])))


def test_reading_a_store_beside(path: Path, log: Logbook) -> None:
    store = Store.open(path, writer=False)
    assert list(store.events()) == list(log.events())
    position = store.position
    note_dent(log, str(log.state.current), 30)
    assert len(list(store.events(after=position))) == 3
