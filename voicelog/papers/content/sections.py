"""Parts that several papers share: facts of the job, damage, price, promises, cautions."""

from __future__ import annotations

import re
from collections.abc import Iterator

from voicelog.jobs.records import Dent
from voicelog.papers.blocks import (
    Block,
    Column,
    Drawing,
    Facts,
    Heading,
    Notice,
    Paragraph,
    Pictures,
    Row,
    Table,
    cell,
    row,
    sum_row,
)
from voicelog.papers.car_drawing.marks import draw_plan
from voicelog.papers.content.job_on_paper import Subject
from voicelog.papers.content.priced import Open, Priced, PricedLine
from voicelog.papers.wording import NOT_SETTLED, Money, known, listed

CAUTION = (
    "This paper is a record of work and prices. It is no safety advice: follow the product data sheets, "
    "the vehicle maker's instructions, local rules and licensed practice, above all near airbags, "
    "high-voltage parts and solvents."
)

_DETAILS = (
    ("vehicle", "Vehicle"), ("plate", "Registration"), ("vin", "VIN"), ("phone", "Telephone"),
    ("email", "E-mail"), ("notes", "Notes"),
)  # fmt: skip


def facts(*rows: tuple[str, str | tuple[str, ...]]) -> Facts:
    """Facts without those that have no value."""
    filled = ((name, (value,) if isinstance(value, str) else value) for name, value in rows)
    return Facts(tuple((name, value) for name, value in filled if any(value)))


def job_rows(subject: Subject) -> Iterator[tuple[str, str]]:
    """Car and customer as far as known, doubts shown."""
    yield "Job", str(subject.job.number)
    for name, title in _DETAILS:
        field = subject.job.details.get(name)
        if field is not None:
            text = known(field.value)
            choices = " or ".join(known(choice) for choice in field.choices)
            yield title, text if field.confirmed else f"{choices} ({NOT_SETTLED})"


def total_text(priced: Priced, words_range: str) -> str:
    """A total that says so when it is not one."""
    return words_range if priced.confirmed else f"{words_range} ({NOT_SETTLED})"


def damage(subject: Subject) -> Iterator[Block]:
    """The list of dents and the plan they are numbered on."""
    yield Heading("Damage")
    if not subject.dents:
        yield Paragraph("No damage is on record.")
        return
    yield Table(
        "Damage, dent by dent",
        (
            Column("Dent", 0.5), Column("Panel", 1.3), Column("Size", 1.2), Column("Damage", 1.9),
            Column("Access and method", 1.6), Column("Paint", 1.1),
        ),
        tuple(_damage_row(subject, dent) for dent in subject.dents),
    )  # fmt: skip
    yield Drawing(draw_plan(subject.dents, subject.words))


def _damage_row(subject: Subject, dent: Dent) -> Row:
    def of(slot: str, before: str = "", after: str = "") -> str:
        text = subject.of(dent, slot, after)
        return f"{before}{text}" if text else ""

    kind = [of("count", after=" equal dents"), of("depth"), of("shape"), of("material"), of("features")]
    how = [of("access"), of("take_off", "parts: "), of("method")]
    return row(
        str(dent.number),
        cell(_place(subject, dent), of("belongs_to", "belongs to dent ")),
        _size(subject, dent),
        listed(text for text in kind if text) or "–",
        listed(text for text in how if text) or "–",
        listed(subject.said("paint_um", reading.um.slot) for reading in dent.readings) or "–",
    )


def _place(subject: Subject, dent: Dent) -> str:
    """The panel; every value it may have where it is in doubt."""
    if not any(slot in dent.unconfirmed for slot in ("panel", "end", "side")):
        return subject.words.place(dent.place)
    return " ".join(text for slot in ("end", "side", "panel") if (text := subject.of(dent, slot)))


def _size(subject: Subject, dent: Dent) -> str:
    """Length and width: "45 × 30 mm"."""
    length, width = (dent.fields.get(slot) for slot in ("length_mm", "width_mm"))
    if length is None:
        return "not measured" if width is None else f"{subject.of(dent, 'width_mm')} wide"
    if width is None:
        return subject.of(dent, "length_mm")
    if length.confirmed and width.confirmed:
        return subject.words.extent(dent.get("length_mm"), dent.get("width_mm"))
    return f"{subject.of(dent, 'length_mm')} × {subject.of(dent, 'width_mm')}"


def price(subject: Subject) -> Iterator[Block]:
    """Every line, then the sums; refusals as lines with their reason."""
    priced = subject.priced
    yield Heading("Price")
    rows = [_price_row(subject, number, line) for number, line in enumerate(_shown(priced), start=1)]
    yield Table(
        "Price, line by line",
        (
            Column("Line", 0.5), Column("What", 4.2), Column("Minutes", 1.0, "right"),
            Column(f"Amount ({priced.currency})", 2.0, "right"),
        ),
        (*rows, *_sums(subject)),
    )  # fmt: skip


def _shown(priced: Priced) -> list[PricedLine]:
    """Lines with a figure first, then those without one."""
    return [*priced.priced_lines, *priced.refusals, *priced.advice]


def _price_row(subject: Subject, number: int, line: PricedLine) -> Row:
    words = subject.words
    small = _effects(subject, line) if line.kind not in ("refusal", "advice") else ""
    amount = {"refusal": "no price", "advice": "note"}.get(line.kind, "")
    if line.amount is not None:
        amount = words.range(line.amount, subject.priced.currency)
    minutes = words.minutes(line.minutes) if any(line.minutes) else ""
    return row(str(number), cell(known(line.text), capital(known(line.reason)), small), minutes, amount)


def _effects(subject: Subject, line: PricedLine) -> str:
    """What the rate card did to a line, without what it left as it was."""
    told = [(name, effect) for name, effect in line.effects if effect != "no change"]
    texts = [f"{subject.words.name(name)} {known(effect)}".strip() for name, effect in told]
    # No line break between a figure and its unit.
    return re.sub(r"(?<=\d) (?=%|min|mm|[A-Z]{3})", "\u00a0", listed(texts))


def _sums(subject: Subject) -> Iterator[Row]:
    priced, currency = subject.priced, subject.priced.currency

    def total(name: str, figures: Money, *, strong: bool = False) -> Row:
        mark = "" if figures[0] == figures[1] and priced.confirmed else NOT_SETTLED
        return sum_row(name, subject.words.range(figures, currency), mark, strong=strong)

    tax = priced.tax_line
    if tax is not None:
        yield total("Sum without tax", priced.net)
        yield total(known(tax.text), priced.tax)
    yield total("Total", priced.total, strong=True)


def open_points(subject: Subject) -> Iterator[Notice]:
    """What keeps the total from being one figure."""
    priced = subject.priced
    items = [_open_text(subject, item) for item in priced.unsettled]
    missing = [line for line in priced.refusals if line.cause == "missing"]
    items += [f"{known(line.text)}: {known(line.reason)}" for line in missing]
    if not priced.confirmed:
        total = subject.words.range(priced.total, priced.currency)
        yield Notice(f"Total {NOT_SETTLED}: {total}", tuple(items) or ("Values are open.",), "open")
    by_hand = [line for line in priced.refusals if line.cause != "missing"]
    if by_hand:
        yield Notice(
            "Not in the total",
            tuple(f"{known(line.text)}: {known(line.reason)}" for line in by_hand),
            "open",
        )


def _open_text(subject: Subject, item: Open) -> str:
    where = "Job" if item.dent is None else f"Dent {item.dent}"
    said = subject.words.choices(item.slot, item.choices)
    text = f"{where}: {subject.words.slot(item.slot)} {said}"
    if item.difference:
        text += f"; makes {subject.words.money(item.difference, subject.priced.currency)} of difference"
    return text


def promises(subject: Subject) -> Iterator[Block]:
    """What may remain after the repair, and when the customer was told."""
    job, words = subject.job, subject.words
    noted: dict[str, list[str]] = {risk: [] for risk in job.risks}
    for dent in subject.dents:
        for risk in dent.risks:
            noted.setdefault(risk, []).append(str(dent.number))
    told: dict[str, list[str]] = {}
    for risk, at in job.told:
        told.setdefault(risk, []).append(at)
    if not noted and not told:
        return
    yield Heading("What may remain, and what the customer was told")
    yield Table(
        "What may remain after the repair",
        (Column("What", 2.4), Column("Dents", 1.0), Column("Customer told", 2.4)),
        tuple(
            row(
                capital(words.name(risk)),
                listed(noted.get(risk, [])) or "whole job",
                listed(words.date_time(at) for at in told.get(risk, [])) or "not told yet",
            )
            for risk in dict.fromkeys((*noted, *told))
        ),
    )


def quotes(subject: Subject) -> Iterator[Block]:
    """Quotes given, each as it stood."""
    if not subject.job.quotes:
        return
    yield Heading("Quotes given")
    rows = []
    for quote in subject.job.quotes:
        priced = Priced.from_json(quote.snapshot)
        state = {True: "accepted", False: "declined", None: "not decided"}[quote.accepted]
        after = "" if quote.supplement_to is None else f"supplement to quote {quote.supplement_to}"
        total = total_text(priced, subject.words.range(priced.total, priced.currency))
        rows.append(row(cell(str(quote.version), after), subject.words.date_time(quote.at), total, state))
    heads = (Column("Quote"), Column("Given", 2.0), Column("Total", 2.0, "right"), Column("Customer", 1.2))
    yield Table("Quotes given", heads, tuple(rows))


def photos(subject: Subject) -> Iterator[Block]:
    """Thumbnails of the pictures that belong to the job."""
    if subject.album is not None and subject.album.pictures:
        yield Heading("Photos")
        yield Pictures(subject.album.pictures)


def cautions() -> Iterator[Block]:
    """What this paper is not."""
    yield Paragraph(CAUTION, small=True)


def capital(text: str) -> str:
    """`text` with a capital at its beginning."""
    return text[:1].upper() + text[1:]
