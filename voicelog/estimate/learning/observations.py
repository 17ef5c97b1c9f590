"""Worked time beside estimated time: what there is to learn from."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from voicelog.estimate.card.model import ADDER_SLOTS, Card
from voicelog.estimate.estimate import Estimate, Line, Range
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.records import Job

SIZE = "size"
"""The pseudo-slot of the size band, a level for each stretch between two points of the base table."""

SECONDS_A_MINUTE = 60
MINUTES_AN_HOUR = 60


@dataclass(frozen=True)
class Observation:
    """One piece of work with its estimated and its actual minutes."""

    job: str
    estimated: float
    actual: float
    levels: Mapping[tuple[str, str], float]
    """(slot, value) -> share of the work that had it, 0 to 1."""


@dataclass(frozen=True)
class Actual:
    """A job's work timer beside its estimate."""

    job: str
    estimated_minutes: Range
    actual_minutes: Decimal
    net: Range
    hourly_rate: Range
    """What the net sum came to for each hour worked."""


def actual_of(job: Job, estimate: Estimate) -> Actual | None:
    """A job's time against its estimate; None where the timer never ran.

    A timer that still runs counts only up to its last stop.
    """
    minutes = Decimal(str(job.timer.worked_s)) / SECONDS_A_MINUTE
    if minutes <= 0:
        return None
    hours = minutes / MINUTES_AN_HOUR
    rate = Range(estimate.net.low / hours, estimate.net.high / hours)
    return Actual(job.id, estimate.minutes, minutes, estimate.net, rate)


def observations(jobs: Iterable[Job], card: Card) -> list[Observation]:
    """What finished jobs tell: their timed dents, or the whole job where no dent was timed.

    Jobs whose minutes hang on open values are left out; so is time on dents without a price.
    """
    found: list[Observation] = []
    for job in jobs:
        if job.finished_at is not None:
            found.extend(_of_job(job, price_job(job, card), card))
    return found


def _of_job(job: Job, estimate: Estimate, card: Card) -> Iterator[Observation]:
    lines = [line for line in estimate.lines if line.kind == "dent" and _settled(line)]
    timed = [line for line in lines if job.dents[line.dents[0]].worked_s > 0]
    for line in timed:
        worked = job.dents[line.dents[0]].worked_s / SECONDS_A_MINUTE
        yield Observation(job.id, float(line.minutes.low), worked, dict.fromkeys(_levels(line, card), 1.0))
    unpriced = any(line.kind == "refusal" for line in estimate.lines)
    if timed or unpriced or not lines or not estimate.minutes.settled or job.timer.worked_s <= 0:
        return
    shares: dict[tuple[str, str], float] = {}
    work = sum(float(line.minutes.low) for line in estimate.lines if line.kind in ("dent", "take-off"))
    for line in lines:
        for level in _levels(line, card):
            shares[level] = shares.get(level, 0.0) + float(line.minutes.low) / work
    yield Observation(job.id, work, job.timer.worked_s / SECONDS_A_MINUTE, shares)


def _settled(line: Line) -> bool:
    return line.low == line.high and line.minutes.low > 0


def _levels(line: Line, card: Card) -> Iterator[tuple[str, str]]:
    """The levels of a dent: its size band and every value said."""
    assert line.low is not None
    values = dict(line.low.values)
    yield (
        SIZE,
        size_band(
            max(Decimal(str(values[slot])) for slot in ("length_mm", "width_mm") if slot in values), card
        ),
    )
    for slot in ADDER_SLOTS:
        value = values.get(slot)
        for item in value if isinstance(value, tuple) else (value,):
            if isinstance(item, str):
                yield slot, item


def size_band(extent: Decimal, card: Card) -> str:
    """The name of a size band: "up to 10 mm", "10 to 20 mm"."""
    index = bisect_left(card.points, extent, key=lambda point: point[0])
    high = f"{card.points[index][0]:f} mm"
    return f"up to {high}" if index == 0 else f"{card.points[index - 1][0]:f} to {high}"
