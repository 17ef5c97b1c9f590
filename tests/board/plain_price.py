"""A price list simple enough to reckon in the head: two pounds a millimetre, one a minute."""

from __future__ import annotations

from decimal import Decimal

from voicelog.estimate.estimate import Estimate, Line, Range, Unsettled
from voicelog.jobs.records import Dent, Job

POUNDS_PER_MM = 2


def price(job: Job) -> Estimate:
    """£2 for each millimetre of each dent; the range of a length in doubt."""
    lines = tuple(_line(dent) for dent in job.listed())
    total = Range(Decimal(0), Decimal(0))
    for line in lines:
        total = total + (line.amount or Range.of(Decimal(0)))
    unsettled = tuple(
        Unsettled(dent.number, slot, dent.fields[slot].choices, _spread(dent, slot))
        for dent in job.listed() for slot in dent.unconfirmed
    )  # fmt: skip
    return Estimate(
        job=job.id, number=job.number, title=job.title, currency="GBP", card="plain",
        damages=tuple((dent.number, dent.values()) for dent in job.listed()), lines=lines, net=total,
        tax=Range.of(Decimal(0)), total=total, minutes=total, confirmed=not unsettled, unsettled=unsettled,
    )  # fmt: skip


def _line(dent: Dent) -> Line:
    found = dent.fields.get("length_mm")
    if found is None:
        return Line(
            "refusal", f"dent {dent.number}", (dent.number,), cause="missing", reason="say its length"
        )
    each = POUNDS_PER_MM * int(dent.get("count") or 1)
    amounts = [Decimal(str(value)) * each for value in found.choices]
    amount = Range(min(amounts), max(amounts))
    return Line("dent", f"dent {dent.number}", (dent.number,), dent.place, amount, amount)


def _spread(dent: Dent, slot: str) -> Decimal:
    if slot != "length_mm":
        return Decimal(0)
    values = [Decimal(str(value)) for value in dent.fields[slot].choices]
    return POUNDS_PER_MM * (max(values) - min(values))
