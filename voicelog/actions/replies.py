"""Answers to the technician's questions, each short enough to be spoken in under four seconds."""

from __future__ import annotations

from voicelog.actions.change import NO_JOB, Change, Context, refused
from voicelog.actions.hail import dents_on, panels
from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import Estimate, Range
from voicelog.estimate.how_long import time_left
from voicelog.estimate.money import format_money
from voicelog.estimate.owed import owed
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.checklist import gaps
from voicelog.jobs.paint import assess
from voicelog.jobs.records import Dent, Job
from voicelog.journal import events as ev
from voicelog.meaning.wording import place_text, read_back, span
from voicelog.units import figure

SPOKEN_GAPS = 2
"""So many missing things are named in one answer; the number of the rest follows."""


def reply(context: Context, asked: str) -> Change:
    """Answer a question by its name in the vocabulary; changes nothing."""
    job = context.job
    if job is None:
        return refused("no job is open", NO_JOB)
    if asked == "read-back":
        answer = _dent_text(context.dent, job, context)
    elif asked == "price":
        answer = _price_text(context.dent, job, context.card)
    elif asked == "total":
        answer = f"total {estimate_text(job, context.card)}"
    elif asked == "time":
        answer = time_text(job, context)
    elif asked == "owed":
        answer = owed_text(job, context.card)
    elif asked == "repeat":
        answer = _last_answer(context)
    elif asked == "how-long":
        answer = time_text(job, context)
    elif asked == "plan":
        answer = _plan_text(job, context)
    elif asked == "left":
        answer = _left_text(job, context)
    else:
        answer = missing_text(job)
    return context.change(answer)


def _last_answer(context: Context) -> str:
    """What was answered last that changed something."""
    for group in reversed(context.state.undoable):
        for event in context.recall(group):
            if isinstance(event.body, ev.Heard) and event.body.answer:
                return event.body.answer
    return "nothing was said yet"


def _plan_text(job: Job, context: Context) -> str:
    """The next dent without a step."""
    todo = [dent for dent in job.listed() if not dent.steps and not dent.get("done")]
    if not todo:
        return "every dent was begun; check the lines"
    return _dent_text(todo[0], job, context).replace("dent", "next, dent", 1)


def _left_text(job: Job, context: Context) -> str:
    """Panels that are not done, with their dents, and the time they take: "bonnet 30, 1 of 2 panels done"."""
    every = list(panels(job))
    left = [(place, dents) for place, dents in every if not all(dent.get("done") for dent in dents)]
    if not left:
        return "every panel is done" if every else "nothing is noted yet"
    named = [f"{place_text(place, context.region)} {dents_on(dents)}" for place, dents in left]
    more = f", and {len(left) - SPOKEN_PANELS} more" if len(left) > SPOKEN_PANELS else ""
    done = f"{len(every) - len(left)} of {len(every)} panels done"
    return f"left: {', '.join(named[:SPOKEN_PANELS])}{more}; {done}, {time_text(job, context)}"


SPOKEN_PANELS = 4


def _dent_text(dent: Dent | None, job: Job, context: Context) -> str:
    if dent is None:
        return "no dent is open"
    slots = {name: field.slot for name, field in dent.fields.items()}
    paint = assess(dent, job, context.card.paint)
    found = "" if paint is None else f"paint {figure(paint.spot.mean)}, {paint.spoken}"
    text = ", ".join(part for part in (read_back(slots, context.region), found) if part)
    return f"dent {dent.number}, {text}" if text else f"dent {dent.number}, nothing said yet"


def estimate_text(job: Job, card: Card) -> str:
    """The job's total as spoken: one figure when settled, else from lowest to highest."""
    return total_text(price_job(job, card))


def total_text(estimate: Estimate) -> str:
    """An estimate's total as spoken."""
    text = range_text(estimate.total, estimate.currency)
    by_hand = len(estimate.refusals)
    if not estimate.confirmed:
        text += ", not settled"
    return f"{text}, {by_hand} by hand" if by_hand else text


def range_text(amount: Range, currency: str) -> str:
    """Money as spoken: "£120.00", or "£120.00 to £180.00"."""
    low, high = (format_money(figure, currency) for figure in (amount.low, amount.high))
    return low if low == high else f"{low} to {high}"


def _price_text(dent: Dent | None, job: Job, card: Card) -> str:
    if dent is None:
        return "no dent is open"
    lines = [line for line in price_job(job, card).of(dent.number) if line.amount is not None]
    if not lines:
        return f"dent {dent.number} has no price"
    amounts = [line.amount for line in lines if line.kind == "dent" and line.amount is not None]
    if not amounts:
        return f"dent {dent.number} has no price"
    total = amounts[0]
    for amount in amounts[1:]:
        total = total + amount
    how = "with tax" if card.tax.included else "before tax"
    return f"dent {dent.number}, {range_text(total, card.currency)} {how}"


def time_text(job: Job, context: Context) -> str:
    """Worked and still to do, as spoken: "worked 20 minutes, 45 minutes to do"."""
    left = time_left(job, price_job(job, context.card), context.card, context.now).left
    low, high = (span(round(minutes) * 60, "spoken") for minutes in (left.low, left.high))
    rest = low if low == high else f"{low} to {high}"
    worked = span(job.timer.seconds(context.now), "spoken")
    return f"worked {worked}" + (f", {rest} to do" if left.high else "")


def owed_text(job: Job, card: Card) -> str:
    """What was probably forgotten to charge, the dearest first, as spoken."""
    found = owed(job, card)
    named = [f"{item.text}, {_may_add(item.amount, card)}" for item in found[:SPOKEN_GAPS]]
    more = f"; and {len(found) - SPOKEN_GAPS} more" if len(found) > SPOKEN_GAPS else ""
    return "; ".join(named) + more if named else "nothing was forgotten that the card knows of"


def _may_add(amount: Range, card: Card) -> str:
    if amount.low <= 0:
        return f"up to {format_money(amount.high, card.currency)}"
    return range_text(amount, card.currency)


def missing_text(job: Job) -> str:
    """What is missing as spoken."""
    found = gaps(job)
    if not found:
        return "nothing is missing"
    named = ", ".join(gap.text for gap in found[:SPOKEN_GAPS])
    more = len(found) - SPOKEN_GAPS
    return f"missing: {named}" + (f", and {more} more" if more > 0 else "")
