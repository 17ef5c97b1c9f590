"""Invoices are issued, and taken back by a credit note; what was issued never changes."""

from __future__ import annotations

from decimal import Decimal

from voicelog.actions.change import NO_JOB, Change, Context, refused
from voicelog.actions.joining import part_of
from voicelog.estimate.card.model import Terms
from voicelog.estimate.estimate import Estimate
from voicelog.estimate.invoices import credit, document, next_number, to_invoice, why_not
from voicelog.estimate.money import format_money
from voicelog.jobs.records import Job
from voicelog.journal import events as ev

ANYWAY = "say invoice it anyway"


def issue_invoice(context: Context, *, sure: bool = False) -> Change:
    """Invoice what was agreed and not invoiced yet; a sum below nought becomes a credit note.

    What speaks against it is named, and needs a yes (`sure`).
    """
    job = context.job
    if job is None:
        return refused("no job is open", NO_JOB)
    if job.joined_to is not None:
        return part_of(context, job)
    charged = to_invoice(job, context.card)
    if charged is None:
        numbers = ", ".join(issued.number for issued in job.issued)
        return refused("invoiced already", f"invoiced already as {numbers}")
    reasons = why_not(job, charged, _terms(context, job))
    if reasons and not sure:
        text = "; ".join(reasons)
        return refused(f"not invoiced: {text}", f"not invoiced: {text}; {ANYWAY}")
    return _issue(context, job, charged, _before(job))


def _terms(context: Context, job: Job) -> Terms:
    return context.card.of_customer(job.get("customer")).terms


def _before(job: Job) -> str | None:
    """The invoice that a further one goes back to: the last, or the one that was credited last."""
    if not job.issued:
        return None
    last = job.issued[-1]
    return last.of if last.of and last.snapshot.get("kind") == "credit-note" else last.number


def credit_invoice(context: Context, number: str | None = None) -> Change:
    """Take a whole invoice back by a credit note: the one given, else the last that was not."""
    job = context.job
    if job is None:
        return refused("no job is open", NO_JOB)
    for wanted in [number] if number else [issued.number for issued in reversed(job.issued)]:
        found = credit(job, wanted)
        if found is not None:
            return _issue(context, job, found, wanted)
    return refused("no invoice to credit", f"there is no invoice {number or 'here'} to be credited")


def _issue(context: Context, job: Job, charged: Estimate, of: str | None) -> Change:
    given = [event.body.number for event in context.invoices() if isinstance(event.body, ev.Invoiced)]
    number = next_number(context.office, context.device, context.now.date(), given)
    snapshot = document(
        job, charged, number, context.now.date(), context.office, of=of, terms=_terms(context, job)
    )
    name = "credit note" if snapshot["kind"] == "credit-note" else "invoice"
    total = format_money(Decimal(snapshot["total"]["low"]), charged.currency)
    change = context.change(f"{name} {number}, {total}")
    if "name" not in snapshot["buyer"]:
        change.say("no customer is named")
    change.add(ev.Invoiced(number, snapshot, of), job.id)
    return change
