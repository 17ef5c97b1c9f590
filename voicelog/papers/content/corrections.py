"""What was corrected, settled or taken back after it was first said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from voicelog.jobs.records import Field, Past
from voicelog.papers.blocks import Block, Column, Heading, Row, Table, cell, row
from voicelog.papers.content.job_on_paper import Subject
from voicelog.papers.wording import NOT_SETTLED


@dataclass(frozen=True)
class _History:
    """The values of one slot, first to last."""

    where: str
    slot: str
    past: Sequence[Past]
    settled: bool = True


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
    yield Heading("Corrections and answers")
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
