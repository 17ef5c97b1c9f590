"""For the technician and the office, never for customers: what is missing, what the readings suggest,
which cautions were given, which photos were marked, and what was corrected or settled later."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from voicelog.jobs.cautions import caution_text
from voicelog.jobs.checklist import gap_text
from voicelog.jobs.paint import Assessment, assessments
from voicelog.jobs.records import Dent, Field, Past
from voicelog.papers.blocks import Block, Column, Heading, Notice, Paragraph, Row, Table, cell, row
from voicelog.papers.content.job_on_paper import Subject
from voicelog.papers.content.sections import capital
from voicelog.papers.content.work_record import missing
from voicelog.papers.text import isolated
from voicelog.papers.wording import NOT_SETTLED, listed


@dataclass(frozen=True)
class _History:
    """The values of one slot, first to last."""

    where: str
    slot: str
    past: Sequence[Past]
    settled: bool = True


def inner_notes(subject: Subject) -> Iterator[Block]:
    """All of it for one job."""
    yield from _gaps(subject)
    yield from _memos(subject)
    yield from _suggested(subject)
    yield from _cautions_shown(subject)
    yield from _photo_marks(subject)
    yield from changes(subject)


def _gaps(subject: Subject) -> Iterator[Notice]:
    items = tuple(capital(isolated(gap_text(name))) for name in missing(subject))
    title = "Missing when the job was finished" if subject.job.finished_at else "Still missing"
    if items:
        yield Notice(title, items)


def _memos(subject: Subject) -> Iterator[Notice]:
    memos = tuple(
        f"{subject.words.time(at)}, {f'dent {dent}' if dent else 'job'}: {isolated(words) or 'sound only'}"
        for dent, words, at in subject.job.memos
    )
    if memos:
        yield Notice("Memos", memos)


def _suggested(subject: Subject) -> Iterator[Block]:
    """What the readings at each dent suggest beside the reference."""
    if subject.paint is None:
        return
    found = list(assessments(subject.job, subject.paint, subject.letterhead.units))
    if not found:
        return
    columns = (Column("Dent", 0.5), Column("At the dent", 2.1), Column("Reference", 2.1),
               Column("Compared", 1.2), Column("Suggests", 1.7))  # fmt: skip
    rows = tuple(_suggested_row(dent, assessment) for dent, assessment in found)
    yield Table("What the paint readings suggest", columns, rows)
    yield Paragraph("What readings suggest is guidance, not a verdict on the car.", small=True)


def _suggested_row(dent: Dent, found: Assessment) -> Row:
    beside = "–" if found.reference is None else found.reference.text(found.units)
    return row(str(dent.number), found.spot.text(found.units), beside, found.comparison or "–", found.finding)


def _cautions_shown(subject: Subject) -> Iterator[Notice]:
    """Cautions in full, and whether the technician acknowledged them."""
    shown = [
        f"{isolated(caution_text(name))} ({'acknowledged' if heard else 'not acknowledged'})"
        for name, heard in subject.job.cautions.items()
    ]
    if shown:
        yield Notice("Cautions given to the technician", tuple(shown))


def _photo_marks(subject: Subject) -> Iterator[Block]:
    """Photo marks by number, with the files that belong to them where pictures were looked for."""
    job, album = subject.job, subject.album
    if not job.photos:
        return
    yield Heading("Photo marks", 3)
    columns = [Column("Photo", 0.8), Column("Dent", 0.8), Column("Time", 2.0)]
    rows = [
        [str(number), "job" if dent is None else str(dent), subject.words.date_time(at)]
        for number, dent, at in job.photos
    ]
    if album is not None:
        columns.append(Column("Picture", 2.5))
        for cells, (number, _, _) in zip(rows, job.photos, strict=True):
            cells.append(listed(album.files_of(number)) or "no picture found")
    yield Table("Photo marks spoken during the work", tuple(columns), tuple(row(*cells) for cells in rows))


def changes(subject: Subject) -> Iterator[Block]:
    """A table of every value that took the place of another, in order of time."""
    found = [
        (history, before, after)
        for history in _histories(subject)
        for before, after in zip(history.past, history.past[1:], strict=False)
        if after.how in ("corrected", "answered", "cleared")
    ]
    if not found:
        return
    yield Heading("Corrections and answers", 3)
    columns = (
        Column("Dent", 0.6), Column("What", 1.2), Column("Before", 1.6), Column("After", 1.6),
        Column("How", 1.4), Column("Time", 2.0),
    )  # fmt: skip
    found.sort(key=lambda change: subject.words.moment(change[2].at))
    rows = tuple(_row(subject, *change) for change in found)
    yield Table("Values changed after they were first said", columns, rows)


def _histories(subject: Subject) -> Iterator[_History]:
    job = subject.job
    for slot, field in job.details.items():
        yield _of("job", slot, field)
    for reading in job.references:
        yield _of("job", "reference_um", reading.um)
    for dent in subject.dents:
        where = str(dent.number)
        for slot, field in dent.fields.items():
            yield _of(where, slot, field)
        for slot, past in dent.cleared.items():
            if slot not in dent.fields:
                yield _History(where, slot, past)
        for reading in dent.readings:
            yield _of(where, "paint_um", reading.um)


def _of(where: str, slot: str, field: Field) -> _History:
    return _History(where, slot, field.history, field.confirmed)


def _row(subject: Subject, history: _History, before: Past, after: Past) -> Row:
    words = subject.words
    old, new = (words.value(history.slot, past.value) or "–" for past in (before, after))
    doubt = NOT_SETTLED if after is history.past[-1] and not history.settled else ""
    how = f"{after.how}, by {after.by}"
    return row(history.where, words.slot(history.slot), old, cell(new, doubt), how, words.date_time(after.at))
