"""The account of a customer as a paper: what was owed, invoices and payments, what is owed."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from voicelog.estimate.ledger import Entry, Statement
from voicelog.papers.blocks import Column, Heading, Notice, Paper, Row, Table, row, sum_row
from voicelog.papers.content import sections
from voicelog.papers.letterhead import Letterhead
from voicelog.papers.wording import Words, known

_KINDS = {"invoice": "Invoice", "credit-note": "Credit note", "payment": "Payment, thank you"}


def statement_sheet(account: Statement, letterhead: Letterhead, today: date) -> Paper:
    """The account up to its last day, or today where that is still to come."""
    words = Words(letterhead)
    last = min(account.last, today.isoformat())
    first = max(account.first, min((entry.on for entry in account.entries), default=last))
    running, rows = account.before, []
    for entry in account.entries:
        running += entry.total
        rows.append(_row(words, entry, running))
    columns = (
        Column("Date", 1.3), Column("What", 2.6), Column("Job", 0.5), Column("Amount", 1.1, "right"),
        Column("Balance", 1.1, "right"),
    )  # fmt: skip
    owed = words.money(account.after, account.currency)
    before = row("", "Balance before", "", "", words.money(account.before, account.currency))
    late = tuple(
        f"{entry.number}, due {words.date(entry.due_on)}: {words.money(entry.open, entry.currency)}"
        for entry in account.overdue
    )
    return Paper(
        title="Statement of account",
        number="",
        date=words.date(today),
        letterhead=letterhead,
        addressee=(known(account.customer),),
        meta=(("Period", f"{words.date(first)} – {words.date(last)}"), ("Balance", owed)),
        blocks=(
            Heading("Invoices and payments"),
            Table(
                "Invoices and payments in order of date",
                columns,
                (*((before,) if account.before else ()), *rows, sum_row("To be paid", owed, strong=True)),
            ),
            *((Notice("Overdue", late, "open"),) if late else ()),
            sections.facts(("Pay to", tuple(map(known, letterhead.bank))), columns=2),
            *sections.small_print(letterhead.payment_terms),
        ),
    )


def _row(words: Words, entry: Entry, balance: Decimal) -> Row:
    number = "" if entry.kind == "payment" else f" {known(entry.number)}"
    return row(
        words.date(entry.on),
        f"{_KINDS[entry.kind]}{number}",
        str(entry.job_number or ""),
        words.money(entry.total, entry.currency),
        words.money(balance, entry.currency),
    )
