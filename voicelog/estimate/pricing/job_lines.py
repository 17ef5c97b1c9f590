"""The lines of panels and of the whole job: caps, parts, charges, tax, and advice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO, Entry, Line, LineKind, Range
from voicelog.estimate.money import money_text, round_minutes
from voicelog.estimate.pricing.dent_lines import Scenarios
from voicelog.estimate.pricing.line_texts import part_text
from voicelog.estimate.pricing.panel_shares import Once, Panel
from voicelog.meaning.place import Place
from voicelog.meaning.wording import place_text
from voicelog.units import format_number

_NO_PANEL = Panel({}, ZERO)
_NOTHING = Once()


def cap_lines(both: Scenarios, card: Card) -> Iterator[Line]:
    """What the caps take off, a line for each panel where one bites."""
    for spot in dict.fromkeys((*both.low.panels, *both.high.panels)):
        low, high = (side.panels.get(spot, _NO_PANEL) for side in (both.low, both.high))
        if not low.cap_entries and not high.cap_entries:
            continue
        yield Line(
            kind="cap",
            text=f"{_cap_name(spot[0], card)}: {place_text(spot[0], card.words)}",
            dents=tuple(dict.fromkeys((*low.shares, *high.shares))),
            place=spot[0],
            minutes=Range(round_minutes(low.cap_minutes), round_minutes(high.cap_minutes)),
            amount=Range(low.cap_amount, high.cap_amount),
            entries=tuple(dict.fromkeys((*low.cap_entries, *high.cap_entries, card.rate_entry))),
        )


def _cap_name(place: Place, card: Card) -> str:
    return "Flat price" if place[0] in card.flat_by_panel else "Most for one panel"


def cap_advice(caps: Sequence[Line]) -> Iterator[Line]:
    """Where a cap bites, a new panel may be cheaper."""
    for cap in caps:
        if cap.entries[0].table == "flat_by_panel":
            continue
        reason = "the most for one panel is reached: compare with replacing the panel"
        yield Line("advice", cap.text, cap.dents, cap.place, entries=cap.entries, cause="cap", reason=reason)


def once_lines(both: Scenarios, card: Card) -> Iterator[Line]:
    """What a panel is charged once: setting the method up, corrosion protection."""
    for spot in dict.fromkeys((*both.low.panels, *both.high.panels)):
        low, high = (side.panels.get(spot, _NO_PANEL) for side in (both.low, both.high))
        where = place_text(spot[0], card.words)
        minutes = format_number(max(low.setup.minutes, high.setup.minutes))
        effect = f"{minutes} min, once a panel"
        entry = Entry("adders.method", "setup_minutes", minutes, effect)
        yield from _once(
            "set-up", f"Set-up of the method: {where}", spot[0], low.setup, high.setup, entry, card
        )
        minutes = format_number(card.corrosion_protection.minutes)
        entry = Entry("corrosion_protection", "minutes", minutes, f"{minutes} min, once a panel")
        text = f"Corrosion protection: {where}"
        yield from _once("protection", text, spot[0], low.protection, high.protection, entry, card)


def replace_advice(both: Scenarios, card: Card) -> Iterator[Line]:
    """Panels that may cost more than conventional repair does: both figures, and no verdict."""
    for spot, high in both.high.panels.items():
        rule = card.conventional_repair.of(spot[0][0])
        low = both.low.panels.get(spot, _NO_PANEL)
        if rule is None or high.total <= rule[0]:
            continue
        figures = " to ".join(dict.fromkeys(money_text(panel.total, card.currency) for panel in (low, high)))
        other = money_text(rule[0], card.currency)
        yield Line(
            kind="advice",
            text=f"Repair or replace: {place_text(spot[0], card.words)}",
            dents=tuple(dict.fromkeys((*low.shares, *high.shares))),
            place=spot[0],
            entries=(rule[1],),
            cause="replace",
            reason=f"this repair comes to {figures} {card.currency} before tax, the card's figure for "
            f"conventional repair is {other}: compare both, the choice is yours and the customer's",
        )


def part_lines(both: Scenarios, card: Card) -> Iterator[Line]:
    """Parts taken off and put back, each once a job."""
    for part in dict.fromkeys((*both.low.parts, *both.high.parts)):
        low, high = (side.parts.get(part, _NOTHING) for side in (both.low, both.high))
        minutes = format_number(card.take_off[part[0]])
        entry = Entry("take_off", part[0], minutes, f"+{minutes} min, once a job and place")
        place = part[1] if any(part[1]) else None
        yield from _once("take-off", part_text(part[0], part[1], card), place, low, high, entry, card)


def _once(
    kind: LineKind, text: str, place: Place | None, low: Once, high: Once, entry: Entry, card: Card
) -> Iterator[Line]:
    if low.dents or high.dents:
        yield Line(
            kind=kind,
            text=text,
            dents=tuple(dict.fromkeys((*low.dents, *high.dents))),
            place=place,
            minutes=Range(low.minutes, high.minutes),
            amount=Range(low.amount, high.amount),
            entries=(entry, card.rate_entry),
        )


def charge_lines(both: Scenarios, discounts: Sequence[Decimal], card: Card) -> Iterator[Line]:
    """Minimum charge, call-out and discount, where they are not nought."""
    low, high = both.low.sums, both.high.sums
    yield from _charge(
        "minimum", "Up to the minimum charge", Range(low.minimum, high.minimum), "minimum", card
    )
    yield from _charge("call-out", "Call-out", Range(low.call_out, high.call_out), "call_out", card)
    discount = Range(low.discount, high.discount)
    percents = " or ".join(dict.fromkeys(format_number(_within(value, card)) for value in discounts))
    yield from _charge("discount", f"Discount {percents} %", discount, "max_discount_percent", card)


def tax_line(both: Scenarios, card: Card) -> Iterator[Line]:
    """The tax, where it is not nought."""
    low, high = both.low.sums, both.high.sums
    if low.tax or high.tax:
        percent = format_number(card.tax.percent)
        rate = Entry("tax", "percent", percent, f"{percent} % of the sum, rounded once")
        how = "included in the prices" if card.tax.included else "added to the prices"
        included = Entry("tax", "included", str(card.tax.included).lower(), how)
        text = f"{card.tax.name} {percent} %{', included' if card.tax.included else ''}"
        yield Line(
            kind="tax",
            text=text,
            amount=Range(low.tax, high.tax),
            counts=not card.tax.included,
            entries=(rate, included),
        )


def _within(percent: Decimal, card: Card) -> Decimal:
    return min(max(percent, ZERO), card.charges.max_discount_percent)


def _charge(kind: LineKind, text: str, amount: Range, key: str, card: Card) -> Iterator[Line]:
    if not amount.low and not amount.high:
        return
    value: Decimal = getattr(card.charges, key)
    if kind == "discount":
        entry = Entry("charges", key, format_number(value), f"at most {format_number(value)} %")
    else:
        shown = money_text(value, card.currency)
        entry = Entry("charges", key, shown, f"{shown} {card.currency}")
    yield Line(kind, text, amount=amount, entries=(entry,))


def discount_advice(discounts: Sequence[Decimal], card: Card) -> Iterator[Line]:
    """A discount over the card's limit is cut to it, and said so."""
    limit = card.charges.max_discount_percent
    if any(value > limit for value in discounts):
        shown, most = format_number(max(discounts)), format_number(limit)
        entry = Entry("charges", "max_discount_percent", most, f"at most {most} %")
        reason = f"{shown} % was asked for, the card allows at most {most} %"
        yield Line("advice", "Discount", entries=(entry,), cause="discount-limit", reason=reason)


def wide_advice(wide: Sequence[int]) -> Iterator[Line]:
    """The range is not the narrowest one: say so, and which dents to settle."""
    if wide:
        numbers = ", ".join(map(str, wide))
        reason = (
            "too many values are open to find the narrowest range: it holds every "
            f"alternative but may be wider than need be; settle dents {numbers} first"
        )
        yield Line("advice", "Range of the total", tuple(wide), cause="wide-range", reason=reason)
