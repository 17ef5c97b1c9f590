"""Which utterance made what, and what still waits: looked up by day and job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from voicelog.board.live.say_next import standing_of
from voicelog.board.review.job_cache import JobCache
from voicelog.board.words import Wording
from voicelog.jobs.doubts import Doubt, doubts
from voicelog.jobs.records import Dent, Job, Reading, State
from voicelog.journal.events import Event, Heard

Target = tuple[str, int | None]
"""Job id and dent number."""


@dataclass
class JobIndex:
    """What the desk needs of a job that is not looked at, and of the utterances behind it."""

    id: str
    number: int
    plate: str
    state: str
    """See `Job.state`."""
    open_dent: int | None
    day: str = ""
    customer: str = ""
    standing: str = ""
    """How it stands, in words: "finished", "paid"."""
    waiting: set[int] = field(default_factory=set)
    """Numbers of utterances behind a value in doubt or an open question."""
    targets: dict[int, Target] = field(default_factory=dict)
    """Job and dent that an utterance wrote to."""
    doubts: tuple[Doubt, ...] = ()
    """What is to be settled, open questions first."""


@dataclass
class DayIndex:
    """The jobs and utterances of one day (or of all days)."""

    day: str | None
    """ISO date; None for all days."""
    jobs: list[JobIndex] = field(default_factory=list)
    utterances: list[Event] = field(default_factory=list)
    """`Heard` events, what waits for a decision first."""
    waiting: set[int] = field(default_factory=set)
    targets: dict[int, Target] = field(default_factory=dict)
    doubts: int = 0


def days_of(heards: Sequence[Event]) -> list[str]:
    """Every day on which something was said, oldest first."""
    return sorted({event.at[:10] for event in heards})


def index(
    state: State,
    heards: Sequence[Event],
    day: str | None,
    known: JobCache[JobIndex],
    *,
    waiting_first: bool = True,
    holding: str = "",
) -> DayIndex:
    """Index the utterances of one day and the jobs they belong to; the current job is always there."""
    found = DayIndex(day)
    events = [event for event in heards if day is None or event.at.startswith(day)]
    spoken_of = {event.job for event in events} | {state.current}
    found.jobs = [known.of(key) for key in state.jobs if key in spoken_of]
    for one in found.jobs:
        found.waiting |= one.waiting
        found.targets.update(one.targets)
        found.doubts += len(one.doubts)
    if waiting_first and found.waiting:
        events.sort(key=lambda event: number(event) not in found.waiting)
    found.utterances = [event for event in events if holds(said_in(event), holding)]
    return found


def holds(text: str, words: str) -> bool:
    """Whether every one of the words stands in the text, in any order and case."""
    return all(word in text.lower() for word in words.lower().split())


def said_in(event: Event) -> str:
    """All words of an utterance that one may look for."""
    said = event.body
    assert isinstance(said, Heard)
    return " ".join((said.words, said.heard, said.answer, *said.kept))


def number(event: Event) -> int:
    """The number of an utterance."""
    assert isinstance(event.body, Heard)
    return event.body.utterance


def index_job(job: Job, wording: Wording) -> JobIndex:
    """Index one job."""
    names = (str(job.get(name) or "") for name in ("plate", "customer"))
    plate, customer = names
    standing = standing_of(job, wording)
    day = job.opened_at[:10]
    found = JobIndex(job.id, job.number, plate, job.state, job.open_dent, day, customer, standing)
    for dent in job.dents.values():
        _index_dent(job, dent, found)
    _index_readings(job.references, found)
    found.doubts = doubts(job)
    return found


def _index_dent(job: Job, dent: Dent, found: JobIndex) -> None:
    unconfirmed = [] if dent.removed else dent.unconfirmed
    for slot, held in dent.fields.items():
        for past in held.history:
            if past.utterance is not None:
                found.targets[past.utterance] = (job.id, dent.number)
        last = held.history[-1].utterance if held.history else None
        if last is not None and not dent.removed and (slot in unconfirmed or held.question):
            found.waiting.add(last)
    for reading in dent.readings:
        if reading.utterance is not None:
            found.targets.setdefault(reading.utterance, (job.id, dent.number))
    if not dent.removed:
        _index_readings(dent.readings, found)


def _index_readings(readings: Sequence[Reading], found: JobIndex) -> None:
    found.waiting |= {r.utterance for r in readings if r.utterance is not None and not r.um.confirmed}


def to_settle(found: DayIndex) -> list[tuple[str, Doubt]]:
    """Everything to settle with the id of its job, in the order of the jobs."""
    return [(one.id, doubt) for one in found.jobs for doubt in one.doubts]
