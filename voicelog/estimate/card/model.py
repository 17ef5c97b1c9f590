"""What a rate card holds, and what can be wrong with one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType

from voicelog.errors import VoicelogError
from voicelog.estimate.estimate import Entry
from voicelog.estimate.money import Units, format_number, minor_digits, money_text
from voicelog.meaning.region import Region

ADDER_SLOTS = ("panel", "material", "shape", "depth", "features", "access", "method")
"""Slots whose values a card may price or refuse, in the order in which they are explained."""


@dataclass(frozen=True)
class Adder:
    """What one value adds: percent of the base minutes, minutes, or both."""

    percent: Decimal = Decimal(0)
    minutes: Decimal = Decimal(0)

    @property
    def effect(self) -> str:
        """For people: "+40 %", "+5 min", "−10 %"."""
        parts = []
        if self.percent:
            parts.append(f"{signed(self.percent)} %")
        if self.minutes:
            parts.append(f"{signed(self.minutes)} min")
        return " and ".join(parts) or "no change"

    def entry(self, table: str, key: str) -> Entry:
        """This adder as the entry of the card it is."""
        return Entry(table, key, self.effect, self.effect)


def signed(value: Decimal) -> str:
    """A number with its sign: "+40", "−10"."""
    return f"{'−' if value < 0 else '+'}{format_number(abs(value))}"


@dataclass(frozen=True)
class Tax:
    """The tax on the whole sum; state and local rates are given as one."""

    name: str = "Tax"
    percent: Decimal = Decimal(0)
    included: bool = False
    """Whether all prices of the card already hold it."""


@dataclass(frozen=True)
class WidthRule:
    """What a dent adds that is nearly as wide as it is long."""

    over_percent: Decimal
    """Applies where the width is over this share of the length."""
    adder: Adder


@dataclass(frozen=True)
class PaintRules:
    """Thresholds in micrometres; None for a rule the card does not have."""

    thick_above_um: Decimal | None = None
    thick: Adder = Adder()
    refinished_above_um: Decimal | None = None
    over_reference_um: Decimal | None = None
    """A reading this much over the reference counts as refinished too."""
    filler_above_um: Decimal | None = None


@dataclass(frozen=True)
class Several:
    """Several dents on one panel."""

    second_percent: Decimal = Decimal(100)
    further_percent: Decimal = Decimal(100)
    cap_minutes: Decimal | None = None
    cap_by_panel: Mapping[str, Decimal] = field(default_factory=lambda: MappingProxyType({}))

    def cap(self, panel: str | None) -> tuple[Decimal, Entry] | None:
        """Most minutes a panel is charged, and the entry that says so; None without a cap."""
        table, key, minutes = "several", "cap_minutes", self.cap_minutes
        if panel is not None and panel in self.cap_by_panel:
            table, key, minutes = "several.cap_minutes_by_panel", panel, self.cap_by_panel[panel]
        if minutes is None:
            return None
        text = format_number(minutes)
        return minutes, Entry(table, key, text, f"at most {text} min a panel")


@dataclass(frozen=True)
class Charges:
    """Charges of the whole job, in money."""

    minimum: Decimal = Decimal(0)
    call_out: Decimal = Decimal(0)
    max_discount_percent: Decimal = Decimal(0)


@dataclass(frozen=True)
class Card:
    """A valid rate card."""

    hash: str
    """SHA-256 of the text, hexadecimal."""
    text: str
    name: str
    region: str
    """ISO 3166 alpha-2 code: decides the trade words of the lines."""
    units: Units
    currency: str
    """ISO 4217 code."""
    hourly_rate: Decimal
    points: tuple[tuple[Decimal, Decimal], ...]
    """(longest extent in mm, minutes), rising in mm, never falling in minutes."""
    tax: Tax = Tax()
    adders: Mapping[str, Mapping[str, Adder]] = field(default_factory=lambda: MappingProxyType({}))
    """By slot (`ADDER_SLOTS`), then by canonical value."""
    width: WidthRule | None = None
    paint: PaintRules = PaintRules()
    several: Several = Several()
    take_off: Mapping[str, Decimal] = field(default_factory=lambda: MappingProxyType({}))
    """Minutes to take off and put back, by item."""
    charges: Charges = Charges()
    refusals: Mapping[str, Mapping[str, str]] = field(default_factory=lambda: MappingProxyType({}))
    """By slot (or "cause") and value: why it is refused and what to do instead."""

    @property
    def words(self) -> Region:
        """The region whose trade words the lines use."""
        return Region(self.region)

    @property
    def digits(self) -> int:
        """Decimals of the currency."""
        return minor_digits(self.currency)

    @property
    def rate_entry(self) -> Entry:
        """The hourly rate as an entry."""
        rate = max(money_text(self.hourly_rate, self.currency), f"{self.hourly_rate:f}", key=len)
        return Entry("", "hourly_rate", rate, f"{rate} {self.currency} an hour")


@dataclass(frozen=True)
class Problem:
    """One thing wrong with a card."""

    table: str
    """Empty for the top of the file."""
    key: str
    """Empty where the whole table is meant."""
    value: str
    """As written; empty where it is missing."""
    allowed: str
    """What may stand there."""
    nearest: str = ""
    """The nearest known spelling."""

    def line(self) -> str:
        """As one line: "[adders.shape] creese = …: unknown key; allowed: …; did you mean crease?"."""
        where = f"[{self.table}] " if self.table else ""
        shown = f"{self.key or 'table'} = {self.value}" if self.value else f"{self.key or 'table'} is missing"
        hint = f"; did you mean {self.nearest}?" if self.nearest else ""
        return f"{where}{shown}: allowed is {self.allowed}{hint}"


class CardError(VoicelogError):
    """A rate card that cannot be used, with every problem in it."""

    def __init__(self, problems: list[Problem], *, where: str) -> None:
        self.problems = problems
        super().__init__(
            " | ".join(problem.line() for problem in problems),
            where=where,
            todo="mend the card, or print a fresh one with 'voicelog card new'",
        )
