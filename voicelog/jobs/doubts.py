"""What of a job is in doubt: open questions, latest first, then values that nobody asks about (any more)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from voicelog.jobs.records import Dent, Field, Job
from voicelog.meaning.note import Value


@dataclass(frozen=True)
class Doubt:
    """One thing to settle."""

    dent: int | None
    """None for what belongs to the whole job."""
    slot: str
    """ "note" for a whole note, whose choices are words."""
    choices: tuple[Value, ...]
    """The value in force first; for a single one the doubt is whether it is right."""
    why: str
    """The question, else why it is in doubt."""
    question: str | None = None
    """Id of the open question; None where none was asked or it was dropped."""

    @property
    def key(self) -> tuple[int | None, str, str | None]:
        """What tells it from others of the job."""
        return (self.dent, self.slot, self.question)


def doubts(job: Job) -> tuple[Doubt, ...]:
    """Everything to settle on a job; while there is something, the first question is the open one."""
    asked = [Doubt(q.dent, q.slot, q.choices, q.text, q.id) for q in job.waiting]
    known = {(doubt.dent, doubt.slot) for doubt in asked}
    rest = (doubt for doubt in _unasked(job) if (doubt.dent, doubt.slot) not in known)
    return (*asked, *rest)


def _unasked(job: Job) -> Iterator[Doubt]:
    for name, found in job.details.items():
        if not found.confirmed:
            yield _doubt(None, name, found)
    for dent in job.listed():
        yield from _of_dent(dent)


def _of_dent(dent: Dent) -> Iterator[Doubt]:
    for slot in dent.unconfirmed:
        yield _doubt(dent.number, slot, dent.fields[slot])


def _doubt(dent: int | None, slot: str, found: Field) -> Doubt:
    return Doubt(dent, slot, found.choices, found.slot.doubt)
