"""What a rate card holds: the tables of its file, and what may stand in them."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from decimal import Decimal
from functools import cached_property
from itertools import pairwise
from typing import Annotated, Any

from pydantic import Field, PrivateAttr, ValidationInfo, field_validator, model_validator

from voicelog.estimate.card.hail import Hail
from voicelog.estimate.estimate import Entry
from voicelog.estimate.money import currencies, minor_digits, money_text
from voicelog.meaning.region import Region
from voicelog.toml_model import Number, Text, TomlModel, one_of, toml_text
from voicelog.units import Units, format_number
from voicelog.vocabulary import CHOICES

ADDER_SLOTS = ("panel", "material", "shape", "depth", "features", "access", "method")
"""Slots whose values a card may price or refuse, in the order in which they are explained."""

PanelName = Annotated[str, one_of(CHOICES["panel"])]
MaterialName = Annotated[str, one_of(CHOICES["material"])]
ShapeName = Annotated[str, one_of(CHOICES["shape"])]
DepthName = Annotated[str, one_of(CHOICES["depth"])]
FeatureName = Annotated[str, one_of(CHOICES["features"])]
AccessName = Annotated[str, one_of(CHOICES["access"])]
MethodName = Annotated[str, one_of(CHOICES["method"])]
PartName = Annotated[str, one_of(CHOICES["take_off"])]

HUNDRED = Decimal(100)
MOST_KNOWN = 20_000
"""Entries that a card keeps of each kind."""
NONE = Decimal(0)

Percent = Annotated[Number, Field(ge=-90, le=1000)]
Share = Annotated[Number, Field(ge=0, le=100)]
Minutes = Annotated[Number, Field(ge=0, le=10000)]
Positive = Annotated[Number, Field(gt=0, le=10000)]
Amount = Annotated[Number, Field(ge=0)]


class Adder(TomlModel):
    """What one value adds: percent of the base minutes, minutes, or both."""

    percent: Percent = NONE
    minutes: Minutes = NONE

    @cached_property
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


class MethodAdder(Adder):
    """What a method adds: also the minutes to set it up, once a panel."""

    setup_minutes: Minutes = NONE

    @cached_property
    def effect(self) -> str:
        """For people: "+10 min set-up once a panel"."""
        if not self.setup_minutes:
            return super().effect
        setup = f"{signed(self.setup_minutes)} min set-up once a panel"
        return f"{super().effect}, {setup}" if self.percent or self.minutes else setup


def signed(value: Decimal) -> str:
    """A number with its sign: "+40", "−10"."""
    return f"{'−' if value < 0 else '+'}{format_number(abs(value))}"


class Adders(TomlModel):
    """What the values of each slot add, by canonical value."""

    panel: Mapping[PanelName, Adder] = {}
    material: Mapping[MaterialName, Adder] = {}
    shape: Mapping[ShapeName, Adder] = {}
    depth: Mapping[DepthName, Adder] = {}
    features: Mapping[FeatureName, Adder] = {}
    access: Mapping[AccessName, Adder] = {}
    method: Mapping[MethodName, MethodAdder] = {}

    def of(self, slot: str) -> Mapping[str, Adder]:
        """The values of one of `ADDER_SLOTS`."""
        found: Mapping[str, Adder] = getattr(self, slot)
        return found

    @model_validator(mode="after")
    def _above_nought(self) -> Adders:
        """The reductions of a dent may not eat its base minutes up."""
        worst = NONE
        for slot in ADDER_SLOTS:
            reductions = [min(adder.percent, NONE) for adder in self.of(slot).values()]
            worst += sum(reductions, NONE) if slot == "features" else min(reductions, default=NONE)
        if worst <= -HUNDRED:
            raise ValueError(f"the reductions come to {worst} percent and must together stay above -100")
        return self


class Refusals(TomlModel):
    """Why a value is refused and what to do instead; `cause` rewords the refusals that always hold."""

    panel: Mapping[PanelName, Text] = {}
    material: Mapping[MaterialName, Text] = {}
    shape: Mapping[ShapeName, Text] = {}
    depth: Mapping[DepthName, Text] = {}
    features: Mapping[FeatureName, Text] = {}
    access: Mapping[AccessName, Text] = {}
    method: Mapping[MethodName, Text] = {}
    cause: Mapping[Annotated[str, one_of(("beyond-table", "filler", "refinish"))], Text] = {}

    def of(self, slot: str) -> Mapping[str, str]:
        """The values of one of `ADDER_SLOTS`, or of "cause"."""
        found: Mapping[str, str] = getattr(self, slot)
        return found


class Tax(TomlModel):
    """The tax on the whole sum; state and local rates are given as one."""

    name: Text = "Tax"
    percent: Share = NONE
    included: bool = False
    """Whether all prices of the card already hold it."""


class Base(TomlModel):
    """Minutes of one round, shallow dent in steel by its longest extent."""

    points: tuple[tuple[Positive, Positive], ...]
    """(longest extent in mm, minutes), rising in mm, never falling in minutes."""

    @field_validator("points")
    @classmethod
    def _rising(cls, points: tuple[tuple[Decimal, Decimal], ...]) -> tuple[tuple[Decimal, Decimal], ...]:
        if len(points) < 2:
            raise ValueError("should have at least 2 pairs [mm, minutes]")
        for before, point in pairwise(points):
            if point[0] <= before[0] or point[1] < before[1]:
                raise ValueError(
                    f"{toml_text(before)} then {toml_text(point)}: mm must rise, minutes never fall"
                )
        return points


class WidthRule(Adder):
    """What a dent adds that is nearly as wide as it is long."""

    percent: Annotated[Number, Field(ge=0, le=1000)] = NONE
    over_percent: Share
    """Applies where the width is over this share of the length."""


class PaintRules(TomlModel):
    """Thresholds in micrometres; None for a rule the card does not have."""

    thick_above_um: Positive | None = None
    thick_percent: Percent = NONE
    thick_minutes: Minutes = NONE
    refinished_above_um: Positive | None = None
    over_reference_um: Positive | None = None
    """A reading this much over the reference counts as refinished too."""
    filler_above_um: Positive | None = None
    chip_may_stay: bool = False
    """Whether a dent with broken paint may be pushed where the customer knows that the chip stays."""

    @model_validator(mode="after")
    def _ordered(self) -> PaintRules:
        limits = [self.thick_above_um, self.refinished_above_um, self.filler_above_um]
        given = [limit for limit in limits if limit is not None]
        if given != sorted(given):
            raise ValueError("thick_above_um, refinished_above_um, filler_above_um may not fall")
        return self

    @cached_property
    def thick(self) -> Adder:
        """What thick paint adds."""
        return Adder(percent=self.thick_percent, minutes=self.thick_minutes)


def _second(given: dict[str, Any]) -> Decimal:
    second: Decimal = given.get("second_percent", HUNDRED)
    return second


class Several(TomlModel):
    """Several dents on one panel."""

    second_percent: Share = HUNDRED
    further_percent: Share = Field(default_factory=_second)
    cap_minutes: Positive | None = None
    cap_minutes_by_panel: Mapping[PanelName, Positive] = {}
    above_cap: tuple[Annotated[str, one_of((*ADDER_SLOTS, *CHOICES["features"]))], ...] = (
        "material", "depth", "brace",
    )  # fmt: skip
    """Slots and features whose adders raise a panel's cap (see `pricing.panel_shares`)."""

    @field_validator("further_percent")
    @classmethod
    def _falling(cls, further: Decimal, info: ValidationInfo) -> Decimal:
        second = _second(info.data)
        if further > second:
            raise ValueError(f"should be from 0 to second_percent ({second})")
        return further

    def cap(self, panel: str | None) -> tuple[Decimal, Entry] | None:
        """Most minutes a panel is charged, and the entry that says so; None without a cap."""
        table, key, minutes = "several", "cap_minutes", self.cap_minutes
        if panel is not None and panel in self.cap_minutes_by_panel:
            table, key, minutes = "several.cap_minutes_by_panel", panel, self.cap_minutes_by_panel[panel]
        if minutes is None:
            return None
        text = format_number(minutes)
        return minutes, Entry(table, key, text, f"at most {text} min a panel")


class UsualMaterial(TomlModel):
    """What a panel may be made of where nobody said it: the price is a range over these."""

    every_panel: Annotated[tuple[MaterialName, ...], Field(min_length=1)] = ("steel", "aluminium")
    by_panel: Mapping[PanelName, Annotated[tuple[MaterialName, ...], Field(min_length=1)]] = {}

    def of(self, panel: str | None) -> tuple[str, ...]:
        """For a panel by its name."""
        return self.by_panel.get(panel or "", self.every_panel)


class CorrosionProtection(TomlModel):
    """Cavity protection renewed where a tool went behind the panel, once a panel."""

    minutes: Minutes = NONE
    after: tuple[AccessName, ...] = ("open", "trim-off", "limited")


class ConventionalRepair(TomlModel):
    """What filling and painting, or a new panel, commonly comes to, before tax: for comparison only."""

    every_panel: Annotated[Number, Field(gt=0)] | None = None
    by_panel: Mapping[PanelName, Annotated[Number, Field(gt=0)]] = {}

    def of(self, panel: str | None) -> tuple[Decimal, Entry] | None:
        """For a panel by its name, and the entry that says so; None where the card has none."""
        table, key, amount = "conventional_repair", "every_panel", self.every_panel
        if panel is not None and panel in self.by_panel:
            table, key, amount = "conventional_repair.by_panel", panel, self.by_panel[panel]
        return None if amount is None else (amount, Entry(table, key, f"{amount:f}", "for comparison"))


class Speed(TomlModel):
    """The person's own minutes over the card's: for how long work takes, never for what it costs."""

    all: Annotated[Number, Field(gt=0, le=10)] = Decimal(1)
    by_value: Mapping[
        Annotated[str, one_of((*ADDER_SLOTS, "size"))], Mapping[str, Annotated[Number, Field(gt=0, le=10)]]
    ] = {}
    """By slot (or "size") and its value (or size band)."""


Wanted = Annotated[str, one_of(("order", "stock", "claim", "policy", "insurer", "plate", "vin"))]
"""References that a customer wants on invoices."""


class Terms(TomlModel):
    """What an agreement says besides prices; filled in by `voicelog.estimate.agreements`."""

    agreement: Text | None = None
    payment_days: Annotated[int, Field(ge=0, le=3650)] | None = None
    wanted: tuple[Wanted, ...] = ()


class Charges(TomlModel):
    """Charges of the whole job, in money."""

    minimum: Amount = NONE
    call_out: Amount = NONE
    max_discount_percent: Share = NONE


def customer_key(name: str) -> str:
    """A customer's name without what does not matter: case and spaces."""
    return " ".join(name.casefold().split())


class Card(TomlModel):
    """A valid rate card; `voicelog.estimate.card` reads one."""

    name: Text = "Rate card"
    region: Annotated[str, Field(pattern="^[A-Z]{2}$")] = "GB"
    """ISO 3166 alpha-2 code: decides the trade words of the lines."""
    currency: Annotated[str, one_of(sorted(currencies()))]
    """ISO 4217 code."""
    hourly_rate: Annotated[Number, Field(gt=0)]
    units: Units = Field(default_factory=lambda given: "inch" if given.get("region") == "US" else "mm")
    tax: Tax = Tax()
    base: Base
    adders: Adders = Adders()
    width: WidthRule | None = None
    paint: PaintRules = PaintRules()
    several: Several = Several()
    hail: Hail = Hail()
    usual_material: UsualMaterial = UsualMaterial()
    corrosion_protection: CorrosionProtection = CorrosionProtection()
    flat_by_panel: Mapping[PanelName, Amount] = {}
    """Prices of whole panels in place of their dents, set-up and protection; parts come on top."""
    terms: Terms = Terms()
    conventional_repair: ConventionalRepair = ConventionalRepair()
    speed: Speed = Speed()
    take_off: Mapping[PartName, Minutes] = {}
    """Minutes to take off and put back, by item."""
    charges: Charges = Charges()
    refusals: Refusals = Refusals()

    _text: str = PrivateAttr("")
    _customers: dict[str, Card] = PrivateAttr(default_factory=dict)

    @field_validator("charges")
    @classmethod
    def _payable(cls, charges: Charges, info: ValidationInfo) -> Charges:
        digits = minor_digits(info.data.get("currency", "KWD"))
        for key in ("minimum", "call_out"):
            amount: Decimal = getattr(charges, key)
            if amount != round(amount, digits):
                raise ValueError(f"{key} = {amount} should have at most {digits} decimals")
        return charges

    def with_customers(self, own: Mapping[str, Card]) -> Card:
        """This card, knowing the cards of customers with an agreement, by the key of their names."""
        self._customers = dict(own)
        return self

    def of_customer(self, name: Any) -> Card:
        """The card for a customer: that of the agreement, else this one."""
        return self._customers.get(customer_key(str(name or "")), self)

    def with_text(self, text: str) -> Card:
        """This card, known as read from `text`."""
        self._text = text
        return self

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Card:
        """A copy with other values, that knows nothing yet."""
        made = super().model_copy(update=update, deep=deep)
        for name in set(made.__dict__) - set(type(made).model_fields):
            del made.__dict__[name]
        return made

    @property
    def text(self) -> str:
        """The file it was read from."""
        return self._text

    @cached_property
    def memory(self) -> dict[str, dict[Any, Any]]:
        """Where `known` keeps what it is asked for."""
        return {}

    def known(self, what: str) -> dict[Any, Any]:
        """Figures that hang on this card alone, kept so that the next price need not work them out."""
        found = self.memory.setdefault(what, {})
        if len(found) > MOST_KNOWN:
            found.clear()
        return found

    @cached_property
    def hash(self) -> str:
        """SHA-256 of the text, hexadecimal."""
        return hashlib.sha256(self._text.encode()).hexdigest()

    @property
    def points(self) -> tuple[tuple[Decimal, Decimal], ...]:
        """(longest extent in mm, minutes)."""
        return self.base.points

    @cached_property
    def words(self) -> Region:
        """The region whose trade words the lines use."""
        return Region(self.region, self.units)

    @cached_property
    def adders_by_value(self) -> Mapping[tuple[str, str], tuple[Adder, Entry, bool]]:
        """(slot, value) -> its adder, the entry it is, and whether it raises a panel's cap."""
        above = self.several.above_cap
        return {
            (slot, value): (adder, adder.entry(f"adders.{slot}", value), slot in above or value in above)
            for slot in ADDER_SLOTS
            for value, adder in self.adders.of(slot).items()
        }

    @property
    def digits(self) -> int:
        """Decimals of the currency."""
        return minor_digits(self.currency)

    @cached_property
    def rate_entry(self) -> Entry:
        """The hourly rate as an entry."""
        rate = max(money_text(self.hourly_rate, self.currency), f"{self.hourly_rate:f}", key=len)
        return Entry("", "hourly_rate", rate, f"{rate} {self.currency} an hour")
