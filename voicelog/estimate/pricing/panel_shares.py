"""Several dents on one panel: who stands at which share, and the cap.

The dent with most full minutes stands first at 100 percent, the next at the card's
second share, all further ones at the further share; of dents with equal minutes the
one with the lower number stands first (the panel's sum is the same either way).
A note of n equal dents takes n places in a row, worked out without walking them.

The unit that is rounded is the single dent, so that a note of n dents costs exactly
what n notes of one dent cost.  As shares never rise along the places and money is
rounded place by place, one more dent can only raise the figure at every place: it
never lowers the panel's sum, nor the sum under its cap.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO, Entry, Share
from voicelog.estimate.money import round_money

HUNDRED = Decimal(100)
MINUTES_AN_HOUR = Decimal(60)


@dataclass(frozen=True)
class Unit:
    """One priced note on a panel."""

    dent: int
    full_minutes: Decimal
    count: int


@dataclass(frozen=True)
class Panel:
    """A panel worked out."""

    shares: Mapping[int, tuple[Share, ...]]
    """By dent number."""
    minutes: Decimal
    """Under the cap."""
    amount: Decimal
    """Under the cap."""
    cap_minutes: Decimal = ZERO
    """What the cap takes off, nought or less."""
    cap_amount: Decimal = ZERO
    cap_entry: Entry | None = None
    """The card's entry where the cap bites."""


def charge(minutes: Decimal, card: Card) -> Decimal:
    """Money for minutes at the card's hourly rate, rounded once."""
    return round_money(minutes * card.hourly_rate / MINUTES_AN_HOUR, card.currency)


Made = dict[tuple[Decimal, Decimal], tuple[Decimal, Decimal]]
"""(full minutes, share) -> (minutes, money) of one dent, already worked out for a card."""


def work_out(units: Iterable[Unit], panel: str | None, card: Card, made: Made | None = None) -> Panel:
    """Share a panel's places out among its dents and apply the cap.

    `made` may be kept from call to call with the same card, to save work.
    """
    made = {} if made is None else made
    shares: dict[int, tuple[Share, ...]] = {}
    minutes = amount = ZERO
    place = 0
    for unit in sorted(units, key=lambda unit: (-unit.full_minutes, unit.dent)):
        found = []
        for percent, dents, key in _places(place, unit.count, card):
            one = made.get((unit.full_minutes, percent))
            if one is None:
                each = unit.full_minutes * percent / HUNDRED
                one = made[unit.full_minutes, percent] = (each, charge(each, card))
            found.append(Share(percent, dents, *one, key))
            minutes += one[0] * dents
            amount += one[1] * dents
        shares[unit.dent] = tuple(found)
        place += unit.count
    return _capped(shares, minutes, amount, panel, card)


def _places(first: int, count: int, card: Card) -> list[tuple[Decimal, int, str]]:
    """(share, how many, the card's key) of the `count` places from place `first` (0 is the first) on."""
    several = card.several
    if first > 1:
        return [(several.further_percent, count, "further_percent")]
    found = [] if first else [(HUNDRED, 1, "")]
    if first + count > 1:
        found.append((several.second_percent, 1, "second_percent"))
    if first + count > 2:
        found.append((several.further_percent, first + count - 2, "further_percent"))
    return found


def _capped(
    shares: Mapping[int, tuple[Share, ...]], minutes: Decimal, amount: Decimal, panel: str | None, card: Card
) -> Panel:
    cap = card.several.cap(panel)
    if cap is None:
        return Panel(shares, minutes, amount)
    most, entry = cap
    over_minutes = min(ZERO, most - minutes)
    over_amount = min(ZERO, charge(most, card) - amount)
    if not over_amount:
        return Panel(shares, minutes, amount)
    return Panel(shares, minutes + over_minutes, amount + over_amount, over_minutes, over_amount, entry)
