"""Writing the papers of jobs and of the day into a folder."""

from __future__ import annotations

import base64
import hashlib
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Final

from voicelog.errors import VoicelogError
from voicelog.estimate.card.model import Card
from voicelog.estimate.ledger import Statement
from voicelog.estimate.pricing.price import price_job
from voicelog.files import Written, name_part
from voicelog.jobs.records import Job, State
from voicelog.journal.events import Heard
from voicelog.papers.blocks import Paper
from voicelog.papers.content.day_log import day_log, days_of
from voicelog.papers.content.estimate_sheet import estimate_sheets, quotes
from voicelog.papers.content.hail_sheet import hail_sheets
from voicelog.papers.content.invoice import invoices
from voicelog.papers.content.job_on_paper import Subject, subject_of
from voicelog.papers.content.statement_sheet import statement_sheet
from voicelog.papers.content.work_record import work_record
from voicelog.papers.layout.html import paper_html
from voicelog.papers.layout.pdf import typeset_paper
from voicelog.papers.layout.typesetting import can_typeset
from voicelog.papers.letterhead import Letterhead
from voicelog.papers.photos.album import album_of
from voicelog.papers.photos.match import Matching
from voicelog.papers.tables.columns import TABLES
from voicelog.papers.tables.csv_and_xlsx import dictionary_csv, table_csv, workbook
from voicelog.papers.tables.day_json import day_json
from voicelog.papers.tables.records import tables
from voicelog.papers.wording import Words, listed

JOB_PAPERS: Final[dict[str, Callable[[Subject], tuple[Paper, ...]]]] = {
    "estimate": estimate_sheets,
    "quote": quotes,
    "invoice": invoices,
    "hail-sheet": hail_sheets,
    "work-record": lambda subject: (work_record(subject),),
}
PAPERS: Final = (*JOB_PAPERS, "day-log")
"""Papers there are."""
FORMATS: Final = ("html", "pdf", "csv", "json", "xlsx")
"""Forms there are; only the day log has the last three."""

_NO_PDF: Final = "no PDF was written: typst, which makes it, is not installed here; print the HTML files"

Seal = Callable[[Sequence[str]], str]
"""Gives a code over the journal as far as it speaks of jobs, by their ids; of none: over all of it."""
Progress = Callable[[int, int, str], None]
"""Called with files done, files in all (0 while unknown) and what happened: "wrote NAME"."""


def write_papers(
    state: State,
    card: Card,
    letterhead: Letterhead,
    folder: Path,
    *,
    jobs: Iterable[Job] | None = None,
    which: Sequence[str] = PAPERS,
    formats: Sequence[str] = FORMATS,
    heards: Iterable[Heard] = (),
    photos: Matching | None = None,
    day: date | None = None,
    only: str = "",
    seal: Seal = lambda jobs: "",
    now: datetime,
    progress: Progress | None = None,
) -> Written:
    """Write the papers of `jobs` (all of `state` if None) into `folder`; the paths, in order of writing.

    Each file is put in place in one step.  What was given out (quotes, invoices, credit notes) is
    written once and stays; another file that held something else is replaced and listed in
    `Written.replaced`.  Papers are dated from the journal; `now` dates the log of an empty day.

    Args:
        which: names from `PAPERS`.
        formats: names from `FORMATS`.
        heards: the utterances to list in the day log.
        photos: pictures matched by `voicelog.papers.photos.match.match_photos`, shown as thumbnails.
        day: what the day log is of; None for all the days that something was said about the jobs.
        seal: gives the code that a paper carries in its foot, for the jobs it is of (`Logbook.seal`).
        only: what the jobs of the day are limited to, as part of the name of its log.

    Raises:
        VoicelogError: an unknown paper or format, a logo that is no picture, a folder
            that cannot be written to.
    """
    check_names(which, PAPERS, "paper")
    check_names(formats, FORMATS, "format")
    written = Written()
    if "pdf" in formats and not can_typeset():
        formats = [form for form in formats if form != "pdf"]
        written.remarks.append(_NO_PDF)
    subjects = _subjects(state, jobs, card, letterhead, photos)
    desk = _Desk(folder, formats, written, progress, seal)
    for subject in subjects:
        for name in which:
            for paper in JOB_PAPERS[name](subject) if name in JOB_PAPERS else ():
                desk.paper(paper, _stem(subject, paper), subject.last_at(), [subject.job.id])
    if "day-log" in which:
        _day_files(desk, subjects, letterhead, tuple(heards), photos, (day, now), only)
    return written


def check_names(names: Sequence[str], known: Sequence[str], what: str) -> None:
    """Raise where a name is not among those known."""
    unknown = [name for name in names if name not in known]
    if unknown:
        raise VoicelogError(
            f"unknown {what} {', '.join(unknown)}", todo=f"choose from {', '.join(known)}"
        )  # fmt: skip


def _subjects(
    state: State, jobs: Iterable[Job] | None, card: Card, letterhead: Letterhead, photos: Matching | None
) -> list[Subject]:
    words = Words(letterhead)
    numbers = Counter(known.number for known in state.opened.values())
    return [
        subject_of(
            job,
            price_job(job, card),
            letterhead,
            card,
            None if photos is None else album_of(job, photos, words),
            twin=code(job.id) if numbers[job.number] > 1 else "",
        )
        for job in (state.jobs.values() if jobs is None else jobs)
        if job.joined_to is None  # The job that it is part of shows both.
    ]


def code(text: str) -> str:
    """Four letters and digits that tell one job from another of the same number."""
    return base64.b32encode(hashlib.sha256(text.encode()).digest())[:4].decode()


def _stem(subject: Subject, paper: Paper) -> str:
    """Date, plate, job, kind and number: the file of no other paper is called the same."""
    day = paper.issued_on or subject.words.moment(subject.job.opened_at).date().isoformat()
    kind = name_part(paper.title).lower()
    plate = name_part(str(subject.job.get("plate") or ""))
    number = name_part(paper.number, 40) if paper.issued_on else ""
    return "-".join(filter(None, (day, plate, f"job-{subject.number}", kind, number)))


@dataclass(frozen=True)
class _Desk:
    """Where files are put."""

    folder: Path
    formats: Sequence[str]
    written: Written
    progress: Progress | None
    seal: Seal

    def file(self, name: str, data: bytes, *, once: bool = False) -> None:
        did = self.written.write(self.folder / name, data, once=once)
        if self.progress is not None:
            self.progress(len(self.written), 0, f"{did} {name}")

    def paper(self, paper: Paper, stem: str, at: str, jobs: Sequence[str] = ()) -> None:
        paper, once = replace(paper, seal=self.seal(jobs)), bool(paper.issued_on)
        if "html" in self.formats:
            self.file(f"{stem}.html", paper_html(paper), once=once)
        if "pdf" in self.formats:
            made = typeset_paper(paper, datetime.fromisoformat(at))
            if made.missing:
                self.written.remarks.append(
                    f"{stem}.pdf: no font here has {listed(made.missing)}: a box stands for each; "
                    "install a font with these letters"
                )
            self.file(f"{stem}.pdf", made.pdf, once=once)


def write_statements(
    accounts: Iterable[Statement],
    letterhead: Letterhead,
    folder: Path,
    *,
    formats: Sequence[str],
    seal: Seal = lambda jobs: "",
    now: datetime,
) -> Written:
    """A customer's accounts, one paper for each currency, dated `now`."""
    desk = _Desk(folder, formats, Written(), None, seal)
    today = now.date()
    for account in accounts:
        paper = statement_sheet(account, letterhead, today)
        name = name_part(account.customer) or code(account.customer)
        desk.paper(paper, f"{today}-statement-{name}-{account.currency}", f"{today}T00:00:00+00:00")
    return desk.written


def _day_files(
    desk: _Desk,
    subjects: Sequence[Subject],
    letterhead: Letterhead,
    heards: tuple[Heard, ...],
    photos: Matching | None,
    when: tuple[date | None, datetime],
    only: str,
) -> None:
    day, now = when
    days = (day.isoformat(),) * 2 if day else days_of(subjects, Words(letterhead), now)
    paper = day_log(subjects, letterhead, heards, days, photos)
    stem = "-".join(filter(None, ("-to-".join(dict.fromkeys(days)), only)))
    latest = max((subject.last_at() for subject in subjects), key=datetime.fromisoformat, default=days[0])
    desk.paper(paper, f"day-log-{stem}", latest, [subject.job.id for subject in subjects])
    records = tables(subjects, heards)
    if "csv" in desk.formats:
        for name, columns in TABLES.items():
            desk.file(f"day-{name}-{stem}.csv", table_csv(columns, records[name]))
        desk.file("data-dictionary.csv", dictionary_csv())
    if "json" in desk.formats:
        desk.file(f"day-log-{stem}.json", day_json(subjects, letterhead, heards, days))
    if "xlsx" in desk.formats:
        book = workbook(records, datetime.fromisoformat(latest), paper.name, letterhead.zone())
        desk.file(f"day-log-{stem}.xlsx", book)
