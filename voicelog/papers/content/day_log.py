"""The day log as a paper: every job, its dents and its total, and what was heard."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from voicelog.journal.events import Heard
from voicelog.papers.blocks import (
    Block,
    Column,
    Heading,
    Notice,
    Paper,
    Paragraph,
    Pictures,
    Row,
    Table,
    cell,
    row,
    sum_row,
)
from voicelog.papers.content import sections
from voicelog.papers.content.estimate_sheet import quote_number
from voicelog.papers.content.inner_notes import inner_notes
from voicelog.papers.content.job_on_paper import Subject, times_of
from voicelog.papers.content.work_record import worked
from voicelog.papers.letterhead import Letterhead
from voicelog.papers.photos.album import strays, unused_lines
from voicelog.papers.photos.match import Matching
from voicelog.papers.text import isolated, lines_of
from voicelog.papers.wording import NOT_SETTLED, Money, Words, known, listed


def days_of(subjects: Sequence[Subject], words: Words, now: datetime) -> tuple[str, str]:
    """First and last local day of the jobs as ISO dates; the day of `now` where there are none."""
    days = sorted(words.moment(at).date() for subject in subjects for at in times_of(subject.job))
    if not days:
        zone = words.letterhead.zone()
        today = (now if zone is None else now.astimezone(zone)).date()
        days = [today]
    return days[0].isoformat(), days[-1].isoformat()


def sum_of(subjects: Sequence[Subject]) -> dict[str, tuple[Money, bool]]:
    """(lowest, highest) total of all jobs and whether it is settled, by currency."""
    sums: dict[str, tuple[Money, bool]] = {}
    for subject in subjects:
        priced = subject.priced
        (low, high), settled = sums.get(priced.currency, ((Decimal(0), Decimal(0)), True))
        figures = (low + priced.total[0], high + priced.total[1])
        sums[priced.currency] = figures, settled and priced.confirmed
    return sums


def day_log(
    subjects: Sequence[Subject],
    letterhead: Letterhead,
    heards: Sequence[Heard],
    days: tuple[str, str],
    photos: Matching | None = None,
) -> Paper:
    """The log of the jobs given, in the order given; `photos` shows what was left unmatched.

    Args:
        days: first and last day, as ISO dates.
    """
    words = Words(letterhead)
    first, last = days
    dates = [words.date(datetime.fromisoformat(day).date()) for day in dict.fromkeys((first, last))]
    return Paper(
        title="Day log",
        number=f"{letterhead.day_prefix}{first}" + (f"-to-{last}" if last != first else ""),
        date=" – ".join(dates),
        letterhead=letterhead,
        blocks=(
            *_jobs(subjects, words),
            *(block for subject in subjects for block in _job(subject)),
            *_strays(photos, subjects, words),
            *_heard(heards, words),
            *sections.cautions(),
        ),
    )


def _jobs(subjects: Sequence[Subject], words: Words) -> Iterator[Block]:
    yield Heading("Jobs")
    if not subjects:
        yield Paragraph("No job is on record.")
        return
    columns = (
        Column("Job", 0.5), Column("Car and customer", 2.1), Column("State", 1.1),
        Column("Dents", 0.7, "right"), Column("Time worked", 1.4, "right"), Column("Total", 2.2, "right"),
    )  # fmt: skip
    rows = [_job_row(subject) for subject in subjects]
    for currency, (figures, settled) in sum_of(subjects).items():
        total = words.range(figures, currency)
        rows.append(sum_row("All jobs", total, "" if settled else NOT_SETTLED, strong=True))
    yield Table("Jobs of the day", columns, tuple(rows))


def _job_row(subject: Subject) -> Row:
    job, priced = subject.job, subject.priced
    total = subject.words.range(priced.total, priced.currency)
    return row(
        str(job.number),
        cell(known(job.get("plate")) or "no registration said", known(job.get("customer"))),
        subject.job.state,
        str(sum(dent.get("count") or 1 for dent in subject.dents)),
        worked(subject),
        cell(total, "" if priced.confirmed else NOT_SETTLED),
    )


def _job(job: Subject) -> Iterator[Block]:
    subject = replace(job, inner=True)
    yield Heading(known(subject.job.title))
    yield sections.facts(*_rows(subject))
    yield from sections.open_points(subject)
    yield from (block for block in sections.damage(subject) if not isinstance(block, Heading))
    if subject.dents:
        yield from sections.price(subject.words, subject.priced, minutes=True)
    yield from inner_notes(subject)


def _rows(subject: Subject) -> Iterator[tuple[str, str | tuple[str, ...]]]:
    job, words = subject.job, subject.words
    yield "Customer", subject.addressee
    yield from sections.car_rows(subject)
    yield from ((title, lines_of(str(job.get(name) or ""))) for name, title in _CONTACT.items())
    yield "Begun", words.date_time(job.opened_at)
    yield "Finished", words.date_time(job.finished_at) if job.finished_at else "not finished"
    yield "Time worked", worked(subject)
    yield "Photos marked", listed(number for number, _, _ in job.photos)
    for quote in job.quotes:
        state = {True: "accepted", False: "declined", None: "not decided"}[quote.accepted]
        yield quote_number(subject, quote), state
    yield "Invoices", listed(one.number for one in job.issued)


_CONTACT = {"phone": "Telephone", "email": "E-mail", "notes": "Notes", "technician": "Technician"}


def _strays(photos: Matching | None, subjects: Sequence[Subject], words: Words) -> Iterator[Block]:
    """Pictures without a mark and marks without a picture."""
    if photos is None:
        return
    pictures, lines = strays(photos, words)
    lines += unused_lines(photos, [subject.job.id for subject in subjects], words)
    if not pictures and not lines:
        return
    yield Heading("Photos not matched")
    if lines:
        yield Notice("Without a picture, or not readable", lines, "open")
    if pictures:
        yield Pictures(pictures)


def _heard(heards: Sequence[Heard], words: Words) -> Iterator[Block]:
    """What was heard; of rejected utterances that they were, as the journal keeps them."""
    if not heards:
        return
    yield Heading("What was heard")
    columns = (
        Column("No.", 0.5), Column("Words", 3.0), Column("Sure", 0.6, "right"), Column("Decision", 1.0),
        Column("Answer", 2.6),
    )  # fmt: skip
    rows = (
        row(
            str(heard.utterance),
            isolated(heard.words) or "–",
            f"{heard.confidence:.2f}",
            cell(heard.decision, isolated(heard.reason)),
            isolated(heard.answer) or "–",
        )
        for heard in heards
    )
    yield Table("Utterances in order", columns, tuple(rows))
