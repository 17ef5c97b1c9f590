"""The invoice, with the content that EN 16931 asks of one.

The business terms (BT) and rules (BR) of EN 16931-1 as read in the validation artefacts
of ConnectingEurope/eInvoicing-EN16931; for the United Kingdom HMRC COG941020 asks for the
same.  It is a paper for people, not an electronic invoice in UBL.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from voicelog.estimate.payers import Parts, parts_of
from voicelog.jobs.records import Issued
from voicelog.papers.blocks import Block, Heading, Notice, Paper, Row, Table, sum_row
from voicelog.papers.content import sections
from voicelog.papers.content.job_on_paper import Subject
from voicelog.papers.content.priced import Priced
from voicelog.papers.letterhead import Letterhead
from voicelog.papers.text import lines_of
from voicelog.papers.wording import NOT_SETTLED, Words, known, listed


def invoices(subject: Subject) -> tuple[Paper, ...]:
    """Every invoice and credit note that was issued, as issued; else a draft that says what is open."""
    return tuple(_issued(subject, one) for one in subject.job.issued) or (draft_invoice(subject),)


def draft_invoice(subject: Subject) -> Paper:
    """What an invoice would be today."""
    return Paper(
        title="Draft invoice",
        number="",
        date=subject.words.date(subject.job.finished_at or subject.last_at()),
        letterhead=subject.letterhead,
        addressee=subject.addressee,
        meta=(("Job", str(subject.job.number)),),
        blocks=(
            Notice("This is a draft, not to be paid", (*why_draft(subject), _NOT_ISSUED), "open"),
            sections.car(subject, ()),
            Heading("Work charged"),
            *sections.price(subject.words, subject.priced, minutes=subject.shows_minutes),
            *sections.not_priced(subject.priced),
        ),
    )


_NOT_ISSUED = "It was not issued: it has no number yet, and its figures may change."


def why_draft(subject: Subject) -> tuple[str, ...]:
    """What keeps the invoice from being final; empty where nothing does."""
    priced = subject.priced
    reasons = [subject.trouble] if subject.trouble else []
    if subject.beyond is not None:
        more = subject.words.range(subject.beyond.total, priced.currency)
        reasons.append(f"The job costs {more} beyond the accepted quote: agree on a supplement.")
    if not subject.job.finished_at:
        reasons.append("The job is not finished.")
    if not priced.confirmed:
        total = subject.words.range(priced.total, priced.currency)
        reasons.append(f"The total is {NOT_SETTLED}: {total}.")
        reasons += [item for notice in sections.open_points(subject) for item in notice.items]
    elif any(line.cause == "beyond-table" for line in priced.refusals):
        reasons.append("A dent is priced by hand and not in the total yet.")
    if not subject.addressee:
        reasons.append("Name and address of the customer are not on record.")
    return tuple(dict.fromkeys(reasons))


def _issued(subject: Subject, issued: Issued) -> Paper:
    """A document by its snapshot alone: neither card nor record can change it any more."""
    data, words = issued.snapshot, subject.words
    buyer, named = data.get("buyer", {}), data["references"]
    credit = data["kind"] == "credit-note"
    priced = Priced.from_json(data)
    due = words.date(data["due_on"]) if data["due_on"] else ""
    minutes = bool(named.get("insurer") or data.get("agreement"))
    return Paper(
        title="Credit note" if credit else "Invoice",
        number=issued.number,  # BT-1
        date=words.date(data["issued_on"]),  # BT-2
        letterhead=_seller(subject.letterhead, data.get("seller", {})),  # BG-4
        addressee=(*lines_of(buyer.get("name", "")), *lines_of(buyer.get("postal_address", ""))),  # BG-7
        meta=(
            ("Takes back" if credit else "Goes back to", issued.of or ""),  # BT-25
            ("Work finished", words.date(data["supplied_on"])),  # BT-72, delivery date
            ("Due", due),  # BT-9
        ),
        issued_on=data["issued_on"],
        blocks=(
            sections.facts(
                *((words.title(name), _reference(words, key, named)) for key, name in _REFERENCES.items()),
                ("Quote accepted", listed(data["quotes"])),
                ("Buyer's tax number", str(buyer.get("tax_number", ""))),  # BT-48
            ),
            Heading("Work charged"),
            *_with_balance(subject, issued, priced, sections.price(words, priced, minutes=minutes)),
            *_payment(data, due if not credit else None),
        ),
    )


_REFERENCES = {
    "vehicle": "Vehicle", "registration": "Registration", "vehicle_id": "VIN", "mileage": "Odometer",
    "insurer": "Insurer", "claim": "Claim", "policy": "Policy", "order": "Order", "stock": "Stock number",
    "job": "Job",
}  # fmt: skip


def _seller(letterhead: Letterhead, seller: Mapping[str, Any]) -> Letterhead:
    """The letterhead as it was when the document was issued."""
    names = ("name", "tax_number", "phone", "email")
    texts = {name: str(seller[name]) for name in names if seller.get(name)}
    return letterhead.model_copy(update={**texts, "address": tuple(seller.get("address", ()))})


def _reference(words: Words, key: str, named: Mapping[str, Any]) -> str:
    found = named.get(key, "")
    return words.odometer(Decimal(str(found))) if key == "mileage" and found else known(found)


def _with_balance(
    subject: Subject, issued: Issued, priced: Priced, blocks: Iterator[Block]
) -> Iterator[Block]:
    """The table of an invoice with what is due at its end, in its currency (BT-5)."""
    for block in blocks:
        if isinstance(block, Table):
            rows = [replace(row, strong=False) for row in block.rows]
            head = replace(block.columns[-1], head=f"Amount ({priced.currency})")
            ends = _balance(subject, issued, priced)
            block = replace(block, columns=(*block.columns[:-1], head), rows=(*rows, *ends))
        yield block


def _balance(subject: Subject, issued: Issued, priced: Priced) -> Iterator[Row]:
    """Who pays what; BT-113, what was paid already; BT-115, what is due."""
    total, words = priced.total[0], subject.words
    if issued.snapshot["kind"] != "invoice":
        yield sum_row("Credited", words.money(total, priced.currency), strong=True)
        return
    insurer = issued.snapshot["references"].get("insurer", "")
    yield from sections.shares(words, _parts(subject, issued), priced.currency, insurer)
    paid = max(Decimal(0), min(total, _paid_before(subject, issued)))
    if paid:
        yield sum_row("Paid already", words.money(-paid, priced.currency))
    yield sum_row("Amount due", words.money(total - paid, priced.currency), strong=True)


def _parts(subject: Subject, issued: Issued) -> Parts:
    until = [one.number for one in subject.job.issued].index(issued.number) + 1
    snapshots = [one.snapshot for one in subject.job.issued[:until]]
    return list(parts_of((Decimal(one["total"]["low"]), one.get("references", {})) for one in snapshots))[-1]


def _paid_before(subject: Subject, issued: Issued) -> Decimal:
    """What came in until the day of the invoice and was not needed for what was issued before it."""
    day = issued.snapshot["issued_on"]
    before = subject.job.issued[: [one.number for one in subject.job.issued].index(issued.number)]
    paid = sum((Decimal(str(one.amount)) for one in subject.job.payments if one.date <= day), Decimal(0))
    return paid - sum((Decimal(one.snapshot["total"]["low"]) for one in before), Decimal(0))


def _payment(data: Mapping[str, Any], due: str | None) -> Iterator[Block]:
    """How to pay; nothing on a credit note."""
    if due is None:
        return
    seller = data.get("seller", {})
    rows = sections.facts(
        ("Pay by", due),
        ("To", tuple(known(line) for line in seller.get("bank", ()))),  # BG-17
        ("Reference", str(data["invoice"])),  # BT-83
        columns=3,
    )
    terms: Sequence[Block] = tuple(sections.small_print(str(seller.get("payment_terms", ""))))  # BT-20
    if terms or len(rows.rows) > 1:
        yield Heading("Payment")
        yield rows
    yield from terms
    yield from sections.small_print(str(seller.get("warranty", "")))
