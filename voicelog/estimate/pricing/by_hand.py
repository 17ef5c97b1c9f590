"""Prices that a person named: of dents, of the whole job, and of free lines."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from functools import partial

from voicelog.estimate.card.model import HUNDRED, Card
from voicelog.estimate.estimate import ZERO, Entry, Line, LineKind, Range
from voicelog.estimate.money import money_text, round_money
from voicelog.estimate.pricing.line_texts import dent_text
from voicelog.estimate.pricing.possible_values import Choices
from voicelog.estimate.pricing.scenario import Terms
from voicelog.jobs.records import Job
from voicelog.meaning.note import Value
from voicelog.meaning.place import normal

BY_HAND = "price by hand"


def terms_of(job: Job, choices: Choices, card: Card) -> tuple[Terms, ...]:
    """What was said of the price of a job, once for every discount that may have been given."""
    dents = [job.hand_prices[dent.number] for dent in job.listed() if dent.number in job.hand_prices]
    extras = sum((_in_lines(extra.amount, card, taxed=False) for extra in job.extras), ZERO)
    whole = job.hand_prices.get(None)
    return tuple(
        Terms(
            discount,
            sum((_in_lines(price.amount, card, taxed=price.taxed) for price in dents), ZERO)
            if dents
            else None,
            extras,
            None if whole is None else amount_of(whole.amount, card),
            whole is not None and whole.taxed,
        )
        for discount in choices.discounts()
    )


def amount_of(value: Value, card: Card) -> Decimal:
    """An amount of an event in the card's currency; what is no number counts as nought."""
    return round_money(Decimal(value), card.currency) if isinstance(value, int | Decimal) else ZERO


def _in_lines(value: Value, card: Card, *, taxed: bool) -> Decimal:
    """An amount as the lines of this card count: with tax where they hold it, else without."""
    amount = amount_of(value, card)
    if taxed == card.tax.included:
        return amount
    if card.tax.included:
        return amount + round_money(amount * card.tax.percent / HUNDRED, card.currency)
    return round_money(amount * HUNDRED / (HUNDRED + card.tax.percent), card.currency)


def dent_lines_by_hand(job: Job, choices: Choices, card: Card) -> Iterator[Line]:
    """The lines of dents with a price by hand; parts, set-up and all are in it."""
    for dent in job.listed():
        price = job.hand_prices.get(dent.number)
        if price is not None:
            amount = Range.of(_in_lines(price.amount, card, taxed=price.taxed))
            text = f"Dent {dent.number}: {dent_text(dent, partial(choices.of, dent), card)}"
            yield Line(
                "dent", text, (dent.number,), normal(dent.place), amount=amount,
                entries=(_said(price.amount, card),), cause="by-hand", reason=BY_HAND,
            )  # fmt: skip


def extra_lines(job: Job, card: Card) -> Iterator[Line]:
    """Free lines, as they were named."""
    for extra in job.extras:
        amount = Range.of(_in_lines(extra.amount, card, taxed=False))
        yield _line("extra", extra.text, amount, extra.amount, card)


def agreed_line(job: Job, amount: Range, card: Card) -> Iterator[Line]:
    """What the price agreed for the whole job adds to the other lines, or takes off."""
    whole = job.hand_prices.get(None)
    if whole is not None:
        how = "with tax" if whole.taxed else "before tax"
        text = f"Price agreed for the job: {money_text(amount_of(whole.amount, card), card.currency)} {how}"
        yield _line("agreed", text, amount, whole.amount, card)


def _line(kind: LineKind, text: str, amount: Range, said: Value, card: Card) -> Line:
    return Line(kind, text, amount=amount, entries=(_said(said, card),), cause="by-hand", reason=BY_HAND)


def _said(value: Value, card: Card) -> Entry:
    shown = f"{money_text(amount_of(value, card), card.currency)} {card.currency}"
    return Entry("", BY_HAND, shown, shown)
