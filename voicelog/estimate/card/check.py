"""From the text of a rate card to a `Card`, or to every problem that is in it."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Callable, Mapping
from decimal import Decimal
from itertools import pairwise
from types import MappingProxyType
from typing import Any

from voicelog.estimate.card.model import (
    ADDER_SLOTS,
    Adder,
    Card,
    Charges,
    PaintRules,
    Problem,
    Several,
    Tax,
    WidthRule,
)
from voicelog.estimate.card.toml_table import Table, finite_number, shown
from voicelog.estimate.money import Units, currencies, minor_digits
from voicelog.vocabulary import CHOICES

REFUSAL_CAUSES = ("beyond-table", "filler", "refinish")


def check_card(text: str) -> tuple[Card | None, list[Problem]]:
    """The card in `text`, or None and every problem with it."""
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except (tomllib.TOMLDecodeError, ArithmeticError) as error:
        return None, [Problem("", "file", f"not TOML: {' '.join(str(error).split())}", "TOML 1.0")]
    problems: list[Problem] = []
    top = Table("", data, problems)
    card = _card(top, text)
    top.close()
    return (None if problems or card is None else card), problems


def _card(top: Table, text: str) -> Card | None:
    currency = top.choice("currency", sorted(currencies()), "")
    digits = minor_digits(currency) if currency else 6
    region = _region(top)
    rate = top.number("hourly_rate", above=True, what="an amount")
    if "hourly_rate" not in top.data:
        top.wrong("hourly_rate", "an amount above 0")
    units: Units = "inch" if top.choice("units", ("mm", "inch"), _usual_units(region)) == "inch" else "mm"
    parts: dict[str, Any] = {
        "name": top.text("name", "Rate card"),
        "tax": _closed(top, "tax", _tax),
        "points": _closed(top, "base", _points),
        "adders": _closed(top, "adders", _adders),
        "width": _closed(top, "width", _width),
        "paint": _closed(top, "paint", _paint),
        "several": _closed(top, "several", _several),
        "take_off": _closed(top, "take_off", _take_off),
        "charges": _closed(top, "charges", lambda table: _charges(table, digits)),
        "refusals": _closed(top, "refusals", _refusals),
    }
    if rate is None or not currency:
        return None
    digest = hashlib.sha256(text.encode()).hexdigest()
    return Card(
        hash=digest, text=text, region=region, units=units, currency=currency, hourly_rate=rate, **parts
    )  # fmt: skip


def _usual_units(region: str) -> str:
    return "inch" if region == "US" else "mm"


def _region(top: Table) -> str:
    value = top.text("region", "GB")
    if len(value) != 2 or not value.isascii() or not value.isupper():
        top.wrong("region", "a country by its two capital letters (ISO 3166), such as GB, US, DE")
    return value


def _closed(top: Table, key: str, read: Callable[[Table], Any]) -> Any:
    table = top.child(key)
    result = read(table)
    table.close()
    return result


def _tax(table: Table) -> Tax:
    percent = table.number("percent", Decimal(0), most=Decimal(100)) or Decimal(0)
    return Tax(table.text("name", "Tax"), percent, table.flag("included"))


def _points(table: Table) -> tuple[tuple[Decimal, Decimal], ...]:
    table.known.append("points")
    rule = "a list of at least two pairs [mm, minutes], mm rising, minutes above 0 and never falling"
    raw = table.data.get("points")
    if not isinstance(raw, list) or len(raw) < 2:
        table.wrong("points", rule)
        return ()
    points = [_point(item) for item in raw]
    for index, point in enumerate(points):
        before = points[index - 1] if index else None
        falling = point and before and (point[0] <= before[0] or point[1] < before[1])
        if point is None or falling:
            value = f"{shown(raw[index - 1])} then {shown(raw[index])}" if falling else shown(raw[index])
            table.problems.append(Problem(table.name, "points", value, rule))
    return tuple(point for point in points if point is not None)


def _point(item: Any) -> tuple[Decimal, Decimal] | None:
    if not isinstance(item, list) or len(item) != 2:
        return None
    mm, minutes = finite_number(item[0]), finite_number(item[1])
    if mm is None or minutes is None or mm <= 0 or minutes <= 0:
        return None
    return mm, minutes


_LEAST_PERCENT = Decimal(-90)


def _adder(table: Table, prefix: str = "") -> Adder:
    percent = table.number(f"{prefix}percent", Decimal(0), least=_LEAST_PERCENT, most=Decimal(1000))
    minutes = table.number(f"{prefix}minutes", Decimal(0), most=Decimal(10000), what="minutes")
    return Adder(percent or Decimal(0), minutes or Decimal(0))


def _adders(table: Table) -> Mapping[str, Mapping[str, Adder]]:
    adders: dict[str, Mapping[str, Adder]] = {}
    for slot in table.keys(ADDER_SLOTS):
        inner = table.child(slot)
        found = {}
        for key in inner.keys(CHOICES[slot]):
            entry = inner.child(key)
            found[key] = _adder(entry)
            entry.close()
        inner.close()
        adders[slot] = MappingProxyType(found)
    _check_floor(table, adders)
    return MappingProxyType(adders)


def _check_floor(table: Table, adders: Mapping[str, Mapping[str, Adder]]) -> None:
    """Minutes must stay above nought for every dent: the reductions may not eat the base up."""
    worst = Decimal(0)
    for slot, found in adders.items():
        reductions = [min(adder.percent, Decimal(0)) for adder in found.values()]
        worst += sum(reductions) if slot == "features" else min(reductions, default=Decimal(0))
    if worst <= -100:
        allowed = "reductions that together stay above -100 percent"
        table.problems.append(Problem(table.name, "percent", f"{worst} in all", allowed))


def _width(table: Table) -> WidthRule | None:
    over = table.number("over_percent", most=Decimal(100))
    adder = _adder(table)
    if table.data and over is None:
        table.wrong("over_percent", "the share of the length, a number from 0 to 100")
    if adder.percent < 0:
        table.wrong("percent", "a number from 0 to 1000")
    return None if over is None else WidthRule(over, adder)


def _paint(table: Table) -> PaintRules:
    def um(key: str) -> Decimal | None:
        return table.number(key, above=True, most=Decimal(10000), what="micrometres")

    rules = PaintRules(
        um("thick_above_um"),
        _adder(table, "thick_"),
        um("refinished_above_um"),
        um("over_reference_um"),
        um("filler_above_um"),
    )
    rising = [
        (key, value)
        for key in ("thick_above_um", "refinished_above_um", "filler_above_um")
        if (value := getattr(rules, key)) is not None
    ]
    for (low_key, low), (key, value) in pairwise(rising):
        if value < low:
            table.wrong(key, f"micrometres not below {low_key} ({low})")
    return rules


def _several(table: Table) -> Several:
    hundred = Decimal(100)
    second = table.number("second_percent", hundred, most=hundred)
    further = table.number("further_percent", second, most=hundred)
    if second is not None and further is not None and further > second:
        table.wrong("further_percent", f"a number from 0 to second_percent ({second})")
    cap = table.number("cap_minutes", above=True, what="minutes")
    inner = table.child("cap_minutes_by_panel")
    caps = {key: inner.number(key, above=True, what="minutes") for key in inner.keys(CHOICES["panel"])}
    inner.close()
    valid = {key: value for key, value in caps.items() if value is not None}
    return Several(second or Decimal(0), further or Decimal(0), cap, MappingProxyType(valid))


def _take_off(table: Table) -> Mapping[str, Decimal]:
    items = {key: table.number(key, what="minutes") for key in table.keys(CHOICES["take_off"])}
    return MappingProxyType({key: value for key, value in items.items() if value is not None})


def _charges(table: Table, digits: int) -> Charges:
    discount = table.number("max_discount_percent", Decimal(0), most=Decimal(100)) or Decimal(0)
    return Charges(table.money("minimum", digits), table.money("call_out", digits), discount)


def _refusals(table: Table) -> Mapping[str, Mapping[str, str]]:
    found: dict[str, Mapping[str, str]] = {}
    allowed = {**{slot: CHOICES[slot] for slot in ADDER_SLOTS}, "cause": REFUSAL_CAUSES}
    for slot in table.keys(allowed):
        inner = table.child(slot)
        found[slot] = MappingProxyType({key: inner.text(key) for key in inner.keys(allowed[slot])})
        inner.close()
    return MappingProxyType(found)
