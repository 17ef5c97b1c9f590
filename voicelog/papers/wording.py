"""Values as the papers write them: trade words, units, money, dates of the workshop's region."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

from babel.dates import format_date, format_time
from babel.numbers import format_decimal

from voicelog.estimate.money import format_money
from voicelog.meaning.note import Value
from voicelog.meaning.place import Place
from voicelog.meaning.wording import name_of, place_text, slot_name, written_value
from voicelog.papers.letterhead import Letterhead
from voicelog.papers.text import isolated
from voicelog.units import figure, format_length, format_number
from voicelog.vocabulary import LENGTHS, THICKNESSES

NO_BREAK: Final = "\u00a0"
"""A space at which no line is broken, between a figure and its unit."""
NOT_SETTLED: Final = "not settled"
TO_BE_CONFIRMED: Final = "to be confirmed"
"""What a customer reads of a value in doubt; which values it may have is for the technician."""
MINUS: Final = "\u2212"
_AMERICAN: Final = {"Registration": "License plate", "Colour": "Color"}
_THIN_SPACES: Final = str.maketrans("\u202f\u2009", "\u00a0\u00a0")
"""Narrow spaces that many fonts lack, which stand before AM and PM."""

Money = tuple[Decimal, Decimal]
"""(lowest, highest); equal where the figure is settled."""


@dataclass(frozen=True)
class Words:
    """The wording of one workshop's papers."""

    letterhead: Letterhead

    def name(self, value: str) -> str:
        """A canonical value in trade words: "boot" or "trunk"."""
        return name_of(value, self.letterhead.region)

    def slot(self, slot: str) -> str:
        """The name of a slot: "length"."""
        return slot_name(slot)

    def title(self, name: str) -> str:
        """The name of a fact: "Registration", or "License plate" across the sea."""
        return _AMERICAN.get(name, name) if self.letterhead.region.american else name

    def place(self, place: Place) -> str:
        """A place on the car: "rear right door"; the end only where it tells panels apart."""
        return place_text(place, self.letterhead.region)

    def value(self, slot: str, value: Value | None) -> str:
        """One value of a slot; empty for None."""
        if value is None:
            return ""
        return written_value(slot, value, name=self.name, number=self._number, free=isolated) or "none"

    def _number(self, slot: str, value: Decimal) -> str:
        if slot in LENGTHS:
            return self.length(value)
        if slot in THICKNESSES:
            return self.thickness(value)
        return format_number(value)

    def choices(self, slot: str, values: Iterable[Value]) -> str:
        """Values in doubt: "15 mm or 50 mm"."""
        return " or ".join(self.value(slot, value) for value in values)

    def length(self, mm: Decimal | int) -> str:
        """A length in the workshop's unit."""
        text = format_length(Decimal(mm), self.letterhead.units, self.letterhead.locale)
        return text.replace(" ", NO_BREAK)

    def extent(self, length_mm: Decimal | int, width_mm: Decimal | int) -> str:
        """Length and width with the unit said once: "45 × 30 mm"."""
        length, width = self.length(length_mm), self.length(width_mm)
        number, _, unit = length.rpartition(NO_BREAK)
        same = number and width.endswith(f"{NO_BREAK}{unit}")
        return f"{number if same else length}{NO_BREAK}×{NO_BREAK}{width}"

    def thickness(self, um: Decimal | int) -> str:
        """A paint thickness: "142 µm", or mils to one decimal with the micrometres behind."""
        micrometres = f"{format_number(Decimal(um))}{NO_BREAK}µm"
        if self.letterhead.units == "mm":
            return micrometres
        return f"{figure(Decimal(um), 'inch')}{NO_BREAK}mils ({micrometres})"

    def money(self, amount: Decimal, currency: str) -> str:
        """An amount as the region writes it."""
        text = format_money(amount, currency, self.letterhead.locale).translate(_THIN_SPACES)
        return text.replace("-", MINUS)

    def range(self, figures: Money, currency: str) -> str:
        """One figure, or lowest to highest; never a single one for a range."""
        low, high = figures
        if low == high:
            return self.money(low, currency)
        return f"{self.money(min(low, high), currency)} – {self.money(max(low, high), currency)}"

    def odometer(self, distance: Any) -> str:
        """A distance in the unit of the country: "62,000 miles"."""
        unit = "miles" if self.letterhead.region.distance == "miles" else "km"
        return f"{format_decimal(distance, '#,##0', self.letterhead.locale)}{NO_BREAK}{unit}"

    def minutes(self, figures: Money) -> str:
        """Minutes to one decimal without their unit, one figure or two."""
        low, high = (
            format_decimal(figure, "0.0", self.letterhead.locale, decimal_quantization=True)
            for figure in sorted(figures)
        )
        return low if low == high else f"{low} – {high}"

    def moment(self, iso: str) -> datetime:
        """A recorded time in the time zone of the papers."""
        at = datetime.fromisoformat(iso)
        zone = self.letterhead.zone()
        return at if zone is None or at.tzinfo is None else at.astimezone(zone)

    def date(self, at: str | date) -> str:
        """A date in words: "2 March 2026"."""
        day = self.moment(at) if isinstance(at, str) else at
        return format_date(day, "long", self.letterhead.locale).translate(_THIN_SPACES)

    def time(self, iso: str) -> str:
        """A time of day with its seconds left out: "14:05" or "2:05 PM"."""
        at = self.moment(iso).replace(tzinfo=None)
        return format_time(at, "short", locale=self.letterhead.locale).translate(_THIN_SPACES)

    def date_time(self, iso: str) -> str:
        """Date and time."""
        return f"{self.date(iso)}, {self.time(iso)}"


def listed(items: Iterable[Any]) -> str:
    """Items side by side: "1, 2, 5"."""
    return ", ".join(str(item) for item in items)


def known(text: Any) -> str:
    """A detail that somebody wrote, made harmless; empty for None."""
    return "" if text is None else isolated(str(text))
