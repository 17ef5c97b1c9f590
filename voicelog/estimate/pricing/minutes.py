"""The minutes of one dent, or why there are none.

    minutes = base × (1 + sum of percentages / 100) + sum of minutes

The base is read off the card's points by the dent's longest extent: piecewise
linear between them, flat below the first, never beyond the last.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from voicelog.estimate.card.model import ADDER_SLOTS, Adder, Card
from voicelog.estimate.estimate import ZERO, Entry
from voicelog.estimate.pricing.refusals import Refusal, refusals_of
from voicelog.units import format_number

HUNDRED = Decimal(100)


@dataclass(frozen=True)
class Effort:
    """What one dent takes, before it shares its panel with others."""

    base_points: tuple[tuple[Decimal, Decimal], ...]
    base_minutes: Decimal
    adders: tuple[Entry, ...]
    percent: Decimal
    extra_minutes: Decimal
    full_minutes: Decimal


@dataclass(frozen=True)
class Assessment:
    """Either an effort or at least one refusal, and advice that goes with either."""

    effort: Effort | None
    refusals: tuple[Refusal, ...] = ()
    advice: tuple[Refusal, ...] = ()


def assess(values: Mapping[str, Any], card: Card) -> Assessment:
    """Judge a dent by its slot values.

    Args:
        values: canonical values by slot, absent or None where not said; besides the slots of a
            damage record `paint_um` (highest reading at the dent) and `reference_um` (mean reference).
    """
    refusals, advice = refusals_of(values, card)
    if refusals:
        return Assessment(None, refusals, advice)
    return Assessment(effort_of(values, card), (), advice)


def effort_of(values: Mapping[str, Any], card: Card) -> Effort:
    """The minutes of a dent that has a length within the card's table, by the formula above."""
    extent, width = extents(values)
    base_points, base = base_minutes(extent, card.points)
    adders = list(_adders(values, extent, width, card))
    percent = sum((adder.percent for adder, _ in adders), ZERO)
    extra = sum((adder.minutes for adder, _ in adders), ZERO)
    full = base * (1 + percent / HUNDRED) + extra
    return Effort(base_points, base, tuple(entry for _, entry in adders), percent, extra, full)


def extents(values: Mapping[str, Any]) -> tuple[Decimal, Decimal | None]:
    """(longest extent, the extent across) in mm, whichever of length and width was said larger."""
    length = Decimal(values["length_mm"])
    width = values.get("width_mm")
    if width is None:
        return length, None
    return max(length, Decimal(width)), min(length, Decimal(width))


def base_minutes(
    extent: Decimal, points: tuple[tuple[Decimal, Decimal], ...]
) -> tuple[tuple[tuple[Decimal, Decimal], ...], Decimal]:
    """The card's points that decide, and the base minutes at `extent` mm.

    `extent` must not be beyond the last point (`refusals_of` sees to that).
    """
    index = bisect_left(points, extent, key=lambda point: point[0])
    right = points[index]
    if index == 0 or right[0] == extent:
        return (right,), right[1]
    left = points[index - 1]
    rise = (right[1] - left[1]) * (extent - left[0]) / (right[0] - left[0])
    return (left, right), left[1] + rise


def _adders(
    values: Mapping[str, Any], extent: Decimal, width: Decimal | None, card: Card
) -> list[tuple[Adder, Entry]]:
    found = []
    for slot in ADDER_SLOTS:
        table = card.adders.of(slot)
        said = values.get(slot)
        if not table or said is None:
            continue
        for value in said if isinstance(said, tuple) else (said,):
            if value in table:
                found.append((table[value], table[value].entry(f"adders.{slot}", value)))
    rule = card.width
    if rule is not None and width is not None and width * HUNDRED > extent * rule.over_percent:
        over = format_number(rule.over_percent)
        effect = f"{rule.effect}, width over {over} % of the length"
        found.append((rule, Entry("width", "over_percent", over, effect)))
    found.extend(_thick(values.get("paint_um"), card))
    return found


def _thick(reading: Decimal | None, card: Card) -> list[tuple[Adder, Entry]]:
    limit = card.paint.thick_above_um
    if reading is None or limit is None or reading <= limit:
        return []
    effect = f"{card.paint.thick.effect}, paint {format_number(Decimal(reading))} µm"
    return [(card.paint.thick, Entry("paint", "thick_above_um", format_number(limit), effect))]
