"""From the text of a rate card to a `Card`, or to every problem that is in it."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise
from types import MappingProxyType
from typing import Any

from rapidfuzz import process
from rapidfuzz.distance import DamerauLevenshtein

from voicelog.estimate.card_model import (
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
from voicelog.estimate.money import Units, currencies, minor_digits
from voicelog.vocabulary import CHOICES

REFUSAL_CAUSES = ("beyond-table", "filler", "refinish")
_MOST = Decimal(10) ** 9
_MOST_DECIMALS = 6


@dataclass
class _Table:
    """One table of the card while it is read: what is asked for is known, the rest is a problem."""

    name: str
    data: Mapping[str, Any]
    problems: list[Problem]
    known: list[str] = field(default_factory=list)

    def child(self, key: str) -> _Table:
        """The table under `key`, empty where there is none."""
        self.known.append(key)
        data = self.data.get(key, {})
        name = f"{self.name}.{key}" if self.name else key
        if not isinstance(data, Mapping):
            self.wrong(key, "a table")
            data = {}
        return _Table(name, data, self.problems)

    def wrong(self, key: str, allowed: str, nearest: str = "") -> None:
        value = _shown(self.data[key]) if key in self.data else ""
        self.problems.append(Problem(self.name, key, value, allowed, nearest))

    def number(
        self, key: str, default: Decimal | None = None, *,
        least: Decimal = Decimal(0), most: Decimal = _MOST, above: bool = False, what: str = "a number",
    ) -> Decimal | None:  # fmt: skip
        """A number between `least` and `most` (above `least` where `above`)."""
        self.known.append(key)
        if key not in self.data:
            return default
        value = _number(self.data[key])
        if value is None or not least <= value <= most or (above and value == least):
            end = f" to {most:f}" if most < _MOST else ""
            self.wrong(key, f"{what} {'above' if above else 'from'} {least:f}{end}")
            return default
        return value

    def money(self, key: str, digits: int) -> Decimal:
        """An amount of money, with no more decimals than the currency has."""
        value = self.number(key, Decimal(0), what="an amount") or Decimal(0)
        if value != round(value, digits):
            self.wrong(key, f"an amount with at most {digits} decimals")
        return value

    def choice(self, key: str, allowed: Iterable[str], default: str) -> str:
        """One of `allowed`."""
        self.known.append(key)
        value = self.data.get(key, default)
        names = list(allowed)
        if value not in names:
            self.wrong(key, f"one of {_listed(names)}", _nearest(str(value), names))
            return default
        return str(value)

    def text(self, key: str, default: str = "") -> str:
        """A text in one line."""
        self.known.append(key)
        value = self.data.get(key, default)
        if not isinstance(value, str) or not value.strip() or "\n" in value:
            if key in self.data:
                self.wrong(key, "a text in one line")
            return default
        return value.strip()

    def flag(self, key: str) -> bool:
        """True or false; false where it is absent."""
        self.known.append(key)
        value = self.data.get(key, False)
        if not isinstance(value, bool):
            self.wrong(key, "true or false")
        return value is True

    def keys(self, allowed: Iterable[str]) -> list[str]:
        """The keys present that are allowed."""
        self.known.extend(allowed)
        return [key for key in self.data if key in self.known]

    def close(self) -> None:
        """Every key that nobody asked for is a problem."""
        for key in self.data:
            if key not in self.known:
                self.wrong(
                    key, f"one of the keys {_listed(dict.fromkeys(self.known))}", _nearest(key, self.known)
                )


def _shown(value: Any) -> str:
    if isinstance(value, Decimal):
        return f"{value}"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, Mapping):
        text = "{" + ", ".join(f"{key} = {_shown(item)}" for key, item in value.items()) + "}"
    elif isinstance(value, list):
        text = "[" + ", ".join(map(_shown, value)) + "]"
    else:
        text = str(value)
    return text if len(text) <= 60 else f"{text[:57]}…"


def _number(value: Any) -> Decimal | None:
    """A TOML number as Decimal; None for what is none or has needlessly many decimals."""
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        return None
    number = Decimal(value)
    if not number.is_finite() or abs(number) > _MOST or number != round(number, _MOST_DECIMALS):
        return None
    return number


def _nearest(word: str, known: Iterable[str]) -> str:
    """The known name with the fewest letters wrong, missing, added or swapped; empty where none is near."""
    names = {name.lower().replace("_", "-"): name for name in known}
    similarity = DamerauLevenshtein.normalized_similarity
    found = process.extractOne(
        word.lower().replace("_", "-"), list(names), scorer=similarity, score_cutoff=0.6
    )
    return names[found[0]] if found else ""


def _listed(names: Iterable[str]) -> str:
    names = list(names)
    return ", ".join(names) if len(names) <= 30 else f"{', '.join(names[:8])} … ({len(names)} in all)"


def check_card(text: str) -> tuple[Card | None, list[Problem]]:
    """The card in `text`, or None and every problem with it."""
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except (tomllib.TOMLDecodeError, ArithmeticError) as error:
        return None, [Problem("", "file", f"not TOML: {' '.join(str(error).split())}", "TOML 1.0")]
    problems: list[Problem] = []
    top = _Table("", data, problems)
    card = _card(top, text)
    top.close()
    return (None if problems or card is None else card), problems


def _card(top: _Table, text: str) -> Card | None:
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


def _region(top: _Table) -> str:
    value = top.text("region", "GB")
    if len(value) != 2 or not value.isascii() or not value.isupper():
        top.wrong("region", "a country by its two capital letters (ISO 3166), such as GB, US, DE")
    return value


def _closed(top: _Table, key: str, read: Callable[[_Table], Any]) -> Any:
    table = top.child(key)
    result = read(table)
    table.close()
    return result


def _tax(table: _Table) -> Tax:
    percent = table.number("percent", Decimal(0), most=Decimal(100)) or Decimal(0)
    return Tax(table.text("name", "Tax"), percent, table.flag("included"))


def _points(table: _Table) -> tuple[tuple[Decimal, Decimal], ...]:
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
            shown = f"{_shown(raw[index - 1])} then {_shown(raw[index])}" if falling else _shown(raw[index])
            table.problems.append(Problem(table.name, "points", shown, rule))
    return tuple(point for point in points if point is not None)


def _point(item: Any) -> tuple[Decimal, Decimal] | None:
    if not isinstance(item, list) or len(item) != 2:
        return None
    mm, minutes = _number(item[0]), _number(item[1])
    if mm is None or minutes is None or mm <= 0 or minutes <= 0:
        return None
    return mm, minutes


_LEAST_PERCENT = Decimal(-90)


def _adder(table: _Table, prefix: str = "") -> Adder:
    percent = table.number(f"{prefix}percent", Decimal(0), least=_LEAST_PERCENT, most=Decimal(1000))
    minutes = table.number(f"{prefix}minutes", Decimal(0), most=Decimal(10000), what="minutes")
    return Adder(percent or Decimal(0), minutes or Decimal(0))


def _adders(table: _Table) -> Mapping[str, Mapping[str, Adder]]:
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


def _check_floor(table: _Table, adders: Mapping[str, Mapping[str, Adder]]) -> None:
    """Minutes must stay above nought for every dent: the reductions may not eat the base up."""
    worst = Decimal(0)
    for slot, found in adders.items():
        reductions = [min(adder.percent, Decimal(0)) for adder in found.values()]
        worst += sum(reductions) if slot == "features" else min(reductions, default=Decimal(0))
    if worst <= -100:
        allowed = "reductions that together stay above -100 percent"
        table.problems.append(Problem(table.name, "percent", f"{worst} in all", allowed))


def _width(table: _Table) -> WidthRule | None:
    over = table.number("over_percent", most=Decimal(100))
    adder = _adder(table)
    if table.data and over is None:
        table.wrong("over_percent", "the share of the length, a number from 0 to 100")
    if adder.percent < 0:
        table.wrong("percent", "a number from 0 to 1000")
    return None if over is None else WidthRule(over, adder)


def _paint(table: _Table) -> PaintRules:
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


def _several(table: _Table) -> Several:
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


def _take_off(table: _Table) -> Mapping[str, Decimal]:
    items = {key: table.number(key, what="minutes") for key in table.keys(CHOICES["take_off"])}
    return MappingProxyType({key: value for key, value in items.items() if value is not None})


def _charges(table: _Table, digits: int) -> Charges:
    discount = table.number("max_discount_percent", Decimal(0), most=Decimal(100)) or Decimal(0)
    return Charges(table.money("minimum", digits), table.money("call_out", digits), discount)


def _refusals(table: _Table) -> Mapping[str, Mapping[str, str]]:
    found: dict[str, Mapping[str, str]] = {}
    allowed = {**{slot: CHOICES[slot] for slot in ADDER_SLOTS}, "cause": REFUSAL_CAUSES}
    for slot in table.keys(allowed):
        inner = table.child(slot)
        found[slot] = MappingProxyType({key: inner.text(key) for key in inner.keys(allowed[slot])})
        inner.close()
    return MappingProxyType(found)
