"""Which papers the command writes: by day, job, customer and kind; today's or the newest without a choice."""

from __future__ import annotations

import json
import re
import sqlite3
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from voicelog.jobs.logbook import Logbook
from voicelog.journal import events as ev
from voicelog.journal.clock import Clock
from voicelog.journal.store import Draft
from voicelog.meaning.note import SlotValue

CARD = Path(__file__).parents[2] / "demo" / "rate-card.toml"
FIRST = datetime.fromisoformat("2026-03-02T09:00:00+00:00")
CUSTOMERS = ("Ada Example", "Bob Sample", "Ada Example")


def heard(number: int, words: str) -> ev.Heard:
    return ev.Heard(number, "typed", 0, 1, words, 0.9, "accepted", "damage")


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """Three jobs on three days; on the third day the first job is spoken of again."""
    clock = Clock()
    path = tmp_path / "j.db"
    with Logbook.open(path, clock=clock) as log:
        jobs = []
        for number, customer in enumerate(CUSTOMERS, start=1):
            clock.moment = FIRST + timedelta(days=number - 1)
            job = log.new_group()
            jobs.append(job)
            named = {"customer": SlotValue(customer), "plate": SlotValue(f"AB{number}CDE")}
            size = {"panel": SlotValue("roof"), "length_mm": SlotValue(20), "material": SlotValue("steel")}
            drafts = [
                heard(number, f"words of job {number}"), ev.JobOpened(number),
                ev.JobDescribed(named, by="hand"), ev.DentOpened(1), ev.Noted(1, size),
            ]  # fmt: skip
            log.commit([Draft(body, job) for body in drafts], job)
        again = [Draft(heard(4, "again job 1"), jobs[0]), Draft(ev.RiskNoted(("texture",), dent=1), jobs[0])]
        log.commit(again, log.new_group())
    return path


def written(run: Run, *options: object) -> list[str]:
    """Names of the HTML papers."""
    ran = run(
        "papers", "--json", "--log", "j.db", "--card", CARD, "--out", "out", "--format", "html", *options
    )
    assert ran.status == 0, ran.err
    return sorted(Path(name).name for name in json.loads(ran.out)["papers"])


def plates(names: list[str]) -> set[str]:
    return {name.split("-")[3] for name in names if not name.startswith("day-log")}


def test_without_a_choice_the_day_of_the_newest_job_and_a_line_says_so(run: Run, journal: Path) -> None:
    ran = run("papers", "--log", "j.db", "--card", CARD, "--out", "out", "--format", "html")
    assert "nothing was logged today" in ran.err
    assert "2026-03-04" in ran.err
    assert plates([Path(line).name for line in ran.out.splitlines()]) == {"AB1CDE", "AB3CDE"}


def log_of(day: int) -> str:
    return f"day-log-2026-03-{day:02}.html"


@pytest.mark.parametrize(
    ("options", "found", "logs"),
    [
        (("--day", "2026-03-02"), {"AB1CDE"}, [log_of(2)]),
        (("--from", "2026-03-03"), {"AB1CDE", "AB2CDE", "AB3CDE"}, [log_of(3), log_of(4)]),
        (("--to", "2026-03-03"), {"AB1CDE", "AB2CDE"}, [log_of(2), log_of(3)]),
        (("--job", "2"), {"AB2CDE"}, []),
        (("--customer", "ada example"), {"AB1CDE", "AB3CDE"}, []),
        (("--customer", "Ada Example", "--day", "2026-03-02"), {"AB1CDE"}, []),
        (("--job", "2", "--kind", "day-log"), set(), ["day-log-2026-03-03-job-0002.html"]),
    ],
)  # fmt: skip
def test_papers_are_chosen(
    run: Run, journal: Path, options: tuple[str, ...], found: set[str], logs: list[str]
) -> None:
    names = written(run, *options)
    assert plates(names) == found
    assert [name for name in names if name.startswith("day-log")] == logs


def test_kinds_are_chosen_and_unknown_ones_refused_in_a_line(run: Run, journal: Path) -> None:
    assert written(run, "--job", "1", "--kind", "estimate") == ["2026-03-02-AB1CDE-job-0001-estimate.html"]
    ran = run("papers", "--log", "j.db", "--card", CARD, "--kind", "receipt")
    assert ran.status == 2
    assert ran.err.count("\n") == 1
    assert "unknown kind of paper receipt" in ran.err


def test_a_job_tells_nothing_of_another(run: Run, journal: Path, tmp_path: Path) -> None:
    names = written(run, "--job", "1", "--kind", "day-log", "--kind", "estimate", "--kind", "work-record")
    text = "".join((tmp_path / "out" / name).read_text(encoding="utf-8") for name in names)
    assert "words of job 1" in text
    assert "again job 1" in text
    for other in ("words of job 2", "words of job 3", "AB2CDE", "AB3CDE", "Bob Sample"):
        assert other not in text


def test_a_day_without_a_job_is_said_in_a_line(run: Run, journal: Path) -> None:
    ran = run("papers", "--log", "j.db", "--card", CARD, "--day", "2026-03-09")
    assert ran.status == 2
    assert ran.err.count("\n") == 1


def test_a_statement_is_a_paper(run: Run, journal: Path, tmp_path: Path) -> None:
    """By hand: 20 mm on steel is billed, a part of it is paid; the rest is to be paid."""
    assert run("invoice", "1", "--yes", "--log", "j.db", "--card", CARD).status == 0
    assert run("paid", "1", "5", "--by", "cash", "--log", "j.db", "--card", CARD).status == 0
    (name,) = written(run, "--customer", "Ada Example", "--kind", "statement")
    assert name.endswith("-statement-Ada-Example-GBP.html")
    text = (tmp_path / "out" / name).read_text(encoding="utf-8")
    due = json.loads(run("statement", "Ada Example", "--json", "--log", "j.db").out)["statements"][0]["after"]
    assert f"£{due}" in text
    assert "−£5.00" in text
    assert run("papers", "--log", "j.db", "--card", CARD, "--kind", "statement").status == 2


def test_the_schema_is_printed(run: Run) -> None:
    assert json.loads(run("schema").out)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_each_paper_carries_a_seal_that_finds_what_was_cut_off(
    run: Run, journal: Path, tmp_path: Path
) -> None:
    names = written(run, "--from", "2026-03-02", "--to", "2026-03-04")
    texts = {name: (tmp_path / "out" / name).read_text() for name in names}
    seals = {name: re.findall(r"Seal ([0-9]+(?:-[A-Z2-7]{4}){3})<", text) for name, text in texts.items()}
    assert all(len(found) == 1 for found in seals.values()), seals
    (code,) = seals[max(seals, key=lambda name: int(seals[name][0].split("-")[0]))]
    run("say", "new job", "roof ten mil", "--log", "j.db")
    assert run("verify", "--log", "j.db", "--seal", code).status == 0
    again = written(run, "--from", "2026-03-02", "--to", "2026-03-04")
    assert {name: (tmp_path / "out" / name).read_text() for name in again} == texts
    count = int(code.split("-")[0])
    database = sqlite3.connect("j.db", isolation_level=None)
    database.execute("DROP TRIGGER events_no_delete")
    database.execute("DELETE FROM events WHERE seq >= ?", (count,))
    database.close()
    assert (
        f"1 of the {count} events that were sealed are missing"
        in run("verify", "--log", "j.db", "--seal", code).out
    )
