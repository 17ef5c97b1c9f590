"""What is never priced, and what is only advised against: why, and what to do instead."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from voicelog.estimate.card.model import ADDER_SLOTS, Card
from voicelog.estimate.estimate import Cause, Entry
from voicelog.units import format_number

REASONS: Final[Mapping[str, str]] = {
    "paint-broken": "the paint is broken: it needs paint work, offer a body shop",
    "plastic": "plastic does not spring back like sheet metal: offer a bumper or plastics repair",
    "beyond-table": "longer than the card's table: look at it again and price it by hand",
    "filler": "filler under the paint: a glue pull may tear it off; choose another method or a body shop",
    "refinish": "refinished paint: a glue pull may lift it; choose another method or a body shop",
}
"""Texts that hold unless the card has its own; common practice, no source."""

_ALWAYS: Final[Mapping[tuple[str, str], Cause]] = {
    ("features", "paint-broken"): "paint-broken",
    ("material", "plastic"): "plastic",
}
"""Values that no card can have priced."""

_CAUTION: Final = {
    "filler": "filler under the paint: no glue pull here, and tell the customer what may show",
    "refinish": "refinished paint: no glue pull here, and tell the customer what may show",
    "paint-broken": "the chip stays and may spread: tell the customer before pushing",
}

_CHIP_METHODS: Final = ("push", "lever", "knock-down")
"""Methods that do not pull on the paint; common practice, no source."""


@dataclass(frozen=True)
class Refusal:
    """Why a dent has no price (or what to mind), and the entries of the card that say so."""

    cause: Cause
    reason: str
    entries: tuple[Entry, ...] = ()


Refusals = tuple[Refusal, ...]


def refusals_of(values: Mapping[str, Any], card: Card) -> tuple[Refusals, Refusals]:
    """(refusals, advice) for a dent's slot values; see `voicelog.estimate.pricing.minutes.assess`."""
    refusals = [*_missing(values), *_by_value(values, card), *_beyond(values, card)]
    layers = list(_layers(values, card))
    if values.get("method") == "glue-pull":
        return tuple(refusals + layers), ()
    advice = [Refusal(found.cause, _CAUTION[found.cause], found.entries) for found in layers]
    if "paint-broken" in (values.get("features") or ()) and _chip_may_stay(values, card):
        entry = Entry("paint", "chip_may_stay", "true", "pushed, the chip stays")
        advice.append(Refusal("paint-broken", _CAUTION["paint-broken"], (entry,)))
    return tuple(refusals), tuple(advice)


def _chip_may_stay(values: Mapping[str, Any], card: Card) -> bool:
    return card.paint.chip_may_stay and values.get("method") in _CHIP_METHODS


def _missing(values: Mapping[str, Any]) -> Iterator[Refusal]:
    lacking = []
    if values.get("panel") is None:
        lacking.append("panel")
    length, width, count = (values.get(slot) for slot in ("length_mm", "width_mm", "count"))
    if length is None or length <= 0 or (width is not None and width <= 0):
        lacking.append("length")
    if count is not None and (count < 1 or count != int(count)):
        lacking.append("count as a whole number")
    if count is None and (values.get("density") or values.get("square_mm")):
        lacking.append("count")
    if lacking:
        yield Refusal("missing", f"not priced yet: say the {' and the '.join(lacking)}")


def _by_value(values: Mapping[str, Any], card: Card) -> Iterator[Refusal]:
    for slot in ADDER_SLOTS:
        said = values.get(slot)
        if said is None:
            continue
        for value in said if isinstance(said, tuple) else (said,):
            text = card.refusals.of(slot).get(value)
            cause = _ALWAYS.get((slot, value))
            if cause == "paint-broken" and _chip_may_stay(values, card):
                cause = None
            if text is None and cause is None:
                continue
            entries = () if text is None else (Entry(f"refusals.{slot}", value, text, "not priced"),)
            yield Refusal(cause or "card", text or REASONS[cause or ""], entries)


def _beyond(values: Mapping[str, Any], card: Card) -> Iterator[Refusal]:
    length, width = values.get("length_mm"), values.get("width_mm")
    last = card.points[-1][0]
    if length is not None and max(length, width or 0) > last:
        entry = Entry("base", "points", f"last at {format_number(last)} mm", "no price beyond the last point")
        yield Refusal("beyond-table", _text("beyond-table", card), (entry,))


def _layers(values: Mapping[str, Any], card: Card) -> Iterator[Refusal]:
    """Filler or refinished paint, said or read; filler goes first and alone."""
    rules, reading, reference = card.paint, values.get("paint_um"), values.get("reference_um")
    if "filler" in (values.get("features") or ()):
        yield Refusal("filler", _text("filler", card))
    elif reading is None:
        return
    elif rules.filler_above_um is not None and reading > rules.filler_above_um:
        yield Refusal(
            "filler", _text("filler", card), (_limit("filler_above_um", rules.filler_above_um, reading),)
        )
    elif rules.refinished_above_um is not None and reading > rules.refinished_above_um:
        entry = _limit("refinished_above_um", rules.refinished_above_um, reading)
        yield Refusal("refinish", _text("refinish", card), (entry,))
    elif _over_reference(reading, reference, rules.over_reference_um):
        assert rules.over_reference_um is not None
        entry = _limit("over_reference_um", rules.over_reference_um, reading - reference)
        yield Refusal("refinish", _text("refinish", card), (entry,))


def _over_reference(reading: Decimal, reference: Decimal | None, limit: Decimal | None) -> bool:
    return reference is not None and limit is not None and reading - reference > limit


def _limit(key: str, limit: Decimal, reading: Decimal) -> Entry:
    effect = f"read {format_number(Decimal(reading))} µm, over {format_number(limit)} µm"
    return Entry("paint", key, format_number(limit), effect)


def _text(cause: str, card: Card) -> str:
    return card.refusals.cause.get(cause, REASONS[cause])
