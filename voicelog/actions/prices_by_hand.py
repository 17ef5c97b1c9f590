"""Prices that a person names: for a dent, for the whole job, and free lines."""

from __future__ import annotations

from decimal import Decimal

from voicelog.actions.change import NO_CHANGE, NO_JOB, Change, Context, job_for, refused
from voicelog.estimate.money import format_money, round_money
from voicelog.jobs.records import Job
from voicelog.journal import events as ev
from voicelog.meaning.note import Value


def price_dent(context: Context, amount: Value | None, dent: int | None = None) -> Change:
    """Price a dent by hand, the one given or the open one; None gives it back to the card."""
    job, there = context.job, context.dent if dent is None else context.find(dent)
    if job is None or there is None:
        return refused("no dent is open", "no dent is open: say which one")
    return _price(context, job, amount, there.number, f"dent {there.number}")


def price_whole_job(context: Context, amount: Value | None) -> Change:
    """Agree on a price for the whole job ("call it three fifty"); None gives it back to the card."""
    job = context.job
    return refused("no job is open", NO_JOB) if job is None else _price(context, job, amount, None, "the job")


def _price(context: Context, job: Job, amount: Value | None, dent: int | None, what: str) -> Change:
    if amount is None:
        if dent not in job.hand_prices:
            return refused(NO_CHANGE, f"{what} has no price by hand")
        change = context.change(f"{what} priced by the card")
        change.add(ev.PricedByHand(None, dent), job.id)
        return change
    said = round_money(Decimal(str(amount)), context.card.currency)
    if said < 0:
        return refused("price below nought", "a price cannot be below nought")
    taxed = context.office.prices_with_tax
    change = context.change(f"{what} {_shown(said, context)} {'with tax' if taxed else 'before tax'}")
    change.add(ev.PricedByHand(said, dent, taxed), job.id)
    return change


def add_extra(context: Context, text: str, amount: Value) -> Change:
    """Add a free line before tax: a part, travel, work bought in."""
    said = round_money(Decimal(str(amount)), context.card.currency)
    name = " ".join(text.split())
    if not name or not said:
        return refused("extra: nothing said", "say what it is and what it costs")
    change = context.change(f"{name} {_shown(said, context)} before tax")
    job = job_for(context, change)
    held = [] if context.job is None else [extra.text for extra in context.job.extras]
    change.add(ev.ExtraAdded(_unlike(name, held), said), job)
    return change


def _unlike(name: str, held: list[str]) -> str:
    """The name with a number where there is such a line already, so that both can be told apart."""
    number = 1
    while (unlike := name if number == 1 else f"{name} ({number})") in held:
        number += 1
    return unlike


def remove_extra(context: Context, extra: str | None = None) -> Change:
    """Take a free line off: the one given by its id, else the last."""
    job = context.job
    found = [] if job is None else [one for one in job.extras if extra in (None, one.id)]
    if job is None or not found:
        return refused("no free line", "there is no such line")
    change = context.change(f"{found[-1].text} taken off")
    change.add(ev.ExtraRemoved(found[-1].id), job.id)
    return change


def _shown(amount: Decimal, context: Context) -> str:
    return format_money(amount, context.card.currency)
