"""Worked time beside estimated time: what there is to learn from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import Estimate, Line
from voicelog.estimate.how_long import levels
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.records import Job
from voicelog.meaning.place import Place

SECONDS_A_MINUTE = 60


@dataclass(frozen=True)
class Observation:
    """One piece of work with its estimated and its actual minutes."""

    job: str
    estimated: float
    actual: float
    levels: Mapping[tuple[str, str], float]
    """(slot, value) -> share of the work that had it, 0 to 1."""


def observations(jobs: Iterable[Job], card: Card) -> list[Observation]:
    """What finished jobs tell: their timed panels, or the whole job where no dent was timed.

    Jobs whose minutes hang on open values are left out; so is time on dents without a price.
    """
    found: list[Observation] = []
    for job in jobs:
        if job.finished_at is not None:
            found.extend(_of_job(job, price_job(job, card), card))
    return found


def _of_job(job: Job, estimate: Estimate, card: Card) -> Iterator[Observation]:
    """Panels with timed dents, each as one piece of work; else the job as a whole.

    The timer runs for the dent that is open, though hands move over the whole panel: so its time is
    that of the panel, and each of the panel's dents stands for its share of the estimate.
    """
    lines = [line for line in estimate.lines if line.kind == "dent" and _settled(line)]
    panels: dict[Place | None, list[Line]] = {}
    for line in lines:
        panels.setdefault(line.place, []).append(line)
    timed = False
    for place, there in panels.items():
        seconds = sum(job.dents[line.dents[0]].worked_s for line in there)
        if seconds > 0:
            timed = True
            once = [line for line in estimate.lines if line.kind in _ONCE and line.place == place]
            yield _observation(job.id, there, once, seconds, card)
    unpriced = any(line.kind == "refusal" for line in estimate.lines)
    if timed or unpriced or not lines or not estimate.minutes.settled or job.timer.worked_s <= 0:
        return
    once = [line for line in estimate.lines if line.kind in (*_ONCE, "take-off")]
    yield _observation(job.id, lines, once, job.timer.worked_s, card)


def _observation(
    job: str, lines: Sequence[Line], once: Sequence[Line], seconds: float, card: Card
) -> Observation:
    work = sum(float(line.minutes.low) for line in (*lines, *once))
    shares: dict[tuple[str, str], float] = {}
    for line in lines:
        assert line.low is not None
        for level in levels(line.low, card):
            shares[level] = shares.get(level, 0.0) + float(line.minutes.low) / work
    return Observation(job, work, seconds / SECONDS_A_MINUTE, shares)


_ONCE = ("set-up", "protection")


def _settled(line: Line) -> bool:
    return line.low == line.high and line.minutes.low > 0
