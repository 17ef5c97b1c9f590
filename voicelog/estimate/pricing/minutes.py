"""The minutes of one dent, or why there are none.

    minutes = base × (1 + sum of percentages / 100) + sum of minutes

The base is read off the card's points by the dent's longest extent: piecewise
linear between them, flat below the first, never beyond the last.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from voicelog.estimate.card.model import ADDER_SLOTS, Adder, Card
from voicelog.estimate.estimate import ZERO, Entry
from voicelog.estimate.pricing.hail_table import Counted
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
    surcharge_minutes: Decimal = ZERO
    """What in the full minutes raises the cap of its panel."""
    setup_minutes: Decimal = ZERO
    """To set its method up: once a panel."""
    protection_minutes: Decimal = ZERO
    """For corrosion protection after its access: once a panel."""
    counted: Counted | None = None
    """Where the card's table of hail prices it, and not its own minutes."""


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
    adders = [*_by_value(values, card), *_by_measure(values, extent, width, card)]
    percent = sum((adder.percent for adder, _, _ in adders), ZERO)
    extra = sum((adder.minutes for adder, _, _ in adders), ZERO)
    return Effort(
        base_points=base_points,
        base_minutes=base,
        adders=tuple(entry for _, entry, _ in adders),
        percent=percent,
        extra_minutes=extra,
        full_minutes=base * (1 + percent / HUNDRED) + extra,
        surcharge_minutes=_surcharge(base, [adder for adder, _, above in adders if above]),
        setup_minutes=_setup(values, card),
        protection_minutes=_protection(values, card),
        counted=None if extra else _counted(values, extent, percent, card),
    )


def _counted(values: Mapping[str, Any], extent: Decimal, percent: Decimal, card: Card) -> Counted | None:
    """None where minutes are added to each dent, too: the table knows percentages only."""
    hail = (values.get("hail") or values.get("density")) and not values.get("oversize")
    column = card.hail.column(extent) if hail and card.hail.in_brackets else None
    if column is None:
        return None
    dense = card.hail.density_percent.get(values.get("density") or "", ZERO)
    return Counted(column, max(-HUNDRED, percent + dense))


def _surcharge(base: Decimal, adders: Sequence[Adder]) -> Decimal:
    percent = sum((adder.percent for adder in adders), ZERO)
    extra = sum((adder.minutes for adder in adders), ZERO)
    return max(ZERO, base * percent / HUNDRED + extra)


def _setup(values: Mapping[str, Any], card: Card) -> Decimal:
    adder = card.adders.method.get(values.get("method") or "")
    return ZERO if adder is None else adder.setup_minutes


def _protection(values: Mapping[str, Any], card: Card) -> Decimal:
    rule = card.corrosion_protection
    return rule.minutes if values.get("access") in rule.after else ZERO


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


Found = tuple[Adder, Entry, bool]
"""An adder, the entry it is, and whether it raises the panel's cap."""


def _by_value(values: Mapping[str, Any], card: Card) -> Iterator[Found]:
    for slot in ADDER_SLOTS:
        said = values.get(slot)
        if said is None:
            continue
        for value in said if isinstance(said, tuple) else (said,):
            found = card.adders_by_value.get((slot, value))
            if found is not None:
                yield found


def _by_measure(
    values: Mapping[str, Any], extent: Decimal, width: Decimal | None, card: Card
) -> Iterator[Found]:
    rule = card.width
    if rule is not None and width is not None and width * HUNDRED > extent * rule.over_percent:
        over = format_number(rule.over_percent)
        effect = f"{rule.effect}, width over {over} % of the length"
        yield rule, Entry("width", "over_percent", over, effect), False
    reading, limit = values.get("paint_um"), card.paint.thick_above_um
    if reading is not None and limit is not None and reading > limit:
        effect = f"{card.paint.thick.effect}, paint {format_number(Decimal(reading))} µm"
        yield card.paint.thick, Entry("paint", "thick_above_um", format_number(limit), effect), False
