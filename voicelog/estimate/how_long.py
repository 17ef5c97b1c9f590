"""How long a job takes: the card's minutes at the person's own speed, and what is left of them.

Minutes of work and minutes of the price are two things: the factors of `[speed]` on the
card change what is said here and never an amount.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from voicelog.estimate.card.model import ADDER_SLOTS, Card
from voicelog.estimate.estimate import ZERO, Estimate, Line, Range, Working
from voicelog.jobs.records import Job

SIZE = "size"
"""The pseudo-slot of the size band, a level for each stretch between two points of the base table."""


@dataclass(frozen=True)
class TimeLeft:
    """Minutes of a job."""

    worked: Decimal
    expected: Range
    """Of the whole job, at the person's own speed."""
    left: Range
    """Nought where more was worked than expected."""


def time_left(job: Job, estimate: Estimate, card: Card, now: datetime) -> TimeLeft:
    """What a job still takes; a timer that runs counts up to `now`."""
    worked = minutes_worked(job, now)
    expected = sum((own_minutes(line, card) for line in estimate.lines), Range(ZERO, ZERO))
    # What is done is done, however long it took: only work on the rest counts against the rest.
    done = {dent.number for dent in job.listed() if dent.get("done")}
    rest = [line for line in estimate.lines if not line.dents or not done.issuperset(line.dents)]
    todo = sum((own_minutes(line, card) for line in rest), Range(ZERO, ZERO))
    spent = worked - Decimal(round(sum(job.dents[number].worked_s for number in done))) / 60
    return TimeLeft(worked, expected, Range(max(ZERO, todo.low - spent), max(ZERO, todo.high - spent)))


def minutes_worked(job: Job, now: datetime) -> Decimal:
    """Minutes the work timer ran."""
    return Decimal(round(job.timer.seconds(now))) / 60


def own_minutes(line: Line, card: Card) -> Range:
    """Minutes of a line at the person's own speed."""
    if line.kind != "dent":
        return Range(line.minutes.low * card.speed.all, line.minutes.high * card.speed.all)
    return Range(line.minutes.low * _factor(line.low, card), line.minutes.high * _factor(line.high, card))


def _factor(working: Working | None, card: Card) -> Decimal:
    factor = card.speed.all
    if working is not None and card.speed.by_value:
        for slot, value in levels(working, card):
            factor *= card.speed.by_value.get(slot, {}).get(value, Decimal(1))
    return factor


def levels(working: Working, card: Card) -> Iterator[tuple[str, str]]:
    """What the speed may hang on: (slot, value) of a dent's size band and every value said."""
    values = dict(working.values)
    extent = max(Decimal(str(values[slot])) for slot in ("length_mm", "width_mm") if slot in values)
    yield SIZE, size_band(extent, card)
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
