"""The work record: what was done, when, how it was checked, what the customer was told."""

from __future__ import annotations

from collections.abc import Iterator

from voicelog.jobs.checklist import gaps, items
from voicelog.jobs.records import Dent, Reading, Step
from voicelog.meaning.note import Value
from voicelog.meaning.wording import span
from voicelog.papers.blocks import (
    Beside,
    Block,
    Column,
    Heading,
    Paper,
    Paragraph,
    Row,
    Signatures,
    Table,
    row,
)
from voicelog.papers.content import sections
from voicelog.papers.content.job_on_paper import Subject, readings_of, steps_of
from voicelog.papers.wording import Words, known, listed
from voicelog.vocabulary import CHOICES


def work_record(subject: Subject) -> Paper:
    """The record of the work on one job, for the customer and the insurer."""
    job, words = subject.job, subject.words
    return Paper(
        title="Work record",
        number=f"{subject.letterhead.record_prefix}{subject.number}",
        date=words.date(subject.last_at()),
        letterhead=subject.letterhead,
        addressee=subject.addressee,
        meta=(
            ("Begun", words.date_time(job.opened_at)),
            ("Finished", words.date_time(job.finished_at) if job.finished_at else "not finished"),
            ("Time worked", worked(subject)),
            ("Technician", known(job.get("technician"))),
        ),
        blocks=(
            sections.car(subject, subject.dents),
            *sections.damage(subject),
            *_steps(subject),
            *_checklist(subject),
            *_readings(subject),
            *sections.promises_of(subject),
            *sections.photos(subject),
            *sections.small_print(subject.letterhead.warranty),
            *sections.cautions(),
            Signatures(("Technician", "Received by the customer", "Date")),
        ),
    )


def directions_of(steps: list[Step]) -> tuple[str, ...]:
    """From where lines were checked, each direction once, in the order of the vocabulary."""
    seen: set[str] = set()
    for step in steps:
        if step.step == "check-lines":
            found = step.details.get("direction", ())
            seen.update(found if isinstance(found, tuple) else (str(found),))
    return tuple(name for name in CHOICES["direction"] if name in seen)


def worked(subject: Subject) -> str:
    """The time worked; a timer that still runs is said to."""
    timer = subject.job.timer
    text = span(timer.worked_s, "paper")
    if timer.running_since:
        return f"{text}, and running since {subject.words.time(timer.running_since)}"
    return text if timer.state != "idle" or timer.worked_s else "not timed"


def missing(subject: Subject) -> tuple[str, ...]:
    """Ids of what the job lacks: as it was when called finished, else as it is now."""
    job = subject.job
    return job.gaps if job.finished_at else tuple(gap.id for gap in gaps(job))


def _checklist(subject: Subject) -> Iterator[Block]:
    """The checklist in words: what is on record, and for which dents something is not."""
    if not subject.dents:
        return
    lacking: dict[str, list[str]] = {}
    for name in missing(subject):
        plain, _, dent = name.partition(":")
        lacking.setdefault(plain, []).append(dent)
    rows = []
    for item in items():
        if item.id in _CHECKED:
            dents = [dent for dent in lacking.get(item.id, ()) if dent]
            found = f"missing for dent {listed(dents)}" if dents else "missing"
            rows.append(row(_CHECKED[item.id], found if item.id in lacking else "yes"))
    yield Heading("Checklist")
    half = -(-len(rows) // 2)
    heads = (Column("Check", 2.4), Column("On record", 1.6))
    parts = [Table("Checklist", heads, tuple(part)) for part in (rows[:half], rows[half:])]
    yield Beside((parts[0],), (parts[1],), share=0.5)
    yield from _lines_checked(subject)


_CHECKED = {
    "panel": "Panel named", "side": "Left or right named", "end": "Front or rear named", "size": "Measured",
    "material": "Material named", "access": "Access noted", "paint": "Paint measured at the dents",
    "reference": "Paint measured beside them", "told": "Customer told what may remain",
    "lines": "Lines checked from two directions",
}  # fmt: skip
"""The items of the checklist as a customer reads them; the others are for the technician."""


def _lines_checked(subject: Subject) -> Iterator[Block]:
    steps = [step for step in steps_of(subject.job) if step.step == "check-lines"]
    if steps:
        names = [subject.words.name(name) for name in directions_of(steps)]
        said = f"Lines checked {'once' if len(steps) == 1 else f'{len(steps)} times'}"
        yield Paragraph(said + (f", from {listed(names)}." if names else "; no direction was said."))


def _steps(subject: Subject) -> Iterator[Block]:
    words = subject.words
    done = sorted(_all_steps(subject), key=lambda item: words.moment(item[1].at))
    if not done:
        return
    yield Heading("Work done")
    columns = (Column("Time", 0.8), Column("Dent", 0.5), Column("Step", 1.3), Column("Details", 3.4))
    days = {words.date(step.at) for _, step in done}
    rows = tuple(_step_row(subject, *item, dated=len(days) > 1) for item in done)
    yield Table("Steps of the repair in order of time", columns, rows)


def _all_steps(subject: Subject) -> Iterator[tuple[Dent | None, Step]]:
    yield from ((None, step) for step in subject.job.steps)
    for dent in subject.dents:
        yield from ((dent, step) for step in dent.steps)


def _step_row(subject: Subject, dent: Dent | None, step: Step, *, dated: bool) -> Row:
    words = subject.words
    details = [text for name, value in step.details.items() if (text := _detail(words, step, name, value))]
    where = "job" if dent is None else str(dent.number)
    at = words.date_time(step.at) if dated else words.time(step.at)
    return row(at, where, sections.capital(words.name(step.step)), listed(details))


def _detail(words: Words, step: Step, name: str, value: Value) -> str:
    """A detail of a step: "3 pulls", "20 mm crease tab", "from front, left"."""
    said = words.value(name, value)
    if name == "tab_mm":
        kind = step.details.get("tab")
        return f"{said} {words.name(str(kind))} tab" if kind else f"{said} tab"
    if name == "tab":
        return "" if "tab_mm" in step.details else f"{said} tab"
    forms = {"pulls": "{} pulls", "direction": "from {}", "tool_base": "{} base"}
    return forms[name].format(said) if name in forms else f"{words.slot(name)}: {said}"


def _readings(subject: Subject) -> Iterator[Block]:
    readings = sorted(readings_of(subject.job), key=lambda reading: subject.words.moment(reading.at))
    if not readings:
        return
    dent_of = {id(reading): dent for dent in subject.dents for reading in dent.readings}
    yield Heading("Paint readings")
    columns = (
        Column("Where", 2.4), Column("Reading", 1.6, "right"), Column("Probe", 1.2), Column("Time", 1.8),
    )  # fmt: skip
    rows = tuple(_reading_row(subject, dent_of.get(id(reading)), reading) for reading in readings)
    yield Table("Paint readings", columns, rows)


def _reading_row(subject: Subject, dent: Dent | None, reading: Reading) -> Row:
    if dent is not None:
        where = f"dent {dent.number}, {subject.words.place(dent.place)}"
    else:
        spot = (reading.panel, reading.end, reading.side)
        where = f"reference, {subject.words.place(spot)}" if any(spot) else "reference"
    probe = subject.words.name(reading.probe) if reading.probe else "–"
    return row(where, subject.said("paint_um", reading.um.slot), probe, subject.words.date_time(reading.at))
