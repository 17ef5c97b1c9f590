"""What each dent may be: one `Option` for every way its open values can turn out.

Only what changes the price tells options apart: the panel, the full minutes, the
count, the parts to take off, and whether it is priced at all.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import product
from math import prod
from typing import Any

from voicelog.estimate.card.model import Card
from voicelog.estimate.pricing.minutes import Assessment, Effort, assess, effort_of
from voicelog.estimate.pricing.possible_values import OTHER_SLOTS, PLACE_SLOTS, Choices
from voicelog.jobs.records import Dent
from voicelog.meaning.note import Value
from voicelog.meaning.place import Place, normal

MOST_COMBINATIONS = 1024
"""Of one dent's open values that are worked through; above, only their bounds are."""

_NOT_JUDGED = frozenset({"count", "take_off", "end", "side"})
"""Slots that do not change the minutes of one dent."""


Spot = tuple[Place, int]
"""A panel, with a number that tells several of the same place apart."""


@dataclass(frozen=True)
class Option:
    """One way a dent can turn out."""

    dent: int
    values: Mapping[str, Any]
    place: Place
    assessment: Assessment
    count: int = 1
    take_off: frozenset[str] = frozenset()
    alone: bool = False
    """On a panel with no other dent; in an upper bound also where there may be others."""
    pooled: Spot | None = None
    """In a lower bound: the one panel that stands for all that it and others may be on."""

    @property
    def effort(self) -> Effort | None:
        """None where the dent is not priced."""
        return self.assessment.effort

    @property
    def spot(self) -> Spot:
        """The panel it shares with others; a number other than nought for one that is not on the car."""
        return self.pooled or (self.place, self.dent if self.alone else 0)

    @property
    def key(self) -> tuple[Any, ...]:
        """Equal for options between which no price and no line can tell."""
        causes = tuple(found.cause for found in (*self.assessment.refusals, *self.assessment.advice))
        if self.effort is None:
            return (causes,)
        return (causes, self.spot, self.effort.full_minutes, self.count, self.take_off)


@dataclass(frozen=True)
class DentOptions:
    """A dent with all its options."""

    dent: int
    options: tuple[Option, ...]
    exact: bool = True
    """False where there were too many combinations: the options are only bounds."""
    open_slots: Mapping[str, tuple[Value, ...]] = field(default_factory=dict)
    """Slots in doubt and their choices, the value in force first."""


class Options:
    """Makes the options of a job's dents; equal dents are judged once."""

    def __init__(self, choices: Choices, card: Card) -> None:
        self.choices = choices
        self.card = card
        self._judged: dict[tuple[tuple[str, Any], ...], Assessment] = {}

    def of(self, dent: Dent) -> DentOptions:
        """Every way the dent can turn out."""
        choices = self.choices
        spots, readings = choices.spots(dent), choices.readings(dent)
        others = [choices.of(dent, slot) for slot in OTHER_SLOTS]
        references = {place: choices.references(place) for place, _ in spots}
        combinations = prod(map(len, others)) * len(readings) * sum(len(references[p]) for p, _ in spots)
        open_slots = choices.open_slots(dent)
        if combinations > MOST_COMBINATIONS:
            return DentOptions(dent.number, self._bounds(dent), exact=False, open_slots=open_slots)
        found: dict[tuple[Any, ...], Option] = {}
        for place, alone in spots:
            for reading, reference, *said in product(readings, references[place], *others):
                option = self._option(dent.number, place, said, reading, reference, alone=alone)
                found.setdefault(option.key, option)
        return DentOptions(dent.number, tuple(found.values()), open_slots=open_slots)

    def said(self, dent: Dent, changed: Mapping[str, Any]) -> Option:
        """The option by the values in force but for those `changed`: slots, `paint_um`, `spot`."""
        choices = self.choices

        def value(slot: str) -> Any:
            return changed[slot] if slot in changed else choices.of(dent, slot)[0]

        place, alone = changed.get("spot") or (normal([value(slot) for slot in PLACE_SLOTS]), False)
        reading = changed["paint_um"] if "paint_um" in changed else choices.readings(dent)[0]
        others = [value(slot) for slot in OTHER_SLOTS]
        return self._option(dent.number, place, others, reading, choices.references(place)[0], alone=alone)

    def _option(
        self, number: int, place: Place, others: Sequence[Any], reading: Any, reference: Any, *, alone: bool
    ) -> Option:
        every = {
            **dict(zip(PLACE_SLOTS, place, strict=True)),
            **dict(zip(OTHER_SLOTS, others, strict=True)),
            "paint_um": reading,
            "reference_um": reference,
        }
        values = {slot: value for slot, value in every.items() if value is not None}
        count = values.get("count", 1)
        key = tuple(item for item in values.items() if item[0] not in _NOT_JUDGED)
        # A count that makes no sense is a refusal, so it belongs to what is judged.
        key = key if count >= 1 else (*key, ("count", count))
        assessment = self._judged.get(key)
        if assessment is None:
            assessment = self._judged[key] = assess(values, self.card)
        return Option(number, values, place, assessment, int(count), items(values.get("take_off")), alone)

    def _bounds(self, dent: Dent) -> tuple[Option, ...]:
        """As said; not priced at all; and on each panel the most minutes, dents and parts it can have.

        The most minutes come from the longest extent with each slot's dearest value: percent of
        a base that is never negative, so no other combination is above it.
        """
        choices = self.choices
        first = self.said(dent, {})
        nothing = Option(dent.number, first.values, first.place, Assessment(None))
        sizes = [v for slot in ("length_mm", "width_mm") for v in choices.of(dent, slot) if v is not None]
        counts = [int(v) for v in choices.of(dent, "count") if v is not None and v >= 1]
        parts = frozenset[str]().union(*(items(value) for value in choices.of(dent, "take_off")))
        readings = [value for value in choices.readings(dent) if value is not None]
        extent = min(max(sizes, default=Decimal(0)), self.card.points[-1][0])
        if extent <= 0:
            return (first, nothing)
        tops = []
        for place, alone in choices.spots(dent):
            values = {slot: list(choices.of(dent, slot)) for slot in OTHER_SLOTS}
            values.update({slot: [part] for slot, part in zip(PLACE_SLOTS, place, strict=True)})
            values.update(length_mm=[extent], width_mm=[extent], paint_um=[max(readings, default=None)])
            effort = effort_of(dearest(values, extent, self.card), self.card)
            most = max(counts, default=1)
            tops.append(Option(dent.number, first.values, place, Assessment(effort), most, parts, alone))
        return (first, nothing, *tops)


def dearest(values: Mapping[str, Sequence[Any]], extent: Decimal, card: Card) -> dict[str, Any]:
    """Of each slot's values the one that adds most at this extent."""
    chosen: dict[str, Any] = {"length_mm": extent, "width_mm": extent}
    for slot, choices in values.items():
        if slot in chosen:
            continue
        sized = {"length_mm": extent}
        minutes = [effort_of({**sized, slot: choice}, card).full_minutes for choice in choices]
        chosen[slot] = choices[minutes.index(max(minutes))]
    return {slot: value for slot, value in chosen.items() if value is not None}


def items(value: Any) -> frozenset[str]:
    """The parts of a take_off value."""
    if value is None:
        return frozenset()
    return frozenset((value,) if isinstance(value, str) else value)
