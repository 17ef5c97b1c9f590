"""Invoices: what is still to be charged of a job, frozen with a number when it is issued.

An issued invoice is the JSON of an estimate (lines, net, tax, total) with what the law asks of
one beside it: number, dates, seller, buyer.  Later changes are a further invoice over the
difference, or a credit note; so what was issued for a job always adds up to what is owed.

Content: EN 16931-1 (business terms BT), directive 2006/112/EC article 226 and HMRC notice 700,
section 16 (the last two from memory).  Art. 226 (2) asks for "a sequential number, based on one
or more series, which uniquely identifies the invoice": here a series for each device and year,
so that two devices that work apart never give one number twice.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any, Literal

from voicelog.estimate.card.model import Card, Terms
from voicelog.estimate.estimate import Estimate, Line, Range
from voicelog.estimate.pricing.price import price_job
from voicelog.estimate.quotes import agreed, difference, in_force, joined, open_points, supplement
from voicelog.jobs.records import Job

FORMAT = 1
"""Version of the snapshot's layout."""

Kind = Literal["invoice", "credit-note"]


_NO_TERMS = Terms()


@dataclass(frozen=True)
class Office:
    """What the workshop's settings say about invoices."""

    seller: Mapping[str, Any] = field(default_factory=dict)
    """name, address (lines), tax_number, phone, email, payment_terms: as they are to stand on invoices."""
    prefix: str = "INV-"
    payment_days: int | None = None
    prices_with_tax: bool = False
    """Whether a price by hand holds the tax."""


def to_invoice(job: Job, card: Card) -> Estimate | None:
    """What was agreed, else what the job costs, less what was invoiced; None where nothing is left."""
    owed = agreed(job) or price_job(job, card)
    issued = [document.snapshot for document in job.issued]
    return difference(issued, owed) if issued else owed


def why_not(job: Job, charged: Estimate, terms: Terms = _NO_TERMS) -> list[str]:
    """What speaks against an invoice; somebody has to say yes to it nevertheless."""
    reasons = []
    if not job.issued and charged.total.high <= 0:
        reasons.append("the total is nought")
    reasons += [point for point in open_points(charged) if point != "nothing is priced"]
    vin = job.details.get("vin")
    if vin is not None and not vin.confirmed:
        reasons.append("the VIN is not settled")
    reasons += [f"{terms.agreement} wants the {name}" for name in terms.wanted if not job.get(name)]
    waiting = [quote for quote in in_force(job) if quote.accepted is None]
    reasons += [f"quote {quote.version} is not accepted" for quote in waiting]
    if agreed(job) and not waiting and supplement(job) is not None:
        reasons.append("what was found since the quote is not agreed: give a supplement")
    return reasons


def next_number(office: Office, device: str, today: date, given: Iterable[str]) -> str:
    """The next number of the device's series of this year: "INV-2026-K7QD-0003"."""
    code = base64.b32encode(hashlib.sha256(device.encode()).digest())[:4].decode()
    series = f"{office.prefix}{today.year}-{code}-"
    used = [number.removeprefix(series) for number in given if number.startswith(series)]
    return f"{series}{max((int(text) for text in used if text.isdigit()), default=0) + 1:04d}"


def document(
    job: Job,
    charged: Estimate,
    number: str,
    today: date,
    office: Office,
    *,
    of: str | None = None,
    terms: Terms = _NO_TERMS,
) -> dict[str, Any]:
    """What an `Invoiced` event stores.  A range is charged at its lowest figure."""
    settled = _settled(charged)
    kind: Kind = "credit-note" if settled.total.low < 0 else "invoice"
    agreed_days = office.payment_days if terms.payment_days is None else terms.payment_days
    days = None if kind == "credit-note" else agreed_days
    due = None if days is None else today + timedelta(days)
    return {
        **settled.to_json(),
        "format": FORMAT,
        "kind": kind,
        "invoice": number,  # BT-1
        "of": of,  # BT-25
        "issued_on": today.isoformat(),  # BT-2
        "due_on": None if due is None else due.isoformat(),  # BT-9
        "supplied_on": (job.finished_at or today.isoformat())[:10],  # BT-72
        "seller": dict(office.seller),  # BG-4
        "buyer": _buyer(job),  # BG-7
        "references": _references(job),
        "agreement": terms.agreement,
        "quotes": [quote.version for quote in in_force(job) if quote.accepted],
    }


def _settled(estimate: Estimate) -> Estimate:
    lines = tuple(
        line if line.amount is None else replace(line, amount=Range.of(line.amount.low))
        for line in estimate.lines
    )
    sums: dict[str, Any] = {name: Range.of(getattr(estimate, name).low) for name in _SUMS}
    return replace(estimate, lines=lines, **sums, confirmed=True, unsettled=())


_SUMS = ("net", "tax", "total", "minutes")


def _buyer(job: Job) -> dict[str, Any]:
    """Names of these keys are not those of the record: an issued invoice keeps its buyer, as tax law asks."""
    found = {
        "name": job.get("customer"),
        "postal_address": job.get("address"),
        "contact": job.get("email") or job.get("phone"),
    }
    return {name: str(value) for name, value in found.items() if value}


_REFERENCES = ("order", "claim", "policy", "insurer", "stock", "mileage", "excess")


def _references(job: Job) -> dict[str, Any]:
    found = {
        "job": job.number,
        "registration": job.get("plate"),
        "vehicle_id": job.get("vin"),
        "vehicle": job.get("vehicle") or " ".join(filter(None, (job.get("make"), job.get("model")))),
        **{name: job.get(name) for name in _REFERENCES},
    }
    return {name: value if isinstance(value, int) else str(value) for name, value in found.items() if value}


def credit(job: Job, number: str) -> Estimate | None:
    """An issued invoice taken back as a whole; None where there is none, or it was credited already."""
    wanted = next((one for one in job.issued if one.number == number), None)
    if wanted is None or wanted.snapshot.get("kind") != "invoice":
        return None
    if any(other.of == number and other.snapshot.get("kind") == "credit-note" for other in job.issued):
        return None
    return negative(joined([wanted.snapshot]))


def negative(estimate: Estimate) -> Estimate:
    """The same lines and sums with the other sign."""
    sums: dict[str, Any] = {name: _minus(getattr(estimate, name)) for name in _SUMS}
    return replace(estimate, lines=tuple(map(_taken_back, estimate.lines)), **sums)


def _taken_back(line: Line) -> Line:
    amount = None if line.amount is None else _minus(line.amount)
    return replace(line, amount=amount, minutes=_minus(line.minutes))


def _minus(amount: Range) -> Range:
    return Range(-amount.low, -amount.high)
