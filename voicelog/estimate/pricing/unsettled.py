"""Which open values there are, and how much of the total hangs on each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO, Unsettled
from voicelog.estimate.pricing.dent_options import DentOptions, Option, Options
from voicelog.estimate.pricing.scenario import panels_of, parts_of, sums
from voicelog.jobs.records import Dent
from voicelog.meaning.note import Value
from voicelog.meaning.place import Place, complete
from voicelog.meaning.region import Region
from voicelog.meaning.wording import place_text


def unsettled_of(
    dents: Sequence[tuple[Dent, DentOptions]], options: Options, discounts: Sequence[Decimal], card: Card
) -> tuple[Unsettled, ...]:
    """Every value in doubt, with the difference it makes while all others stay as said."""
    choices = options.choices
    references = choices.open_references()
    if (
        not references
        and len(discounts) < 2
        and not any(_doubtful(dent, found, options) for dent, found in dents)
    ):
        return ()
    job = _AsSaid([options.said(dent, {}) for dent, _ in dents], discounts[0], card)
    found = [
        item for dent, dent_options in dents for item in _of_dent(dent, dent_options, options, job)
    ]  # fmt: skip
    for reading, values in references.items():
        totals = []
        for value in values:
            changed = choices.with_reference(reading, value)
            again = Options(changed, card)
            totals.append(_AsSaid([again.said(dent, {}) for dent, _ in dents], discounts[0], card).total())
        found.append(Unsettled(None, "reference_um", tuple(values), max(totals) - min(totals)))
    if len(discounts) > 1:
        totals = [job.total(discount=value) for value in discounts]
        found.append(Unsettled(None, "discount_percent", tuple(discounts), max(totals) - min(totals)))
    return tuple(found)


def _doubtful(dent: Dent, found: DentOptions, options: Options) -> bool:
    return bool(found.open_slots) or len(options.choices.spots(dent)) > 1


def _of_dent(dent: Dent, found: DentOptions, options: Options, job: _AsSaid) -> Iterable[Unsettled]:
    for slot, values in found.open_slots.items():
        yield Unsettled(dent.number, slot, values, job.difference(dent, options, slot, values))
    spots = options.choices.spots(dent)
    if len(spots) > 1 and not complete(dent.place):
        difference = job.difference(dent, options, "spot", spots)
        if difference:
            yield Unsettled(dent.number, "place", tuple(_names(spots, options.card.words)), difference)


def _names(spots: Iterable[tuple[Place, bool]], region: Region) -> Iterable[Value]:
    return (f"{'another ' if alone else ''}{place_text(place, region)}" for place, alone in spots)


class _AsSaid:
    """The job by the values in force, ready to change one dent at a time."""

    def __init__(self, said: Sequence[Option], discount: Decimal, card: Card) -> None:
        self._card = card
        self._discount = discount
        self._said = {option.dent: option for option in said}
        self._panels = {spot: panel.amount for spot, panel in panels_of(said, card).items()}
        self._on: dict[Any, dict[int, Option]] = {}
        for option in said:
            if option.effort is not None:
                self._on.setdefault(option.spot, {})[option.dent] = option

    def total(self, changed: Option | None = None, discount: Decimal | None = None) -> Decimal:
        """The total, with one dent's option changed or with another discount."""
        panels: Mapping[Any, Decimal] = self._panels
        options: Iterable[Option] = self._said.values()
        if changed is not None:
            before = self._said[changed.dent]
            panels = {**self._panels, **self._again(before, changed)}
            options = [changed if option.dent == changed.dent else option for option in options]
        parts = parts_of(options, self._card)
        work = sum(panels.values(), ZERO) + sum((part.amount for part in parts.values()), ZERO)
        priced = any(option.effort is not None for option in options)
        return sums(work, priced, self._discount if discount is None else discount, self._card).total

    def _again(self, before: Option, after: Option) -> dict[Any, Decimal]:
        """The amounts of the panels that one change touches."""
        amounts: dict[Any, Decimal] = {}
        for spot in {before.spot, after.spot}:
            there = {number: o for number, o in self._on.get(spot, {}).items() if number != before.dent}
            if after.spot == spot:
                there[after.dent] = after
            panel = panels_of(there.values(), self._card).get(spot)
            amounts[spot] = ZERO if panel is None else panel.amount
        return amounts

    def difference(self, dent: Dent, options: Options, slot: str, values: Sequence[Any]) -> Decimal:
        """Between the lowest and the highest total over the values of one slot."""
        totals = [self.total(options.said(dent, {slot: value})) for value in values]
        return max(totals, default=ZERO) - min(totals, default=ZERO)
