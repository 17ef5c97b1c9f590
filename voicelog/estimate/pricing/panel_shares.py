"""Several dents on one panel: who stands at which share, the cap, and what is charged once.

The dent with most full minutes stands first at 100 percent, the next at the card's
second share, all further ones at the further share; of dents with equal minutes the
one with the lower number stands first (the panel's sum is the same either way).
A note of n equal dents takes n places in a row, worked out without walking them.

The unit that is rounded is the single dent, so that a note of n dents costs exactly
what n notes of one dent cost.  As shares never rise along the places and money is
rounded place by place, one more dent can only raise the figure at every place: it
never lowers the panel's sum, nor the sum under its cap.

The cap is one of plain dents.  Surcharges raise it: it is filled with base minutes at the
further share, those that carry most surcharge first, and their surcharges come on top.
So a panel full of deep dents in aluminium costs the cap with both surcharges, and one
deep dent among many shallow ones hardly more than the cap.  This, too, only rises with
every dent, and dents apart never cost less than together.

Dents that the card's table of hail prices (`hail_table`) take no place and stand outside the cap: the last
row of the table is theirs.  Set-up and corrosion protection are charged once a panel, beside the cap.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO, Entry, Share
from voicelog.estimate.money import round_money
from voicelog.estimate.pricing.hail_table import entry_of, minutes_of
from voicelog.estimate.pricing.minutes import Effort
from voicelog.units import format_number

HUNDRED = Decimal(100)
MINUTES_AN_HOUR = Decimal(60)


@dataclass(frozen=True)
class Unit:
    """One priced note on a panel."""

    dent: int
    effort: Effort
    count: int


@dataclass(frozen=True)
class Once:
    """What is charged once, whatever the number of dents that need it."""

    dents: tuple[int, ...] = ()
    minutes: Decimal = ZERO
    amount: Decimal = ZERO


@dataclass(frozen=True)
class Panel:
    """A panel worked out."""

    shares: Mapping[int, tuple[Share, ...]]
    """By dent number."""
    amount: Decimal
    """Of its dents, under the cap."""
    cap_minutes: Decimal = ZERO
    """What the cap takes off, nought or less."""
    cap_amount: Decimal = ZERO
    cap_entries: tuple[Entry, ...] = ()
    """The card's entries where the cap bites."""
    setup: Once = Once()
    protection: Once = Once()

    @property
    def total(self) -> Decimal:
        """Money for everything on the panel."""
        return self.amount + self.setup.amount + self.protection.amount


def charge(minutes: Decimal, card: Card) -> Decimal:
    """Money for minutes at the card's hourly rate, rounded once."""
    return round_money(minutes * card.hourly_rate / MINUTES_AN_HOUR, card.currency)


_Further = dict[tuple[Decimal, int], tuple[tuple["Share", ...], Decimal, Decimal]]
"""(full minutes, count) -> (shares, minutes, money) of a note of which every dent is a further one."""


def work_out(units: Sequence[Unit], panel: str | None, card: Card) -> Panel:
    """Share a panel's places out among its dents and apply the cap."""
    shares: dict[int, tuple[Share, ...]] = {}
    further: _Further = card.known("further shares")
    minutes = amount = ZERO
    place = 0
    hail = [unit for unit in units if unit.effort.counted is not None]
    every, units = units, [unit for unit in units if unit.effort.counted is None]
    for unit in sorted(units, key=lambda unit: (-unit.effort.full_minutes, unit.dent)):
        full, count = unit.effort.full_minutes, unit.count
        found = further.get((full, count)) if place > 1 else None
        if found is None:
            found = _shares(full, place, count, card)
            if place > 1:
                further[full, count] = found
        shares[unit.dent] = found[0]
        minutes += found[1]
        amount += found[2]
        place += count
    by_table = _by_table(hail, card)
    shares.update(by_table)
    table = sum((share.amount for (share,) in by_table.values()), ZERO)
    flat = card.flat_by_panel.get(panel or "")
    if flat is not None:
        entry = Entry("flat_by_panel", str(panel), f"{flat:f}", "flat price of the panel, whatever its dents")
        flat = round_money(flat, card.currency)
        return Panel(shares, flat, ZERO, flat - amount - table, (entry,))
    over_minutes, over_amount, entries = _over_cap(units, minutes, amount, panel, card)
    return Panel(
        shares,
        amount + over_amount + table,
        over_minutes,
        over_amount,
        entries,
        _once({unit.dent: unit.effort.setup_minutes for unit in every}, card),
        _once({unit.dent: unit.effort.protection_minutes for unit in every}, card),
    )


def _by_table(units: Sequence[Unit], card: Card) -> dict[int, tuple[Share]]:
    """What each note adds to those before it, by their numbers; the panel's sum is rounded once."""
    found: dict[int, tuple[Share]] = {}
    notes = []
    minutes = amount = ZERO
    for unit in sorted(units, key=lambda unit: unit.dent):
        assert unit.effort.counted is not None
        notes.append((unit.effort.counted, unit.count))
        now = minutes_of(notes, card.hail)
        due = charge(now, card)
        entry = entry_of(unit.effort.counted, notes, card.hail)
        found[unit.dent] = (Share(HUNDRED, 1, now - minutes, due - amount, "hail", entry),)
        minutes, amount = now, due
    return found


def _shares(full: Decimal, place: int, count: int, card: Card) -> tuple[tuple[Share, ...], Decimal, Decimal]:
    """A note's shares from `place` on, their minutes and their money."""
    found = []
    minutes = amount = ZERO
    for percent, dents, key in _places(place, count, card):
        one = _one(full, percent, card)
        found.append(Share(percent, dents, *one, key))
        minutes += one[0] * dents
        amount += one[1] * dents
    return tuple(found), minutes, amount


def _one(full: Decimal, percent: Decimal, card: Card) -> tuple[Decimal, Decimal]:
    """(minutes, money) of one dent at a share."""
    made: dict[tuple[Decimal, Decimal], tuple[Decimal, Decimal]] = card.known("shares")
    found = made.get((full, percent))
    if found is None:
        each = full * percent / HUNDRED
        found = made[full, percent] = (each, charge(each, card))
    return found


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


def _over_cap(
    units: Iterable[Unit], minutes: Decimal, amount: Decimal, panel: str | None, card: Card
) -> tuple[Decimal, Decimal, tuple[Entry, ...]]:
    """(minutes, money) that the cap takes off, nought or less, and the entries that say so."""
    cap = card.several.cap(panel)
    if cap is None or charge(cap[0], card) >= amount:
        return ZERO, ZERO, ()
    more_minutes = _surcharges(units, cap[0], card)
    most = charge(cap[0] + more_minutes, card)
    if most >= amount:
        return ZERO, ZERO, ()
    entries = [cap[1]]
    if more_minutes:
        names, more = ", ".join(card.several.above_cap), format_number(more_minutes)
        entries.append(Entry("several", "above_cap", names, f"+{more} min of surcharges on the capped sum"))
    return min(ZERO, cap[0] + more_minutes - minutes), most - amount, tuple(entries)


def _surcharges(units: Iterable[Unit], cap: Decimal, card: Card) -> Decimal:
    """Minutes of the surcharges on `cap` base minutes, the dearest ones first.

    They are not rounded dent by dent: so a longer dent never makes the panel a penny cheaper.
    """
    share = card.several.further_percent / HUNDRED
    efforts = [(unit.effort, unit.count) for unit in units if unit.effort.surcharge_minutes]
    minutes = ZERO
    for effort, count in sorted(efforts, key=lambda one: -one[0].surcharge_minutes / one[0].base_minutes):
        base = effort.base_minutes * share
        filled = min(base * count, cap)
        minutes += filled * effort.surcharge_minutes / effort.base_minutes
        cap -= filled
        if cap <= 0:
            break
    return minutes


def _once(needs: Mapping[int, Decimal], card: Card) -> Once:
    """The most minutes that any of the dents needs."""
    dents = tuple(dent for dent, minutes in needs.items() if minutes)
    if not dents:
        return Once()
    most = max(needs.values())
    return Once(dents, most, charge(most, card))
