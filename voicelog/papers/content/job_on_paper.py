"""The job a paper is about, with all that its pages need."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from voicelog.errors import VoicelogError
from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import Estimate
from voicelog.estimate.quotes import agreed, in_force, supplement
from voicelog.jobs.paint import Thresholds
from voicelog.jobs.records import Dent, Job, Reading, Step
from voicelog.meaning.note import SlotValue
from voicelog.papers.content.priced import Priced
from voicelog.papers.letterhead import Letterhead
from voicelog.papers.photos.album import Album
from voicelog.papers.text import lines_of
from voicelog.papers.wording import NOT_SETTLED, TO_BE_CONFIRMED, Words, known


@dataclass(frozen=True)
class Subject:
    """A job, its price, and how to write about it."""

    job: Job
    priced: Priced
    """What was agreed, where a quote was accepted; else the estimate by the card."""
    words: Words
    estimate: Mapping[str, Any] = field(default_factory=dict)
    """The JSON form of the estimate by the card."""
    album: Album | None = None
    """None where no pictures were looked for."""
    beyond: Priced | None = None
    """What the job costs beyond its accepted quote; None where it does not."""
    paint: Thresholds | None = None
    """Limits of paint readings in µm; None where nothing is said of what readings suggest."""
    trouble: str = ""
    """Why the accepted quote cannot be used, in a sentence."""
    shows_minutes: bool = False
    """Whether customers' papers show labour minutes: insurers and customers with an agreement see them."""
    inner: bool = False
    """Whether it is for the technician and the office, who see what a value in doubt may be."""
    twin: str = ""
    """Tells a job from another of the same number, which came from another device."""

    @property
    def insured(self) -> dict[str, Any]:
        """Insurer and excess, as far as known."""
        return {name: self.job.get(name) for name in ("insurer", "excess")}

    @property
    def quoted(self) -> bool:
        """Whether a quote holds, so that there is no estimate any more."""
        return bool(in_force(self.job))

    @property
    def agreed(self) -> bool:
        """Whether a quote was accepted."""
        return any(quote.accepted for quote in in_force(self.job))

    @property
    def letterhead(self) -> Letterhead:
        """The workshop."""
        return self.words.letterhead

    @property
    def dents(self) -> tuple[Dent, ...]:
        """The dents that count, in the order of the list."""
        return tuple(self.job.listed())

    @property
    def number(self) -> str:
        """The job's number with leading noughts, as papers count it."""
        return "-".join(filter(None, (f"{self.job.number:04d}", self.twin)))

    @property
    def addressee(self) -> tuple[str, ...]:
        """Name and address of the customer, as far as known."""
        details = [self.job.get(name) for name in ("customer", "address")]
        return tuple(known(line) for text in details if text for line in lines_of(str(text)))

    def last_at(self) -> str:
        """The latest time the job's record knows: papers are dated by it, not by the clock."""
        return latest(self.job)

    def said(self, slot: str, value: SlotValue, after: str = "") -> str:
        """A value; where it is in doubt, that it is to be confirmed, and on inner papers what it may be."""
        if value.confirmed:
            return f"{self.words.value(slot, value.value)}{after}"
        if not self.inner:
            return f"{self.words.value(slot, value.value)}{after} ({TO_BE_CONFIRMED})"
        choices = self.words.choices(slot, (value.value, *value.alternatives))
        return f"{choices}{after} ({NOT_SETTLED})"

    def of(self, dent: Dent, slot: str, after: str = "") -> str:
        """A slot of a dent for people, with `after` behind it; empty where it was not said."""
        found = dent.fields.get(slot)
        return "" if found is None else self.said(slot, found.slot, after)


def subject_of(
    job: Job,
    estimate: Estimate,
    letterhead: Letterhead,
    card: Card,
    album: Album | None = None,
    twin: str = "",
) -> Subject:
    """All that the papers of a job need: what was agreed, else its estimate by `card`."""
    fixed, beyond, trouble = agreed(job), None, ""
    try:
        beyond = supplement(job) if fixed is not None else None
    except VoicelogError as error:
        trouble = f"{error.line()}."
    return Subject(
        job,
        Priced.from_json((fixed or estimate).to_json()),
        Words(letterhead),
        estimate.to_json(),
        album,
        None if beyond is None else Priced.from_json(beyond.to_json()),
        card.paint,
        trouble,
        bool(job.get("insurer") or card.of_customer(job.get("customer")).terms.agreement),
        twin=twin,
    )


def times_of(job: Job) -> Iterator[str]:
    """Every time in the record of a job (ISO 8601 with offset)."""
    yield job.opened_at
    yield from (at for at in (job.finished_at, job.timer.running_since) if at)
    yield from (step.at for step in steps_of(job))
    yield from (reading.at for reading in readings_of(job))
    yield from (quote.at for quote in job.quotes)
    yield from (at for _, at in job.told)
    yield from (at for _, _, at in (*job.photos, *job.memos))
    for fields in (job.details, *(dent.fields for dent in job.dents.values())):
        yield from (past.at for field in fields.values() for past in field.history)
    yield from (dent.opened_at for dent in job.dents.values() if dent.opened_at)


def latest(job: Job) -> str:
    """The latest time in the record of a job."""
    return max(times_of(job), key=datetime.fromisoformat)


def steps_of(job: Job) -> Iterator[Step]:
    """Every step of a job, those of removed dents left out."""
    yield from job.steps
    for dent in job.listed():
        yield from dent.steps


def readings_of(job: Job) -> Iterator[Reading]:
    """Every paint reading of a job, those of removed dents left out."""
    yield from job.references
    for dent in job.listed():
        yield from dent.readings
