"""A customer is forgotten: nothing personal is left in any file, the figures stay, the chain holds."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from voicelog.errors import VoicelogError
from voicelog.jobs.fold import fold
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal import events as ev
from voicelog.journal import personal
from voicelog.journal.backup import backup
from voicelog.journal.clips import Clips
from voicelog.journal.exchange import export
from voicelog.journal.store import Draft
from voicelog.journal.verify import verify

from .making import SetClock, heard, note_dent, open_job, slot

SECRETS = [
    "AB12CDE", "1HGCM82633A004352", "Ada Sample", "07700900123", "ada@example.org", "Sample Lane",
    "alpha bravo one two", "mind the dog", "dents of ada", "alfa bravo too", "Mrs Sample", "kept for ada",
    "badge for Ada", "CLAIM-77",
]  # fmt: skip
"""Invented; the number is from Ofcom's range for drama, the VIN a common example with a valid check digit."""


def visit(log: Logbook, clips: Clips) -> str:
    """A job with everything personal that a job can hold."""
    job = log.new_group()
    spoken = replace(
        heard(1, "new job alpha bravo one two", clips.put(np.arange(900, dtype=np.int16))),
        source="Mrs Sample.flac",
        heard="kept for ada",
    )
    details = {"plate": slot("AB12CDE", "alpha bravo one two"), "vin": slot("1HGCM82633A004352")}
    log.commit([Draft(spoken), Draft(ev.JobOpened(1)), Draft(ev.JobDescribed(details), job)], job)
    by_hand = {
        "customer": slot("Ada Sample"), "phone": slot("07700900123"), "email": slot("ada@example.org"),
        "address": slot("1 Sample Lane"), "notes": slot("mind the dog"), "vehicle": slot("estate, blue"),
    }  # fmt: skip
    log.commit([Draft(ev.JobDescribed(by_hand, by="hand"), job)])
    question = log.new_group()
    asked = ev.Asked(question, "plate", ("AB12CDE", "AB12CDT"), "AB12CDE or AB12CDT?")
    log.commit([Draft(asked, job)], question)
    log.commit([Draft(ev.Answered(question, "AB12CDE", "alpha bravo one two"), job)])
    whole = log.new_group()
    text = "new job alpha bravo one two"
    would = ((ev.with_type(ev.JobDescribed({"plate": slot("AB12CDE")})),), ())
    asked = ev.Asked(f"{whole}.1", "note", (text, "alfa bravo too"), f"{text}?", would=would)
    log.commit([Draft(asked, job)], whole)
    log.commit([Draft(ev.Answered(f"{whole}.1", text, "yes"), job)])
    open_still = log.new_group()
    log.commit([Draft(ev.Asked(f"{open_still}.1", "note", (text,), f"{text}?"), job)], open_still)
    note_dent(log, job, 1, 45)
    length = log.new_group()
    log.commit([Draft(ev.Asked(length, "length_mm", (45, 40), "four five?", 1), job)], length)
    log.commit([Draft(ev.Answered(length, 40, "four zero"), job)])
    # A question about the price belongs to no job, and is answered with the plate.
    log.commit([Draft(heard(5, "price of AB12CDE"))])
    log.commit([Draft(ev.Told(("texture",), "told Ada Sample"), job)])
    log.commit([Draft(ev.RiskNoted(("texture",), words="dents of ada"), job)])
    log.commit([Draft(ev.ExtraAdded("badge for Ada", 12), job)])
    log.commit([Draft(ev.JobDescribed({"claim": slot("CLAIM-77")}), job)])
    amount = {"low": "12.00", "high": "12.00"}
    snapshot = {
        "total": {"low": "99.00", "high": "99.00", "currency": "GBP"},
        "job": {"plate": "AB12CDE"},
        "title": "Job 1, AB12CDE",
        "customer": "Ada Sample",
        "explained": ["Job 1, AB12CDE: 40 minutes"],
        "risks": ["dents of ada stay"],
        "told": [{"risk": "dents of ada stay", "at": "2026-06-01T08:00:00.000+01:00"}],
        "lines": [
            {"kind": "dent", "text": "roof, 40 mm", "amount": amount},
            {"kind": "extra", "text": "badge for Ada", "amount": amount},
        ],
    }
    log.commit([Draft(ev.Quoted(1, snapshot), job)])
    log.commit([Draft(ev.MemoKept(1, clips.put(np.arange(700, dtype=np.int16))), job)])
    return job


def other_visit(log: Logbook, clips: Clips) -> str:
    job = log.new_group()
    spoken = heard(9, "new job zulu", clips.put(np.arange(500, dtype=np.int16)))
    log.commit(
        [Draft(spoken), Draft(ev.JobOpened(2)), Draft(ev.JobDescribed({"plate": slot("ZZ99ZZZ")}), job)], job
    )
    note_dent(log, job, 1, 70)
    return job


def found_in(folder: Path) -> list[str]:
    """Which of the secrets stand in any file below a folder."""
    content = b"".join(part.read_bytes() for part in sorted(folder.rglob("*")) if part.is_file())
    return [secret for secret in SECRETS if secret.encode() in content]


@pytest.fixture
def visited(path: Path, clock: SetClock) -> tuple[Logbook, str, str]:
    log = Logbook.open(path, clock=clock)
    clips = Clips.beside(path)
    return log, visit(log, clips), other_visit(log, clips)


def test_the_search_finds_secrets_where_they_are(visited: tuple[Logbook, str, str], path: Path) -> None:
    assert {"AB12CDE", "Ada Sample", "mind the dog"} <= set(found_in(path.parent))


def test_nothing_personal_is_left(visited: tuple[Logbook, str, str], path: Path) -> None:
    log, job, other = visited
    before = log.state.jobs[job]
    figures = {number: dent.values() for number, dent in before.dents.items()}
    hashes = [row.hash for row in log.store.rows()]
    done = log.forget([job])
    assert (done.jobs, done.clips, done.traces) == (1, 2, False)
    assert found_in(path.parent) == []

    after = log.state.jobs[job]
    assert {number: dent.values() for number, dent in after.dents.items()} == figures
    assert figures[1]["length_mm"] == 40
    assert (len(before.questions), after.questions) == (1, {})
    assert {name: found.value for name, found in after.details.items()} == {"vehicle": "estate, blue"}
    said = before.quotes[0].snapshot
    assert after.quotes[0].snapshot == {
        "total": said["total"],
        "job": {},
        "lines": [said["lines"][0], {"kind": "extra", "amount": said["lines"][1]["amount"]}],
    }
    assert said["title"] == "Job 1, AB12CDE"
    copy = path.parent.with_name("later") / "copy.db"
    backup(path, copy)
    assert found_in(copy.parent) == []
    with copy.with_name("day.jsonl").open("w") as file:
        export(path, file)
    assert found_in(copy.parent) == []
    assert after.told == before.told
    assert [row.hash for row in log.store.rows()][: len(hashes)] == hashes
    assert log.state == fold(log.events())
    assert log.state.jobs[other].get("plate") == "ZZ99ZZZ"
    assert log.heards(other)[-1].body.words == "roof 70 mil"  # type: ignore[attr-defined]

    report = verify(path, JobViews)
    assert report.ok, report.problems
    assert (report.forgotten, report.clips_gone, report.clips) == (done.events, 2, 1)
    log.close()
    assert found_in(path.parent) == []
    with Logbook.open(path) as again:
        assert again.state.jobs[job].get("plate") is None
        again.forget([other])
        assert again.state.jobs[other].details == {}


def test_hashes_do_not_give_the_plate_away(visited: tuple[Logbook, str, str]) -> None:
    """Equal details have different hashes, because of the salt: no table of plates helps."""
    log, job, _ = visited
    again = log.commit([Draft(ev.JobDescribed({"plate": slot("AB12CDE", "alpha bravo one two")}), job)])
    more = log.commit([Draft(ev.JobDescribed({"plate": slot("AB12CDE", "alpha bravo one two")}), job)])
    kept = {row.id: row for row in log.store.rows("e.type = 'job-described'")}
    first, second = kept[again[0].id], kept[more[0].id]
    assert first.data == second.data
    assert first.personal != second.personal
    assert "AB12CDE" not in first.body


def test_one_utterance_over_two_jobs(log: Logbook, path: Path) -> None:
    """It stops the clock of one job and opens the next: only its words speak of both."""
    first = str(log.state.current)
    second = log.new_group()
    drafts = [
        Draft(heard(50, "new job zulu"), first),
        Draft(ev.Timed("stop"), first),
        Draft(ev.JobOpened(3)),
        Draft(ev.JobDescribed({"plate": slot("ZZ99ZZZ")}), second),
    ]
    log.commit(drafts, second)
    log.forget([first])
    assert log.state.jobs[second].get("plate") == "ZZ99ZZZ"
    assert log.heards()[-1].body.words == ""  # type: ignore[attr-defined]
    assert verify(path, JobViews).ok


def test_what_is_said_after_forgetting_is_kept(visited: tuple[Logbook, str, str], path: Path) -> None:
    log, job, _ = visited
    log.forget([job])
    log.commit([Draft(ev.JobDescribed({"plate": slot("NE44NEW")}), job)])
    assert log.state.jobs[job].get("plate") == "NE44NEW"
    assert verify(path, JobViews).ok


def test_readers_and_the_board_forget_too(visited: tuple[Logbook, str, str], path: Path) -> None:
    log, job, _ = visited
    reader, beside = Logbook.open(path, writer=False), log.beside()
    assert reader.state.jobs[job].get("plate") == beside.state.jobs[job].get("plate") == "AB12CDE"
    log.forget([job])
    for follower in (reader, beside):
        follower.refresh()
        assert follower.state.jobs[job].get("plate") is None
    reader.close()


@pytest.mark.parametrize("into", ["ours", "theirs"])
def test_forgetting_travels_with_a_merge(
    visited: tuple[Logbook, str, str], path: Path, tmp_path: Path, into: str
) -> None:
    log, job, _ = visited
    other = tmp_path / "other" / "day.journal"
    backup(path, other)
    log.forget([job])
    if into == "ours":
        log.merge(other)
        place = path
    else:
        log.close()
        with Logbook.open(other) as theirs:
            theirs.merge(path)
            assert theirs.state.jobs[job].get("plate") is None
        place = other
    with Logbook.open(place, writer=False) as reader:
        assert reader.state.jobs[job].details.keys() == {"vehicle"}
    assert verify(place, JobViews).ok


def test_clips_are_deleted_at_the_next_opening_after_a_cut(
    visited: tuple[Logbook, str, str], path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As if the power went between the commit and the deleting of the files."""
    log, job, _ = visited
    with monkeypatch.context() as cut:
        cut.setattr(Clips, "remove", lambda self, names: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            log.forget([job])
    log.store.connection.close()
    log.store._lock.release()  # type: ignore[union-attr]
    assert len(list(Clips.beside(path).names())) == 3
    with Logbook.open(path) as again:
        assert len(list(Clips.beside(path).names())) == 1
        assert again.state.jobs[job].get("plate") is None
    assert found_in(path.parent) == []
    assert verify(path, JobViews).ok


def test_a_merged_forgetting_deletes_the_other_devices_clips(
    visited: tuple[Logbook, str, str], path: Path, tmp_path: Path
) -> None:
    log, job, _ = visited
    other = tmp_path / "other" / "day.journal"
    backup(path, other)
    assert len(list(Clips.beside(other).names())) == 3
    log.forget([job])
    with Logbook.open(other) as theirs:
        theirs.merge(path)
    assert len(list(Clips.beside(other).names())) == 1
    assert found_in(other.parent) == []


def test_jobs_are_found_by_any_detail(visited: tuple[Logbook, str, str]) -> None:
    log, job, other = visited
    assert [found.id for found in log.jobs_of("ab12 cde")] == [job]
    assert [found.id for found in log.jobs_of("ada@EXAMPLE.org")] == [job]
    assert [found.id for found in log.jobs_of("sample")] == [job]
    assert [found.id for found in log.jobs_of("ZZ99 ZZZ")] == [other]
    assert log.jobs_of(" ") == log.jobs_of("nobody") == []
    assert log.jobs_of("a") == log.jobs_of("zz99") == log.jobs_of("dog") == []


def test_forgetting_what_is_not_there(visited: tuple[Logbook, str, str]) -> None:
    log, _, _ = visited
    before = len(list(log.events()))
    with pytest.raises(VoicelogError, match="no job"):
        log.forget(["nobody"])
    assert len(list(log.events())) == before


def test_a_disk_that_refuses_forgets_nothing(visited: tuple[Logbook, str, str], path: Path) -> None:
    import sqlite3

    log, job, _ = visited
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(VoicelogError, match="locked"):
        log.forget([job])
    other.close()
    assert log.state.jobs[job].get("plate") == "AB12CDE"
    assert log.pending == 0
    note_dent(log, job, 5)
    assert log.trouble is None
    assert verify(path, JobViews).ok
    log.forget([job])
    assert log.state.jobs[job].get("plate") is None


def test_splitting_and_joining() -> None:
    lines = {"lines": [{"kind": "extra", "text": "for Ada", "n": 1}, {"kind": "dent", "text": "roof"}]}
    rest, apart = personal.split("quoted", {"snapshot": lines})
    assert rest == {"snapshot": {"lines": [{"kind": "extra", "n": 1}, {"kind": "dent", "text": "roof"}]}}
    assert personal.join("quoted", rest, apart) == {"snapshot": lines}
    body = {"version": 1, "snapshot": {"plate": "X", "total": {"low": "1"}, "job": {"vin": "Y", "n": 1}}}
    rest, apart = personal.split("quoted", body)
    assert rest == {"version": 1, "snapshot": {"total": {"low": "1"}, "job": {"n": 1}}}
    assert personal.join("quoted", rest, apart) == body
    assert personal.split("noted", {"dent": 1, "slots": {}}) == ({"dent": 1, "slots": {}}, None)


def test_quotes_that_an_older_version_wrote_with_their_title_are_counted(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    snapshot = {"title": "Job 1 AB12CDE", "plate": "AB12CDE", "total": {}, "lines": []}
    with Logbook.open(path) as log:
        job, other = open_job(log, "AB12CDE"), open_job(log, "ZZ99ZZZ")
        log.commit([Draft(ev.Quoted(1, snapshot), other)])
        with monkeypatch.context() as older:
            older.setattr("voicelog.journal.rows.split", lambda kind, body: (body, None))
            log.commit([Draft(ev.Quoted(1, snapshot), job)])
        assert log.forget([other]).old_quotes == 0
        assert log.forget([job]).old_quotes == 1
