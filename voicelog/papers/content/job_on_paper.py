"""The job a paper is about, with all that its pages need."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from voicelog.errors import VoicelogError
from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import Estimate
from voicelog.estimate.pricing.price import price_job
from voicelog.estimate.quotes import card_of, in_force
from voicelog.jobs.paint import Thresholds
from voicelog.jobs.records import Dent, Job, Reading, Step
from voicelog.meaning.note import SlotValue
from voicelog.papers.content.priced import Priced
from voicelog.papers.letterhead import Letterhead
from voicelog.papers.photos.album import Album
from voicelog.papers.text import lines_of
from voicelog.papers.wording import NOT_SETTLED, Money, Words, known


@dataclass(frozen=True)
class Agreed:
    """What an accepted quote fixes for the invoice."""

    priced: Priced
    """The job as it stands, by the card of the quote."""
    beyond: Money
    """What it costs beyond the quote and its accepted supplements."""


@dataclass(frozen=True)
class Subject:
    """A job, its price, and how to write about it."""

    job: Job
    priced: Priced
    words: Words
    card_name: str = ""
    album: Album | None = None
    """None where no pictures were looked for."""
    agreed: Agreed | None = None
    """None where no quote was accepted."""
    paint: Thresholds | None = None
    """Limits of paint readings in µm; None where nothing is said of what readings suggest."""
    trouble: str = ""
    """Why the accepted quote cannot be used, in a sentence."""

    @property
    def charged(self) -> Priced:
        """The price the invoice asks for: by the card of the accepted quote, where there is one."""
        return self.priced if self.agreed is None else self.agreed.priced

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
        return f"{self.job.number:04d}"

    @property
    def addressee(self) -> tuple[str, ...]:
        """Name and address of the customer, as far as known."""
        details = [self.job.get(name) for name in ("customer", "address")]
        return tuple(known(line) for text in details if text for line in lines_of(str(text)))

    def last_at(self) -> str:
        """The latest time the job's record knows: papers are dated by it, not by the clock."""
        return latest(self.job)

    def said(self, slot: str, value: SlotValue, after: str = "") -> str:
        """A value with its alternatives and the words "not settled" where it is in doubt."""
        if value.confirmed:
            return f"{self.words.value(slot, value.value)}{after}"
        choices = self.words.choices(slot, (value.value, *value.alternatives))
        return f"{choices}{after} ({NOT_SETTLED})"

    def of(self, dent: Dent, slot: str, after: str = "") -> str:
        """A slot of a dent for people, with `after` behind it; empty where it was not said."""
        found = dent.fields.get(slot)
        return "" if found is None else self.said(slot, found.slot, after)


def subject_of(
    job: Job, estimate: Estimate, letterhead: Letterhead, card: Card, album: Album | None = None
) -> Subject:
    """All that the papers of a job need: its estimate by `card`, and what its quote has fixed."""
    agreed, trouble = None, ""
    try:
        agreed = _agreed(job)
    except VoicelogError as error:
        trouble = f"{error.line()}."
    priced = Priced.from_json(estimate.to_json())
    return Subject(job, priced, Words(letterhead), card.name, album, agreed, card.paint, trouble)


def _agreed(job: Job) -> Agreed | None:
    quotes = in_force(job)
    if not quotes or not quotes[0].accepted:
        return None
    priced = Priced.from_json(price_job(job, card_of(quotes[0].snapshot)).to_json())
    fixed = [Priced.from_json(quote.snapshot).total for quote in quotes if quote.accepted]
    low, high = (sum((total[bound] for total in fixed), Decimal(0)) for bound in (0, 1))
    return Agreed(priced, (priced.total[0] - low, priced.total[1] - high))


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
