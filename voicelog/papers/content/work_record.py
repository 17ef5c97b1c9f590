"""The work record: what was done, when, how it was checked, what the customer was told."""

from __future__ import annotations

from collections.abc import Iterator

from voicelog.jobs.cautions import caution_text
from voicelog.jobs.checklist import gap_text, gaps
from voicelog.jobs.paint import Assessment, assessments
from voicelog.jobs.records import Dent, Reading, Step
from voicelog.meaning.note import Value
from voicelog.meaning.wording import span
from voicelog.papers.blocks import (
    Block,
    Column,
    Facts,
    Heading,
    Notice,
    Paper,
    Paragraph,
    Row,
    Table,
    row,
)
from voicelog.papers.content import sections
from voicelog.papers.content.corrections import changes
from voicelog.papers.content.job_on_paper import Subject, readings_of, steps_of
from voicelog.papers.text import isolated
from voicelog.papers.wording import Words, listed
from voicelog.vocabulary import CHOICES


def work_record(subject: Subject) -> Paper:
    """The record of the work on one job."""
    return Paper(
        title="Work record",
        number=f"{subject.letterhead.record_prefix}{subject.number}",
        date=subject.words.date(subject.last_at()),
        letterhead=subject.letterhead,
        addressee=subject.addressee,
        blocks=(
            _head(subject),
            *_gaps(subject),
            *sections.damage(subject),
            *_steps(subject),
            *_checks(subject),
            *_readings(subject),
            *_suggested(subject),
            *sections.promises(subject),
            *_cautions_shown(subject),
            *_photo_marks(subject),
            *sections.photos(subject),
            *changes(subject),
            *sections.cautions(),
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


def _head(subject: Subject) -> Facts:
    job, words = subject.job, subject.words
    return sections.facts(
        *sections.job_rows(subject),
        ("Begun", words.date_time(job.opened_at)),
        ("Finished", words.date_time(job.finished_at) if job.finished_at else "not finished"),
        ("Time worked", worked(subject)),
        ("Memos kept", str(len(job.memos)) if job.memos else ""),
    )


def _gaps(subject: Subject) -> Iterator[Notice]:
    """What the job lacks: as it was when called finished, else as it is now."""
    job = subject.job
    if job.finished_at:
        items = tuple(gap_text(name) for name in job.gaps)
        title = "Missing when the job was finished"
    else:
        items, title = tuple(gap.text for gap in gaps(job)), "Still missing"
    if items:
        yield Notice(title, tuple(sections.capital(isolated(item)) for item in items), "open")


def _steps(subject: Subject) -> Iterator[Block]:
    done = sorted(_all_steps(subject), key=lambda item: subject.words.moment(item[1].at))
    if not done:
        return
    yield Heading("Steps of the repair")
    columns = (Column("Time", 1.9), Column("Dent", 0.6), Column("Step", 1.3), Column("Details", 2.6))
    rows = tuple(_step_row(subject, *item) for item in done)
    yield Table("Steps of the repair in order of time", columns, rows)
    timed = [dent for dent in subject.dents if dent.worked_s]
    if timed:
        heads = (Column("Dent"), Column("Panel", 2.0), Column("Time worked", 1.5, "right"))
        spans = (
            row(str(dent.number), subject.words.place(dent.place), span(dent.worked_s, "paper"))
            for dent in timed
        )
        yield Table("Time worked while a dent was open", heads, tuple(spans))


def _all_steps(subject: Subject) -> Iterator[tuple[Dent | None, Step]]:
    yield from ((None, step) for step in subject.job.steps)
    for dent in subject.dents:
        yield from ((dent, step) for step in dent.steps)


def _step_row(subject: Subject, dent: Dent | None, step: Step) -> Row:
    words = subject.words
    details = [text for name, value in step.details.items() if (text := _detail(words, step, name, value))]
    where = "job" if dent is None else str(dent.number)
    return row(words.date_time(step.at), where, words.name(step.step), listed(details) or "–")


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


def _checks(subject: Subject) -> Iterator[Block]:
    steps = [step for step in steps_of(subject.job) if step.step == "check-lines"]
    if not steps:
        return
    names = [subject.words.name(name) for name in directions_of(steps)]
    said = f"Lines checked {len(steps)} time{'s' if len(steps) > 1 else ''}"
    said += f", from {listed(names)}." if names else "; no direction was said."
    items = [said] if len(names) > 1 else [said, "Fewer than two directions are on record."]
    yield Notice("Check of the lines", tuple(items))


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
    yield Heading("Photo marks")
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
