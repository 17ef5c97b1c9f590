"""A damaged journal leads to one that works; a sound one is never blamed for what is wrong elsewhere."""

from __future__ import annotations

import gzip
import json
import re
import sqlite3
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.cli.test_bad_input import one_line
from voicelog.cli.wiring import chosen_jobs
from voicelog.jobs.fold import Jobs
from voicelog.jobs.logbook import Logbook


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
