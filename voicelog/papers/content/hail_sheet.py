"""The hail sheet: every panel with its counts by size, what comes off there, and its price."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from voicelog.jobs.records import Dent
from voicelog.meaning.place import normal
from voicelog.papers.blocks import Column, Heading, Paper, Row, Signatures, Table, cell, row, sum_row
from voicelog.papers.content import sections
from voicelog.papers.content.job_on_paper import Subject
from voicelog.papers.wording import listed


def hail_sheets(subject: Subject) -> tuple[Paper, ...]:
    """One sheet for a car on which hail was counted, else none."""
    counted = any(dent.get(name) for dent in subject.dents for name in ("hail", "density", "oversize"))
    return (hail_sheet(subject),) if counted else ()


def hail_sheet(subject: Subject) -> Paper:
    """Panel × count × size × material × parts off × price."""
    words, priced = subject.words, subject.priced
    columns = (
        Column("Panel", 1.3), Column("Dents", 0.6, "right"), Column("Count and size", 1.8),
        Column("Material, surcharges", 1.6), Column("Parts off", 1.1), Column("Price", 1.2, "right"),
    )  # fmt: skip
    other = sum(
        (line.amount[0] for line in priced.priced_lines if not line.dents and line.amount), Decimal(0)
    )
    most = sum((line.amount[1] for line in priced.priced_lines if not line.dents and line.amount), Decimal(0))
    sums = (
        [sum_row("Charges and discount", words.range((other, most), priced.currency))]
        if other or most
        else []
    )
    return Paper(
        title="Hail sheet",
        number=f"{subject.letterhead.estimate_prefix}{subject.number}",
        date=words.date(subject.last_at()),
        letterhead=subject.letterhead,
        addressee=subject.addressee,
        blocks=(
            sections.car(subject, subject.dents, *sections.not_final(subject)),
            Heading("Hail, panel by panel"),
            Table(
                "Hail, panel by panel",
                columns,
                (
                    *_panels(subject),
                    *sums,
                    sum_row("Net", words.range(priced.net, priced.currency)),
                    sum_row("Total with tax", words.range(priced.total, priced.currency), strong=True),
                ),
            ),
            Signatures(("Technician", "Customer or assessor", "Date")),
        ),
    )


def _panels(subject: Subject) -> Iterator[Row]:
    for place in dict.fromkeys(normal(dent.place) for dent in subject.dents):
        dents = [dent for dent in subject.dents if normal(dent.place) == place]
        numbers = {dent.number for dent in dents}
        lines = [
            line for line in subject.priced.priced_lines if line.dents and numbers.issuperset(line.dents)
        ]
        amounts = [line.amount for line in lines if line.amount is not None]
        sums = (sum((low for low, _ in amounts), Decimal(0)), sum((high for _, high in amounts), Decimal(0)))
        limits = [line.text for line in lines if line.kind == "cap"]
        off = dict.fromkeys(item for dent in dents for item in dent.get("take_off") or ())
        yield row(
            cell(
                sections.capital(subject.words.place(place)),
                "done" if all(d.get("done") for d in dents) else "",
            ),
            str(sum(int(dent.get("count") or 1) for dent in dents)),
            cell("; ".join(_count(subject, dent) for dent in dents), *limits),
            listed(dict.fromkeys(text for dent in dents for text in _kind(subject, dent) if text)) or "–",
            listed(subject.words.name(item) for item in off) or "–",
            subject.words.range(sums, subject.priced.currency) if amounts else "by hand",
        )


def _count(subject: Subject, dent: Dent) -> str:
    """ "40 × 10 mm", "5 oversize", "12 × 10 mm in a square of 100 mm"."""
    parts = [subject.of(dent, "count") or ("" if dent.get("density") else "1"), subject.of(dent, "length_mm")]
    text = " × ".join(part for part in parts if part)
    text += " oversize" if dent.get("oversize") else ""
    text += f" in a square of {subject.of(dent, 'square_mm')}" if dent.get("square_mm") else ""
    return f"{subject.of(dent, 'density')} {text}".strip()


def _kind(subject: Subject, dent: Dent) -> Iterator[str]:
    for slot in ("material", "depth", "features", "access"):
        yield subject.of(dent, slot)
