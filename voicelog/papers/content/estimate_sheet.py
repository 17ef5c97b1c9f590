"""The estimate, and quotes and supplements as given: what is done, its price, what may remain."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from voicelog.jobs.records import Quote
from voicelog.papers.blocks import Block, Heading, Paper, Signatures
from voicelog.papers.content import sections
from voicelog.papers.content.job_on_paper import Subject
from voicelog.papers.content.priced import Priced


def estimate_sheets(subject: Subject) -> tuple[Paper, ...]:
    """The estimate as it stands by the record; none once a quote holds: then the quote counts."""
    return () if subject.quoted else (estimate_sheet(subject),)


def estimate_sheet(subject: Subject) -> Paper:
    """The estimate as it stands by the record."""
    priced = subject.priced
    return Paper(
        title="Estimate",
        number=f"{subject.letterhead.estimate_prefix}{subject.number}",
        date=subject.words.date(subject.last_at()),
        letterhead=subject.letterhead,
        addressee=subject.addressee,
        meta=(*_valid(subject, subject.last_at()), *_rate(subject, priced)),
        blocks=(
            sections.car(subject, subject.dents, *sections.not_final(subject)),
            Heading("Work and price"),
            *sections.price(subject.words, priced, minutes=subject.shows_minutes, insured=subject.insured),
            *sections.promises_of(subject),
            *sections.photos(subject),
            *_end(subject),
        ),
    )


def quotes(subject: Subject) -> tuple[Paper, ...]:
    """Every quote and supplement, each with its own lines, as it was given."""
    return tuple(_quote(subject, quote) for quote in subject.job.quotes)


def quote_number(subject: Subject, quote: Quote) -> str:
    """Of a quote or supplement: "QUO-0001-2"."""
    return f"{subject.letterhead.quote_prefix}{subject.number}-{quote.version}"


def _quote(subject: Subject, quote: Quote) -> Paper:
    data, words = quote.snapshot, subject.words
    priced = Priced.from_json(data)
    numbers = {item["number"] for item in data.get("damages", ())}
    to = next((one for one in subject.job.quotes if one.version == quote.supplement_to), None)
    noted: dict[str, list[str]] = {str(risk): [] for risk in data.get("risks", ())}
    told = {str(item["risk"]): str(item["at"]) for item in data.get("told", ())}
    return Paper(
        title="Quote" if to is None else "Supplement",
        number=quote_number(subject, quote),
        date=words.date(quote.at),
        letterhead=subject.letterhead,
        addressee=subject.addressee,
        meta=(
            ("To quote", "" if to is None else quote_number(subject, to)),
            *_valid(subject, quote.at),
            *_rate(subject, priced),
        ),
        issued_on=words.moment(quote.at).date().isoformat(),
        blocks=(
            sections.car(
                subject,
                [dent for dent in subject.dents if dent.number in numbers],
                *sections.not_priced(priced),
            ),
            Heading("Work and price" if to is None else "What changes, and its price"),
            *sections.price(
                words,
                priced,
                minutes=subject.shows_minutes,
                insured=subject.insured if to is None else None,
            ),
            *sections.promises(words, noted, told),
            *_end(subject),
        ),
    )


def _valid(subject: Subject, at: str) -> Iterator[tuple[str, str]]:
    days = subject.letterhead.validity_days
    if days:
        until = subject.words.moment(at).date() + timedelta(days)
        yield "Valid until", subject.words.date(until)


def _rate(subject: Subject, priced: Priced) -> Iterator[tuple[str, str]]:
    if subject.shows_minutes and priced.hourly_rate is not None:
        yield "Labour an hour", subject.words.money(priced.hourly_rate, priced.currency)


def _end(subject: Subject) -> Iterator[Block]:
    letterhead = subject.letterhead
    yield from sections.small_print(letterhead.warranty, letterhead.terms)
    yield Signatures(("For the workshop", "Accepted by the customer", "Date"))
