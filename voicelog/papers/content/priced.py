"""An estimate as papers read it: made from its JSON form, so that a quote's snapshot prints the same way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from voicelog.papers.wording import Money


@dataclass(frozen=True)
class PricedLine:
    """One line of an estimate."""

    kind: str
    text: str
    dents: tuple[int, ...]
    minutes: Money
    amount: Money | None
    """None where the line has no number: a refusal or an advice."""
    counts: bool
    effects: tuple[tuple[str, str], ...]
    """What each entry of the rate card did: (the value it is for, empty where it is none; the effect)."""
    cause: str
    reason: str


@dataclass(frozen=True)
class Open:
    """A value in doubt."""

    dent: int | None
    slot: str
    choices: tuple[Any, ...]
    difference: Decimal


@dataclass(frozen=True)
class Priced:
    """A priced job."""

    currency: str
    lines: tuple[PricedLine, ...]
    net: Money
    tax: Money
    total: Money
    minutes: Money
    confirmed: bool
    unsettled: tuple[Open, ...]
    tax_name: str
    tax_included: bool
    card: str
    hourly_rate: Decimal | None = None
    """Of the card, where a line was made with it."""
    tax_percent: Decimal | None = None

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Priced:
        """From `voicelog.estimate.estimate.Estimate.to_json`, or a quote's snapshot of it."""
        tax = data["tax"]
        return cls(
            currency=str(data["total"]["currency"]),
            lines=tuple(_line(line) for line in data["lines"]),
            net=_money(data["net"]),
            tax=_money(tax),
            total=_money(data["total"]),
            minutes=_money(data["minutes"]),
            confirmed=bool(data["total"]["confirmed"]),
            unsettled=tuple(_open(item) for item in data.get("unsettled", ())),
            tax_name=str(tax.get("name", "")),
            tax_included=bool(tax.get("included", False)),
            card=str(data.get("card", "")),
            hourly_rate=_of_card(data["lines"], "", "hourly_rate"),
            tax_percent=_of_card(data["lines"], "tax", "percent"),
        )

    @property
    def priced_lines(self) -> Iterator[PricedLine]:
        """Lines with a figure that is part of the sum before tax."""
        return (line for line in self.lines if line.amount is not None and line.kind != "tax")

    @property
    def tax_line(self) -> PricedLine | None:
        """The line of the tax; None where no tax is charged."""
        return next((line for line in self.lines if line.kind == "tax"), None)

    @property
    def refusals(self) -> tuple[PricedLine, ...]:
        """Lines that say why there is no number."""
        return tuple(line for line in self.lines if line.kind == "refusal")

    @property
    def advice(self) -> tuple[PricedLine, ...]:
        """Lines of advice."""
        return tuple(line for line in self.lines if line.kind == "advice")


def _money(data: Mapping[str, Any]) -> Money:
    return Decimal(data["low"]), Decimal(data["high"])


def _of_card(lines: Iterable[Mapping[str, Any]], table: str, key: str) -> Decimal | None:
    """A figure of the card that the lines were made with."""
    entries = (entry for line in lines for entry in line["entries"])
    found = (entry["value"] for entry in entries if (entry["table"], entry["key"]) == (table, key))
    return next((Decimal(str(value).rstrip(" %")) for value in found), None)


def _line(data: Mapping[str, Any]) -> PricedLine:
    return PricedLine(
        kind=str(data["kind"]),
        text=str(data["text"]),
        dents=tuple(data["dents"]),
        minutes=_money(data["minutes"]),
        amount=None if data["amount"] is None else _money(data["amount"]),
        counts=bool(data["counts"]),
        effects=tuple(_effect(entry) for entry in data["entries"]),
        cause=str(data["cause"] or ""),
        reason=str(data["reason"] or ""),
    )


def _effect(entry: Mapping[str, Any]) -> tuple[str, str]:
    named = str(entry["table"]).startswith("adders.")
    return (str(entry["key"]) if named else "", str(entry["effect"]))


def _open(data: Mapping[str, Any]) -> Open:
    return Open(data["dent"], str(data["slot"]), tuple(data["choices"]), Decimal(data["difference"]))
