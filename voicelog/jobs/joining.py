"""Two records of one car as one: what another job's events add to the job that it was joined to.

The later opened job always goes to the earlier one, and only to the first that it was joined to; so
whatever order journals are merged in, the same jobs are one, and nothing counts twice.  The record
that goes stays as it is; the one that takes it in shows and charges both.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from voicelog.jobs.changes import change
from voicelog.jobs.records import Job, Timer
from voicelog.journal import events as ev


def take_in(job: Job, events: Iterable[ev.Event]) -> None:
    """Add the dents, quotes, money and hours of another job's events (those that count, in order).

    What is known of car and customer, the discount, the state and an agreed price of the whole stay
    those of the job.  The other's accepted quote becomes a supplement to the job's own.
    """
    known, offset = set(job.details), max((quote.version for quote in job.quotes), default=0)
    kept = (job.timer, job.open_dent, job.finished_at, job.gaps, job.discount_percent)
    job.timer = Timer()
    for event in events:
        body = _body(event.body, known, offset)
        if body is not None:
            # Numbers are given by device: the other record is to be told apart on the same one, too.
            change(job, replace(event, job=job.id, device=f"{event.device} {event.job}", body=body))
    worked = job.timer.worked_s
    job.timer, job.open_dent, job.finished_at, job.gaps, job.discount_percent = kept
    job.timer.worked_s += worked
    job.quotes = [quote for quote in job.quotes if quote.version <= offset] + _accepted(job, offset)


def _body(body: Any, known: set[str], offset: int) -> ev.Body | None:
    """What a body says of the job that takes it in; None where that job's own word counts."""
    match body:
        case ev.JobDescribed(slots=slots):
            return replace(body, slots={name: slot for name, slot in slots.items() if name not in known})
        case ev.PricedByHand(dent=None) | ev.Discounted():
            return None
        case ev.Asked(dent=None, slot=slot) if slot in known or slot == "discount_percent":
            return None
        case ev.Quoted(version=version, supplement_to=before):
            to = None if before is None else before + offset
            return replace(body, version=version + offset, supplement_to=to)
        case ev.QuoteSettled(version=version):
            return replace(body, version=version + offset)
    return body  # type: ignore[no-any-return]


def _accepted(job: Job, offset: int) -> list[Any]:
    """The quotes taken in that were accepted: the last one and its supplements, on top of the job's own."""
    own = [q for q in job.quotes if q.version <= offset and q.accepted and q.supplement_to is None]
    new = [q for q in job.quotes if q.version > offset and q.accepted]
    roots = [quote for quote in new if quote.supplement_to is None]
    if not roots:
        return []
    root = roots[-1]
    found = [quote for quote in new if quote is root or quote.supplement_to == root.version]
    numbers = {number: there for (device, number), there in job.renumbered.items() if " " in device}
    for quote in found:
        quote.snapshot = _renumbered(quote.snapshot, numbers)
        if own:
            quote.supplement_to = own[-1].version
    return found


def _renumbered(snapshot: Mapping[str, Any], numbers: Mapping[int, int]) -> dict[str, Any]:
    """A stored estimate with the numbers that its dents have in the job that takes it in."""

    def line(data: Mapping[str, Any]) -> dict[str, Any]:
        dents, text = [numbers.get(dent, dent) for dent in data["dents"]], str(data["text"])
        head, colon, rest = text.partition(":")
        if len(dents) == 1 and head == f"Dent {data['dents'][0]}":
            text = f"Dent {dents[0]}{colon}{rest}"
        return {**data, "dents": dents, "text": text}

    damages = [
        {**item, "number": numbers.get(item["number"], item["number"])} for item in snapshot["damages"]
    ]
    return {**snapshot, "lines": [line(data) for data in snapshot["lines"]], "damages": damages}
