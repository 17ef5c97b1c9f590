"""A rate card as a person reads it."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from voicelog.estimate.card.model import ADDER_SLOTS, Card
from voicelog.estimate.money import format_money
from voicelog.meaning.wording import name_of, slot_name
from voicelog.units import format_length, format_number


def card_as_text(card: Card, locale: str = "en_GB") -> str:
    """All of a card in plain lines, as `voicelog card show` prints it."""
    sections = (
        _head(card, locale), _base(card, locale), _adders(card), _paint(card), _panels(card), _take_off(card),
        _charges(card, locale), _time_and_comparison(card), _refusals(card),
    )  # fmt: skip
    return "\n\n".join("\n".join(section) for section in map(list, sections) if section) + "\n"


def _row(name: str, value: str) -> str:
    return f"  {name:<32}{value}"


def _head(card: Card, locale: str) -> Iterator[str]:
    yield card.name
    yield _row("hourly rate", format_money(card.hourly_rate, card.currency, locale))
    how = "included in" if card.tax.included else "added to"
    yield _row(card.tax.name, f"{format_number(card.tax.percent)} %, {how} the prices")
    yield _row("card hash", card.hash[:12])


def _base(card: Card, locale: str) -> Iterator[str]:
    yield "Minutes by longest extent, straight lines between"
    for mm, minutes in card.points:
        yield _row(format_length(mm, card.units, locale), f"{format_number(minutes)} min")
    yield _row("longer", "priced by hand")


def _adders(card: Card) -> Iterator[str]:
    yield "Added to the base minutes: percentages are summed and applied once, then minutes"
    for slot in ADDER_SLOTS:
        for value, adder in card.adders.of(slot).items():
            yield _row(f"{slot_name(slot)}: {name_of(value, card.words)}", adder.effect)
    if card.width is not None:
        yield _row(f"width over {format_number(card.width.over_percent)} %", f"{card.width.effect}")


def _paint(card: Card) -> Iterator[str]:
    rules = card.paint
    rows: list[tuple[str, Decimal | None, str]] = [
        ("thick", rules.thick_above_um, rules.thick.effect),
        ("refinished", rules.refinished_above_um, "no glue pull"),
        ("over the reference", rules.over_reference_um, "counts as refinished"),
        ("filler", rules.filler_above_um, "no glue pull"),
    ]
    yield "Paint readings above"
    for name, limit, effect in rows:
        if limit is not None:
            yield _row(name, f"{format_number(limit)} µm: {effect}")


def _panels(card: Card) -> Iterator[str]:
    several = card.several
    yield "Several dents on one panel, most minutes first"
    yield _row("first", "100 %")
    yield _row("second", f"{format_number(several.second_percent)} %")
    yield _row("further", f"{format_number(several.further_percent)} %")
    if several.cap_minutes is not None:
        yield _row("at most", f"{format_number(several.cap_minutes)} min a panel")
    for panel, minutes in several.cap_minutes_by_panel.items():
        yield _row(f"at most, {name_of(panel, card.words)}", f"{format_number(minutes)} min")


def _take_off(card: Card) -> Iterator[str]:
    yield "Parts off and on, once a job"
    for item, minutes in card.take_off.items():
        yield _row(name_of(item, card.words), f"{format_number(minutes)} min")


def _charges(card: Card, locale: str) -> Iterator[str]:
    yield "Charges"
    yield _row("minimum", format_money(card.charges.minimum, card.currency, locale))
    yield _row("call-out", format_money(card.charges.call_out, card.currency, locale))
    yield _row("discount", f"at most {format_number(card.charges.max_discount_percent)} %")


def _time_and_comparison(card: Card) -> Iterator[str]:
    """Only where the card has them: neither changes a price."""
    rows = [_row("all work", f"× {format_number(card.speed.all)}")] if card.speed.all != 1 else []
    for slot, values in card.speed.by_value.items():
        rows += [_row(f"{slot}: {value}", f"× {format_number(factor)}") for value, factor in values.items()]
    if rows:
        yield "Own speed: minutes worked over the card's, for how long work takes"
        yield from rows


def _refusals(card: Card) -> Iterator[str]:
    yield "Never priced"
    yield _row("always", "broken paint, plastic, beyond the table, glue pull over filler or refinished paint")
    for slot in (*ADDER_SLOTS, "cause"):
        for value, text in card.refusals.of(slot).items():
            yield _row(f"{slot_name(slot)}: {name_of(value, card.words)}", text)
