"""A second price of a job, written apart from the first: fractions, loops, the card as plain TOML.

It knows settled values only and walks every single dent, as one would on paper.  It is
the yardstick for `voicelog.estimate.pricing.price`; it shares no code with it.
"""

from __future__ import annotations

import math
import tomllib
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Any

DIGITS = {"GBP": 2, "USD": 2, "EUR": 2, "JPY": 0, "KWD": 3}  # ISO 4217
SIDED = {"wing", "door", "quarter", "sill", "roof-rail", "pillar-a", "sliding-door", "bed-side"}
ENDED = {"door", "bumper"}


def half_up(amount: Fraction, digits: int) -> Fraction:
    """To the minor unit, halves away from nought."""
    scaled = abs(amount) * 10**digits
    rounded = Fraction(math.floor(scaled + Fraction(1, 2)), 10**digits)
    return rounded if amount >= 0 else -rounded


def plain_total(card_text: str, dents: list[dict[str, Any]], discount: int = 0) -> Decimal:
    """The total of a job; each dent a dictionary of settled slot values."""
    card = tomllib.loads(card_text, parse_float=lambda text: Fraction(text))
    digits = DIGITS[card["currency"]]
    panels: dict[tuple[Any, ...], list[Fraction]] = {}
    items: set[str] = set()
    for dent in dents:
        minutes = _minutes(card, dent)
        if minutes is None:
            continue
        panel = dent["panel"]
        place = (panel, dent.get("end") if panel in ENDED else "", dent.get("side") if panel in SIDED else "")
        for _ in range(dent.get("count", 1)):
            panels.setdefault(place, []).append(minutes)
        items.update(dent.get("take_off", ()))
    work = sum((_panel(card, place[0], minutes, digits) for place, minutes in panels.items()), Fraction(0))
    for item in items:
        work += _money(card, Fraction(card["take_off"].get(item, 0)), digits)
    return _job(card, work, bool(panels), discount, digits)


def _minutes(card: dict[str, Any], dent: dict[str, Any]) -> Fraction | None:
    length, width = dent.get("length_mm"), dent.get("width_mm")
    features = dent.get("features", ())
    if length is None or dent.get("panel") is None:
        return None
    longest = max(Fraction(length), Fraction(width or 0))
    refused = dent.get("material") in ("plastic", *card.get("refusals", {}).get("material", {}))
    points = [(Fraction(mm), Fraction(minutes)) for mm, minutes in card["base"]["points"]]
    if refused or "paint-broken" in features or longest > points[-1][0]:
        return None
    if "filler" in features and dent.get("method") == "glue-pull":
        return None
    base = points[0][1]
    for (x0, y0), (x1, y1) in pairwise(points):
        if x0 <= longest <= x1:
            base = y0 + (y1 - y0) * (longest - x0) / (x1 - x0)
    percent = extra = Fraction(0)
    for slot in ("panel", "material", "shape", "depth", "access", "method"):
        entry = card["adders"].get(slot, {}).get(dent.get(slot), {})
        percent += entry.get("percent", 0)
        extra += entry.get("minutes", 0)
    for feature in features:
        entry = card["adders"].get("features", {}).get(feature, {})
        percent += entry.get("percent", 0)
        extra += entry.get("minutes", 0)
    if width is not None and "width" in card:
        shortest = min(Fraction(length), Fraction(width))
        if shortest / longest * 100 > card["width"]["over_percent"]:
            percent += card["width"].get("percent", 0)
            extra += card["width"].get("minutes", 0)
    return base * (1 + percent / 100) + extra


def _money(card: dict[str, Any], minutes: Fraction, digits: int) -> Fraction:
    return half_up(minutes * Fraction(card["hourly_rate"]) / 60, digits)


def _panel(card: dict[str, Any], panel: str, minutes: list[Fraction], digits: int) -> Fraction:
    several = card.get("several", {})
    second = several.get("second_percent", 100)
    shares = [100, second]
    total = Fraction(0)
    for index, one in enumerate(sorted(minutes, reverse=True)):
        share = shares[index] if index < 2 else several.get("further_percent", second)
        total += _money(card, one * share / 100, digits)
    cap = several.get("cap_minutes_by_panel", {}).get(panel, several.get("cap_minutes"))
    return total if cap is None else min(total, _money(card, Fraction(cap), digits))


def _job(card: dict[str, Any], work: Fraction, priced: bool, discount: int, digits: int) -> Decimal:
    charges = card.get("charges", {})
    if priced:
        work = max(work, Fraction(charges.get("minimum", 0))) + Fraction(charges.get("call_out", 0))
    percent = min(Fraction(discount), Fraction(charges.get("max_discount_percent", 0)))
    due = work - half_up(work * percent / 100, digits)
    tax = card.get("tax", {})
    if not tax.get("included", False):
        due += half_up(due * Fraction(tax.get("percent", 0)) / 100, digits)
    return (Decimal(due.numerator) / Decimal(due.denominator)).quantize(Decimal(1).scaleb(-digits))
