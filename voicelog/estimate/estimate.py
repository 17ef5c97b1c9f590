"""What an estimate is made of: entries of the card, lines, and the estimate.

Amounts and minutes come in pairs, `Range(low, high)`: the figure in the lowest
total and the figure in the highest total that the open values allow.  For a job
without open values the two are equal.  So the lows of all lines add up to the low
total and the highs to the high total.  On one and the same line the low may be the
larger of the two, as when in the highest total another dent takes the first place
on the panel and this one falls to the share of a further dent.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Literal

from voicelog.estimate.money import money_text
from voicelog.meaning.note import Value, plain
from voicelog.meaning.place import Place
from voicelog.meaning.wording import choices_text, measure_text, slot_name
from voicelog.units import Units, format_number

LineKind = Literal[
    "dent", "cap", "set-up", "protection", "take-off", "minimum", "call-out", "discount", "extra", "agreed",
    "asked", "tax",
    "refusal", "advice",
]  # fmt: skip

Cause = Literal[
    "", "paint-broken", "plastic", "beyond-table", "filler", "refinish", "card", "missing",
    "cap", "discount-limit", "wide-range", "replace", "by-hand",
]  # fmt: skip
"""Why a line has no number: a refusal (`card` for one the card adds), or the subject of an advice."""


ZERO = Decimal(0)


@dataclass(frozen=True)
class Range:
    """A figure in the lowest and in the highest total."""

    low: Decimal
    high: Decimal

    @classmethod
    def of(cls, figure: Decimal) -> Range:
        """A figure that is settled."""
        return cls(figure, figure)

    @property
    def settled(self) -> bool:
        """Whether it is one figure."""
        return self.low == self.high

    def __add__(self, other: Range) -> Range:
        return Range(self.low + other.low, self.high + other.high)

    def __sub__(self, other: Range) -> Range:
        """Low minus low and high minus high: both in the same total."""
        return Range(self.low - other.low, self.high - other.high)

    def to_json(self, currency: str | None = None) -> dict[str, str]:
        """As strings: money with the minor digits of `currency`, else minutes to two decimals at most."""
        if currency is None:
            return {"low": format_number(self.low), "high": format_number(self.high)}
        return {"low": money_text(self.low, currency), "high": money_text(self.high, currency)}


@dataclass(frozen=True)
class Entry:
    """One entry of the rate card that made a figure."""

    table: str
    """The table's name in the card, "adders.shape"; empty for the top of the file."""
    key: str
    value: str
    """As the card holds it."""
    effect: str
    """What it did here, a clause for people: "+40 %", "base between 40 mm and 60 mm"."""

    def to_json(self) -> dict[str, str]:
        """JSON-ready form."""
        return {"table": self.table, "key": self.key, "value": self.value, "effect": self.effect}


@dataclass(frozen=True)
class Share:
    """Equal dents of one note that hold places of the same share on their panel."""

    percent: Decimal
    """100 for the first place, then the card's shares."""
    dents: int
    minutes: Decimal
    """Of one dent, after the share."""
    amount: Decimal
    """Of one dent, rounded once."""
    key: str = ""
    """The card's key in [several] that gave the share; empty for the first place, "hail" for all dents of a
    note that the table of [hail] prices: they count as one here, with what they add to those before them."""
    entry: Entry | None = None
    """What of [hail] made it."""


@dataclass(frozen=True)
class Working:
    """How the figure of a dent line came about, in the lowest or in the highest total."""

    values: tuple[tuple[str, Value], ...]
    """The slot values used."""
    place: Place
    base_points: tuple[tuple[Decimal, Decimal], ...]
    """(mm, minutes) of the card: one point, or the two between which the length lies."""
    base_minutes: Decimal
    adders: tuple[Entry, ...]
    percent: Decimal
    """Sum of the percentages."""
    extra_minutes: Decimal
    """Sum of the adders in minutes."""
    full_minutes: Decimal
    """base × (1 + percent/100) + extra: of one dent, before its share."""
    shares: tuple[Share, ...]
    """Together they hold every dent of the note; their order is that of the places on the panel."""

    @property
    def by_table(self) -> bool:
        """Whether the card's table of hail made it."""
        return any(share.entry is not None for share in self.shares)

    @property
    def minutes(self) -> Decimal:
        """Minutes of all dents of the note after their shares."""
        return sum((share.minutes * share.dents for share in self.shares), ZERO)

    @property
    def amount(self) -> Decimal:
        """Money of all dents of the note."""
        return sum((share.amount * share.dents for share in self.shares), ZERO)


@dataclass(frozen=True)
class Line:
    """One line of an estimate."""

    kind: LineKind
    text: str
    """What the line is about, for people, without figures of money."""
    dents: tuple[int, ...] = ()
    """Numbers of the dents it covers."""
    place: Place | None = None
    """The panel it belongs to; None for lines of the whole job."""
    minutes: Range = Range(ZERO, ZERO)
    amount: Range | None = None
    """Rounded to the minor unit; None for a refusal or an advice."""
    counts: bool = True
    """False for a tax that the other lines already include: it is shown, not added."""
    entries: tuple[Entry, ...] = ()
    cause: Cause = ""
    reason: str = ""
    """Refusals and advice: why, and what to do instead."""
    low: Working | None = None
    """Dent lines: the working in the lowest total; None where the dent is not priced there."""
    high: Working | None = None

    def to_json(self, currency: str) -> dict[str, Any]:
        """As `voicelog price --json` prints it."""
        return {
            "kind": self.kind,
            "text": self.text,
            "dents": list(self.dents),
            "place": None
            if self.place is None
            else dict(zip(("panel", "end", "side"), self.place, strict=True)),
            "minutes": self.minutes.to_json(),
            "amount": None if self.amount is None else self.amount.to_json(currency),
            "counts": self.counts,
            "entries": [entry.to_json() for entry in self.entries],
            "cause": self.cause or None,
            "reason": self.reason or None,
        }


@dataclass(frozen=True)
class Unsettled:
    """A value in doubt, and what hangs on it."""

    dent: int | None
    """None for a value of the whole job, such as a reference reading."""
    slot: str
    choices: tuple[Value, ...]
    """The value in force first."""
    difference: Decimal
    """How much narrower the range of the total becomes at least when this value alone is settled."""

    units: Units = "mm"
    """What people read it in."""

    def text(self) -> str:
        """For people: "dent 2: length 15 or 50 mm"."""
        texts = [_said(self.slot, choice, self.units) for choice in self.choices]
        where = "job" if self.dent is None else f"dent {self.dent}"
        return f"{where}: {slot_name(self.slot)} {choices_text(self.slot, texts)}"

    def to_json(self, currency: str) -> dict[str, Any]:
        """JSON-ready form."""
        return {
            "dent": self.dent,
            "slot": self.slot,
            "choices": [plain(choice) for choice in self.choices],
            "difference": money_text(self.difference, currency),
        }


def _said(slot: str, choice: Value, units: Units) -> str:
    if isinstance(choice, tuple):
        return " and ".join(choice) or "none"
    numeric = isinstance(choice, int | Decimal) and not isinstance(choice, bool)
    return measure_text(slot, Decimal(choice), units) if numeric else str(choice)


@dataclass(frozen=True)
class Estimate:
    """A priced job."""

    job: str
    """Id of the job."""
    number: int
    title: str
    currency: str
    card: str
    """Hash of the rate card that made it."""
    damages: tuple[tuple[int, Mapping[str, Any]], ...]
    """(number, JSON-ready slot values) of each dent, in the order of the list."""
    lines: tuple[Line, ...]
    net: Range
    """Without tax."""
    tax: Range
    total: Range
    """What the customer pays: the sum of the lines that count."""
    minutes: Range
    """Of all dents and parts, after shares and caps."""
    confirmed: bool
    """Nothing said is in doubt and no dent lacks what a price needs."""
    unsettled: tuple[Unsettled, ...] = ()
    tax_name: str = ""
    tax_included: bool = False
    exact: bool = field(default=True)
    """False where the range holds every alternative but may be wider than need be."""

    def of(self, dent: int) -> Iterator[Line]:
        """The lines that cover a dent."""
        return (line for line in self.lines if dent in line.dents)

    @property
    def refusals(self) -> tuple[Line, ...]:
        """Every line that says why there is no number."""
        return tuple(line for line in self.lines if line.kind == "refusal")

    @property
    def price_by_hand(self) -> tuple[Line, ...]:
        """The refusals of dents longer than the card's table: their price comes on top."""
        return tuple(line for line in self.refusals if line.cause == "beyond-table")

    @property
    def advice(self) -> tuple[Line, ...]:
        """Every line of advice."""
        return tuple(line for line in self.lines if line.kind == "advice")

    def to_json(self) -> dict[str, Any]:
        """One job as `voicelog price --json` prints it."""
        money = self.currency
        return {
            "job": self.job,
            "number": self.number,
            "title": self.title,
            "damages": [{"number": number, "slots": dict(slots)} for number, slots in self.damages],
            "lines": [line.to_json(money) for line in self.lines],
            "net": self.net.to_json(money),
            "tax": {**self.tax.to_json(money), "name": self.tax_name, "included": self.tax_included},
            "total": {**self.total.to_json(money), "currency": money, "confirmed": self.confirmed},
            "minutes": self.minutes.to_json(),
            "unsettled": [item.to_json(money) for item in self.unsettled],
            "price_by_hand": [dent for line in self.price_by_hand for dent in line.dents],
            "exact": self.exact,
            "card": self.card,
        }
