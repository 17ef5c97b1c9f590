"""What each dent may be: one `Option` for every way its open values can turn out.

Only what changes the price tells options apart: the panel, the full minutes, the
count, the parts to take off, and whether it is priced at all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import product
from math import prod
from typing import Any

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO
from voicelog.estimate.pricing.hail_table import Counted
from voicelog.estimate.pricing.minutes import Assessment, Effort, assess, effort_of
from voicelog.estimate.pricing.panel_material import PanelMaterials
from voicelog.estimate.pricing.parts import completions, part_place
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

Part = tuple[str, Place, int]
"""A part that comes off: item, place, and the dent it surely belongs to alone, else nought."""


@dataclass(frozen=True)
class Option:
    """One way a dent can turn out."""

    dent: int
    values: Mapping[str, Any]
    place: Place
    assessment: Assessment
    count: int = 1
    take_off: frozenset[str] = frozenset()
    parts: frozenset[Part] = frozenset()
    """The items of `take_off` with their places."""
    alone: bool = False
    """On a panel with no other dent; in an upper bound also where there may be others."""
    pooled: Spot | None = None
    """In a lower bound: the one panel that stands for all that it and others may be on."""

    @property
    def effort(self) -> Effort | None:
        """None where the dent is not priced."""
        return self.assessment.effort

    def for_dent(self, number: int) -> Option:
        """The same option of an equal dent."""
        return Option(number, self.values, self.place, self.assessment, self.count, self.take_off, self.parts)

    @property
    def spot(self) -> Spot:
        """The panel it shares with others; a number other than nought for one that is not on the car."""
        return self.pooled or (self.place, self.dent if self.alone else 0)

    @property
    def key(self) -> tuple[Any, ...]:
        """The same for options that give the same price and the same lines."""
        causes = tuple(found.cause for found in (*self.assessment.refusals, *self.assessment.advice))
        if self.effort is None:
            return (causes,)
        return (causes, self.spot, self.size, self.parts)

    @property
    def size(self) -> tuple[Decimal, ...]:
        """Figures of which none can lower a total when it rises; empty where the dent is not priced."""
        effort = self.effort
        if effort is None:
            return ()
        base, more = effort.base_minutes, effort.surcharge_minutes
        once = (effort.setup_minutes, effort.protection_minutes)
        table = () if effort.counted is None else (Decimal(effort.counted.column), effort.counted.percent)
        return (effort.full_minutes, Decimal(self.count), base, more / base, *once, *table)


@dataclass(frozen=True)
class DentOptions:
    """A dent with all its options."""

    dent: int
    options: tuple[Option, ...]
    exact: bool = True
    """False where there were too many combinations: the options are only bounds."""
    loose: bool = False
    """Whether some combinations with other dents' options cannot be: one panel has one material."""
    open_slots: Mapping[str, tuple[Value, ...]] = field(default_factory=dict)
    """Slots in doubt and their choices, the value in force first."""


class Options:
    """Makes the options of a job's dents."""

    def __init__(self, choices: Choices, card: Card) -> None:
        self.choices = choices
        self.card = card
        self.materials = PanelMaterials(choices, card)
        said = (items(value) for dent in choices.dents for value in choices.of(dent, "take_off"))
        self._takers = Counter(item for found in said for item in found)

    def of(self, dent: Dent) -> DentOptions:
        """Every way the dent can turn out."""
        choices = self.choices
        spots, readings = choices.spots(dent), choices.readings(dent)
        materials = {spot: self.materials.of(dent, spot[0], alone=spot[1]) for spot in spots}
        others = [self.values_of(dent, slot) for slot in OTHER_SLOTS if slot != "material"]
        references = {place: choices.references(place) for place, _ in spots}
        combinations = prod(map(len, others)) * len(readings)
        combinations *= sum(len(references[spot[0]]) * len(materials[spot].values) for spot in spots)
        open_slots = self._open(dent)
        if combinations > MOST_COMBINATIONS:
            return DentOptions(dent.number, self._bounds(dent), exact=False, open_slots=open_slots)
        found: dict[tuple[Any, ...], Option] = {}
        for place, alone in spots:
            there = materials[place, alone].values
            for reading, reference, *said in product(readings, references[place], there, *others):
                for option in self._options(dent.number, place, [*said, reading, reference], alone=alone):
                    found.setdefault(option.key, option)
        loose = any(material.loose for material in materials.values())
        return DentOptions(dent.number, tuple(found.values()), loose=loose, open_slots=open_slots)

    def values_of(self, dent: Dent, slot: str) -> tuple[Any, ...]:
        """What a slot may be: as said, else what the card's table of hail says of such a dent."""
        found, hail = self.choices.of(dent, slot), self.card.hail
        if slot == "count" and dent.get("square_mm"):
            return self._in_square(dent)
        if found != (None,):
            return found
        if slot == "count" and dent.get("density"):
            ends = {n for word in self.choices.of(dent, "density") for n in hail.counts.get(word, ())}
            return tuple(sorted(ends)) or found
        if slot == "length_mm" and dent.get("oversize") and hail.oversize_mm is not None:
            return (hail.oversize_mm,)
        return found

    def _in_square(self, dent: Dent) -> tuple[int | None, ...]:
        """The dents of a panel of which a square was counted: all that they may be, by their two ends."""
        area = dent.get("area_m2") or self.card.hail.area_m2.get(dent.get("panel") or "")
        if area is None:
            return (None,)
        counted = [int(n) for n in self.choices.of(dent, "count") if n]
        sides = [Decimal(side) for side in self.choices.of(dent, "square_mm")]
        of_square = self.card.hail.counts_of_square
        ends = {end for n in counted for side in sides for end in of_square(n, side, Decimal(area))}
        return (min(ends), max(ends)) if ends else (None,)

    def _open(self, dent: Dent) -> dict[str, tuple[Value, ...]]:
        """Slots in doubt; a count that was only estimated is one."""
        found = self.choices.open_slots(dent)
        if dent.get("density") or dent.get("square_mm"):
            counts = self.values_of(dent, "count")
            found |= {"count": counts} if len(counts) > 1 else {}
        return found

    def said(self, dent: Dent, changed: Mapping[str, Any]) -> Option:
        """The option by the values in force but for those `changed`: slots, `paint_um`, `spot`."""
        choices = self.choices

        def value(slot: str) -> Any:
            return changed[slot] if slot in changed else self.values_of(dent, slot)[0]

        place, alone = changed.get("spot") or (normal([value(slot) for slot in PLACE_SLOTS]), False)
        reading = changed["paint_um"] if "paint_um" in changed else choices.readings(dent)[0]
        others = [value(slot) for slot in OTHER_SLOTS]
        if others[0] is None:
            others[0] = self.materials.of(dent, place, alone=alone).values[0]
        others += [reading, choices.references(place)[0]]
        return option_of(self.card, dent.number, place, others, alone=alone)

    def _options(self, number: int, place: Place, values: Sequence[Any], *, alone: bool) -> Iterator[Option]:
        """The option of these values, once for every panel it may be where a part's place hangs on it."""
        option = option_of(self.card, number, place, values, alone=alone)
        shared = [item for item, _, own in option.parts if own and self._takers[item] > 1]
        if not shared:
            yield option
            return
        for whole in completions(place):
            yield replace(option, parts=frozenset(_part(item, whole, 0) for item in option.take_off))

    def _bounds(self, dent: Dent) -> tuple[Option, ...]:
        """As said; not priced at all; and on each panel the most minutes, dents and parts it can have.

        The most minutes come from the longest extent with each slot's dearest value: percent of
        a base that is never negative, so no other combination is above it.
        """
        choices = self.choices
        first = self.said(dent, {})
        nothing = Option(dent.number, first.values, first.place, Assessment(None))
        sizes = [v for slot in ("length_mm", "width_mm") for v in self.values_of(dent, slot) if v is not None]
        counts = [int(v) for v in self.values_of(dent, "count") if v is not None and v >= 1]
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
            values["material"] = list(self.materials.of(dent, place, alone=alone).values)
            effort = dearest(values, extent, self.card)
            found = frozenset(_part(item, place, dent.number) for item in parts)
            top = (Assessment(effort), max(counts, default=1), parts, found)
            tops.append(Option(dent.number, first.values, place, *top, alone))
            if any(first.values.get(slot) for slot in ("hail", "density")) and self.card.hail.in_brackets:
                table = replace(effort, counted=self._most_of_table(values, effort))
                top = (Assessment(table), self.card.hail.most, parts, found)
                tops.append(Option(dent.number, first.values, place, *top, alone))
        return (first, nothing, *tops)

    def _most_of_table(self, values: Mapping[str, Sequence[Any]], effort: Effort) -> Counted:
        densest = max(
            (self.card.hail.density_percent.get(d or "", ZERO) for d in values["density"]), default=ZERO
        )
        return Counted(len(self.card.hail.sizes_mm) - 1, effort.percent + max(ZERO, densest))


def option_of(card: Card, number: int, place: Place, said: Sequence[Any], *, alone: bool = False) -> Option:
    """The option of one value for each of `OTHER_SLOTS`, then of the reading and of the reference in µm.

    Equal dents are judged once.
    """
    every = zip((*PLACE_SLOTS, *OTHER_SLOTS, "paint_um", "reference_um"), (*place, *said), strict=True)
    values = {slot: value for slot, value in every if value is not None}
    count = values.get("count", 1)
    key = tuple(item for item in values.items() if item[0] not in _NOT_JUDGED)
    # A count that makes no sense is a refusal, so it belongs to what is judged.
    key = key if count >= 1 else (*key, ("count", count))
    judged: dict[tuple[tuple[str, Any], ...], Assessment] = card.known("assessments")
    assessment = judged.get(key)
    if assessment is None:
        assessment = judged[key] = assess(values, card)
    off = items(values.get("take_off"))
    parts = frozenset(_part(item, place, number) for item in off)
    return Option(number, values, place, assessment, int(count), off, parts, alone)


def _part(item: str, place: Place, dent: int) -> Part:
    found, said = part_place(item, place)
    return (item, found, 0 if said else dent)


def dearest(values: Mapping[str, Sequence[Any]], extent: Decimal, card: Card) -> Effort:
    """What a dent takes at most: of each slot's values the one that adds most at this extent."""
    sized = {"length_mm": extent, "width_mm": extent}
    tried: dict[str, list[Effort]] = {
        slot: [effort_of({"length_mm": extent, slot: choice}, card) for choice in choices]
        for slot, choices in values.items()
        if slot not in sized
    }
    chosen: dict[str, Any] = dict(sized)
    for slot, efforts in tried.items():
        minutes = [effort.full_minutes for effort in efforts]
        chosen[slot] = values[slot][minutes.index(max(minutes))]
    every = [effort for efforts in tried.values() for effort in efforts]
    least = card.points[0][1]
    # A short dent may carry more surcharge for its base than the longest one.
    ratio = sum((max(e.surcharge_minutes for e in efforts) for efforts in tried.values()), ZERO) / least
    effort = effort_of({slot: value for slot, value in chosen.items() if value is not None}, card)
    return replace(
        effort,
        surcharge_minutes=effort.base_minutes * ratio,
        setup_minutes=max(one.setup_minutes for one in every),
        protection_minutes=max(one.protection_minutes for one in every),
    )


def items(value: Any) -> frozenset[str]:
    """The parts of a take_off value."""
    if value is None:
        return frozenset()
    return frozenset((value,) if isinstance(value, str) else value)
