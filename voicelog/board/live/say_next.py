"""What to say next: what the price or the finished job lacks most, and how the job stands."""

from __future__ import annotations

from voicelog.actions.payments import open_balance
from voicelog.board.words import Wording, label
from voicelog.estimate.card.model import Card
from voicelog.jobs.checklist import gaps
from voicelog.jobs.records import Dent, Job
from voicelog.meaning.place import missing_place

NEW_JOB = "new job"
_WHERE = {"panel": "panel", "end": "front or rear", "side": "left or right"}
_PRICED = ("material", "depth", "access")
"""Slots whose value the price takes for granted where nobody says it."""
_MEASURED = {"paint": "paint reading", "reference": "reference reading"}


def to_say(job: Job | None, card: Card) -> list[str]:
    """What is still to be said, the first matters most; empty where nothing is.

    Without place and size there is no price; then comes what may change it most by the card; then
    what the checklist misses on the open dent, on the others and on the job.
    """
    if job is None:
        return [NEW_JOB]
    if job.finished_at:
        return []
    dent = None if job.open_dent is None else job.dents.get(job.open_dent)
    if dent is None or dent.removed:
        return ["panel and size"]
    here = [*_for_a_price(dent, card), *_gaps(job, dent.number)]
    rest = [gap.text for gap in gaps(job) if gap.dent not in (dent.number,) and gap.id != "questions"]
    return [*here, *rest] or ["next dent, or job finished"]


def _for_a_price(dent: Dent, card: Card) -> list[str]:
    where = [_WHERE[slot] for slot in missing_place(dent.place)]
    size = [] if "length_mm" in dent.fields else ["size"]
    silent = [slot for slot in _PRICED if slot not in dent.fields]
    return [*where, *size, *(label(slot) for slot in sorted(silent, key=lambda slot: -_weight(slot, card)))]


def _weight(slot: str, card: Card) -> float:
    """By how much the values of a slot drive the price apart, in percent of the base minutes."""
    percents = [float(adder.percent) for adder in card.adders.of(slot).values()]
    return max([0.0, *percents]) - min([0.0, *percents])


def _gaps(job: Job, number: int) -> list[str]:
    found = [gap.id.partition(":")[0] for gap in gaps(job) if gap.dent == number]
    return [_MEASURED[name] for name in found if name in _MEASURED]


def standing_of(job: Job, wording: Wording) -> str:
    """How the job stands, in words: "at work", "finished", "£120.00 to pay", "paid"."""
    if job.issued:
        currency = str(job.issued[-1].snapshot["total"].get("currency", ""))
        owing = open_balance(job)
        return f"{wording.money(owing, currency)} to pay" if owing > 0 else "paid"
    return {"open": "begun"}.get(job.state, job.state)
