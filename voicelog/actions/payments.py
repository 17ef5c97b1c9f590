"""Money that comes in: deposits, parts, the whole; how it was paid, and never data of a card."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from voicelog.actions.change import NO_JOB, Change, Context, refused
from voicelog.actions.joining import part_of
from voicelog.estimate.money import format_money, round_money
from voicelog.estimate.payers import PAYERS, Parts, open_parts, parts_paid
from voicelog.jobs.records import Job
from voicelog.journal import events as ev
from voicelog.meaning.note import Value
from voicelog.vocabulary import CHOICES


def note_payment(
    context: Context,
    amount: Value | None = None,
    how: str = "other",
    on: date | None = None,
    payer: str = "",
) -> Change:
    """Money came in for the job: so much, or all that is open; before an invoice it is a deposit.

    `payer` is customer or insurer, or nobody in particular (see `payers.parts_paid`).
    """
    job = context.job
    if job is None:
        return refused("no job is open", NO_JOB)
    if job.joined_to is not None:
        return part_of(context, job)
    known = (*CHOICES["by"], "other")
    if how not in known:
        return refused(f"by: {how}", f"paid by what? one of {', '.join(known)}")
    if payer not in ("", *PAYERS):
        return refused(f"payer: {payer}", f"paid by whom? one of {', '.join(PAYERS)}")
    currency = context.card.currency
    parts = open_parts(job)
    owed = parts.insurer if payer == "insurer" else parts.customer if payer else parts.total
    paid = owed if amount is None else round_money(Decimal(str(amount)), currency)
    if amount is None and paid <= 0:
        return refused("nothing is open", "nothing is open on this job; say the amount of a deposit")
    if not paid:
        return refused("amount: nought", "an amount of nought is no payment")
    day = (on or context.now.date()).isoformat()
    change = context.change(f"paid {format_money(paid, currency)}{'' if how == 'other' else f' {how}'}")
    change.add(ev.Paid(paid, currency, how, day, payer), job.id)
    change.say(_rest(job, parts - next(parts_paid(parts, [(paid, payer)])), currency))
    return change


def _rest(job: Job, parts: Parts, currency: str) -> str:
    if not job.issued:
        return "a deposit"
    if parts.insurer > 0:
        return f"{parts_text(parts, currency)} open"
    rest = parts.total
    if rest > 0:
        return f"{format_money(rest, currency)} open"
    return "all paid" if not rest else f"{format_money(-rest, currency)} too much"


def parts_text(parts: Parts, currency: str) -> str:
    """What is open, and of whom: "£264.72 (customer £50.00, insurer £214.72)"."""
    each = ", ".join(f"{payer} {format_money(parts.of(payer), currency)}" for payer in PAYERS)
    return f"{format_money(parts.total, currency)}{f' ({each})' if parts.insurer else ''}"


def open_balance(job: Job) -> Decimal:
    """What was invoiced and credited, less what was paid; below nought where too much was."""
    return open_parts(job).total
