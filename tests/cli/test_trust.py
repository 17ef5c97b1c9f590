"""A damaged journal leads to one that works; a sound one is never blamed for what is wrong elsewhere."""

from __future__ import annotations

import gzip
import json
import re
import sqlite3
import sys
import zipfile
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.cli.test_bad_input import one_line
from tests.journal.making import heard, note_dent, open_job, slot
from voicelog.cli.wiring import chosen_jobs
from voicelog.jobs.fold import Jobs, fold
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal import events as ev
from voicelog.journal import store
from voicelog.journal.store import Draft
from voicelog.journal.verify import verify
from voicelog.visible import CONTROL


@pytest.fixture
def day(run: Run, tmp_path: Path) -> Path:
    """A journal with two jobs."""
    for plate in ("alfa bravo one two", "zulu yankee nine nine"):
        run(
            "say",
            "new job",
            f"plate {plate}",
            "roof forty mil steel",
            "bonnet ten mil steel",
            "--log",
            "j.db",
        )
    return tmp_path / "j.db"


def edit(path: Path, statement: str) -> None:
    database = sqlite3.connect(path, isolation_level=None)
    database.execute("DROP TRIGGER events_no_update")
    assert database.execute(statement).rowcount
    database.close()


class TestSalvage:
    def test_the_advice_of_verify_works(self, run: Run, day: Path) -> None:
        edit(day, "UPDATE events SET body = replace(body, '40', '90') WHERE type = 'noted' AND ord < 12")
        assert "was changed after it was written" in one_line(run("price", "--log", day))
        line = run("verify", "--log", day).err
        assert "say now is kept; run: voicelog verify" in run("say", "total", "--log", day).err
        advice = re.search(r"voicelog (salvage --log \S+ --out (\S+))", line)
        assert advice is not None
        ran = run(*advice[1].split(), "--json")
        told = json.loads(ran.out)
        assert [(item["job"], item["kind"]) for item in told["lost"]] == [(1, "noted")]
        new = advice[2]
        assert run("verify", "--log", new).status == 0
        assert len(json.loads(run("price", "--log", new, "--json").out)["jobs"]) == 2
        assert run("say", "roof ten mil", "--log", new).err == ""

    def test_a_wrong_table_is_made_anew(self, run: Run, day: Path) -> None:
        database = sqlite3.connect(day, isolation_level=None)
        database.execute("UPDATE view_dents SET worked_ms = 5000")
        database.close()
        line = run("verify", "--log", day).err
        assert "the events are whole" in line
        assert f"verify --rebuild --log {day}" in line
        assert run("verify", "--rebuild", "--log", day).status == 0
        assert run("verify", "--log", day).status == 0


class TestBlame:
    @pytest.mark.parametrize("how", ["utf-16", "gzip"])
    def test_an_export_that_is_no_text(self, run: Run, day: Path, tmp_path: Path, how: str) -> None:
        run("export-journal", "a.jsonl", "--log", day)
        data = (tmp_path / "a.jsonl").read_bytes()
        data = gzip.compress(data) if how == "gzip" else data.decode().encode("utf-16")
        (tmp_path / "a.jsonl").write_bytes(data)
        line = one_line(run("import-journal", "a.jsonl", "--log", day))
        assert line.startswith("voicelog: a.jsonl: is no text in UTF-8")
        assert str(day) not in line

    def test_a_locked_journal_is_not_damaged(self, run: Run, day: Path) -> None:
        other = sqlite3.connect(day, isolation_level=None)
        other.execute("PRAGMA locking_mode = EXCLUSIVE")
        other.execute("BEGIN EXCLUSIVE")
        other.execute("UPDATE meta SET value = value")
        line = one_line(run("verify", "--log", day))
        assert "locked by another program" in line
        assert "damaged" not in line
        other.close()

    def test_a_list_is_no_journal(self, run: Run, tmp_path: Path) -> None:
        (tmp_path / "list.txt").write_text("a shopping list\n" * 400)
        line = one_line(run("verify", "--log", "list.txt"))
        assert "list.txt: is no journal" in line
        assert "damaged" not in line

    def test_a_backup_that_cannot_be_written(self, run: Run, day: Path) -> None:
        line = one_line(run("backup", "/proc/backup.db", "--log", day))
        assert line.startswith("voicelog: /proc/backup.db")


def test_one_job_is_priced_without_reading_the_others(day: Path) -> None:
    with Logbook.open(day, writer=False) as log:
        first, second = log.state.opened
        assert [job.id for job in chosen_jobs(log.state, 2)] == [second]
        jobs = log.state.jobs
        assert isinstance(jobs, Jobs)
        assert jobs.loaded(first) is None


class TestHostileText:
    EVIL = "A\x1b]52;c;eA==\x07\x9b31m\u202eB\r"
    SHOWN = "A\\u001b]52;c;eA==\\u0007\\u009b31m\\u202eB\\u000d"

    @pytest.fixture
    def old(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
        """A journal of the time when control characters were written as they came."""
        with monkeypatch.context() as past, Logbook.open(tmp_path / "old.db") as log:
            past.setattr(store, "shown", json.loads)
            job = open_job(log, self.EVIL)
            note_dent(log, job, 1, place=slot(self.EVIL), material=slot("steel"))
            bodies = (
                ev.JobDescribed({"customer": slot(self.EVIL), "address": slot(self.EVIL)}),
                ev.RiskNoted((self.EVIL,), 1, self.EVIL),
                ev.Told((self.EVIL,), self.EVIL),
                ev.MemoKept(1, None, self.EVIL),
                ev.ExtraAdded(self.EVIL, 50),
                heard(9, self.EVIL),
            )
            for body in bodies:
                log.commit([Draft(body, job)])
        assert "\\u001b" in "".join(sqlite3.connect(tmp_path / "old.db").iterdump())
        return tmp_path / "old.db"

    def test_no_control_character_reaches_terminal_or_papers(
        self, old: Path, run: Run, tmp_path: Path
    ) -> None:
        printed = [run("price", "--log", old, *more) for more in ((), ("--explain",), ("--json",))]
        printed.append(run("papers", "--log", old, "--out", tmp_path / "papers", "--format", "pdf"))
        printed.append(run("say", "new job", f"memo {self.EVIL}", "--log", old))
        printed.append(run("price", "--log", f"no{self.EVIL}.db"))
        assert self.SHOWN in printed[0].out
        for ran in printed:
            assert CONTROL.search(ran.out + ran.err) is None

    def test_every_kind_of_paper_shows_marks(self, old: Path, run: Run, tmp_path: Path) -> None:
        formats = [word for form in ("html", "csv", "json", "xlsx") for word in ("--format", form)]
        assert run("papers", "--log", old, "--out", tmp_path / "p", *formats).status == 0
        shown = set()
        for path in (tmp_path / "p").iterdir():
            assert path.stat().st_mode & 0o077 == 0 or sys.platform == "win32"
            if path.suffix == ".xlsx":
                with zipfile.ZipFile(path) as book:
                    text = "".join(book.read(name).decode() for name in book.namelist() if "sh" in name)
            else:
                text = path.read_bytes().decode()
            assert CONTROL.search(text) is None, path.name
            if self.SHOWN in text or json.dumps(self.SHOWN)[1:-1] in text:
                shown.add(path.suffix)
        assert shown == {".html", ".csv", ".json", ".xlsx"}

    def test_what_is_known_in_memory_is_what_is_read_back(self, old: Path, tmp_path: Path) -> None:
        with Logbook.open(old) as log:
            job = next(iter(log.state.jobs.values()))
            assert job.get("plate") == self.SHOWN
            log.commit([Draft(ev.MemoKept(1, None, self.EVIL), job.id)])
            assert log.state == fold(log.events())
        assert verify(old, JobViews).problems == []
