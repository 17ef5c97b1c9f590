"""The sales ledger: every invoice, credit note and payment, with what is still open.

It is made from the events alone and keeps no order of its own: an invoice counts once by its
number, a payment once by its id, so journals may be merged in any order and as often as one likes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any, Literal

from voicelog.estimate.card.model import customer_key
from voicelog.estimate.money import money_text
from voicelog.journal import events as ev

Kind = Literal["invoice", "credit-note", "payment"]
_AMOUNTS = ("net", "tax", "total", "open")
NOUGHT = Decimal(0)


@dataclass(frozen=True)
class Entry:
    """One document or payment."""

    on: str
    """ISO 8601 calendar date of issue, or on which the money came in."""
    kind: Kind
    number: str
    """Of the document; the id of a payment."""
    job: str
    """Id of the job."""
    job_number: int
    customer: str
    currency: str
    net: Decimal
    tax: Decimal
    total: Decimal
    """What is owed more; less than nought for credit notes and payments."""
    due_on: str = ""
    of: str = ""
    how: str = ""
    open: Decimal = NOUGHT
    """Invoices: what is not paid yet."""

    def overdue(self, today: date) -> bool:
        """Whether something of it should have been paid before today."""
        return self.open > 0 and bool(self.due_on) and self.due_on < today.isoformat()

    def to_json(self) -> dict[str, Any]:
        """JSON-ready form; money as strings."""
        shown = {name: money_text(getattr(self, name), self.currency) for name in _AMOUNTS}
        return {
            "date": self.on, "kind": self.kind, "number": self.number, "job": self.job_number,
            "customer": self.customer, **shown, "currency": self.currency, "due_on": self.due_on or None,
            "of": self.of or None, "how": self.how or None,
        }  # fmt: skip


def ledger(events: Iterable[ev.Event], jobs: Mapping[str, tuple[int, str]] | None = None) -> list[Entry]:
    """Entries in order of date, then of number.

    Args:
        events: those that count; bodies other than `Invoiced` and `Paid` are passed over.
        jobs: id -> (number, customer) of jobs with money that was not invoiced.
    """
    found: dict[tuple[str, str], Entry] = {}
    for event in events:
        entry = None
        if isinstance(event.body, ev.Invoiced):
            entry = _document(event.body, event.job or "")
        elif isinstance(event.body, ev.Paid):
            entry = _payment(event.body, event.group, event.job or "")
        if entry is not None:
            found.setdefault(("payment" if entry.kind == "payment" else "document", entry.number), entry)
    invoices = [entry for entry in found.values() if entry.kind == "invoice"]
    named = {entry.job: (entry.job_number, entry.customer) for entry in invoices}
    known = {**(jobs or {}), **named}
    entries = [_named(entry, known) for entry in found.values()]
    entries.sort(key=lambda entry: (entry.on, entry.kind == "payment", entry.number))
    return _with_open(entries)


def _document(body: ev.Invoiced, job: str) -> Entry | None:
    data = body.snapshot
    if "issued_on" not in data:
        return None
    return Entry(
        on=data["issued_on"],
        kind=data["kind"],
        number=body.number,
        job=job,
        job_number=data["number"],
        customer=data["buyer"].get("name", ""),
        currency=data["total"]["currency"],
        net=Decimal(data["net"]["low"]),
        tax=Decimal(data["tax"]["low"]),
        total=Decimal(data["total"]["low"]),
        due_on=data["due_on"] or "",
        of=body.of or "",
    )


def _payment(body: ev.Paid, group: str, job: str) -> Entry:
    amount = Decimal(body.amount) if isinstance(body.amount, int | Decimal) else NOUGHT
    return Entry(
        body.date, "payment", group, job, 0, "", body.currency, NOUGHT, NOUGHT, -amount, how=body.how
    )


def _named(entry: Entry, known: Mapping[str, tuple[int, str]]) -> Entry:
    if entry.kind != "payment" or entry.job not in known:
        return entry
    number, customer = known[entry.job]
    return replace(entry, job_number=number, customer=customer)


def _with_open(entries: Sequence[Entry]) -> list[Entry]:
    """Credit notes and payments of a job go against its invoices, the oldest first."""
    funds: dict[str, Decimal] = {}
    for entry in entries:
        if entry.kind != "invoice":
            funds[entry.job] = funds.get(entry.job, NOUGHT) - entry.total
    made = []
    for entry in entries:
        if entry.kind == "invoice":
            covered = min(entry.total, max(NOUGHT, funds.get(entry.job, NOUGHT)))
            funds[entry.job] = funds.get(entry.job, NOUGHT) - covered
            entry = replace(entry, open=entry.total - covered)
        made.append(entry)
    return made


def balance(entries: Iterable[Entry]) -> Decimal:
    """What is owed: invoices less credit notes and payments; below nought where too much was paid."""
    return sum((entry.total for entry in entries), NOUGHT)


@dataclass(frozen=True)
class Statement:
    """A customer's account over a period."""

    customer: str
    first: str
    last: str
    before: Decimal
    """Owed when the period began."""
    entries: tuple[Entry, ...]
    after: Decimal
    """Owed when it ended."""
    currency: str
    overdue: tuple[Entry, ...] = field(default=())
    """Invoices of any date that should have been paid by now."""


def statement(entries: Sequence[Entry], customer: str, first: str, last: str, today: date) -> list[Statement]:
    """The account of a customer, one for each currency; `first` and `last` are ISO dates, both within."""
    wanted = customer_key(customer)
    theirs = [entry for entry in entries if customer_key(entry.customer) == wanted]
    made = []
    for currency in dict.fromkeys(entry.currency for entry in theirs):
        same = [entry for entry in theirs if entry.currency == currency]
        before = balance(entry for entry in same if entry.on < first)
        within = tuple(entry for entry in same if first <= entry.on <= last)
        overdue = tuple(entry for entry in same if entry.overdue(today))
        name = theirs[-1].customer
        made.append(Statement(name, first, last, before, within, before + balance(within), currency, overdue))
    return made
