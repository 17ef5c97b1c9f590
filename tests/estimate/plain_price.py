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


PARTS = {
    "door-card": ("panel", "end", "side"), "bumper": ("end",), "mirror": ("side",), "head-lining": (),
    "tail-light": ("side",), "headlight": ("side",), "liner": ("panel", "side"),
    "trim": ("panel", "end", "side"),
}  # fmt: skip
FRONT, REAR = {"bonnet", "wing"}, {"boot-lid", "tailgate", "quarter"}
ABOVE_CAP = ["material", "depth", "brace"]


def plain_total(card_text: str, dents: list[dict[str, Any]], discount: int = 0) -> Decimal:
    """The total of a job; each dent a dictionary of settled slot values, its material among them."""
    card = tomllib.loads(card_text, parse_float=lambda text: Fraction(text))
    digits = DIGITS[card["currency"]]
    panels: dict[tuple[Any, ...], list[dict[str, Any]]] = {}
    items: set[tuple[Any, ...]] = set()
    for dent in dents:
        minutes = _minutes(card, dent)
        if minutes is None:
            continue
        place = place_of(dent)
        for _ in range(dent.get("count", 1)):
            made = {"minutes": minutes, "hail_percent": _hail_percent(card, dent)}
            panels.setdefault(place, []).append({**dent, **made})
        for item in dent.get("take_off", ()):
            end = "front" if place[0] in FRONT else "rear" if place[0] in REAR else place[1]
            told = {"panel": place[0], "end": end, "side": place[2]}
            items.add((item, *(told[name] for name in PARTS[item])))
    work = sum((_panel(card, place[0], found, digits) for place, found in panels.items()), Fraction(0))
    for item in items:
        work += _money(card, Fraction(card["take_off"].get(item[0], 0)), digits)
    return _job(card, work, bool(panels), discount, digits)


def place_of(dent: dict[str, Any]) -> tuple[Any, ...]:
    """What tells the panel of a dent from others."""
    panel = dent["panel"]
    return (panel, dent.get("end") if panel in ENDED else "", dent.get("side") if panel in SIDED else "")


def _minutes(card: dict[str, Any], dent: dict[str, Any]) -> Fraction | None:
    length, width = dent.get("length_mm"), dent.get("width_mm")
    features = dent.get("features", ())
    if length is None or dent.get("panel") is None:
        return None
    longest = max(Fraction(length), Fraction(width or 0))
    refused = dent.get("material") in ("plastic", *card.get("refusals", {}).get("material", {}))
    points = [(Fraction(mm), Fraction(minutes)) for mm, minutes in card["base"]["points"]]
    broken = "paint-broken" in features and not (
        card.get("paint", {}).get("chip_may_stay") and dent.get("method") in ("push", "lever", "knock-down")
    )
    if refused or broken or longest > points[-1][0]:
        return None
    if "filler" in features and dent.get("method") == "glue-pull":
        return None
    percent, extra = _added(card, dent)
    return _base(card, dent) * (1 + percent / 100) + extra


def _added(card: dict[str, Any], dent: dict[str, Any]) -> tuple[Fraction, Fraction]:
    """(percent, minutes) that the values of a dent add."""
    length, width, features = dent["length_mm"], dent.get("width_mm"), dent.get("features", ())
    longest = max(Fraction(length), Fraction(width or 0))
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
    return percent, extra


def _base(card: dict[str, Any], dent: dict[str, Any]) -> Fraction:
    longest = max(Fraction(dent["length_mm"]), Fraction(dent.get("width_mm") or 0))
    points = [(Fraction(mm), Fraction(minutes)) for mm, minutes in card["base"]["points"]]
    for (x0, y0), (x1, y1) in pairwise(points):
        if x0 <= longest <= x1:
            return y0 + (y1 - y0) * (longest - x0) / (x1 - x0)
    return points[0][1]


def _money(card: dict[str, Any], minutes: Fraction, digits: int) -> Fraction:
    return half_up(minutes * Fraction(card["hourly_rate"]) / 60, digits)


def _panel(card: dict[str, Any], panel: str, dents: list[dict[str, Any]], digits: int) -> Fraction:
    hail = [dent for dent in dents if dent.get("hail_percent") is not None]
    every, dents = dents, [dent for dent in dents if dent.get("hail_percent") is None]
    several = card.get("several", {})
    second = several.get("second_percent", 100)
    further = several.get("further_percent", second)
    shares = [100, second]
    total = Fraction(0)
    for index, one in enumerate(sorted((dent["minutes"] for dent in dents), reverse=True)):
        share = shares[index] if index < 2 else further
        total += _money(card, one * share / 100, digits)
    cap = several.get("cap_minutes_by_panel", {}).get(panel, several.get("cap_minutes"))
    if cap is not None and dents:
        total = min(total, _most(card, dents, Fraction(cap), Fraction(further) / 100, digits))
    methods = card["adders"].get("method", {})
    total += _money(card, _hailed(card["hail"], hail), digits) if hail else 0
    setup = max(Fraction(methods.get(dent.get("method"), {}).get("setup_minutes", 0)) for dent in every)
    rule = card.get("corrosion_protection", {})
    open_to_rust = any(
        dent.get("access") in rule.get("after", ["open", "trim-off", "limited"]) for dent in every
    )
    protection = Fraction(rule.get("minutes", 0)) if open_to_rust else Fraction(0)
    return total + _money(card, setup, digits) + _money(card, protection, digits)


def _hailed(hail: dict[str, Any], dents: list[dict[str, Any]]) -> Fraction:
    """One dent after the other, the hardest first: each adds what the table has more with it."""
    minutes, before, sizes = Fraction(0), Fraction(0), []
    for dent in sorted(dents, key=lambda dent: dent["hail_percent"], reverse=True):
        sizes.append(max(Fraction(dent["length_mm"]), Fraction(dent.get("width_mm") or 0)))
        now = _table(hail, sizes)
        minutes += (now - before) * (100 + dent["hail_percent"]) / 100
        before = now
    return minutes


def _table(hail: dict[str, Any], sizes: list[Fraction]) -> Fraction:
    """Everybody in the first column; who is larger than a column adds what the next one has more."""
    rows = hail["rows"]
    found, least = Fraction(0), Fraction(0)
    for column in range(1, len(hail["sizes_mm"]) + 1):
        larger = sum(size > least for size in sizes)
        if larger:
            row = [row for row in rows if row[0] >= larger][:1] or rows[-1:]
            found += Fraction(row[0][column]) - (Fraction(row[0][column - 1]) if column > 1 else 0)
        least = Fraction(hail["sizes_mm"][column - 1])
    return found


def _hail_percent(card: dict[str, Any], dent: dict[str, Any]) -> Fraction | None:
    """What is added to a dent of the table; None for one that the table does not price."""
    hail = card.get("hail", {})
    longest = max(Fraction(dent["length_mm"]), Fraction(dent.get("width_mm") or 0))
    if not (dent.get("hail") or dent.get("density")) or dent.get("oversize") or not hail.get("rows"):
        return None
    if longest > hail["sizes_mm"][-1]:
        return None
    percent, extra = _added(card, dent)
    return None if extra else percent + hail.get("density_percent", {}).get(dent.get("density"), 0)


def _most(
    card: dict[str, Any], dents: list[dict[str, Any]], cap: Fraction, share: Fraction, digits: int
) -> Fraction:
    """The cap, filled dent by dent with those of most surcharge first, and their surcharges on it."""
    above = card["several"].get("above_cap", ABOVE_CAP)
    minutes, pieces = cap, []
    for dent in dents:
        base = _base(card, dent)
        adders = [(slot, dent.get(slot)) for slot in ("material", "shape", "depth", "access", "method")]
        adders += [("features", feature) for feature in dent.get("features", ())]
        found = [card["adders"].get(slot, {}).get(value, {}) for slot, value in adders
                 if slot in above or value in above]  # fmt: skip
        more = sum(
            (base * entry.get("percent", 0) / 100 + entry.get("minutes", 0) for entry in found), Fraction(0)
        )
        if base * share > 0:
            pieces.append((max(more, Fraction(0)) * share, base * share))
    room = cap
    for more, base in sorted(pieces, key=lambda piece: piece[0] / piece[1], reverse=True):
        part = min(Fraction(1), room / base)
        minutes += more * part
        room -= base * part
    return _money(card, minutes, digits)


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
