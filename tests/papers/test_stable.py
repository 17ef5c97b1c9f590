"""The same journal gives the same papers, whatever the clock of the machine says."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from invented_day import HEARDS, NOW, Tape, open_job

from voicelog.estimate.card.model import Card
from voicelog.jobs.records import Opened, State
from voicelog.papers import Letterhead, write_papers

MAKE = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from invented_day import HEARDS, NOW, Tape, open_job, Tape, finished_job, open_job
from voicelog.estimate.card import default_card
from voicelog.papers import Letterhead, write_papers
state = open_job(finished_job(Tape())).state()
write_papers(state, default_card("GB"), Letterhead(name="Sample"), Path(sys.argv[2]),
             which=("invoice", "day-log"), heards=HEARDS, now=NOW)
"""


def test_later_and_elsewhere_the_bytes_are_the_same(
    tmp_path: Path, day: State, card: Card, letterhead: Letterhead
) -> None:
    for name, later in (("a", 0), ("b", 400)):
        write_papers(day, card, letterhead, tmp_path / name, heards=HEARDS, now=NOW + timedelta(days=later))
    names = sorted(path.name for path in (tmp_path / "a").iterdir())
    assert names == sorted(path.name for path in (tmp_path / "b").iterdir())
    for name in names:
        one, two = ((tmp_path / side / name).read_bytes() for side in "ab")
        assert one == two, name


def test_another_process_with_another_hash_seed_and_time_zone(tmp_path: Path) -> None:
    here = Path(__file__).parent
    for name, seed, zone in (("a", "1", "UTC"), ("b", "2", "Asia/Tokyo")):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(here.parents[1])}
        command = [sys.executable, "-c", MAKE, str(here), str(tmp_path / name)]
        subprocess.run(command, env=environment, check=True, timeout=120)
    for path in (tmp_path / "a").iterdir():
        other = tmp_path / "b" / path.name
        if path.suffix != ".xlsx":
            assert path.read_bytes() == other.read_bytes(), path.name


def test_papers_never_import_a_screen_a_sound_device_or_a_recogniser() -> None:
    code = (
        "import sys, voicelog.papers;"
        "print(sorted({'textual', 'sounddevice', 'vosk', 'pocketsphinx'} & set(sys.modules)))"
    )
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    found = subprocess.run(
        [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True
    )
    assert found.stdout.strip() == "[]"


def test_only_what_was_asked_for_is_written(
    tmp_path: Path, day: State, card: Card, letterhead: Letterhead
) -> None:
    job = day.jobs["job-2"]
    paths = write_papers(
        day, card, letterhead, tmp_path, jobs=[job], which=("invoice",), formats=("html", "csv"), now=NOW
    )  # fmt: skip
    assert [path.name for path in paths] == ["2026-03-02-AB12CDE-job-0002-draft-invoice.html"]


def test_two_devices_jobs_of_one_number_and_plate_keep_their_papers_apart(
    tmp_path: Path, card: Card, letterhead: Letterhead
) -> None:
    state = open_job(Tape()).state()
    twin = open_job(Tape()).state().jobs["job-2"]
    twin.id = "job-of-another-device"
    jobs = {**state.jobs, twin.id: twin}
    both = State(jobs, {job.id: Opened(job.number, job.opened_at) for job in jobs.values()})
    paths = write_papers(both, card, letterhead, tmp_path, which=("estimate",), formats=("html",), now=NOW)
    names = [re.fullmatch(r"2026-03-02-AB12CDE-job-0002-(\w{4})-estimate.html", path.name) for path in paths]
    assert len({found[1] for found in names if found}) == 2
    texts = [path.read_text(encoding="utf-8") for path in paths]
    assert all(f"EST-0002-{found[1]}" in text for found, text in zip(names, texts, strict=True) if found)


def test_what_was_given_out_is_written_once(
    tmp_path: Path, day: State, card: Card, letterhead: Letterhead
) -> None:
    """A new letterhead changes the estimate's file, never that of an invoice or a quote."""
    first = write_papers(day, card, letterhead, tmp_path, formats=("html", "pdf"), now=NOW)
    before = {path.name: path.read_bytes() for path in first}
    other = letterhead.model_copy(update={"name": "Another name"})
    again = write_papers(day, card, other, tmp_path, formats=("html", "pdf"), now=NOW)
    changed = {path.name for path in again if path.read_bytes() != before[path.name]}
    kept = {name for name in before if "-quote-" in name or "-invoice-INV" in name}
    assert len(kept) == 4
    assert changed == set(before) - kept


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_pages_have_the_size_of_the_paper(tmp_path: Path, day: State, card: Card, paper: str) -> None:
    """A4: 210 × 297 mm (ISO 216); Letter: 8.5 × 11 in.  72 points an inch."""
    letterhead = Letterhead(name="Sample", paper=paper)  # type: ignore[arg-type]
    write_papers(day, card, letterhead, tmp_path, which=("estimate",), formats=("pdf",), now=NOW)
    data = next(tmp_path.glob("*.pdf")).read_bytes()
    assert {"A4": b"MediaBox[0 0 595.2756 841.8898]", "Letter": b"MediaBox[0 0 612 792]"}[paper] in data
