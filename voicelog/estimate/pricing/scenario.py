"""One scenario of a job added up: every dent with one option, every figure settled.

In this order: dents under the caps of their panels, parts taken off, the minimum
charge, call-out, discount, free lines, a price agreed for the whole job, tax.  Each step
keeps order: more work never means a smaller sum, which is what lets `extremes` find the
lowest and the highest total.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO, Line
from voicelog.estimate.money import round_money
from voicelog.estimate.pricing.dent_options import Option, Part, Spot
from voicelog.estimate.pricing.panel_shares import HUNDRED, Once, Panel, Unit, charge, work_out
from voicelog.jobs.records import Job


@dataclass(frozen=True)
class Terms:
    """What a person said of the job's price."""

    discount_percent: Decimal = ZERO
    """As given; the card's limit is applied to it."""
    by_hand: Decimal | None = None
    """Dents with a price by hand, together; None where there are none."""
    extras: Decimal = ZERO
    """Free lines: neither the minimum charge nor a discount touches them."""
    agreed: Decimal | None = None
    """The price of the whole job, in place of all that."""
    agreed_with_tax: bool = False


@dataclass(frozen=True)
class Sums:
    """The figures of the whole job."""

    work: Decimal
    minimum: Decimal
    """What is added to reach the minimum charge."""
    call_out: Decimal
    discount: Decimal
    """Nought or less."""
    agreed: Decimal
    """What an agreed price for the whole job adds or takes off."""
    net: Decimal
    tax: Decimal
    total: Decimal


@dataclass
class SettledPanels:
    """Panels of a job on which nothing is open; `voicelog.estimate.pricing.settled` finds them."""

    open: Job = field(default_factory=lambda: Job("", 0, ""))
    """The job with only the dents that are not on them in its list."""
    listed: Sequence[int] = ()
    """Every dent that counts, also the open ones, in the order of the list."""
    panels: dict[Spot, Panel] = field(default_factory=dict)
    dents: dict[int, tuple[tuple[int, Mapping[str, Any]], tuple[Line, ...]]] = field(default_factory=dict)
    """By number: (number, JSON-ready slot values), and its lines."""
    minutes: Decimal = ZERO
    """Of all the lines."""


@dataclass(frozen=True)
class Tally:
    """A scenario with all its figures."""

    options: Mapping[int, Option]
    panels: Mapping[Spot, Panel]
    parts: Mapping[Part, Once]
    sums: Sums


def tally(options: Iterable[Option], terms: Terms, card: Card, settled: SettledPanels | None = None) -> Tally:
    """Add up one scenario: `options` are one for each dent that counts, beside the `settled` panels."""
    chosen = {option.dent: option for option in options}
    panels = panels_of(chosen.values(), card)
    if settled is not None:
        panels = _in_order({**settled.panels, **panels}, settled.listed) if panels else settled.panels
    parts = parts_of(chosen.values(), card)
    work = sum((panel.total for panel in panels.values()), ZERO)
    work += sum((part.amount for part in parts.values()), ZERO)
    return Tally(chosen, panels, parts, sums(work, bool(panels), terms, card))


def _in_order(panels: Mapping[Spot, Panel], listed: Sequence[int]) -> dict[Spot, Panel]:
    """Panels by the first of their dents in the list."""
    place = {number: n for n, number in enumerate(listed)}
    return dict(sorted(panels.items(), key=lambda item: min(map(place.__getitem__, item[1].shares))))


def panels_of(options: Iterable[Option], card: Card) -> dict[Spot, Panel]:
    """Every panel with a priced dent, worked out."""
    units: dict[Spot, list[Unit]] = {}
    for option in options:
        if option.effort is not None:
            units.setdefault(option.spot, []).append(Unit(option.dent, option.effort, option.count))
    return {spot: work_out(found, spot[0][0], card) for spot, found in units.items()}


def parts_of(options: Iterable[Option], card: Card) -> dict[Part, Once]:
    """Every part that a priced dent needs off, by item in the card's order, then by place."""
    dents: dict[Part, list[int]] = {}
    for option in options:
        if option.effort is not None:
            for part in option.parts:
                dents.setdefault(part, []).append(option.dent)
    order = list(card.take_off)
    known = sorted((part for part in dents if part[0] in card.take_off), key=lambda part: (
        order.index(part[0]), tuple(name or "" for name in part[1]), part[2],
    ))  # fmt: skip
    return {
        part: Once(tuple(dents[part]), card.take_off[part[0]], charge(card.take_off[part[0]], card))
        for part in known
    }


def sums(work: Decimal, priced: bool, terms: Terms, card: Card) -> Sums:
    """From the work to the total.  Without a priced dent nothing but free lines is charged."""
    charges = card.charges
    priced = priced or terms.by_hand is not None
    work += terms.by_hand or ZERO
    minimum = max(ZERO, charges.minimum - work) if priced else ZERO
    call_out = charges.call_out if priced else ZERO
    subtotal = work + minimum + call_out
    percent = min(max(terms.discount_percent, ZERO), charges.max_discount_percent)
    discount = -round_money(subtotal * percent / HUNDRED, card.currency)
    due = subtotal + discount + terms.extras
    net, tax = _taxed(due, card, included=card.tax.included)
    agreed = ZERO
    if terms.agreed is not None:
        net, tax = _taxed(terms.agreed, card, included=terms.agreed_with_tax)
        agreed = (net + tax if card.tax.included else net) - due
    return Sums(work, minimum, call_out, discount, agreed, net, tax, net + tax)


def _taxed(amount: Decimal, card: Card, *, included: bool) -> tuple[Decimal, Decimal]:
    """(net, tax) of an amount that holds its tax or not; the tax is rounded once."""
    rate = card.tax.percent
    if included:
        # The fraction of a gross sum that is tax, such as 20/120 = 1/6.
        tax = round_money(amount * rate / (HUNDRED + rate), card.currency)
        return amount - tax, tax
    return amount, round_money(amount * rate / HUNDRED, card.currency)
