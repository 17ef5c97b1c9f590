"""The invoice, with the content that EN 16931 asks of one.

The business terms (BT) and rules (BR) of EN 16931-1 as read in the validation artefacts
of ConnectingEurope/eInvoicing-EN16931; for the United Kingdom HMRC COG941020 asks for the
same.  It is a paper for people, not an electronic invoice in UBL.
"""

from __future__ import annotations

from collections.abc import Iterator

from voicelog.jobs.records import Issued
from voicelog.papers.blocks import (
    Block,
    Column,
    Facts,
    Heading,
    Notice,
    Paper,
    Paragraph,
    Row,
    Table,
    cell,
    row,
    sum_row,
)
from voicelog.papers.content import sections
from voicelog.papers.content.job_on_paper import Subject
from voicelog.papers.content.priced import Priced, PricedLine
from voicelog.papers.text import lines_of
from voicelog.papers.wording import NOT_SETTLED, Money, known, listed


def invoices(subject: Subject) -> tuple[Paper, ...]:
    """Every invoice and credit note that was issued, as issued; else a draft that says what is open."""
    return tuple(_issued(subject, one) for one in subject.job.issued) or (draft_invoice(subject),)


def draft_invoice(subject: Subject) -> Paper:
    """What an invoice would be today."""
    letterhead = subject.letterhead
    return Paper(
        title="Draft invoice",
        number=f"{letterhead.invoice_prefix}{subject.number}",
        date=subject.words.date(subject.job.finished_at or subject.last_at()),
        letterhead=letterhead,
        addressee=subject.addressee,
        blocks=(
            _head(subject),
            Notice("This is a draft, not to be paid", (*why_draft(subject), _NOT_ISSUED), "open"),
            *_lines(subject, subject.charged),
            *sections.cautions(),
        ),
    )


_NOT_ISSUED = "It was not issued: it has no number of its own yet, and its figures may change."


def _issued(subject: Subject, issued: Issued) -> Paper:
    """A document by its snapshot alone: neither card nor record can change it any more."""
    data, words = issued.snapshot, subject.words
    seller, buyer = data.get("seller", {}), data.get("buyer", {})
    letterhead = subject.letterhead.model_copy(update={
        **{name: str(seller[name]) for name in ("name", "tax_number", "phone", "email") if seller.get(name)},
        "address": tuple(seller.get("address", ())),
    })  # fmt: skip
    credit = data["kind"] == "credit-note"
    rows = [
        ("Job", str(data["references"].get("job", ""))),
        *((name, str(data["references"].get(key, ""))) for key, name in _REFERENCES.items()),
        ("Work finished", words.date(data["supplied_on"])),  # BT-72, delivery date
        ("Due", words.date(data["due_on"]) if data["due_on"] else ""),  # BT-9
        ("Currency", str(data["total"]["currency"])),  # BT-5
        ("Goes back to" if not credit else "Takes back", issued.of or ""),  # BT-25
        ("Quote accepted", listed(str(version) for version in data["quotes"])),
    ]
    return Paper(
        title="Credit note" if credit else "Invoice",
        number=issued.number,  # BT-1
        date=words.date(data["issued_on"]),  # BT-2
        letterhead=letterhead,  # BG-4, the seller
        addressee=(*lines_of(buyer.get("name", "")), *lines_of(buyer.get("postal_address", ""))),  # BG-7
        blocks=(
            sections.facts(*rows),
            *_lines(subject, Priced.from_json(data)),
            *_payment(str(seller.get("payment_terms", "")), final=not credit),
            *sections.cautions(),
        ),
    )


_REFERENCES = {
    "registration": "Plate", "vehicle_id": "VIN", "vehicle": "Vehicle", "order": "Order",
    "stock": "Stock number",
    "insurer": "Insurer", "claim": "Claim", "policy": "Policy",
}  # fmt: skip


def why_draft(subject: Subject) -> tuple[str, ...]:
    """What keeps the invoice from being final; empty where nothing does."""
    priced = subject.charged
    reasons = [subject.trouble] if subject.trouble else []
    if subject.agreed is not None and max(subject.agreed.beyond) > 0:
        more = subject.words.range(subject.agreed.beyond, priced.currency)
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


def _head(subject: Subject) -> Facts:
    words, job = subject.words, subject.job
    accepted = [quote for quote in job.quotes if quote.accepted]
    return sections.facts(
        *sections.job_rows(subject),
        ("Work finished", words.date(job.finished_at) if job.finished_at else ""),
        ("Currency", subject.charged.currency),
        ("Quote accepted", listed(f"{q.version}, {words.date_time(q.at)}" for q in accepted)),
    )


def _lines(subject: Subject, priced: Priced) -> Iterator[Block]:
    """BG-25 with number, description, quantity, unit price and net amount; then BG-22 and BG-23."""
    yield Heading("Work charged")
    rows = [_line(subject, number, line, priced) for number, line in enumerate(priced.priced_lines, start=1)]
    columns = (
        Column("Line", 0.5), Column("Description", 3.4), Column("Quantity", 0.9, "right"),
        Column("Price each", 1.8, "right"), Column(f"Amount ({priced.currency})", 2.0, "right"),
    )  # fmt: skip
    yield Table("Work charged, line by line", columns, (*rows, *_sums(subject, priced)))
    if priced.refusals:
        yield Heading("Not charged")
        heads = (Column("What", 3.0), Column("Why, and what to do", 4.0))
        told = tuple(row(known(line.text), sections.capital(known(line.reason))) for line in priced.refusals)
        yield Table("Not charged", heads, told)


def _line(subject: Subject, number: int, line: PricedLine, priced: Priced) -> Row:
    assert line.amount is not None
    amount = subject.words.range(line.amount, priced.currency)
    minutes = f"{subject.words.minutes(line.minutes)} min" if any(line.minutes) else ""
    return row(str(number), cell(known(line.text), minutes), "1", amount, amount)


def _sums(subject: Subject, priced: Priced) -> Iterator[Row]:
    tax = priced.tax_line
    open_mark = "" if priced.confirmed else NOT_SETTLED

    def total(name: str, figures: Money, *, strong: bool = False) -> Row:
        return sum_row(name, subject.words.range(figures, priced.currency), open_mark, strong=strong)

    if tax is not None:
        yield total("Total without tax", priced.net)  # BT-109
        yield total(known(_tax_name(subject, priced, tax)), priced.tax)  # BT-110, BT-117, BT-119
        yield total("Total with tax", priced.total)  # BT-112
    yield total("Amount due", priced.total, strong=True)  # BT-115


def _tax_name(subject: Subject, priced: Priced, tax: PricedLine) -> str:
    """The tax with its rate, under the name the workshop gives it."""
    named = subject.letterhead.tax_name
    if named and priced.tax_name and tax.text.startswith(priced.tax_name):
        return named + tax.text.removeprefix(priced.tax_name)
    return tax.text


def _payment(terms: str, *, final: bool) -> Iterator[Block]:
    lines = lines_of(terms)  # BT-20, BG-16
    if lines and final:
        yield Heading("Payment")
        yield from (Paragraph(line) for line in lines)
