"""Values as short text for the eye; the ear's form is in `voicelog.meaning.wording`."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from voicelog.estimate.estimate import Range
from voicelog.estimate.money import format_money
from voicelog.jobs.records import Dent
from voicelog.meaning.note import Value
from voicelog.meaning.place import Place, normal
from voicelog.meaning.region import Region
from voicelog.meaning.wording import choices_text, measure_text, name_of, place_text, slot_name, written_value
from voicelog.units import MM_PER_INCH, Units, format_number

EMPTY = "·····"
"""How a slot that nobody spoke of looks."""
MARKED = "?"
"""The mark of a value in doubt: a sign, never colour alone."""

_LABELS = {"phone": "telephone", "vin": "VIN", "belongs_to": "belongs to", "take_off": "take off"}
_BARE = {"open": "open", "limited": "limited", "none": "none", "high": "high spot"}
"""Values beside their label, where "open access" would say the label twice."""


def label(slot: str) -> str:
    """The name of a slot or detail as the board prints it."""
    return _LABELS.get(slot) or slot_name(slot)


@dataclass(frozen=True)
class Wording:
    """How values are written for one region and one unit of length."""

    region: Region = field(default_factory=Region)
    units: Units = "mm"

    def value(self, slot: str, value: Value | None) -> str:
        """One value: "45 mm", "rear", "body line, edge"; dots for none."""
        if value is None:
            return EMPTY
        return written_value(slot, value, name=self._bare, number=self._number) or EMPTY

    def _bare(self, value: str) -> str:
        return _BARE.get(value) or name_of(value, self.region)

    def _number(self, slot: str, value: Decimal) -> str:
        return measure_text(slot, value, self.units)

    @property
    def length_unit(self) -> str:
        """ "mm" or "in"."""
        return "mm" if self.units == "mm" else "in"

    def length(self, mm: int | Decimal) -> str:
        """A length without its unit."""
        return format_number(Decimal(mm) if self.units == "mm" else Decimal(mm) / MM_PER_INCH)

    def choices(self, slot: str, choices: Iterable[Value]) -> str:
        """Values in doubt: "15 or 50 mm"."""
        return choices_text(slot, [self.value(slot, value) for value in choices])

    def place(self, place: Place, *, short: bool = False) -> str:
        """A place on the car: "rear right door"; the end only where it tells panels apart."""
        if not short or place[0] is None:
            return place_text(place, self.region)
        _, end, side = normal(place)
        name = name_of(place[0], self.region).removesuffix(" panel")
        return " ".join([*(part[0] for part in (end, side) if part), name])

    def size(self, dent: Dent) -> str:
        """Length and width: "45 × 30 mm"; empty where neither was said."""
        length, width = dent.get("length_mm"), dent.get("width_mm")
        if length is None and width is None:
            return ""
        text = "?" if length is None else self.length(length)
        return f"{text}{'' if width is None else f' × {self.length(width)}'} {self.length_unit}"

    def money(self, amount: Decimal, currency: str) -> str:
        """An amount as the region writes it."""
        return format_money(amount, currency, self.region.locale)

    def range(self, amount: Range, currency: str) -> str:
        """One figure, or lowest to highest."""
        low = self.money(amount.low, currency)
        return low if amount.settled else f"{low}–{self.money(amount.high, currency)}"
