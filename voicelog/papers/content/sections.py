"""Parts that several papers share: facts of the car, damage, price, promises, signatures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from voicelog.estimate.payers import Parts, divided
from voicelog.jobs.records import Dent
from voicelog.papers.blocks import (
    Beside,
    Block,
    Cell,
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
from voicelog.papers.content.priced import Priced, PricedLine
from voicelog.papers.text import lines_of
from voicelog.papers.wording import NOT_SETTLED, TO_BE_CONFIRMED, Money, Words, known, listed

CAUTION: Final = (
    "This paper is a record of work and prices. It is no safety advice: follow the product data sheets, "
    "the vehicle maker's instructions, local rules and licensed practice, above all near airbags, "
    "high-voltage parts and solvents."
)
_WHY: Final = {
    "missing": "still to be measured",
    "beyond-table": "price after a closer look",
}
"""Why a dent has no price, for the customer, by the cause of the refusal."""


def facts(*rows: tuple[str, str | tuple[str, ...]], columns: int = 4) -> Facts:
    """Facts without those that have no value."""
    filled = ((name, (value,) if isinstance(value, str) else value) for name, value in rows)
    return Facts(tuple((name, value) for name, value in filled if any(value)), columns)


def car_rows(subject: Subject) -> Iterator[tuple[str, str]]:
    """The car and the references of customer and insurer, as far as known."""
    job, words = subject.job, subject.words
    made = " ".join(known(job.get(name)) for name in ("make", "model") if job.get(name))
    yield "Vehicle", known(job.get("vehicle")) or made
    for name, title in _CAR:
        field = job.details.get(name)
        if field is not None:
            text = words.value(name, field.value) or known(field.value)
            text = words.odometer(field.value) if name == "mileage" else text
            yield words.title(title), text if field.confirmed else f"{text} ({TO_BE_CONFIRMED})"


_CAR = (
    ("colour", "Colour"), ("year", "Year"), ("plate", "Registration"), ("vin", "VIN"),
    ("mileage", "Odometer"), ("insurer", "Insurer"), ("claim", "Claim"), ("policy", "Policy"),
    ("order", "Order"), ("stock", "Stock number"),
)  # fmt: skip


def car(subject: Subject, dents: Sequence[Dent], *under: Block) -> Block:
    """Facts of the car and what stands beneath them, beside a small plan where there are dents."""
    told = facts(*car_rows(subject), columns=2 if dents else 4)
    left = (told, *under) if told.rows else under
    if not dents:
        return Beside(left, (), share=1)
    return Beside(left, (Drawing(draw_plan(dents, subject.words)),), share=0.62)


def damage(subject: Subject) -> Iterator[Block]:
    """The list of dents, with every value that is in doubt."""
    yield Heading("Damage")
    if not subject.dents:
        yield Paragraph("No damage is on record.")
        return
    yield Table(
        "Damage, dent by dent",
        (
            Column("No.", 0.4), Column("Panel", 1.3), Column("Size", 1.25), Column("Damage", 1.9),
            Column("Access and method", 1.6), Column("Paint", 0.9, "right"),
        ),
        tuple(_damage_row(subject, dent) for dent in subject.dents),
    )  # fmt: skip


def _damage_row(subject: Subject, dent: Dent) -> Row:
    def of(slot: str, before: str = "", after: str = "") -> str:
        text = subject.of(dent, slot, after)
        return f"{before}{text}" if text else ""

    kind = [of("count", after=" equal dents"), of("depth"), of("shape"), of("material"), of("features")]
    kind += ["was there before" if dent.get("before") else "", "declined" if dent.get("declined") else ""]
    how = [of("access"), of("take_off", "parts: "), of("method")]
    return row(
        str(dent.number),
        cell(capital(_place(subject, dent)), of("place"), of("belongs_to", "belongs to dent ")),
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


def price(
    words: Words, priced: Priced, *, minutes: bool, insured: Mapping[str, Any] | None = None
) -> Iterator[Block]:
    """Every line with a figure, then the sums.

    Args:
        minutes: whether the labour is shown.
        insured: details of a job, `insurer` and `excess` of which say who pays what.
    """
    lines = list(priced.priced_lines)
    columns = [Column("No.", 0.35), Column("Work", 4.6), Column("Amount", 1.4, "right")]
    if minutes:
        columns.insert(2, Column("Minutes", 0.8, "right"))
    low, high = priced.total
    named = insured or {}
    ends = (
        shares(words, divided(low, named), priced.currency, named.get("insurer", "")) if low == high else ()
    )
    rows = [_price_row(words, line, priced.currency, minutes) for line in lines]
    yield Table("Work and price", tuple(columns), (*rows, *sums(words, priced), *ends))


def _price_row(words: Words, line: PricedLine, currency: str, minutes: bool) -> Row:
    assert line.amount is not None
    name, details = _named(line)
    cells: list[Cell | str] = [listed(line.dents) if line.kind in _OF_DENTS else "", cell(name, details)]
    if minutes:
        cells.append(words.minutes(line.minutes) if any(line.minutes) else "")
    return row(*cells, words.range(line.amount, currency))


_OF_DENTS = frozenset({"dent", "asked"})
"""Kinds of lines that bear the number of their dent on the plan."""


def _named(line: PricedLine) -> tuple[str, str]:
    """A line's subject and its details: "Roof", "20 mm, steel"; a dent's number has its own column."""
    text = known(line.text)
    if line.kind not in _OF_DENTS:
        return text, capital(known(line.reason))
    number, colon, rest = text.partition(": ")
    name, _, details = (rest if colon and number.startswith("Dent") else text).partition(", ")
    return capital(name), ". ".join(part for part in (details, capital(known(line.reason))) if part)


def sums(words: Words, priced: Priced) -> Iterator[Row]:
    """What the lines add up to; a tax that they hold already is told beneath the total."""
    tax = priced.tax_line

    def total(name: str, figures: Money, *small: str, strong: bool = False) -> Row:
        return sum_row(name, words.range(figures, priced.currency), *small, strong=strong)

    if tax is None:
        yield total("Total", priced.total, strong=True)
        return
    name = tax_name(words, priced)
    without = f"Sum without {words.letterhead.tax_name or priced.tax_name or 'tax'}"
    if priced.tax_included:
        yield total("Total", priced.total, strong=True)
        yield total(f"of which {name}", priced.tax)
        yield total(without, priced.net)
        return
    yield total(without, priced.net)
    yield total(name, priced.tax)
    yield total("Total", priced.total, strong=True)


def shares(words: Words, parts: Parts, currency: str, insurer: str) -> Iterator[Row]:
    """Who pays what of a total with tax, where an insurer pays some of it."""
    if parts.insurer:
        if parts.customer:
            yield sum_row("of which the excess, paid by the customer", words.money(parts.customer, currency))
        yield sum_row(f"of which paid by {known(insurer)}", words.money(parts.insurer, currency))


def tax_name(words: Words, priced: Priced) -> str:
    """The tax with its rate, under the name the workshop gives it."""
    text = "" if priced.tax_line is None else known(priced.tax_line.text)
    named = words.letterhead.tax_name
    if named and priced.tax_name and text.startswith(priced.tax_name):
        return known(named) + text.removeprefix(priced.tax_name)
    return text


def not_final(subject: Subject) -> Iterator[Notice]:
    """For the customer: that the total is a range, and what has to be looked at again."""
    priced, words = subject.priced, subject.words
    items = [f"{_where(item.dent)}: {words.slot(item.slot)}" for item in priced.unsettled]
    if not priced.confirmed:
        title = f"Not a final price yet: {words.range(priced.total, priced.currency)}"
        yield Notice(title, tuple(f"{item}, {TO_BE_CONFIRMED}" for item in items), "open")
    yield from not_priced(priced)


def not_priced(priced: Priced) -> Iterator[Notice]:
    """For the customer: what is not part of the price, and why."""
    if priced.refusals:
        told = (f"{'. '.join(filter(None, _refused(line)))}" for line in priced.refusals)
        yield Notice("Not part of this price", tuple(told), "open")


def _refused(line: PricedLine) -> tuple[str, str]:
    # What follows a colon is what the technician may offer instead.
    name = known(line.text).partition(", ")[0] if line.cause == "missing" else known(line.text)
    return name, capital(_WHY.get(line.cause) or known(line.reason).partition(":")[0])


def _where(dent: int | None) -> str:
    return "Job" if dent is None else f"Dent {dent}"


def open_points(subject: Subject) -> Iterator[Notice]:
    """For the technician: what keeps the total from being one figure, with every value in doubt."""
    priced, words = subject.priced, subject.words
    items = []
    for item in priced.unsettled:
        text = f"{_where(item.dent)}: {words.slot(item.slot)} {words.choices(item.slot, item.choices)}"
        more = f"; makes {words.money(item.difference, priced.currency)} of difference"
        items.append(text + (more if item.difference else ""))
    if not priced.confirmed:
        total = words.range(priced.total, priced.currency)
        yield Notice(f"Total {NOT_SETTLED}: {total}", tuple(items) or ("Values are open.",), "open")
    told = [*priced.refusals, *priced.advice]
    if told:
        lines = tuple(f"{known(line.text)}: {known(line.reason)}" for line in told)
        yield Notice("Not in the total, and advice", lines, "open")
    if subject.beyond is not None:
        more = words.range(subject.beyond.total, priced.currency)
        yield Notice("Beyond the accepted quote", (f"{more} more: agree on a supplement.",), "open")


def promises(words: Words, noted: Mapping[str, Sequence[str]], told: Mapping[str, str]) -> Iterator[Block]:
    """What may remain after the repair (risk -> dents), and when the customer was told (risk -> ISO time)."""
    if not noted and not told:
        return
    yield Heading("What may remain after the repair")
    columns = [Column("What", 2.2)]
    columns += [Column("Where", 1.2)] if any(noted.values()) else []
    columns += [Column("Told", 2.6)] if told else []
    rows = []
    for risk in dict.fromkeys((*noted, *told)):
        dents = noted.get(risk, ())
        cells = {
            "What": capital(words.name(risk)),
            "Where": f"Dent {listed(dents)}" if dents else "Whole job",
            "Told": f"Told the customer on {words.date_time(told[risk])}" if risk in told else "",
        }
        rows.append(row(*(cells[column.head] for column in columns)))
    yield Table("What may remain after the repair", tuple(columns), tuple(rows))


def promises_of(subject: Subject) -> Iterator[Block]:
    """The same from the record of the job."""
    noted: dict[str, list[str]] = {risk: [] for risk in subject.job.risks}
    for dent in subject.dents:
        for risk in dent.risks:
            noted.setdefault(risk, []).append(str(dent.number))
    return promises(subject.words, noted, dict(subject.job.told))


def photos(subject: Subject) -> Iterator[Block]:
    """Thumbnails of the pictures that belong to the job."""
    if subject.album is not None and subject.album.pictures:
        yield Heading("Photos")
        yield Pictures(subject.album.pictures)


def small_print(*texts: str) -> Iterator[Block]:
    """Words of the workshop's own: warranty, terms."""
    yield from (Paragraph(line, small=True) for text in texts for line in lines_of(text))


def cautions() -> Iterator[Block]:
    """What this paper is not."""
    yield Paragraph(CAUTION, small=True)


def capital(text: str) -> str:
    """`text` with a capital at its beginning."""
    return text[:1].upper() + text[1:]
