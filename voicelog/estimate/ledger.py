"""The sales ledger: every invoice, credit note and payment, with what is still open.

It is made from the events alone and keeps no order of its own: an invoice counts once by its
number, a payment once by its id, so journals may be merged in any order and as often as one likes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any, Literal

from voicelog.estimate.card.model import customer_key
from voicelog.estimate.money import money_text
from voicelog.estimate.payers import NOTHING, NOUGHT, PAYERS, Parts, parts_of, parts_paid
from voicelog.journal import events as ev

Kind = Literal["invoice", "credit-note", "payment"]
_AMOUNTS = ("net", "tax", "total", "open")


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
    insurer: str = ""
    excess: Any = None
    payer: str = ""
    """Payments: customer or insurer, where it was said."""
    parts: Parts = NOTHING
    """The total by who pays it."""
    open_parts: Parts = NOTHING

    def overdue(self, today: date) -> bool:
        """Whether something of it should have been paid before today."""
        return self.open > 0 and bool(self.due_on) and self.due_on < today.isoformat()

    def to_json(self) -> dict[str, Any]:
        """JSON-ready form; money as strings."""
        shown = {name: money_text(getattr(self, name), self.currency) for name in _AMOUNTS}
        return {
            "date": self.on, "kind": self.kind, "number": self.number, "job": self.job_number,
            "customer": self.customer, **shown, "currency": self.currency, "due_on": self.due_on or None,
            "of": self.of or None, "how": self.how or None, "insurer": self.insurer or None,
            "insurer_total": money_text(self.parts.insurer, self.currency),
            "insurer_open": money_text(self.open_parts.insurer, self.currency),
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
    return _by_payer(entries)


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
        insurer=str(data["references"].get("insurer") or ""),
        excess=data["references"].get("excess"),
    )


def _payment(body: ev.Paid, group: str, job: str) -> Entry:
    amount = Decimal(body.amount) if isinstance(body.amount, int | Decimal) else NOUGHT
    return Entry(
        body.date, "payment", group, job, 0, "", body.currency, NOUGHT, NOUGHT, -amount, how=body.how,
        payer=body.payer,
    )  # fmt: skip


def _named(entry: Entry, known: Mapping[str, tuple[int, str]]) -> Entry:
    if entry.kind != "payment" or entry.job not in known:
        return entry
    number, customer = known[entry.job]
    return replace(entry, job_number=number, customer=customer)


def _by_payer(entries: Sequence[Entry]) -> list[Entry]:
    """The entries with who pays what of them, in the order given."""
    jobs: dict[str, list[Entry]] = {}
    for entry in entries:
        jobs.setdefault(entry.job, []).append(entry)
    done = {
        (entry.kind == "payment", entry.number): entry for same in jobs.values() for entry in _of_job(same)
    }
    return [done[entry.kind == "payment", entry.number] for entry in entries]


def _of_job(entries: Sequence[Entry]) -> Iterator[Entry]:
    """Credit notes and payments of each payer go against that part of the invoices, the oldest first."""
    documents = [entry for entry in entries if entry.kind != "payment"]
    payments = [entry for entry in entries if entry.kind == "payment"]
    named = [(one.total, {"insurer": one.insurer, "excess": one.excess}) for one in documents]
    parts = list(parts_of(named))
    paid = list(parts_paid(sum(parts, NOTHING), [(-one.total, one.payer) for one in payments]))
    credited = [part for one, part in zip(documents, parts, strict=True) if one.kind == "credit-note"]
    funds = sum(paid, NOTHING) - sum(credited, NOTHING)
    insurer = next((one.insurer for one in reversed(documents) if one.insurer), "")
    for entry, part in zip(documents, parts, strict=True):
        left = NOTHING
        if entry.kind == "invoice":
            covered = Parts(*(min(max(part.of(by), NOUGHT), max(funds.of(by), NOUGHT)) for by in PAYERS))
            funds, left = funds - covered, part - covered
        yield replace(entry, parts=part, open=left.total, open_parts=left)
    for entry, part in zip(payments, paid, strict=True):
        yield replace(entry, parts=NOTHING - part, insurer=insurer)


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


def _accounts(entry: Entry) -> Iterator[Entry]:
    """The entry as it stands in the accounts of customer and insurer: net and tax are those of all of it."""
    for payer in PAYERS:
        if entry.parts.of(payer) or (payer == "customer" and not entry.parts.insurer):
            name = entry.insurer if payer == "insurer" else entry.customer
            yield replace(entry, customer=name, total=entry.parts.of(payer), open=entry.open_parts.of(payer))


def statement(entries: Sequence[Entry], customer: str, first: str, last: str, today: date) -> list[Statement]:
    """The account of a customer or insurer, one for each currency; both ISO dates are within."""
    wanted = customer_key(customer)
    accounts = (one for entry in entries for one in _accounts(entry))
    theirs = [entry for entry in accounts if customer_key(entry.customer) == wanted]
    made = []
    for currency in dict.fromkeys(entry.currency for entry in theirs):
        same = [entry for entry in theirs if entry.currency == currency]
        before = balance(entry for entry in same if entry.on < first)
        within = tuple(entry for entry in same if first <= entry.on <= last)
        overdue = tuple(entry for entry in same if entry.overdue(today))
        name = theirs[-1].customer
        made.append(Statement(name, first, last, before, within, before + balance(within), currency, overdue))
    return made
