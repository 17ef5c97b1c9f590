"""Writing the papers of jobs and of the day into a folder."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from voicelog.errors import VoicelogError
from voicelog.estimate.card.model import Card
from voicelog.estimate.pricing.price import price_job
from voicelog.files import Written, name_part
from voicelog.jobs.records import Job, State
from voicelog.journal.events import Heard
from voicelog.papers.blocks import Paper
from voicelog.papers.content.day_log import day_log, days_of
from voicelog.papers.content.estimate_sheet import estimate_sheet
from voicelog.papers.content.invoice import invoices
from voicelog.papers.content.job_on_paper import Subject, subject_of
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
    "estimate": lambda subject: (estimate_sheet(subject),),
    "invoice": invoices,
    "work-record": lambda subject: (work_record(subject),),
}
PAPERS: Final = (*JOB_PAPERS, "day-log")
"""Papers there are."""
FORMATS: Final = ("html", "pdf", "csv", "json", "xlsx")
"""Forms there are; only the day log has the last three."""

_NO_PDF: Final = "no PDF was written: typst, which makes it, is not installed here; print the HTML files"

Progress = Callable[[int, int, str], None]
"""Called with files done, files in all (0 while unknown) and what happened: "wrote NAME"."""


@dataclass(frozen=True)
class Day:
    """Everything the papers of a set of jobs are made from."""

    subjects: tuple[Subject, ...]
    estimates: tuple[Mapping[str, Any], ...]
    letterhead: Letterhead
    heards: tuple[Heard, ...]
    photos: Matching | None
    now: datetime


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
    now: datetime,
    progress: Progress | None = None,
) -> Written:
    """Write the papers of `jobs` (all of `state` if None) into `folder`; the paths, in order of writing.

    Each file is put in place in one step.  A file that held something else is
    replaced and listed in `Written.replaced`; one that holds the very same bytes is
    left alone.  Papers are dated from the journal; `now` dates the log of an empty day.

    Args:
        which: names from `PAPERS`.
        formats: names from `FORMATS`.
        heards: the utterances to list in the day log.
        photos: pictures matched by `voicelog.papers.photos.match.match_photos`, shown as thumbnails.

    Raises:
        VoicelogError: an unknown paper or format, a logo that is no picture, a folder
            that cannot be written to.
    """
    _check(which, PAPERS, "paper")
    _check(formats, FORMATS, "format")
    chosen = tuple(state.jobs.values() if jobs is None else jobs)
    day = _day(chosen, card, letterhead, tuple(heards), photos, now)
    written = Written()
    if "pdf" in formats and not can_typeset():
        formats = [form for form in formats if form != "pdf"]
        written.remarks.append(_NO_PDF)
    for name, data in _files(day, which, formats, written.remarks):
        did = written.write(folder / name, data)
        if progress is not None:
            progress(len(written), 0, f"{did} {name}")
    return written


def _check(names: Sequence[str], known: Sequence[str], what: str) -> None:
    unknown = [name for name in names if name not in known]
    if unknown:
        raise VoicelogError(
            f"unknown {what} {', '.join(unknown)}", todo=f"choose from {', '.join(known)}"
        )  # fmt: skip


def _day(
    jobs: Sequence[Job],
    card: Card,
    letterhead: Letterhead,
    heards: tuple[Heard, ...],
    photos: Matching | None,
    now: datetime,
) -> Day:
    words = Words(letterhead)
    estimates = [price_job(job, card) for job in jobs]
    subjects = tuple(
        subject_of(
            job, estimate, letterhead, card, None if photos is None else album_of(job.id, photos, words)
        )
        for job, estimate in zip(jobs, estimates, strict=True)
    )
    return Day(subjects, tuple(estimate.to_json() for estimate in estimates), letterhead, heards, photos, now)


def _files(
    day: Day, which: Sequence[str], formats: Sequence[str], remarks: list[str]
) -> Iterator[tuple[str, bytes]]:
    """Names and contents of the files, one after the other."""
    for subject, job in zip(day.subjects, _stems(day.subjects), strict=True):
        for name in which:
            for paper in JOB_PAPERS[name](subject) if name in JOB_PAPERS else ():
                issued = paper.number if any(one.number == paper.number for one in subject.job.issued) else ""
                stem = "-".join(part for part in (job, name, name_part(issued)) if part)
                yield from _paper(paper, stem, subject.last_at(), formats, remarks)
    if "day-log" in which:
        yield from _day_files(day, formats, remarks)


def _stems(subjects: Sequence[Subject]) -> list[str]:
    """How the files of each job begin; jobs of one number and plate, from two devices, are told apart."""
    found: list[str] = []
    for subject in subjects:
        plate = name_part(str(subject.job.get("plate") or ""))
        stem = f"job-{subject.number}" + (f"-{plate}" if plate else "")
        same = sum(other == stem or other.startswith(f"{stem}-device-") for other in found)
        found.append(f"{stem}-device-{same + 1}" if same else stem)
    return found


def _paper(
    paper: Paper, stem: str, at: str, formats: Sequence[str], remarks: list[str]
) -> Iterator[tuple[str, bytes]]:
    if "html" in formats:
        yield f"{stem}.html", paper_html(paper)
    if "pdf" in formats:
        made = typeset_paper(paper, datetime.fromisoformat(at))
        if made.missing:
            remarks.append(
                f"{stem}.pdf: no font here has {listed(made.missing)}: a box stands for each; "
                "install a font with these letters"
            )
        yield f"{stem}.pdf", made.pdf


def _day_files(day: Day, formats: Sequence[str], remarks: list[str]) -> Iterator[tuple[str, bytes]]:
    paper = day_log(day.subjects, day.letterhead, day.heards, day.now, day.photos)
    first, last = days_of(day.subjects, Words(day.letterhead), day.now)
    stem = "-to-".join(dict.fromkeys((first, last)))
    latest = max((subject.last_at() for subject in day.subjects), key=datetime.fromisoformat, default=first)
    yield from _paper(paper, f"day-log-{stem}", latest, formats, remarks)
    records = tables(day.subjects, day.heards)
    if "csv" in formats:
        for name, columns in TABLES.items():
            yield f"day-{name}-{stem}.csv", table_csv(columns, records[name])
        yield "data-dictionary.csv", dictionary_csv()
    if "json" in formats:
        data = day_json(day.subjects, day.estimates, day.letterhead, day.heards, day.now)
        yield f"day-log-{stem}.json", data
    if "xlsx" in formats:
        yield f"day-log-{stem}.xlsx", workbook(records, datetime.fromisoformat(latest), paper.name)
