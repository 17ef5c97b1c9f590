"""Records made by hand, without a journal behind them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from voicelog.jobs.records import Dent, Field, Job, Reading, Step
from voicelog.meaning.note import SlotValue, Value

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Limits:
    """Thresholds of an invented card, in micrometres."""

    thick_above_um: Decimal | None = Decimal(200)
    refinished_above_um: Decimal | None = Decimal(250)
    over_reference_um: Decimal | None = Decimal(80)
    filler_above_um: Decimal | None = Decimal(500)


def field(value: Value, **doubt: Any) -> Field:
    """A field that holds a value, in doubt where `alternatives` or `doubt` are given."""
    return Field(SlotValue(value, **doubt))


def reading(um: Value, *, probe: str | None = None, **place: str) -> Reading:
    """A reading at a dent, or on the panel named."""
    spots = (place.get("panel"), place.get("end"), place.get("side"))
    return Reading("dent", field(um), probe, *spots, at="", utterance=None)


def step(name: str, minutes: float = 0, **details: Value) -> Step:
    """A step so many minutes after noon."""
    return Step(name, details, (NOON + timedelta(minutes=minutes)).isoformat(), None)


def dent(
    number: int = 1,
    *,
    readings: Iterable[Value | Reading] = (),
    steps: Iterable[Step] = (),
    risks: Iterable[str] = (),
    **slots: Value,
) -> Dent:
    """A dent with slots, readings, steps and risks."""
    return Dent(
        number,
        {name: field(value) for name, value in slots.items()},
        [one if isinstance(one, Reading) else reading(one) for one in readings],
        list(steps),
        list(risks),
    )


def job(*dents: Dent, references: Iterable[Value | Reading] = (), **rest: Any) -> Job:
    """A job with dents and reference readings."""
    beside = [one if isinstance(one, Reading) else reading(one) for one in references]
    known = {one.number: one for one in dents}
    return Job("j", 1, NOON.isoformat(), dents=known, order=list(known), references=beside, **rest)
